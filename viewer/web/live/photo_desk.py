"""An owner's photograph on the live page: its marks, kept in their file as they are set, and the mound laid into it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from terrain.errors import InputError, OutputError
from terrain.files import save
from terrain.flow import Study
from terrain.ground import Ground
from terrain.photograph import MarkRow, Sun, fit_photo, mark_rows, marked_places, marks_text, read_marks
from terrain.site import Site
from terrain.survey import Photograph, point_key
from terrain.units import parse_length
from viewer.page import subject_of
from viewer.pictures import PlacedPhoto, photo_before_after
from viewer.web.owner_photo import picture_link, worth_html

MOST_MARKS, LONGEST_TEXT = 60, 60
PAGE_WIDE, AFTER_WIDE = 1600, 900  # pixels of the picture that marks are set on, and of that with the mound in it
Plain = dict[str, object]


@dataclass
class PhotoDesk:
    """A photograph, the file of its marks, and what is stated of lens, mask and sun; as in `PlacedPhoto`."""

    photograph: Photograph
    marks: Path
    film: float | None = None
    mask: NDArray[np.float64] | None = None
    light: Sun | None = None

    def __post_init__(self) -> None:
        self.rows = mark_rows(self.marks, str(self.marks)) if self.marks.exists() else ()

    def plain(self, site: Site, ground: Ground) -> Plain:
        """What the page must know at once: the picture, its size in pixels, and the points that a mark may name."""
        from PIL import Image

        kept = Image.fromarray(self.photograph.pixels)
        kept.thumbnail((PAGE_WIDE, PAGE_WIDE), Image.Resampling.LANCZOS)
        return {
            "size": list(self.photograph.size),
            "picture": picture_link(np.asarray(kept)),
            "points": [name for name, _, _ in marked_places(site, ground).values()],
        }

    def change(self, asked: object, site: Site, ground: Ground) -> None:
        """Set or take away a mark, as a page asks for it, and save the table.

        Raises
        ------
        InputError
            Where what is asked makes no sense.
        OutputError
            Where the table cannot be written.
        """
        if not isinstance(asked, Mapping):
            raise InputError("The page", "sent no mark.")
        rows = self._without(asked["drop"]) if "drop" in asked else self._with(self._row(asked, site, ground))
        if len(rows) > MOST_MARKS:
            raise InputError("The page", f"set more than {MOST_MARKS} marks.", "Take one away first.")
        try:
            save(self.marks, marks_text(rows).encode("utf-8"))
        except OSError as error:
            raise OutputError(f"{self.marks}: cannot be written ({error.strerror}); the mark is not set.") from error
        self.rows = rows

    def _without(self, number: object) -> tuple[MarkRow, ...]:
        if not isinstance(number, int) or not 0 <= number < len(self.rows):
            raise InputError("The page", "named a mark that is not there.", "Load the page again.")
        return (*self.rows[:number], *self.rows[number + 1 :])

    def _with(self, row: MarkRow) -> tuple[MarkRow, ...]:
        """A point that is marked again, at the same height over it, has moved."""
        same = (point_key(row.point), row.up)
        return (*(one for one in self.rows if (point_key(one.point), one.up) != same), row)

    def _row(self, asked: Mapping[object, object], site: Site, ground: Ground) -> MarkRow:
        point, up = (str(asked.get(key) or "")[:LONGEST_TEXT].strip() for key in ("point", "up"))
        if point_key(point) not in marked_places(site, ground):
            raise InputError("The mark", f"{point!r} is no point of the survey.", "Choose one of the list.")
        if up:
            parse_length(up, site.units, "Height over the point")
        u, v = (_pixel(asked.get(key), most) for key, most in zip("uv", self.photograph.size, strict=True))
        return MarkRow(point, u, v, up)

    def shown(self, study: Study) -> Plain:
        """The marks, and the mound laid into the picture by them; why not, where they do not find the camera."""
        told: Plain = {"say": "photo", "marks": [[row.point, row.u, row.v, row.up] for row in self.rows]}
        try:
            placed = self._placed(study)
        except InputError as error:
            return {**told, "trouble": str(error)}
        pair = photo_before_after(subject_of(study), placed, AFTER_WIDE, cut=False)
        misses = np.hypot(*placed.fit.resection.misses.T)
        return {
            **told,
            "misses": [round(float(miss), 1) for miss in misses],
            "picture": picture_link(pair.after),
            "word": pair.after_word,
            "worth": worth_html(pair),
        }

    def _placed(self, study: Study) -> PlacedPhoto:
        label, size = self.marks.name, self.photograph.size
        if not self.rows:
            raise InputError(label, "no marks are set yet.", "Choose a point, then touch the picture where it is seen.")
        marks = read_marks(self.marks, label, study.site, study.ground)
        fit = fit_photo(study.site, study.ground, study.proposal, marks, size, self.film, label)
        return PlacedPhoto(self.photograph, fit, self.mask, self.light)


def _pixel(value: object, most: int) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0.0 <= value <= most:
        raise InputError("The mark", "lies outside the picture.", "Touch the picture where the point is seen.")
    return float(value)
