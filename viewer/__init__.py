"""Drawings and pictures; they only read."""
