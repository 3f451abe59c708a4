"""Files that others open: meshes, drawings, tables, the workbook, the summary."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
