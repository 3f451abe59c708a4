"""The look of a mound: measured signs of an unnatural shape, each with its value, bound and place."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
