"""Shots, outline, contours, findings and the yard as GeoJSON in survey coordinates and the survey's own unit.

RFC 7946 wants longitude and latitude; a survey of a yard has none. A map program would take its feet for degrees, so
that the files are not called .geojson: they end in .local.json, say in words what they are, name their unit, and carry
"crs": null, by which the format of 2008 says that no reference can be assumed.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon, mapping
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from terrain.errors import OutputError
from terrain.files.job import Job
from terrain.files.traced import contours, rings
from terrain.grid import Array
from terrain.site import keep_off_radius

ENDING = ".local.json"
_LOCAL = "Coordinates of a local survey, no longitude and latitude: this is a plan and lies nowhere on a map."
_PLACES = 6  # decimals of a coordinate: a micrometre or less
Feature = Mapping[str, object]


def write_geojson(job: Job, folder: Path) -> list[str]:
    """Write bed, contours, findings, shots and yard, each as NAME.local.json; answer their names.

    Raises `OutputError` where a file cannot be written.
    """
    files = {
        "bed": [_bed(job)],
        "contours": _contours(job),
        "findings": _findings(job),
        "shots": _shots(job),
        "yard": list(_yard(job)),
    }
    names = []
    for name, features in files.items():
        path = folder / f"{name}{ENDING}"
        collection = {
            "type": "FeatureCollection",
            "name": name,
            "note": f"{_LOCAL} The unit is {job.site.units}.",
            "units": job.site.units,
            "grade": job.grade,
            "crs": None,
            "features": features,
        }
        try:
            path.write_text(json.dumps(collection, ensure_ascii=False, allow_nan=False) + "\n", encoding="utf-8")
        except OSError as error:
            raise OutputError(f"{path} cannot be written: {error.strerror or error}") from error
        names.append(path.name)
    return names


def _feature(kind: str, coordinates: object, **properties: object) -> Feature:
    return {"type": "Feature", "geometry": {"type": kind, "coordinates": coordinates}, "properties": properties}


def _listed(places: Array, job: Job) -> list[list[float]]:
    rounded: list[list[float]] = np.round(places / job.unit, _PLACES).tolist()
    return rounded


def _bed(job: Job) -> Feature:
    # RFC 7946: outer rings run counter-clockwise, holes clockwise.
    loops = [_listed(ring, job) for ring in rings(orient(job.site.bed.outline))]
    return _feature("Polygon", loops, code="outline", name=job.site.name)


def _contours(job: Job) -> Sequence[Feature]:
    found = []
    for layer, elevation in (("existing", job.ground.elevation), ("proposed", job.proposal.elevation)):
        for contour in contours(job.ground.grid, elevation, job.interval):
            level = round(contour.elevation / job.unit, _PLACES)
            found.append(
                _feature("LineString", _listed(contour.places, job), layer=f"{layer} contours", elevation=level)
            )
    return found


def _findings(job: Job) -> Sequence[Feature]:
    """Findings with a place; those of the whole yard stand at no place and have no geometry."""
    found: list[Feature] = []
    for finding in job.findings:
        words = {"level": finding.level, "topic": finding.topic, "text": finding.text, "source": finding.source}
        if finding.at is None:
            found.append({"type": "Feature", "geometry": None, "properties": words})
        else:
            found.append(_feature("Point", _listed(np.array(finding.at), job), **words))
    return found


def _shots(job: Job) -> Sequence[Feature]:
    survey = job.site.survey
    return [
        _feature("Point", _listed(shot, job), name=name, code=code)
        for shot, name, code in zip(survey.shots, survey.names, survey.codes, strict=True)
    ]


def _yard(job: Job) -> Iterator[Feature]:
    """Trees, buildings, walks, ground kept clear and things, each with what it is and its name."""
    site = job.site
    for tree in site.tree:
        radius = keep_off_radius(tree, site.trees.rule) / job.unit
        yield _feature("Point", _listed(np.array(tree.at), job), what="tree", name=tree.name, keep_off=radius)
    areas = [("building", house.name, house.outline) for house in site.building]
    areas += [("keep clear", clear.name, clear.outline) for clear in site.keep_clear]
    for what, name, outline in areas:
        yield _shaped(outline, job, what=what, name=name)
    for walk in site.walk:
        yield _shaped(LineString(walk.line), job, what="walk", name=walk.name, width=walk.width / job.unit)
    for thing in site.thing:
        yield _shaped(thing.shape, job, what=thing.kind, name=thing.name)


def _shaped(shape: BaseGeometry, job: Job, **properties: object) -> Feature:
    """A shape in survey coordinates as a feature; rings run as the format asks."""
    placed = orient(shape) if isinstance(shape, Polygon) else shape
    rounded = shapely.transform(placed, lambda places: np.round(places / job.unit, _PLACES))
    return {"type": "Feature", "geometry": mapping(rounded), "properties": properties}
