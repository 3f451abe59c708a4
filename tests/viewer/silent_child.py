"""A drawing process that says it is done and has drawn nothing."""
