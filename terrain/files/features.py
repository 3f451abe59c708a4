"""What a map of the yard shows, by layers: each thing as a shape in the survey's plane, with what is known of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from terrain.errors import OutputError
from terrain.files.job import Job
from terrain.files.traced import contours
from terrain.grid import Array
from terrain.site import keep_off_radius, root_zone_radius

PLACES = 6  # decimals of a length in the survey's unit: a micrometre or less
DEGREE_PLACES = 9  # of longitude and latitude: a tenth of a millimetre
_AROUND = 24  # sides of a quarter of a circle, on maps that know no circles
Value = str | float
Layers = Mapping[str, Sequence["MapFeature"]]


@dataclass(frozen=True)
class MapFeature:
    """One thing: its shape in metres (survey coordinates), None where it has no place, and its values by name.

    Lengths among the values are in the survey's unit.
    """

    shape: BaseGeometry | None
    values: Mapping[str, Value]


def map_layers(job: Job) -> Layers:
    """The layers of a yard; `stakes` only where the job has a set-out."""
    bed = MapFeature(_oriented(job.site.bed.outline), {"code": "outline", "name": job.site.name})
    layers: dict[str, Sequence[MapFeature]] = {
        "bed": [bed],
        "contours": list(_contours(job)),
        "findings": [_finding(job, number) for number in range(len(job.findings))],
        "shots": _shots(job),
        "trees": _trees(job),
        "yard": list(_yard(job)),
        "zones": list(_zones(job)),
    }
    if job.stakes is not None:
        layers["stakes"] = list(_stakes(job))
    return layers


def on_earth(shape: BaseGeometry, job: Job) -> BaseGeometry:
    """A shape in longitude and latitude (WGS 84). Raises `OutputError` for a yard that is nowhere on earth."""
    located = job.site.survey.located
    if located is None:
        raise OutputError("the site does not say where on earth it lies: crs or place under [survey] would.")
    return shapely.transform(shapely.force_2d(shape), lambda places: located.to_earth(places).round(DEGREE_PLACES))


def as_surveyed(shape: BaseGeometry, job: Job) -> BaseGeometry:
    """A shape in survey coordinates, in the survey's own unit."""

    def placed(places: Array) -> Array:
        return (places / job.unit).round(PLACES)

    return shapely.transform(shape, placed, include_z=bool(shape.has_z))


def _length(metres: float, job: Job) -> float:
    return round(metres / job.unit, PLACES)


def _oriented(shape: BaseGeometry) -> BaseGeometry:
    """RFC 7946: outer rings run counter-clockwise, holes clockwise."""
    return orient(shape) if isinstance(shape, Polygon) else shape


def _contours(job: Job) -> Iterator[MapFeature]:
    for layer, elevation in (("existing", job.ground.elevation), ("proposed", job.proposal.elevation)):
        for contour in contours(job.ground.grid, elevation, job.interval):
            level = _length(contour.elevation, job)
            yield MapFeature(LineString(contour.places), {"layer": f"{layer} contours", "elevation": level})


def _finding(job: Job, number: int) -> MapFeature:
    """A finding; one of the whole yard stands at no place and has no shape."""
    finding = job.findings[number]
    words = {"level": finding.level, "topic": finding.topic, "text": finding.text, "source": finding.source}
    return MapFeature(None if finding.at is None else Point(finding.at), words)


def _shots(job: Job) -> list[MapFeature]:
    survey = job.site.survey
    return [
        MapFeature(Point(shot), {"name": name, "code": code, "elevation": _length(float(shot[2]), job)})
        for shot, name, code in zip(survey.shots, survey.names, survey.codes, strict=True)
    ]


def _trees(job: Job) -> list[MapFeature]:
    rule = job.site.trees.rule
    return [
        MapFeature(
            Point(tree.at),
            {
                "what": "tree",
                "name": tree.name,
                "trunk": _length(tree.trunk, job),
                "keep_off": _length(keep_off_radius(tree, rule), job),
                "root_zone": _length(root_zone_radius(rule, tree.trunk, tree.dripline), job),
            },
        )
        for tree in job.site.tree
    ]


def _zones(job: Job) -> Iterator[MapFeature]:
    """The ground about each tree that takes no soil, and its root zone, as circles."""
    rule = job.site.trees.rule
    for tree in job.site.tree:
        radii = {
            "root zone": root_zone_radius(rule, tree.trunk, tree.dripline),
            "keep-off": keep_off_radius(tree, rule),
        }
        for what, radius in radii.items():
            ring = orient(Point(tree.at).buffer(radius, quad_segs=_AROUND))
            yield MapFeature(ring, {"what": what, "name": tree.name, "radius": _length(radius, job)})


def _yard(job: Job) -> Iterator[MapFeature]:
    """Buildings, walks, ground kept clear and things, each with what it is and its name."""
    site = job.site
    areas = [("building", house.name, house.outline) for house in site.building]
    areas += [("keep clear", clear.name, clear.outline) for clear in site.keep_clear]
    for what, name, outline in areas:
        yield MapFeature(_oriented(outline), {"what": what, "name": name})
    for walk in site.walk:
        yield MapFeature(LineString(walk.line), {"what": "walk", "name": walk.name, "width": _length(walk.width, job)})
    for thing in site.thing:
        yield MapFeature(_oriented(thing.shape), {"what": thing.kind, "name": thing.name})


def _stakes(job: Job) -> Iterator[MapFeature]:
    assert job.stakes is not None
    for stake in job.stakes.stakes:
        yield MapFeature(
            Point(stake.at),
            {
                "name": stake.name,
                "what": stake.what,
                "existing": _length(stake.existing, job),
                "grade": _length(job.stakes.grade(stake), job),
                "depth": _length(job.stakes.depth(stake), job),
            },
        )
