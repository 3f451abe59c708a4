"""Pictures of the mound: the scene, the camera, views at eye level, relief, slope and signs."""
