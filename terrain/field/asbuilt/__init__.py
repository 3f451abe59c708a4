"""As-built: what was built, held against what was planned."""
