"""Questions about a yard and what is made of the answers: a commented site folder."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
