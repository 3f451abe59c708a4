"""What was measured: tables, level books, tapes, offsets, codes and files of other formats, as points and lines."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
