"""The library: site, ground, proposal, earthwork, review. It never prints, draws or knows a screen.

Its door, like every room's, is the stub beside this file: the names there are loaded when they are first used, so that
taking one small part of the library stays quick.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
