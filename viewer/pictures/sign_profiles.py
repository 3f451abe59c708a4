"""A profile through the place of every sign of an unnatural shape, with what it says and what would help."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import shapely
from shapely.geometry import LineString, Point, Polygon, box

from terrain.grid import Array
from terrain.look import Look, Sign
from terrain.numerics import sound
from terrain.units import show_length, show_place, unit_length
from viewer.page import (
    EXISTING,
    FAINT,
    FILL_STEPS,
    INK,
    KEEP_OFF,
    PAPER,
    PROPOSED,
    SOFT_INK,
    Page,
    Pen,
    SectionLine,
    Subject,
    Type,
    bed_sides,
    fit_size,
    hatch,
    long_axis,
    new_page,
    top_of_mound,
    wrap,
)
from viewer.sheets import Profile, profile_of

WIDE, EDGE, DOTS = 585.0, 18.0, 144.0
TITLE, HEAD = Type(21.0, INK, bold=True, title=True), Type(16.0, INK, bold=True)
BODY, SMALL = Type(14.0, INK), Type(13.0, SOFT_INK)
LEAD = 18.5
BEYOND = 0.1  # share of the bed's length shown beyond its edge
NEAR = 0.08  # share of the bed's length; a place nearer to the top than this is cut across the bed
ABOVE, BELOW = 26.0, 26.0  # points of paper over and under a profile


@dataclass(frozen=True)
class SignProfile:
    """A sign, the section through its place, and the place's distance along it in metres."""

    sign: Sign
    profile: Profile
    station: float


def signs_present(look: Look) -> tuple[Sign, ...]:
    """The signs that are present, or where there is none the one that comes nearest to its bound."""
    placed = [sign for sign in look.signs if sign.at is not None]
    present = look.present
    if present or not placed:
        return present
    return (max(placed, key=lambda sign: sign.value / sign.bound),)


def sign_profiles(subject: Subject, look: Look) -> tuple[SignProfile, ...]:
    """A profile for every told sign, through its place and the top of the mound; true heights."""
    found = []
    for sign in signs_present(look):
        assert sign.at is not None
        section = _section(subject, sign.at)
        along = np.array(sign.at) - np.array(section.start)
        way = (np.array(section.end) - np.array(section.start)) / section.length
        found.append(SignProfile(sign, profile_of(subject, section), float(along @ way)))
    return tuple(found)


def _section(subject: Subject, at: tuple[float, float]) -> SectionLine:
    """From edge to edge of the bed and a little beyond: through a place and the top, or across the bed at the top."""
    outline = subject.site.bed.outline
    long, _ = bed_sides(outline)
    spot, top = np.array(at), np.array(top_of_mound(subject.proposal)[:2])
    way = top - spot
    if np.hypot(*way) < NEAR * long:
        axis, _ = long_axis(outline)
        way = np.array([-axis[1], axis[0]])
    way = way / np.hypot(*way)
    ray = LineString([spot - 3.0 * long * way, spot + 3.0 * long * way])
    along = (shapely.get_coordinates(ray.intersection(outline)) - spot) @ way
    along = np.append(along, 0.0)
    low, high = float(along.min()) - BEYOND * long, float(along.max()) + BEYOND * long
    ends = spot + np.outer([low, high], way)
    return SectionLine("", (float(ends[0, 0]), float(ends[0, 1])), (float(ends[1, 0]), float(ends[1, 1])))


def draw_sign_profiles(subject: Subject, look: Look, folder: Path) -> list[Path]:
    """Write signs.png into `folder`: a profile for each sign that is present, or for the one nearest to its bound."""
    return [sign_page(subject, look).save(folder / "signs.png", dpi=DOTS)]


def sign_page(subject: Subject, look: Look) -> Page:
    """All profiles, one over the other, at true scale."""
    profiles = sign_profiles(subject, look)
    head = 92.0
    blocks = [(one, _words(subject, one)) for one in profiles]
    heights = [24.0 + LEAD * len(words) + _tall(one.profile) for one, words in blocks]
    page = new_page(WIDE, head + sum(heights) + 2.2 * EDGE + 20.0)
    page.text(EDGE, page.height - 32.0, "Signs of an unnatural shape", TITLE)
    page.text(EDGE, page.height - 54.0, subject.site.name, fit_size(subject.site.name, SMALL, 540.0, 8.0))
    page.text(EDGE, page.height - 76.0, verdict(look), BODY)
    top = page.height - head
    for (one, words), high in zip(blocks, heights, strict=True):
        _draw(page, subject, one, words, top)
        top -= high
    page.text(EDGE, EDGE, "Heights are true. Dashed: existing grade.", SMALL)
    return page


def verdict(look: Look) -> str:
    """Whether the mound reads natural, in words."""
    if look.verdict == "natural":
        return "None is present: the mound reads natural. The nearest to its bound:"
    if look.verdict == "look here":
        return "One is present: the mound reads natural, but look here."
    count = len(look.present)
    return f"{count} {'is' if count == 1 else 'are'} present: the mound reads as made."


def _words(subject: Subject, one: SignProfile) -> list[str]:
    """Place, sentence and suggestion, broken into lines."""
    assert one.sign.at is not None
    where = show_place(*one.sign.at, subject.site.units)
    text = f"{one.sign.explained if one.sign.present else one.sign.sentence} At {where}."
    return wrap(text, BODY, WIDE - 2 * EDGE)


def _size(profile: Profile) -> float:
    return (WIDE - 2 * EDGE) / profile.section.length


def _tall(profile: Profile) -> float:
    return (profile.high - profile.low) * _size(profile) + ABOVE + BELOW


def _draw(page: Page, subject: Subject, one: SignProfile, words: Sequence[str], top: float) -> None:
    """Heading, words and profile from `top` down."""
    page.text(EDGE, top - 16.0, one.sign.name, HEAD)
    figure = f"{one.sign.value:.3f}, bound {one.sign.bound:g}: {'present' if one.sign.present else 'not present'}"
    page.text(WIDE - EDGE, top - 16.0, figure, Type(14.0, KEEP_OFF if one.sign.present else SOFT_INK), "right")
    for number, line in enumerate(words):
        page.text(EDGE, top - 24.0 - LEAD * (number + 1) + 5.0, line, BODY)
    profile, size = one.profile, _size(one.profile)
    foot = top - 24.0 - LEAD * len(words) - _tall(profile) + BELOW

    def points(values: Array) -> Array:
        return np.column_stack([EDGE + size * profile.stations, foot + size * (values - profile.low)])

    soil = sound(Polygon(np.vstack([points(profile.existing), points(profile.proposed)[::-1]])))
    page.area(soil, FILL_STEPS[1], 0.6)
    page.lines(hatch(soil, 5.0, 60.0), Pen(PROPOSED, 0.4))
    page.lines(LineString(points(profile.existing)), Pen(EXISTING, 1.2, (5.0, 3.0)))
    page.lines(LineString(points(profile.proposed)), Pen(PROPOSED, 2.2))
    _mark(page, points(profile.proposed), one, size)
    _scale(page, subject, foot, size)


def _mark(page: Page, line: Array, one: SignProfile, size: float) -> None:
    """A ring on the place and a leader up from it."""
    across = EDGE + size * one.station
    up = float(np.interp(across, line[:, 0], line[:, 1]))
    page.lines(LineString([(across, up + 5.0), (across, up + 18.0)]), Pen(INK, 1.2))
    page.area(Point(across, up).buffer(5.0), PAPER)
    page.lines(Point(across, up).buffer(5.0), Pen(INK, 1.6))


def _scale(page: Page, subject: Subject, foot: float, size: float) -> None:
    """A level bar of a few feet or a metre under the profile."""
    units = subject.site.units
    step = 3.0 * unit_length("ft") if units == "ft" else 1.0
    up = foot - BELOW + 9.0
    page.lines(LineString([(EDGE, foot - BELOW + 3.0), (WIDE - EDGE, foot - BELOW + 3.0)]), Pen(FAINT, 0.5))
    page.area(box(EDGE, up, EDGE + size * step, up + 3.0), INK)
    text = "3 ft" if units == "ft" else show_length(step, units, "distance")
    page.text(EDGE + size * step + 6.0, up - 3.0, text, SMALL)
