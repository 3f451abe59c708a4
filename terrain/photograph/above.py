"""A picture of the ground from above, laid under the survey: by its own word, or by points marked in it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from terrain.earth import between, system_of
from terrain.errors import InputError
from terrain.grid import Array
from terrain.ground import Ground
from terrain.photograph.marks import read_marks
from terrain.site import PictureFile, Site
from terrain.survey import Orthophoto, read_orthophoto, read_photograph
from terrain.units import show_length, unit_length

LEAST_MARKS = 3  # what lays a picture: six figures, two to a mark
_SLANT = 1.15  # one way is drawn so much longer than the other: taken at a slant; common practice, no published source
_THIN = 0.05  # of their length is how wide the marks' triangle must be; common practice, no published source
_MOST_MISS = 0.05  # of the marks' spread; common practice, no published source


@dataclass(frozen=True)
class PictureAbove:
    """The picture and how it lies.

    Parameters
    ----------
    pixels
        (height, width, 3) red, green and blue.
    lies
        (2, 3): what takes (column, row, 1) of a pixel's corner to easting and northing in metres.
    said
        How well it lies, in a sentence.
    """

    pixels: NDArray[np.uint8]
    lies: Array
    said: str


def picture_above(site: Site, ground: Ground) -> PictureAbove | None:
    """The picture that the site lays under its plan; None where it names none.

    Raises
    ------
    InputError
        For a picture that cannot be read, marks that do not lay it, and one that cannot be brought to the survey.
    """
    file = site.survey.picture
    if file is None:
        return None
    return _by_marks(file, site, ground) if file.marks is not None else _by_itself(file, site)


def _by_itself(file: PictureFile, site: Site) -> PictureAbove:
    picture = read_orthophoto(file.path, file.name)
    located, unit = site.survey.located, unit_length(site.units)
    if not picture.system or located is None:
        if picture.system:
            problem = "it lies on earth, and the site does not say where on earth that is."
            raise InputError(file.name, problem, "Add crs or place under [survey], or marks.")
        return PictureAbove(picture.pixels, picture.lies * unit, f"{file.name}: taken in the survey's own coordinates.")
    if system_of(picture.system) == system_of(located.system):
        return PictureAbove(picture.pixels, picture.lies * located.unit, f"{file.name}: in the survey's own system.")
    return _moved(picture, file, site)


def _moved(picture: Orthophoto, file: PictureFile, site: Site) -> PictureAbove:
    """A picture in another system: its corners are brought to the survey's, and what lies between them evenly."""
    located = site.survey.located
    assert located is not None
    high, wide = picture.pixels.shape[:2]
    u, v = (side.ravel() for side in np.meshgrid(np.linspace(0, wide, 4), np.linspace(0, high, 4)))
    pixels = np.column_stack([u, v, np.ones(16)])
    places = between(picture.system, located.system, pixels @ picture.lies.T) * located.unit
    if not np.isfinite(places).all():
        raise InputError(file.name, f"{located.name} does not reach it.", "Look for another yard's picture.")
    lies, misses = _fitted(pixels, places)
    off = show_length(float(misses.max()), site.units, "elevation")
    return PictureAbove(picture.pixels, lies, f"{file.name}: brought to {located.name}, within {off}.")


def _by_marks(file: PictureFile, site: Site, ground: Ground) -> PictureAbove:
    assert file.marks is not None
    path, name = file.marks
    marks = read_marks(path, name, site, ground)
    if len(marks) < LEAST_MARKS:
        raise InputError(
            name, f"{len(marks)} marks do not lay a picture.", "Accepted: three that do not lie in a line."
        )
    photo = read_photograph(file.path, file.name)
    seen = np.array([mark.pixel for mark in marks]) * photo.scale
    places = np.array([mark.place[:2] for mark in marks])
    _refuse_thin(places, name)
    lies, misses = _fitted(np.column_stack([seen, np.ones(len(seen))]), places)
    if np.linalg.det(lies[:, :2]) > 0.0:
        raise InputError(name, "by its marks the picture is mirrored.", "Look for marks exchanged; v counts down.")
    spread = float(np.hypot(*np.ptp(places, axis=0)))
    worst = int(np.argmax(misses))
    off = show_length(float(misses[worst]), site.units, "elevation")
    if misses[worst] > _MOST_MISS * spread:
        raise InputError(name, f"the mark {marks[worst].name} is {off} from where the others put it.", "Mark it again.")
    how = f"off by up to {off}, at {marks[worst].name}" if len(marks) > LEAST_MARKS else "which nothing checks"
    sides = np.linalg.svd(lies[:, :2], compute_uv=False)
    slant = "; it is taken at a slant, so that only level ground lies right" if sides[0] > _SLANT * sides[1] else ""
    return PictureAbove(photo.pixels, lies, f"{file.name}: laid by {len(marks)} marks, {how}{slant}.")


def _fitted(pixels: Array, places: Array) -> tuple[Array, Array]:
    """The (2, 3) that takes (n, 3) pixels to (n, 2) places by least squares, and what each misses by."""
    solved = np.linalg.lstsq(pixels, places, rcond=None)[0]
    return np.asarray(solved.T, dtype=float), np.asarray(np.hypot(*(pixels @ solved - places).T), dtype=float)


def _refuse_thin(places: Array, name: str) -> None:
    along, across = np.linalg.svd(places - places.mean(axis=0), compute_uv=False)[:2]
    if across < _THIN * along:
        raise InputError(name, "the marks lie in one line.", "Accepted: three marks round the bed.")
