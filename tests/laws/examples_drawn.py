"""How many examples of a law are drawn: all of them in CI, a share in a quick run and on the lowest versions."""

from __future__ import annotations

from hypothesis import settings

EXAMPLES = 50  # of a law that states no number of its own


def drawn(examples: int) -> int:
    """The share of so many examples that this run draws, by its profile (`--hypothesis-profile`); two at least."""
    return max(2, examples * settings.default.max_examples // EXAMPLES)
