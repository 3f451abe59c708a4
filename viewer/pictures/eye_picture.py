"""The picture from an eye: the yard before or after under a plain sky, with a staff beside the bed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import MultiLineString

from viewer.page import Subject
from viewer.pictures.eye_camera import EyeView, staff_place
from viewer.pictures.in_sight import in_sight, on_ground
from viewer.pictures.yard_stage import YardModel, picture_sun, skirt, staff, yard_model
from viewer.still import Camera, Stage, Still, StillBody, draw_still

SKY = np.array([(176.0, 200.0, 216.0), (236.0, 236.0, 228.0)])  # sRGB at the top of a picture and at the horizon
BEHIND = -0.15  # the sun stands at the side, and so far before what is seen that walls and near sides are lit
IN_WAY = 0.6  # metres; nothing that stands so near to the eye is drawn


def eye_picture(subject: Subject, view: EyeView, built: bool, model: YardModel | None = None) -> Still:
    """What the eye sees before or after building, heights true; `model`: the yard in that state, if at hand."""
    model = model or yard_model(subject, built)
    return draw_still(eye_stage(subject, view, model), eye_camera(view, model))


def eye_camera(view: EyeView, model: YardModel) -> Camera:
    """The eye in the model's own coordinates."""
    east, north, up = model.local(np.array([view.eye]))[0]
    return replace(view.camera, eye=(float(east), float(north), float(up)))


def eye_stage(subject: Subject, view: EyeView, model: YardModel) -> Stage:
    """All that stands in the yard, less what stands in the way of the eye."""
    eye = shapely.Point(view.eye[:2])
    bodies: list[StillBody] = [skirt(model), model.ground, *model.standing]
    # A window stands in its own wall, which is not in the way.
    houses = [one for one in model.houses if one[0].outline.distance(eye) >= IN_WAY]
    bodies += [walls for _, walls in houses]
    for one in model.trees:
        if eye.distance(shapely.Point(one.tree.at)) >= IN_WAY + one.tree.flare:
            bodies += [*one.wood, one.leaves]
    bodies.append(staff(model, staff_place(subject, view), subject.site.units)[0])
    # The sky is pale down to the horizon, below which the ground hides it.
    size = view.size[1]
    horizon = min(max(-view.top / size, 0.05), 1.0)
    sky = np.stack([SKY[0], SKY[0] + (SKY[1] - SKY[0]) / horizon])
    return Stage(
        tuple(bodies), model.cover, picture_sun(subject, [house for house, _ in houses], view.forward, BEHIND), sky
    )


def outline_in_sight(subject: Subject, view: EyeView, picture: Still, built: bool) -> MultiLineString:
    """The bed outline as pixels of the frame, counted down from its top, where nothing hides it."""
    elevation = subject.proposal.elevation if built else subject.ground.elevation
    rings = on_ground(subject.site.bed.outline, subject.ground.grid, elevation)
    return MultiLineString([line for ring in rings for line in in_sight(ring, view.camera, picture).geoms])
