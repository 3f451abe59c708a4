"""Catalogues of messages, one folder a language: how they are renewed, and how whole sheets are said in a language."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
