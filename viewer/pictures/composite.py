"""The mound laid into a photograph: what stands before it stays, its shadow falls, its light is the photograph's."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from terrain.grid import Array
from terrain.photograph import PhotoFit, Sun
from terrain.survey import Photograph
from viewer.page import Subject
from viewer.pictures.yard_stage import YardModel, picture_sun, skirt, yard_model
from viewer.still import LAWN, PAVING, Camera, Stage, Still, StillBody, draw_still, encoded, linear

Pixels = NDArray[np.uint8]
Share = NDArray[np.float64]

_SKY = np.array([[190.0, 205.0, 220.0], [220.0, 225.0, 228.0]])
_SKY_AWAY = 1e4  # metres
_SAME = 0.02  # metres of depth within which two pictures show the same ground
_SOFT = 0.7  # pixels over which the mound's edge is blended: a knife's line looks pasted
_DARKEST = 0.2  # of its light that ground in the mound's shadow keeps: cast shadow on a clear day with a high sun
_SHADOW = 0.97  # a share of light over which no shadow is laid
_GAIN = (0.35, 2.5)  # bounds of how much brighter or darker than drawn the photograph may be
_BEHIND = 0.2  # how much of a sun that nobody stated comes from behind the mound
_ROUND_BED = 4.0  # metres about the bed in which lawn is compared
_UNBENT = 12  # steps in which the lens's term is undone


@dataclass(frozen=True)
class Composite:
    """A photograph with the mound in it.

    Parameters
    ----------
    pixels
        (height, width, 3), of the size that is kept of the photograph.
    shown
        (height, width) share of each pixel that the mound takes.
    matched
        Whether lawn in the photograph gave the light; without any the drawn light stands.
    """

    pixels: Pixels
    shown: Share
    matched: bool


def composite(
    subject: Subject, fit: PhotoFit, photograph: Photograph, mask: Share | None, light: Sun | None
) -> Composite:
    """Lay the mound into the photograph.

    Parameters
    ----------
    mask
        (height, width) 1 where the photograph stays in front; None: nowhere but before trunks and walls.
    light
        Where the sun stands; None: on the viewer's left, where form shows.
    """
    bent = _Lens(fit, photograph)
    before, after = yard_model(subject, False), yard_model(subject, True)
    camera = bent.camera(before.corner)
    sun = picture_sun(subject, subject.site.building, camera.forward[:2], _BEHIND) if light is None else _toward(light)
    was = draw_still(_stage(before, sun, (before.ground,)), camera)
    now = draw_still(_stage(after, sun, (after.ground, *after.standing)), camera)
    front = draw_still(Stage(_in_front(after), after.cover, sun, _SKY), camera)
    far, old, first = (np.minimum(still.depth, _SKY_AWAY) for still in (now, was, front))
    unit = np.sqrt(2.0 * far / camera.focal)  # grows with distance: where ground is seen flat, depth is coarse
    alone = np.where(first < far - unit, 0.0, 1.0)
    built, lawn = _kinds(now, camera, after)
    nearer = old - far > 4.0 * unit
    shown = bent.seen((built | nearer) * alone)
    shade = bent.seen(np.where(built | nearer | (np.abs(old - far) > _SAME), 1.0, _shadow(was, now) ** alone))
    layer = bent.seen(_linear(now.pixels))
    own = _linear(photograph.pixels)
    gain = _gain(own, layer, bent.seen(lawn * alone) > 0.99)
    if mask is not None:
        shown = shown * (1.0 - mask)
        shade = 1.0 - (1.0 - shade) * (1.0 - mask)
    shown = ndimage.gaussian_filter(shown, _SOFT)
    mixed = (
        own * shade[..., None] * (1.0 - shown[..., None]) + np.clip((gain or 1.0) * layer, 0.0, 1.0) * shown[..., None]
    )
    return Composite(_bytes(mixed), shown, gain is not None)


class _Lens:
    """The photograph's camera without its radial term, in a frame wide enough, and the way back to the photograph."""

    def __init__(self, fit: PhotoFit, photograph: Photograph) -> None:
        self.fit, self.times = fit, photograph.scale
        self.high, self.wide = photograph.pixels.shape[:2]
        v, u = np.mgrid[0 : self.high, 0 : self.wide] + 0.5
        straight = self._unbent(np.stack([u, v]))
        reach = max(0.0, -float(straight.min()), float((straight.max(axis=(1, 2)) - [self.wide, self.high]).max()))
        self.edge = 2 + math.ceil(reach) if fit.camera.bulge else 0
        self.at = straight - 0.5 + self.edge

    def camera(self, corner: tuple[float, float, float]) -> Camera:
        """The camera in the axes of a model whose corner is given."""
        camera, (right, down, forward) = self.fit.camera, self.fit.camera.axes
        x, y, z = (float(n) for n in camera.at - np.array(corner))
        across, along = (float(n) * self.times + self.edge for n in camera.middle)
        size = self.wide + 2 * self.edge, self.high + 2 * self.edge
        return Camera((x, y, z), forward, right, -down, camera.focal * self.times, (across, along), size)

    def seen(self, straight: Array | NDArray[np.bool_]) -> Array:
        """A layer of the straight frame as the lens shows it, (height, width) or (height, width, 3)."""
        layer = np.asarray(straight, dtype=float)
        if not self.edge:
            return layer
        if layer.ndim == 3:
            return np.dstack([self.seen(layer[..., k]) for k in range(3)])
        return np.asarray(ndimage.map_coordinates(layer, self.at[::-1], order=1, mode="nearest"))

    def _unbent(self, pixels: Array) -> Array:
        """Where pixels (2, ...) would be without the radial term: its inverse by repeated substitution."""
        camera = self.fit.camera
        middle = (camera.middle * self.times)[:, None, None]
        bent = (pixels - middle) / (camera.focal * self.times)
        flat = bent
        for _ in range(_UNBENT if camera.bulge else 0):
            flat = bent / (1.0 + camera.bulge * np.sum(flat**2, axis=0))
        return np.asarray(middle + camera.focal * self.times * flat)


def _stage(model: YardModel, sun: Array, bodies: tuple[StillBody, ...]) -> Stage:
    return Stage((skirt(model), *bodies), model.cover, sun, _SKY)


def _in_front(model: YardModel) -> tuple[StillBody, ...]:
    """What the site file knows to stand there: walls and wood. Leaves are the photograph's own."""
    return (*(body for _, body in model.houses), *(part for tree in model.trees for part in tree.wood))


def _toward(light: Sun) -> Array:
    """Unit vector (3,) to the sun."""
    bearing, height = math.radians(light.bearing), math.radians(light.height)
    return np.array([math.sin(bearing) * math.cos(height), math.cos(bearing) * math.cos(height), math.sin(height)])


def _kinds(still: Still, camera: Camera, model: YardModel) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Which pixels show what is built, and which show lawn round the bed."""
    high, wide = still.depth.shape
    v, u = np.mgrid[0:high, 0:wide] + 0.5
    ahead = np.isfinite(still.depth)
    depth = np.where(ahead, still.depth, 0.0)
    across, up = (u - camera.centre[0]) / camera.focal, (camera.centre[1] - v) / camera.focal
    cover = model.cover
    plan = [camera.eye[k] + depth * (camera.forward[k] + across * camera.right[k] + up * camera.up[k]) for k in (0, 1)]
    i, j = (np.rint((plan[k] - cover.corner[k]) / cover.cell).astype(np.int64) for k in (0, 1))
    rows, columns = cover.inside.shape[1:]
    ahead &= (i >= 0) & (j >= 0) & (i < columns) & (j < rows)
    i, j = np.clip(i, 0, columns - 1), np.clip(j, 0, rows - 1)
    as_it_was = np.isin(cover.kinds, (LAWN, PAVING))
    made = np.asarray((cover.inside[~as_it_was] > 0.0).any(axis=0))
    reach = max(1, round(_ROUND_BED / cover.cell))
    near = ndimage.distance_transform_edt(~made) <= reach if made.any() else np.zeros_like(made)
    kinds = np.asarray(cover.kinds)
    grass, paved = ((cover.inside[kinds == kind] > 0.0).any(axis=0) for kind in (LAWN, PAVING))
    return ahead & made[j, i], ahead & (grass & near & ~made & ~paved)[j, i]


def _shadow(was: Still, now: Still) -> Share:
    """(height, width) share of its light that ground keeps beside the mound."""
    dark, bright = (_linear(still.pixels).mean(axis=2) for still in (now, was))
    share = np.clip(dark / np.maximum(bright, 1e-3), _DARKEST, 1.0)
    return np.asarray(np.where(share < _SHADOW, share, 1.0))


def _gain(own: Array, layer: Array, lawn: NDArray[np.bool_]) -> float | None:
    """How much brighter the photograph's lawn is than the drawn one; None where none is seen."""
    if np.count_nonzero(lawn) < 200:
        return None
    drawn = float(np.median(layer[lawn].mean(axis=1)))
    return float(np.clip(np.median(own[lawn].mean(axis=1)) / max(drawn, 1e-3), *_GAIN))


def _linear(pixels: Pixels) -> Array:
    """Light of 0 to 1 of sRGB bytes, of which there are but 256."""
    return np.asarray(linear(np.arange(256.0))[pixels])


def _bytes(light: Array) -> Pixels:
    """sRGB bytes of light."""
    return np.clip(255.0 * encoded(light) + 0.5, 0.0, 255.0).astype(np.uint8)
