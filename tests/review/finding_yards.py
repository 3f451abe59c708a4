"""Parts of the yards that call for one finding each; all invented."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import review_yards as yards
from shapely.geometry import box

from terrain.site.features import Basin, Channel, RetainedEdge, Terrace
from terrain.site.model import Allowed, Building, Tree, Walk

Yard = Mapping[str, object]


FINE = yards.make_grid()


def falling(slope: float) -> yards.Depth:
    """Ground that falls to the south."""
    return lambda x, y: slope * y


OAK = Tree("bur oak", (10.0, 15.5), 0.5, 0.5, 1.5)  # 12 diameters: a root zone of 6 m, well into the bed
LEAVE = Allowed("A. Person", "12-3", "2026-05-04", 0.60, 0.30)
TAPED = replace(OAK, trunk=1.9, flare=1.0, keep_off=7.0)  # 75 in: what a tape reads round a trunk of 24 in
SLIGHT = Tree("crab apple", (10.0, 16.5), 0.2, 0.3, 1.0)  # a root zone of 2.4 m, clear of the bed
FAR = Tree("crab apple", (18.0, 18.5), 0.1, 0.2, 1.0)
MANY = tuple(replace(OAK, name=f"oak {k}", at=(8.0 + k, 15.5)) for k in range(6))
POOL = Basin("pool", 0.4, center=(3.0, 3.0), size=(1.0, 0.0))
SQUARE = box(6.0, 5.0, 14.0, 12.0)
STONES = RetainedEdge("front stones", ((5.5, 6.0), (14.5, 6.0)), 0.4)
HOUSE = Building("house", box(5.0, 13.5, 15.0, 18.0), 1.0)
PATH = Walk("path", ((10.0, 3.0), (10.0, 15.0)), 1.0)
RILL = Channel("rill", ((10.0, 4.0), (16.0, 4.0)), 0.3, 0.15)
LOT = box(0.0, 0.0, 20.0, 20.0)
TOP = Terrace("seat", box(9.0, 8.0, 11.0, 10.0), height=0.3)


@dataclass(frozen=True)
class Case:
    """A finding by words of its text, its level and topic, a yard that calls for it and one that does not."""

    words: str
    level: str
    topic: str
    fires: Yard
    quiet: Yard = field(default_factory=dict)
