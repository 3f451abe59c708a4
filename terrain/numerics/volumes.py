"""Cut and fill kept apart, with the name of the method that split them."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class CutFill:
    """Two volumes between a lower and an upper surface, both in m3 and never negative.

    `net` does not depend on how a cell is split along the line of no fill; `cut` and `fill` by themselves do,
    so the method travels with them.
    """

    cut: float
    fill: float
    method: str

    @property
    def net(self) -> float:
        """Fill less cut, m3."""
        return self.fill - self.cut
