"""The mound in an owner's photograph: the picture alone, and before and after side by side with what is true."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import box

from terrain.errors import InputError
from terrain.photograph import NO_SET_OUT, TRUE, PhotoFit, Sun, photo_rows, stamp_words
from terrain.survey import Photograph, read_photograph
from viewer.page import INK, PAPER, SOFT_INK, Page, Pen, Subject, Type, new_page, text_size, wrap
from viewer.pictures.composite import Composite, Pixels, composite
from viewer.pictures.heads import LEAST_HEAD, beyond_one, set_heading

_ALIKE = 0.02  # how far the sides of a mask may be in another proportion
_DOTS = 144.0
_STAMPED = 38.0  # letters of the line in a picture, to its width: read on a phone that shows all of it
# A whole frame of a phone, 67 degrees across, is seen at arm's length as if from far away: the mound looks too small.
_TAKEN_IN = math.radians(40.0)
_EDGE, _GAP, _LEAD, _LABEL = 18.0, 10.0, 17.0, 70.0
_WIDEST = 660.0  # points of one picture beside the other
_TITLE, _WORDS, _BOLD = Type(21.0, INK, bold=True, title=True), Type(13.0, INK), Type(13.0, INK, bold=True)


@dataclass(frozen=True)
class PlacedPhoto:
    """A photograph whose camera is known.

    Parameters
    ----------
    photograph, fit
        The picture, and where it was taken from.
    mask
        (height, width) 1 where the photograph stays before the mound; None: nowhere.
    light
        Where the sun stands; None: at the side.
    """

    photograph: Photograph
    fit: PhotoFit
    mask: NDArray[np.float64] | None = None
    light: Sun | None = None


@dataclass(frozen=True)
class BeforeAfter:
    """A photograph and the same with the mound in it, (height, width, 3) each of the same part of it, and its worth.

    A line in the second says what it is; `told` are labels and words of what is true and what is not.
    """

    before: Pixels
    after: Pixels
    told: tuple[tuple[str, str], ...]
    sketch: bool

    @property
    def after_word(self) -> str:
        """What stands over the second."""
        return "after, SKETCH" if self.sketch else "after"


def mask_of(path: Path, photograph: Photograph) -> NDArray[np.float64]:
    """(height, width) of a painted picture: 1 where it is white and the photograph stays before the mound.

    Raises `InputError` where it cannot be read or has another shape than the photograph.
    """
    from PIL import Image

    painted = read_photograph(path, str(path))
    (wide, high), (width, height) = painted.size, photograph.size
    if abs(wide * height / (high * width) - 1.0) > _ALIKE:
        problem = f"the mask is {wide} by {high} pixels, the photograph {width} by {height}."
        raise InputError(str(path), problem, "Accepted: a mask of the same shape.")
    rows, columns = photograph.pixels.shape[:2]
    grey = Image.fromarray(painted.pixels).convert("L").resize((columns, rows))
    return np.asarray(grey, dtype=float) / 255.0


def draw_photograph(subject: Subject, placed: PlacedPhoto, folder: Path) -> list[Path]:
    """Write photo.png and photo_before_after.png into `folder`."""
    laid = _laid(subject, placed)
    after = _stamped(subject, placed.fit, laid.pixels)
    both = _side_by_side(subject, placed, laid)
    return [after.save(folder / "photo.png", dpi=72.0), both.save(folder / "photo_before_after.png", dpi=_DOTS)]


def photo_before_after(subject: Subject, placed: PlacedPhoto, widest: int, *, cut: bool = True) -> BeforeAfter:
    """Before and after at one size, at most `widest` pixels across.

    `cut`: the part about the bed that an eye takes in at once; else the whole picture.
    """
    smaller = placed if cut else _smaller(placed, widest)
    laid = _laid(subject, smaller)
    part = _cut(subject, placed.fit, placed.photograph) if cut else (slice(None), slice(None))
    before, after = (_shrunk(pixels[part], widest) for pixels in (smaller.photograph.pixels, laid.pixels))
    stamped = _stamped(subject, placed.fit, after).pixels()
    wide = laid.pixels[part].shape[1]
    return BeforeAfter(before, stamped, tuple(_told(subject, smaller, laid, wide)), placed.fit.sketch)


def _laid(subject: Subject, placed: PlacedPhoto) -> Composite:
    return composite(subject, placed.fit, placed.photograph, placed.mask, placed.light)


def _shrunk(pixels: Pixels, widest: int) -> Pixels:
    """A picture no wider than so many pixels."""
    from PIL import Image

    high, wide = pixels.shape[:2]
    if wide <= widest:
        return pixels
    size = widest, max(round(high * widest / wide), 1)
    return np.asarray(Image.fromarray(pixels).resize(size, Image.Resampling.LANCZOS))


def _smaller(placed: PlacedPhoto, widest: int) -> PlacedPhoto:
    """The same with fewer pixels kept of it; marks still count in those of the file."""
    from PIL import Image

    pixels, mask = _shrunk(placed.photograph.pixels, widest), placed.mask
    if mask is not None:
        size = pixels.shape[1], pixels.shape[0]
        mask = np.asarray(Image.fromarray(mask.astype(np.float32)).resize(size), dtype=float)
    return replace(placed, photograph=replace(placed.photograph, pixels=pixels), mask=mask)


def _stamped(subject: Subject, fit: PhotoFit, pixels: Pixels) -> Page:
    """The photograph alone, a pixel a point, with what it is in its foot: that goes where the picture goes."""
    high, wide = pixels.shape[:2]
    page = new_page(float(wide), float(high))
    page.picture(pixels, (0.0, 0.0, float(wide), float(high)))
    size = max(wide / _STAMPED, 9.0)
    kind = Type(size, INK)
    lines = wrap(stamp_words(fit, subject.site.name, subject.site.units), kind, wide - 2.0 * size)
    page.area(box(0.0, 0.0, wide, (1.35 * len(lines) + 0.6) * size), PAPER, 0.85)
    for number, line in enumerate(reversed(lines)):
        page.text(size, (1.35 * number + 0.6) * size, line, kind)
    if fit.sketch:
        page.text(size, high - 3.2 * size, "SKETCH", Type(2.6 * size, PAPER, bold=True))
    return page


def _cut(subject: Subject, fit: PhotoFit, photograph: Photograph) -> tuple[slice, slice]:
    """Rows and columns about the bed, as wide as an eye takes in at once or as the bed; all of a narrower picture."""
    high, wide = photograph.pixels.shape[:2]
    ring = shapely.get_coordinates(shapely.segmentize(subject.site.bed.outline.exterior, 0.3))
    places = np.column_stack([ring, subject.ground.grid.sample(subject.ground.elevation, ring)])
    seen, depth = fit.camera.seen(places)
    seen = np.clip(seen[depth > 0.0] * photograph.scale, 0.0, [wide, high])
    low, far = (seen.min(axis=0), seen.max(axis=0)) if len(seen) else (np.zeros(2), np.array([wide, high]))
    taken_in = 2.0 * fit.camera.focal * photograph.scale * math.tan(_TAKEN_IN / 2.0)
    width = min(wide, round(max(taken_in, 1.12 * float(far[0] - low[0]))))
    height = min(high, round(width * high / wide))
    left, top = (
        int(np.clip((low[k] + far[k] - size) / 2.0, 0, whole - size))
        for k, size, whole in ((0, width, wide), (1, height, high))
    )
    return slice(top, top + height), slice(left, left + width)


def _told(subject: Subject, placed: PlacedPhoto, laid: Composite, wide: int) -> list[tuple[str, str]]:
    """Labels and words of what a picture of so many kept pixels across is worth."""
    fit, kept = placed.fit, placed.fit.camera.focal * placed.photograph.scale
    across = math.degrees(2.0 * math.atan(wide / 2.0 / kept))
    seen = f"{across:.0f} degrees across: as large as life from {kept / wide:.1f} times the width of one picture away."
    rows = photo_rows(fit, placed.photograph, placed.light, subject.site.units)
    rows = [*rows, ("Picture", f"{TRUE} {NO_SET_OUT}"), ("Seen", seen)]
    if not laid.matched:
        rows.append(("Tone", "No lawn by the bed is seen: light and colour are as drawn, not the photograph's."))
    return rows


def _side_by_side(subject: Subject, placed: PlacedPhoto, laid: Composite) -> Page:
    """Before and after at one size, cut to what an eye takes in at once, and what they are worth."""
    fit, photograph = placed.fit, placed.photograph
    cut = _cut(subject, fit, photograph)
    high, wide = laid.pixels[cut].shape[:2]
    width = min(_WIDEST, _WIDEST * wide / high)
    tall = width * high / wide
    whole = 2.0 * (width + _EDGE) + _GAP
    rows = _told(subject, placed, laid, wide)
    told = [(label, wrap(words, _WORDS, whole - 2.0 * _EDGE - _LABEL)) for label, words in rows]
    foot = _LEAD * sum(len(lines) for _, lines in told) + 2.0 * _EDGE
    title, across = f"{subject.site.name}: before and after", whole - 2.0 * _EDGE
    head = 46.0 + beyond_one(title, _TITLE, across, LEAST_HEAD)
    page = new_page(whole, head + tall + foot)
    set_heading(page, (_EDGE, page.height - 32.0), title, _TITLE, across, LEAST_HEAD)
    top = page.height - head
    for word, pixels, left in (
        ("before", photograph.pixels[cut], _EDGE),
        ("after", laid.pixels[cut], _EDGE + width + _GAP),
    ):
        frame = (left, top - tall, left + width, top)
        page.picture(pixels, frame)
        page.lines(box(*frame), Pen(SOFT_INK, 0.6))
        shown = f"{word}, SKETCH" if fit.sketch and word == "after" else word
        page.area(box(left, top - 22.0, left + text_size(shown, _WORDS)[0] + 14.0, top), PAPER, 0.9)
        page.text(left + 7.0, top - 16.0, shown, _WORDS)
    line = top - tall - _EDGE
    for label, lines in told:
        page.text(_EDGE, line - 4.0, label, _BOLD)
        for words in lines:
            page.text(_EDGE + _LABEL, line - 4.0, words, _WORDS)
            line -= _LEAD
    return page
