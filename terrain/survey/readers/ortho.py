"""A picture of the ground that says itself where it lies: an orthophoto as GeoTIFF."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np

from terrain.errors import InputError
from terrain.extras import library
from terrain.survey.measured import ReadOptions
from terrain.survey.readers.heights import ALONE, STARTS
from terrain.survey.readers.picture import LONGEST_SIDE, MOST_PIXELS


def read(path: Path, label: str, asked: ReadOptions) -> bytes:
    """A line of JSON, then rows of red, green and blue: how its pixels lie in its system, and which that is.

    `lies` takes a kept pixel's column and row (of its corner) to x and y: a, b, c, d, e, f of x = a u + b v + c,
    y = d u + e v + f. Raises `InputError` for a file that is no such picture.
    """
    rasterio: Any = library("rasterio", label, "reading an orthophoto")
    with path.open("rb") as stream:
        if stream.read(4) not in STARTS:
            raise InputError(label, "this is not a GeoTIFF, whatever its name says.", "Accepted: a GeoTIFF picture.")
    with rasterio.Env(**ALONE), rasterio.open(path, driver="GTiff") as picture:
        if picture.count not in (1, 3, 4) or picture.dtypes[0] != "uint8":
            problem = f"it has {picture.count} bands of {picture.dtypes[0]}."
            raise InputError(label, problem, "Accepted: one, three or four bands of eight bits, red, green, blue.")
        if picture.width * picture.height > MOST_PIXELS:
            problem = f"the picture is {picture.width} by {picture.height} pixels."
            raise InputError(label, problem, "Accepted: up to 120 million pixels; cut out what lies about the bed.")
        if picture.transform.is_identity:
            raise InputError(label, "it does not say where it lies.", "Give marks, with the picture as JPEG or PNG.")
        times = min(1.0, LONGEST_SIDE / max(picture.width, picture.height))
        wide, high = max(1, round(picture.width * times)), max(1, round(picture.height * times))
        bands = [1, 2, 3] if picture.count >= 3 else [1, 1, 1]
        pixels = picture.read(bands, out_shape=(3, high, wide))
        across, down = picture.width / wide, picture.height / high
        a, b, c, d, e, f = list(picture.transform)[:6]
        lies = [a * across, b * down, c, d * across, e * down, f]
        system = picture.crs.to_wkt() if picture.crs else ""
    told = {"size": [wide, high], "lies": lies, "system": system}
    return json.dumps(told).encode("ascii") + b"\n" + np.ascontiguousarray(pixels.transpose(1, 2, 0)).tobytes()
