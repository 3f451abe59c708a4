"""What a notebook shows of the stages: a small plan with key figures, bodies, tables.

Its door is the stub beside this file.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
