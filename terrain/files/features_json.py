"""Shots, outline, contours, findings and the yard as GeoJSON: on the earth where the site lies there, else as a plan.

RFC 7946 wants longitude and latitude. A site that says where on earth it lies is written so, as NAME.geojson. One that
does not has none, and a map program would take its feet for degrees: its files end in .local.json, say in words what
they are, name their unit, and carry "crs": null, by which the format of 2008 says that no reference can be assumed.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path

from shapely.geometry import mapping

from terrain.errors import OutputError
from terrain.files.features import MapFeature, as_surveyed, map_layers, on_earth
from terrain.files.job import Job

LOCAL, EARTH = ".local.json", ".geojson"
_LOCAL = "Coordinates of a local survey, no longitude and latitude: this is a plan and lies nowhere on a map."
_EARTH = "Longitude and latitude (WGS 84), elevations and lengths among the properties as surveyed."


def write_geojson(job: Job, folder: Path) -> list[str]:
    """Write bed, contours, findings, shots, yard, zones and stakes, a file each; answer their names.

    Raises `OutputError` where a file cannot be written.
    """
    layers = dict(map_layers(job))
    layers["yard"] = [*layers.pop("trees"), *layers["yard"]]
    placed = job.site.survey.located is not None
    names = []
    for name, features in sorted(layers.items()):
        path = folder / f"{name}{EARTH if placed else LOCAL}"
        collection = {
            "type": "FeatureCollection",
            "name": name,
            "note": f"{_EARTH if placed else _LOCAL} The unit is {job.site.units}.",
            "units": job.site.units,
            "grade": job.grade,
            **({} if placed else {"crs": None}),
            "features": [_written(feature, job) for feature in features],
        }
        try:
            path.write_text(json.dumps(collection, ensure_ascii=False, allow_nan=False) + "\n", encoding="utf-8")
        except OSError as error:
            raise OutputError(f"{path} cannot be written: {error.strerror or error}") from error
        names.append(path.name)
    return names


def _written(feature: MapFeature, job: Job) -> Mapping[str, object]:
    if feature.shape is None:
        return {"type": "Feature", "geometry": None, "properties": dict(feature.values)}
    placed = on_earth if job.site.survey.located is not None else as_surveyed
    shape = placed(feature.shape, job)
    return {"type": "Feature", "geometry": mapping(shape), "properties": dict(feature.values)}
