"""The page that shows a yard in a browser: as one file to send, and as the live page; both draw with the same code."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
