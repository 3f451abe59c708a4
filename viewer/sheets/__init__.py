"""Drawings to scale: one file a sheet."""
