"""Stills: triangles, a camera and a sun in, a picture out, by compiled loops alone; it knows no yard."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
