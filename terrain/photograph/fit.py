"""The camera of a photograph, and whether what is drawn by it may be believed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from terrain.errors import InputError
from terrain.grid import Array
from terrain.ground import Ground
from terrain.numerics import PhotoCamera, Resection, resected
from terrain.photograph.marks import PictureMark
from terrain.shape import Proposal
from terrain.site import Site

# Bounds of our own, common practice, no published source: a garden was marked with errors of 1.5 pixels and 15 mm, in
# layouts good and bad, and these part those whose mound stayed where it belongs from those whose mound did not.
FEWEST, CHECKED = 4, 6  # marks: under the first no camera, under the second none is left to check it by
CONDITION = 100.0  # beyond, the marks do not tell the focal length from the distance
FOCAL_GOOD, FOCAL_MOST = 0.02, 0.05  # deviation of the focal length, shares of it
MISS_GOOD, MISS_MOST = 1.5, 3.0  # rms of the misses over what the errors of the marks let expect
HELD = 0.95  # the share of all cases that a stated error holds
MOUND_GOOD, MOUND_MOST = 0.04, 0.15  # error of the mound's top, shares of the mound's height in the picture
MOUND_BUILT = 0.05  # metres: nearer than this no crew builds it, however low it is in the picture
OUTSIDE = 0.25  # of the picture's width: how far the mound may reach past the marks
LENS, ROLL = (1.0, 2.2), math.radians(5.0)  # metres over the ground, and a tilted horizon: beyond, ask
CLICK = 0.0006  # of the picture's diagonal: how well a place is pointed at; 3 pixels of a phone's 5,000
BULGE_FROM, BULGE_REACH, BULGE_ERROR = 8, 2.0 / 3.0, 0.03  # marks, share of the half diagonal, deviation of k1
# A focal length in millimetres of 35 mm film goes with the diagonal, 43.27 mm (CIPA DCG-001, as quoted); other writers
# take the width, whole numbers are rounded, and a zoom is often left out.
FILM_DIAGONAL, TOLD_SPREAD = 43.27, 0.05
USUAL = 0.75  # times the long side: where the search starts when the file tells nothing


@dataclass(frozen=True)
class PhotoFit:
    """The camera, and how well it is known.

    Parameters
    ----------
    resection
        The camera, and what it may be off by.
    marks
        What it was found by.
    expected
        rms of the misses that the errors of the marks let expect, pixels.
    from_file
        Whether the file's own focal length took part.
    top
        (3,) the mound's top, metres.
    top_error
        How far the top may stand from there in the picture in 95 of 100 cases, pixels: by the stated errors of marks
        and by what they miss.
    mound_tall
        Height of the mound in the picture, pixels.
    doubts
        Why the picture is a sketch, one sentence each; none where it is good.
    asked
        What is unusual about the camera, one sentence each.
    """

    resection: Resection
    marks: tuple[PictureMark, ...]
    expected: float
    from_file: bool
    top: Array
    top_error: float
    mound_tall: float
    doubts: tuple[str, ...] = ()
    asked: tuple[str, ...] = ()

    @property
    def camera(self) -> PhotoCamera:
        """The likeliest camera."""
        return self.resection.camera

    @property
    def miss(self) -> float:
        """rms of the misses, pixels, across and down counted each."""
        return float(np.sqrt(np.mean(self.resection.misses**2)))

    @property
    def top_error_length(self) -> float:
        """`top_error` as a length across the view at the mound, metres."""
        depth = float(self.camera.seen(self.top[None])[1][0])
        return self.top_error * depth / self.camera.focal

    @property
    def sketch(self) -> bool:
        """Whether the picture shows the mound only about where it will stand."""
        return bool(self.doubts)


def fit_photo(
    site: Site,
    ground: Ground,
    proposal: Proposal,
    marks: Sequence[PictureMark],
    size: tuple[int, int],
    film: float | None,
    label: str,
) -> PhotoFit:
    """Find the camera and judge it.

    Parameters
    ----------
    marks
        Points of the survey with their pixels.
    size
        Width and height of the picture, pixels.
    film
        Focal length that the file tells or the user states, millimetres of 35 mm film; None: nothing is known.
    label
        The table of marks, for messages.

    Raises
    ------
    InputError
        For marks too few, too flat or too close together, for one that fits none of the others, and for a mound that
        they do not bound: what was found, and what to add.
    """
    _refuse_few(marks, size, label)
    resection, error = _resected(marks, size, film)
    _refuse_wild(resection, marks, error, label)
    expected = float(np.sqrt(np.mean(error**2))) * math.sqrt(_free_share(len(marks), len(resection.deviations)))
    top = _top_of(proposal)
    fit = PhotoFit(
        resection,
        tuple(marks),
        expected,
        film is not None,
        top,
        float(resection.within(top[None], HELD)[0]),
        _tall(resection.camera, ground, top),
    )
    _refuse_unsure(fit, label)
    return replace(
        fit,
        doubts=tuple(_doubts(fit, site, size, label)),
        asked=tuple(_asked(fit, ground)),
    )


def _refuse_few(marks: Sequence[PictureMark], size: tuple[int, int], label: str) -> None:
    if len(marks) < FEWEST:
        raise InputError(
            label,
            f"{len(marks)} marks do not tell where a camera stood.",
            f"Accepted: {FEWEST} or more, {CHECKED} to check each other: near and far, spread over the picture.",
        )
    for mark in marks:
        if not (0.0 <= mark.pixel[0] <= size[0] and 0.0 <= mark.pixel[1] <= size[1]):
            raise InputError(
                mark.where,
                f"{mark.name} is marked at {mark.pixel[0]:g}, {mark.pixel[1]:g}, outside the picture.",
                f"Accepted: 0 to {size[0]} across and 0 to {size[1]} down, from the top left.",
            )


def _resected(marks: Sequence[PictureMark], size: tuple[int, int], film: float | None) -> tuple[Resection, Array]:
    """The camera, and the error of each mark (n,) in pixels: of pointing, and of the place as it is seen from there."""
    places, pixels = np.array([m.place for m in marks]), np.array([m.pixel for m in marks])
    own, diagonal = np.array([m.error for m in marks]), math.hypot(*size)
    middle = np.array(size) / 2.0
    focal = (USUAL * max(size), math.inf) if film is None else (film * diagonal / FILM_DIAGONAL, TOLD_SPREAD)
    click = CLICK * diagonal
    error = np.column_stack([np.full(len(marks), click), np.zeros(len(marks))])
    found = resected(places, pixels, error, middle, focal)
    reach = np.hypot(*(pixels - middle).T).max() / (diagonal / 2.0)
    for free in (False, len(marks) >= BULGE_FROM and reach > BULGE_REACH):
        depth = np.maximum(found.camera.seen(places)[1], 0.5)
        error[:, 1] = own * found.camera.focal / depth
        found, straight = resected(places, pixels, error, middle, focal, free, found.camera), found
        if free and found.deviations[-1] > BULGE_ERROR:
            found = straight
    return found, np.hypot(*error.T)


def _free_share(marks: int, unknowns: int) -> float:
    """Share of the square error of marks that is left in the misses of a fit with so many unknowns."""
    return max(2 * marks - unknowns, 1) / (2 * marks)


def _refuse_wild(found: Resection, marks: Sequence[PictureMark], error: Array, label: str) -> None:
    """Refuse marks that no camera sees like this, naming the one that fits least."""
    scores = np.hypot(*found.misses.T) / error
    worst = int(np.argmax(scores))
    behind = found.camera.seen(np.array([m.place for m in marks]))[1] <= 0.0
    share = math.sqrt(_free_share(len(marks), len(found.deviations)))
    wild = float(np.sqrt(np.mean(scores**2) / 2.0)) > MISS_MOST * share
    if behind.any() or wild:
        worst = int(np.argmax(behind)) if behind.any() else worst
        off = float(np.hypot(*found.misses[worst]))
        raise InputError(
            marks[worst].where,
            f"no camera sees the marks like this; {marks[worst].name} fits least, by {off:.0f} pixels.",
            "Look whether two names are swapped, or the picture was turned or cut after it was marked.",
        )
    if found.condition > CONDITION and not _lens_known(found):
        raise InputError(
            label,
            "the marks do not tell how far away the camera stood from how strong its lens is: they lie flat to the "
            "view, or close together.",
            "Mark points near and far, at the foot and at the top of something upright; or state the lens: --lens 26.",
        )


def _lens_known(found: Resection) -> bool:
    """Whether what the file tells of the lens makes up for marks that are flat."""
    return found.focal_deviation <= FOCAL_MOST


def _refuse_unsure(fit: PhotoFit, label: str) -> None:
    """Refuse a camera by which the mound could stand anywhere."""
    focal = fit.resection.focal_deviation
    if focal > FOCAL_MOST or fit.top_error > MOUND_MOST * fit.mound_tall:
        raise InputError(
            label,
            f"by these marks the mound's top may stand {fit.top_error:.0f} pixels off in the picture, "
            f"where the mound is {fit.mound_tall:.0f} tall.",
            "Mark more points round the bed, near and far; the bands of a staff that stands on it help most.",
        )


def _doubts(fit: PhotoFit, site: Site, size: tuple[int, int], label: str) -> list[str]:
    """Why the picture is a sketch; refuses a mound far outside the marks."""
    told, miss = [], fit.miss / fit.expected
    if len(fit.marks) < CHECKED:
        told.append(f"{len(fit.marks)} marks find a camera and leave none to check it by")
    elif miss > MISS_GOOD:
        told.append(f"the marks miss by {miss:.1f} times what their errors let expect")
    if fit.resection.focal_deviation > FOCAL_GOOD:
        told.append("the strength of the lens is known poorly")
    if fit.top_error > MOUND_GOOD * fit.mound_tall and fit.top_error_length > MOUND_BUILT:
        told.append(f"the mound's top may stand {fit.top_error:.0f} pixels off")
    past = _past_the_marks(fit, site)
    if past > OUTSIDE * size[0]:
        raise InputError(
            label,
            f"the bed reaches {past:.0f} pixels past the marks in the picture, where nothing holds it.",
            "Mark points round the bed on every side that the picture shows.",
        )
    if past > 0.02 * size[0]:
        told.append(f"the bed reaches {past:.0f} pixels past the marks")
    return told


def _past_the_marks(fit: PhotoFit, site: Site) -> float:
    """How far the bed reaches past the hull of the marks in the picture, pixels."""
    ring = np.array(site.bed.outline.exterior.segmentize(0.5).coords)[:, :2]
    level = np.full(len(ring), float(np.median([m.place[2] for m in fit.marks])))
    seen, depth = fit.camera.seen(np.column_stack([ring, level]))
    ahead = seen[depth > 0.3]
    if not len(ahead):
        return math.inf
    hull = shapely.MultiPoint([m.pixel for m in fit.marks]).convex_hull
    return float(shapely.distance(shapely.points(ahead), hull).max())


def _asked(fit: PhotoFit, ground: Ground) -> list[str]:
    """What is unusual about where the camera stood."""
    at = fit.camera.at
    lens = float(at[2]) - float(ground.grid.sample(ground.elevation, at[None, :2])[0])
    told = []
    if not LENS[0] <= lens <= LENS[1]:
        told.append(f"the lens comes out {lens:.1f} m over the ground")
    if abs(fit.camera.turn[2]) > ROLL:
        told.append(f"the camera comes out tilted by {math.degrees(fit.camera.turn[2]):.0f} degrees")
    return told


def _top_of(proposal: Proposal) -> Array:
    """The vertex of the mound that stands highest over the existing grade, (3,) metres."""
    mesh = proposal.mesh
    k = int(np.argmax(mesh.fill))
    return np.array([*mesh.points[k], mesh.proposed[k]])


def _tall(camera: PhotoCamera, ground: Ground, top: Array) -> float:
    """Height of the mound in the picture, from the ground under its top, pixels."""
    foot = np.array([top[0], top[1], float(ground.grid.sample(ground.elevation, top[None, :2])[0])])
    seen, _ = camera.seen(np.stack([top, foot]))
    return float(np.hypot(*(seen[0] - seen[1])))
