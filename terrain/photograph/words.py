"""What is said of a photograph with the mound in it, for terminal and picture alike."""

from __future__ import annotations

import math

from terrain.photograph.fit import PhotoFit
from terrain.photograph.sun import Sun
from terrain.survey import Photograph
from terrain.units import Units, show_length, show_side

TRUE = "True: the mound's shape, size and place, as planned. Not true: plants, mulch and soil colour are only shown."
NO_SET_OUT = "Not for set-out: a picture shows heights well and distances badly."


def photo_rows(fit: PhotoFit, photograph: Photograph, sun: Sun | None, units: Units) -> list[tuple[str, str]]:
    """Labels and words: the camera, the marks, what the mound's place in the picture is worth."""
    camera = fit.camera
    wide = math.degrees(2.0 * math.atan(photograph.size[0] / 2.0 / camera.focal))
    lens = "the file's lens took part" if fit.from_file else "the file tells nothing of the lens"
    off = show_length(fit.top_error_length, units)
    toward = show_side(math.sin(camera.turn[0]), math.cos(camera.turn[0]))
    rows = [
        ("Camera", f"looks {toward}, {wide:.0f} degrees across; {lens}"),
        (
            "Marks",
            f"{len(fit.marks)}; they miss by {fit.miss:.1f} pixels, {fit.expected:.1f} expected (root mean square)",
        ),
        ("Worst", _worst(fit)),
        ("Mound", f"its top is drawn within {fit.top_error:.1f} pixels, {off} at the mound, in 95 of 100"),
        ("Light", _light(sun, photograph)),
    ]
    rows += [("Sketch", f"{doubt}.") for doubt in fit.doubts]
    rows += [("Look", f"{asked}: is that so?") for asked in fit.asked]
    return rows


def stamp_words(fit: PhotoFit, name: str, units: Units) -> str:
    """The line that stands in the picture itself, so that it goes with a picture that is passed on."""
    first = "SKETCH. " if fit.sketch else ""
    off = show_length(fit.top_error_length, units)
    return f"{first}{name}: the mound as planned, drawn into a photograph; its top within {off}. Not for set-out."


def _worst(fit: PhotoFit) -> str:
    misses = [math.hypot(*miss) for miss in fit.resection.misses]
    k = max(range(len(misses)), key=misses.__getitem__)
    return f"{fit.marks[k].name}, {misses[k]:.1f} pixels"


def _light(sun: Sun | None, photograph: Photograph) -> str:
    day, _, hour = photograph.taken.partition(" ")
    taken = f"; taken {day.replace(':', '-')} at {hour[:5]}, as the file tells" if hour else ""
    if sun is None:
        return f"from the side, chosen for the shape to be seen{taken}"
    return f"the sun {sun.height:.0f} degrees high, {sun.bearing:.0f} degrees from north{taken}"
