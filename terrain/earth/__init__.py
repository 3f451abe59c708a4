"""Where on earth a yard lies: from its own plane to longitude and latitude and back, by published systems."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
