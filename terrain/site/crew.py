"""The crew as the site file states it: how many people, how fast they work, the way in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from terrain.site.features import Line
from terrain.site.ranges import Checked
from terrain.site.written import Count, Size, WrittenAs

VolumeRate = Annotated[float, WrittenAs("volume an hour")]
AreaRate = Annotated[float, WrittenAs("area an hour")]


@dataclass(frozen=True)
class Crew(Checked):
    """People and what each of them does in an hour; None: by the published rates.

    Parameters
    ----------
    people
        How many work.
    move
        Soil loaded, wheeled and spread by one person, loose m3/s.
    dig
        Soil dug by one person, bank m3/s.
    strip
        Sod stripped by one person, m2/s.
    mulch
        Mulch wheeled and laid by one person, loose m3/s.
    gate
        Narrowest place on the way in, metres.
    way
        The way of the barrows from the heap to the mound, metres.
    """

    people: Count = 2
    move: VolumeRate | None = None
    dig: VolumeRate | None = None
    strip: AreaRate | None = None
    mulch: VolumeRate | None = None
    gate: Size | None = None
    way: Line | None = None
