"""What stands on the sheet of sections: each section's round scale, how much heights are exaggerated, row by row."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

from terrain.units import Units
from viewer.page import FLOOR, HEADING, INK, MARGIN, Scale, Type, papers, scales, text_size, turned
from viewer.sheets.profile import Profile
from viewer.sheets.section_band import BAND

TIMES = (2.0, 3.0, 5.0, 10.0)  # that heights may be drawn in the last section
SEEN = 28.0  # points: as high as a mound shall stand there
TALLEST = 250.0  # points: no section takes more paper for it
HEADROOM = 76.0  # points above each section for its callouts
FOOTROOM = 34.0  # points below each section for its distances
READABLE_MOUND = 14.0  # points: a mound lower than this on paper hardly shows
LONG = 4.0  # times: a section so much longer than the other leaves that one a larger scale of its own
BELOW = 0.3  # metres of ground shown under the lowest point
BESIDE = 60.0  # points at the right of a section for its words
GUTTER = 46.0  # points at the left for elevations
CAP = 20.0  # points kept free under the border

LETTERS = Type(HEADING + 3.0, INK, bold=True, title=True)


@dataclass(frozen=True)
class Drawn:
    """A section as it is drawn: to what scale, its heights how many times, and how many points across and down."""

    profile: Profile
    scale: Scale
    times: float = 1.0

    @property
    def name(self) -> str:
        """What it is called; one whose heights are drawn larger says so."""
        name = f"Section {self.profile.section.letter}–{self.profile.section.letter}′"
        return name if self.times == 1.0 else f"{name}, heights drawn {self.times:g} times"

    @property
    def size(self) -> tuple[float, float]:
        """Paper in points that it takes across and down with its words."""
        across = GUTTER + self.profile.section.length * self.scale.points + BESIDE
        return max(across, text_size(self.name, LETTERS)[0] + 30.0), _height(self.profile, self.times, self.scale)


def _height(profile: Profile, times: float, scale: Scale) -> float:
    return (profile.high - profile.low + BELOW) * times * scale.points + HEADROOM + FOOTROOM


def shelves(profiles: Sequence[Profile], each: Sequence[Scale], wide: float) -> list[list[Drawn]]:
    """What stands on the sheet, row by row: as many beside each other as find room on paper of a width (points)."""
    last = Drawn(profiles[0], each[0], _times(profiles[0], each[0]))
    rows: list[list[Drawn]] = []
    for one in (*(Drawn(profile, scale) for profile, scale in zip(profiles, each, strict=True)), last):
        taken = sum(other.size[0] for other in rows[-1]) if rows else wide
        if taken + one.size[0] - BESIDE > wide - 2 * MARGIN:
            rows.append([])
        rows[-1].append(one)
    return rows


def _times(profile: Profile, scale: Scale) -> float:
    """How many times heights are drawn: until the mound is seen, as long as the ground under it leaves it room."""
    fitting = [times for times in TIMES if _height(profile, times, scale) <= TALLEST] or [TIMES[0]]
    return next((times for times in fitting if profile.height * times * scale.points >= SEEN), fitting[-1])


def tallest(shelf: Sequence[Drawn]) -> float:
    """Points that a row takes down."""
    return max(one.size[1] for one in shelf)


def needed_height(rows: Sequence[Sequence[Drawn]]) -> float:
    """Points of paper that all rows take with what stands under them."""
    return FLOOR + BAND + sum(map(tallest, rows)) + CAP


def section_paper(profiles: Sequence[Profile], units: Units, asked: str | None = None) -> tuple[str, list[Scale]]:
    """Paper, and the round scale of each section: the largest at which all fit on it, one for both unless one is long.

    The larger paper is taken where the mound would stand too low on the smaller one to be seen.
    """
    found: list[tuple[str, list[Scale]]] = []
    for name in papers(units, asked):
        found.append((name, _largest_scales(profiles, turned(name), units)))
        if max(profile.height for profile in profiles) * found[-1][1][0].points >= READABLE_MOUND:
            break
    # The first of equals: no larger paper for the same drawing.
    return min(found, key=lambda option: (option[1][0].ratio, option[1][1].ratio))


def _largest_scales(profiles: Sequence[Profile], size: tuple[float, float], units: Units) -> list[Scale]:
    """The largest round scales at which every section fits across and all find room."""
    steps, wide = scales(units), size[0] - 2 * MARGIN - GUTTER - 10.0
    lengths = [profile.section.length for profile in profiles]
    long = max(lengths) > LONG * min(lengths)
    for first, second in product(steps, steps):
        each = [first, second]
        if first is not second and not (long and _longer_is_smaller(lengths, each)):
            continue
        fits = all(length * scale.points <= wide for length, scale in zip(lengths, each, strict=True))
        if fits and needed_height(shelves(profiles, each, size[0])) <= size[1]:
            return each
    return [steps[-1]] * len(profiles)


def _longer_is_smaller(lengths: Sequence[float], each: Sequence[Scale]) -> bool:
    return (lengths[0] > lengths[1]) == (each[0].ratio > each[1].ratio)
