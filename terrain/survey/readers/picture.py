"""A photograph: its pixels, upright, and what its file tells of the lens and the hour. Nothing else of it is kept."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

from terrain.errors import InputError
from terrain.survey.measured import ReadOptions

MOST_PIXELS = 120_000_000
LONGEST_SIDE = 2400  # pixels that are kept along the longer side: more than any page shows
_FORMATS = ("JPEG", "PNG")
_DETAILS, _FILM, _TAKEN = 0x8769, 0xA405, 0x9003  # of the Exif format: the block of details, and two of its fields


def read(path: Path, label: str, asked: ReadOptions) -> bytes:
    """The picture as the process that asked takes it: a line of JSON, then rows of red, green and blue.

    Turned upright as its file asks, so that marks count as they are seen. Raises `InputError` for one that is too large
    or too small.
    """
    from PIL import Image, ImageOps

    Image.MAX_IMAGE_PIXELS = MOST_PIXELS
    with Image.open(path, formats=_FORMATS) as opened:
        width, height = opened.size
        if width * height > MOST_PIXELS or min(width, height) < 100:
            problem = f"the picture is {width} by {height} pixels."
            raise InputError(label, problem, "Accepted: 100 pixels a side and more, up to 120 million in all.")
        film, taken = _told(opened)
        opened.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))  # of a JPEG a smaller one is unpacked at once
        opened.load()
        upright = ImageOps.exif_transpose(opened).convert("RGB")
    if (upright.width < upright.height) != (width < height):
        width, height = height, width
    times = min(1.0, LONGEST_SIDE / max(upright.size))
    size = max(1, round(upright.width * times)), max(1, round(upright.height * times))
    kept = upright if size == upright.size else upright.resize(size, Image.Resampling.LANCZOS)
    told = {"full": [width, height], "kept": list(size), "film": film, "taken": taken}
    return json.dumps(told).encode("ascii") + b"\n" + kept.tobytes()


def _told(opened: Any) -> tuple[float | None, str]:
    """The focal length in millimetres of 35 mm film and the hour, as far as the file tells them."""
    details = opened.getexif().get_ifd(_DETAILS)
    try:
        film = float(details.get(_FILM, 0) or 0)
    except (TypeError, ValueError):
        film = 0.0
    taken = str(details.get(_TAKEN, ""))[:19]
    return (film if math.isfinite(film) and 5.0 <= film <= 1000.0 else None), taken
