"""From the site file and the shaped ground to what its streams need."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import shapely
from shapely.geometry import Polygon

from terrain.estimates import Figure
from terrain.limits import INTAKE
from terrain.shape import Proposal
from terrain.site import LOOKS, Basin, Site, Stream, StreamWater, basin_outline, day_one_factor
from terrain.waterworks.lining import Lining, basin_sheet, stream_sheet
from terrain.waterworks.lip import brink_depth, head_range, lip_head
from terrain.waterworks.needs import Beside, Materials, StreamNeeds
from terrain.waterworks.parts import Parts, parts_of
from terrain.waterworks.pipe import PipeRun, bore_of
from terrain.waterworks.pump import Duty, operating_point
from terrain.waterworks.rocks import Rocks, basin_fill, rocks_of
from terrain.waterworks.store import Store
from terrain.waterworks.transit import Transit, Wet, transit_of, wet_reach

_EXAMPLE = '[[stream]] line = [[30, 22], [22, 16]], width = "12 in", depth = "6 in", basin = "vault"'


def lacks(site: Site) -> tuple[tuple[str, str], ...]:
    """What the site file does not say and a stream's needs cannot be worked without: in words and as an example."""
    if not site.stream:
        return (("a stream", _EXAMPLE),)
    water = site.water
    open_ended = next((stream.name for stream in site.stream if not stream.basin), None)
    said = (
        (
            all(flow_over(water, stream) is not None for stream in site.stream),
            "the flow of a stream",
            '[water] flow = "2400 gal/h" or look = "full sheet"',
        ),
        (
            water.pipe is not None,
            "the pipe of a stream",
            '[water] pipe = { length = "40 ft", size = "2 in", kind = "smooth", fittings = 5.75 }',
        ),
        (
            open_ended is None,
            "the basin of a stream",
            f'basin = "vault" under [[stream]] "{open_ended}", and a [[basin]] of that name',
        ),
    )
    return tuple((what, example) for there, what, example in said if not there)


def flow_over(water: StreamWater, stream: Stream) -> float | None:
    """Flow of a stream in m3/s as stated, or by the look asked for over its lips; None where neither is stated."""
    lip = lip_of(water, stream)
    if stream.flow is not None:
        return stream.flow
    if water.flow is not None:
        return water.flow
    return None if water.look is None else LOOKS[water.look] * lip


def lip_of(water: StreamWater, stream: Stream) -> float:
    """Width of a stream's lips, metres: as stated, or that of its bed."""
    return stream.width if water.lip is None else water.lip


def stream_materials(site: Site, proposal: Proposal) -> tuple[Materials, ...]:
    """What is bought for every stream of a site, in the order of the site file."""
    day_one = day_one_factor(site.soil.settlement)
    basins = [stream.basin for stream in site.stream]
    return tuple(
        # A basin that serves several streams is lined and filled once, with the first of them.
        materials_of(site, stream, parts_of(cut.section, stream.depth, day_one), stream.basin not in basins[:k])
        for k, (stream, cut) in enumerate(zip(site.stream, proposal.streams, strict=True))
    )


def stream_needs(site: Site, proposal: Proposal) -> tuple[StreamNeeds, ...]:
    """What every stream of a site needs; () where the site file does not say enough: see `lacks`."""
    if lacks(site):
        return ()
    floors = {dig.name: dig.bottom(shapely.get_coordinates(dig.floor.representative_point())) for dig in proposal.digs}
    pairs = zip(site.stream, stream_materials(site, proposal), strict=True)
    alone = [needs_of(site, stream, bought, float(floors[stream.basin][0])) for stream, bought in pairs]
    return tuple(replace(one, beside=tuple(_beside(one, alone))) for one in alone)


def _beside(one: StreamNeeds, streams: Sequence[StreamNeeds]) -> Iterator[Beside]:
    """The other streams of its basin."""
    for other in streams:
        if other is not one and other.materials.basin == one.materials.basin:
            yield Beside(other.materials.name, other.transit.total, other.own_wet)


def materials_of(site: Site, stream: Stream, parts: Parts, with_basin: bool = True) -> Materials:
    """What is bought for one stream that is cut into parts, and for its basin unless another stream brings that."""
    lip, basin = lip_of(site.water, stream), _basin(site, stream) if with_basin else None
    flow = flow_over(site.water, stream)
    drops = [sill.station for sill in parts.sills if sill.height > 0.0]
    sheets = [stream_sheet(stream.name, parts.reaches, drops)]
    speed = 0.0 if flow is None else max(one.usual.speed for one in _wet(stream, parts, flow, lip))
    rocks = rocks_of(parts.reaches, parts.sills, lip, flow, speed)
    if basin is not None:
        inside, deep = _inside(basin), basin.depth - basin.gravel
        sheets.append(basin_sheet(basin.name, *_sides(inside), deep))
        rocks = Rocks(rocks.stones, (*rocks.gravel, *basin_fill(inside.area, deep, site.water.voids)))
    return Materials(stream.name, stream.basin, parts, Lining(tuple(sheets)), rocks, site.soil.payload)


def needs_of(site: Site, stream: Stream, materials: Materials, floor: float) -> StreamNeeds:
    """What one stream needs that ends in a basin whose dig has its floor at an elevation in metres.

    The site file says all that `lacks` asks for.
    """
    water, basin = site.water, _basin(site, stream)
    lip = lip_of(water, stream)
    flow = flow_over(water, stream)
    assert flow is not None, "see lacks"
    assert water.pipe is not None, "see lacks"
    assert basin is not None, "see lacks"
    head = _head(stream, flow, lip)
    pipe = PipeRun(water.pipe.length, bore_of(water.pipe.size, water.pipe.kind), water.pipe.kind, water.pipe.fittings)
    wet = _wet(stream, materials.parts, flow, lip)
    transit = transit_of(wet, pipe.volume)
    intake = INTAKE.value if water.intake is None else water.intake
    store = Store(_inside(basin).area, basin.depth - basin.gravel, intake, water.voids)
    duty = _duty(flow, wet[0], store, floor + basin.gravel, transit, pipe)
    curve = [(point.flow, point.head) for point in water.pump]
    works = operating_point(curve, lambda asked: duty.lift.value + pipe.loss(asked)) if curve else None
    return StreamNeeds(
        materials=materials,
        flow=flow,
        lip=lip,
        head=Figure(head, *head_range(head)),
        brink=brink_depth(flow, lip),
        wet=wet,
        transit=transit,
        store=store,
        floor=floor + basin.gravel,
        rain=site.design_storm.rain,
        duty=duty,
        pump=works,
        pump_stated=bool(curve),
    )


def _duty(flow: float, top: Wet, store: Store, floor: float, transit: Transit, pipe: PipeRun) -> Duty:
    """Lift from the basin, at its lowest where it is down to the intake's least depth, to the water at the top."""
    outlet = top.reach.top + top.usual.depth
    most = max(0.0, outlet - (floor + store.intake))
    filled = max(store.intake, store.full - store.drop(transit.total.value))
    least = max(0.0, outlet - (floor + filled))
    return Duty(flow, Figure(most, least, most), pipe.loss(flow), pipe.speed(flow))


def _head(stream: Stream, flow: float, lip: float) -> float:
    """Over the lips; a lip that is narrower than the bed draws the water in from both sides."""
    return lip_head(flow, lip, contracted=lip < stream.width)


def _wet(stream: Stream, parts: Parts, flow: float, lip: float) -> tuple[Wet, ...]:
    """Every part of a stream with its water."""
    head = _head(stream, flow, lip)
    return tuple(wet_reach(reach, flow, head, stream.roughness) for reach in parts.reaches)


def _basin(site: Site, stream: Stream) -> Basin | None:
    """The basin that a stream ends in."""
    return next((basin for basin in site.basin if basin.name == stream.basin), None)


def _inside(basin: Basin) -> Polygon:
    """The outline of a basin, which `check_site` has given it."""
    outline = basin_outline(basin)
    assert outline is not None
    return outline


def _sides(outline: Polygon) -> tuple[float, float]:
    """Length and width of the smallest rectangle round an outline, metres."""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(outline))
    one, other = (float(math.dist(corners[k], corners[k + 1])) for k in (0, 1))
    return max(one, other), min(one, other)
