"""Drawings of a study on axes of the drawing library's, by the functions that draw them on the sheets.

Its door is the stub beside this file; `hummock` offers all of it.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
