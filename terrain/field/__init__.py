"""What the crew takes into the yard and brings back: stakes, what was built, where to shoot next."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
