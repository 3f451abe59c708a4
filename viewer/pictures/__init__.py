"""Pictures of the mound: the scene, the camera, views at eye level, relief, slope and signs."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
