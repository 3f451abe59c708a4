"""The camera as plain values: what stands under "photo" in photo.json."""

from __future__ import annotations

import math

from terrain.photograph.fit import PhotoFit
from terrain.survey import Photograph

Plain = dict[str, object]


def photo_plain(fit: PhotoFit, photograph: Photograph) -> Plain:
    """ "photo": metres, degrees and pixels of the file's own picture; the words of what is doubtful beside them."""
    camera = fit.camera
    return {
        "picture_px": list(photograph.size),
        "camera": {
            "at": camera.at.tolist(),
            "at_deviation_m": fit.resection.deviations[3:6].tolist(),
            "turn": [math.degrees(angle) for angle in camera.turn],
            "focal_px": camera.focal,
            "focal_deviation_px": camera.focal * fit.resection.focal_deviation,
            "middle_px": camera.middle.tolist(),
            "k1": camera.bulge,
            "focal_from_file": fit.from_file,
        },
        "residual_px": fit.miss,
        "residual_expected_px": fit.expected,
        "error_at_mound_px": fit.top_error,
        "error_at_mound_m": fit.top_error_length,
        "mound_tall_px": fit.mound_tall,
        "sketch": fit.sketch,
        "doubts": list(fit.doubts),
        "asked": list(fit.asked),
        "marks": [
            {"point": mark.name, "at": mark.place.tolist(), "pixel": mark.pixel.tolist(), "miss_px": miss.tolist()}
            for mark, miss in zip(fit.marks, fit.resection.misses, strict=True)
        ],
    }
