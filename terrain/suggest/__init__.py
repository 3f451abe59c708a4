"""Alternatives: other forms inside the same outline, limits and soil, clearly different from each other."""
