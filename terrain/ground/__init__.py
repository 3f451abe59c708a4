"""Existing grade from spot elevations."""
