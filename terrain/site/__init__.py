"""What was measured and what is wanted: reading and validating the site file and its measurement files."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
