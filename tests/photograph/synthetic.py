"""An invented photograph of the shipped example: its yard before building, drawn through a known camera."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from PIL import Image
from test_fit import CAMERA, EVERY, SIZE, marks_file

from terrain.flow import Study
from viewer.page import subject_of
from viewer.pictures.yard_stage import skirt, yard_model
from viewer.still import Camera, Stage, draw_still, sun_over

WIDE = 1008  # pixels that are drawn; the file has four times as many


def yard_photograph(study: Study, folder: Path) -> tuple[Path, Path]:
    """A photograph with what a phone's file tells, a place on earth among it, and the table of its marks."""
    model, scale = yard_model(subject_of(study), False), WIDE / SIZE[0]
    right, down, forward = CAMERA.axes
    x, y, z = (float(n) for n in CAMERA.at - np.array(model.corner))
    size = WIDE, round(SIZE[1] * scale)
    camera = Camera((x, y, z), forward, right, -down, CAMERA.focal * scale, (size[0] / 2.0, size[1] / 2.0), size)
    trees = (part for tree in model.trees for part in (*tree.wood, tree.leaves))
    bodies = (skirt(model), model.ground, *(walls for _, walls in model.houses), *trees)
    sky = np.array([[176.0, 200.0, 216.0], [236.0, 236.0, 228.0]])
    drawn = draw_still(Stage(bodies, model.cover, sun_over(np.array([0.0, 1.0]), -1.0, -0.3), sky), camera)
    told = Image.Exif()
    told[0x8769] = {0xA405: 26, 0x9003: "2026:06:21 15:04:00"}
    told[0x8825] = {1: "N", 2: (44.0, 57.0, 0.0)}
    picture = folder / "yard.jpg"
    Image.fromarray(drawn.pixels).resize(SIZE).save(picture, exif=told, quality=85)
    return picture, marks_file(folder, study, EVERY, error=1.5)
