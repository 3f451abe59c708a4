"""The worked case as values: 20 ft of bed at 4 %, three drops of 10 in, three pools of 6 ft2, a basin of 6 x 5 ft.

40 gal/min over lips of 18 in, 40 ft of 2 in pipe with loss factors of 5.75, lift 5 ft. Worked from the formulas of each
step (calc) in a sheet of its own, before this project had any of them.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from shapely.geometry import box

from terrain.limits import FOOT, INCH
from terrain.shape.long_section import BedDrop, LongSection, PoolBed
from terrain.site.features import Basin
from terrain.site.model import Bed, Berm, CrestPoint, Site, Soil
from terrain.site.streams import Pipe, PumpPoint, Stream, StreamWater
from terrain.site.survey import Survey
from terrain.waterworks.build import materials_of, needs_of
from terrain.waterworks.needs import StreamNeeds
from terrain.waterworks.parts import parts_of

GALLON = 231.0 * INCH**3
GPM = GALLON / 60.0
SLOPE, DROP, LENGTH = 0.04, 10.0 * INCH, 20.0 * FOOT
TOP = 100.0


def section(
    pools: tuple[PoolBed, ...] = (), drops: tuple[float, ...] = (5.0, 10.0, 15.0), bank: float = 0.75 * FOOT
) -> LongSection:
    """Drops at some feet from the top; `pools` lie level where the bed would fall."""
    faces = [at * FOOT for at in drops]
    stations = np.unique(
        [0.0, LENGTH, *faces, *(at + 0.04 for at in faces), *(x for p in pools for x in (p.start, p.end))]
    )

    def bed(station: float) -> float:
        level = sum(min(max(station - p.start, 0.0), p.end - p.start) for p in pools)
        return TOP - SLOPE * (station - level) - DROP * sum(at < station for at in faces)

    levels = np.array([bed(float(at)) for at in stations])
    return LongSection(
        name="run",
        basin="vault",
        stations=stations,
        places=np.column_stack([stations, np.zeros(len(stations))]),
        bed=levels,
        left=levels + bank,
        right=levels + bank,
        existing=levels - 0.3,
        width=FOOT,
        side_slope=1.0,
        edge=2.0 * INCH,
        roughness=0.10,
        drops=tuple(BedDrop(at, (at, 0.0), bed(at), bed(at) - DROP, bed(at) - 0.3) for at in faces),
        pools=pools,
        proposed=False,
    )


def site(**changes: object) -> Site:
    """A yard that says what the case says; `changes` of the water."""
    curve = tuple(PumpPoint(flow * GPM, head * FOOT) for flow, head in ((0.0, 18.0), (35.0, 13.5), (70.0, 0.0)))
    water = StreamWater(
        flow=40.0 * GPM,
        lip=1.5 * FOOT,
        pipe=Pipe(40.0 * FOOT, 2.0 * INCH, "smooth", 5.75),
        voids=0.40,
        intake=0.75 * FOOT,
        pump=curve,
    )
    return Site(
        name="worked",
        units="ft",
        survey=Survey(np.array([[0.0, 0.0, 0.0], [9.0, 0.0, 0.0], [0.0, 9.0, 0.0]]), ("1", "2", "3"), ("", "", "")),
        bed=Bed(box(0.0, 0.0, 9.0, 9.0)),
        berm=Berm(0.25, (CrestPoint(4.0, 4.0, 0.5),)),
        basin=(Basin("vault", 2.0 * FOOT, outline=box(0.0, 0.0, 6.0 * FOOT, 5.0 * FOOT)),),
        stream=(Stream("run", ((0.0, 0.0), (LENGTH, 0.0)), FOOT, 0.75 * FOOT, basin="vault"),),
        water=replace(water, **changes),
        soil=Soil(payload=9000.0),
    )


def worked(long: LongSection, yard: Site | None = None, lift: float = 5.0 * FOOT) -> StreamNeeds:
    """The needs of a stream over a basin whose floor lies so that the water is lifted as far as stated."""
    yard = yard or site()
    stream = yard.stream[0]
    bought = materials_of(yard, stream, parts_of(long, stream.depth, 1.08))
    depth = needs_of(yard, stream, bought, 0.0).wet[0].usual.depth
    return needs_of(yard, stream, bought, TOP + depth - lift - 0.75 * FOOT)
