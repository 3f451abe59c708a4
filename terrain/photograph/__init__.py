"""The camera of an owner's photograph, found from points of the survey that are marked in it."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
