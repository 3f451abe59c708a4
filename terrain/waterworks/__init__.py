"""What a stream needs: water, basin, pump, sheet and stones, from its bed and the water that it runs with."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
