"""Paper and pens: the page, its letters and labels, its colours, and the sheet with its scale."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
