"""A profile through the place of every sign of an unnatural shape, with what it says and what would help."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import shapely
from shapely.affinity import affine_transform
from shapely.geometry import LineString, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

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
    Bounds,
    Page,
    Pen,
    Subject,
    Type,
    contour_interval,
    contour_lines,
    hatch,
    levels_between,
    new_page,
    section_at,
    wrap,
)
from viewer.pictures.heads import LEAST_NAME, beyond_one, set_heading
from viewer.sheets import Profile, profile_of

WIDE, EDGE, DOTS = 585.0, 18.0, 144.0
TITLE, HEAD = Type(21.0, INK, bold=True, title=True), Type(16.0, INK, bold=True)
BODY, SMALL = Type(14.0, INK), Type(13.0, SOFT_INK)
LEAD = 18.5
ABOVE, BELOW = 26.0, 26.0  # points of paper over and under a profile
FOOT = "Heights are true. Dashed: existing grade, and on the plan the line of the profile; ring: the place."
KEY = (168.0, 112.0)  # points that the small plan beside a sign's words takes


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
        section = section_at(subject.site, subject.proposal, sign.at)
        along = np.array(sign.at) - np.array(section.start)
        way = (np.array(section.end) - np.array(section.start)) / section.length
        found.append(SignProfile(sign, profile_of(subject, section), float(along @ way)))
    return tuple(found)


def draw_sign_profiles(subject: Subject, look: Look, folder: Path) -> list[Path]:
    """Write signs.png into `folder`: a profile for each sign that is present, or for the one nearest to its bound."""
    return [sign_page(subject, look).save(folder / "signs.png", dpi=DOTS)]


def sign_page(subject: Subject, look: Look) -> Page:
    """All profiles, one over the other, at true scale."""
    profiles = sign_profiles(subject, look)
    across = WIDE - 2 * EDGE
    more = beyond_one(subject.site.name, SMALL, across, LEAST_NAME)
    head = 92.0 + more
    blocks = [(one, _words(subject, one)) for one in profiles]
    heights = [24.0 + _words_high(words) + _tall(one.profile) for one, words in blocks]
    foot = wrap(FOOT, SMALL, across)
    page = new_page(WIDE, head + sum(heights) + 2.2 * EDGE + LEAD * len(foot))
    page.text(EDGE, page.height - 32.0, "Signs of an unnatural shape", TITLE)
    set_heading(page, (EDGE, page.height - 54.0), subject.site.name, SMALL, across, LEAST_NAME)
    page.text(EDGE, page.height - 76.0 - more, verdict(look), BODY)
    top = page.height - head
    for (one, words), high in zip(blocks, heights, strict=True):
        _draw(page, subject, one, words, top)
        top -= high
    for number, line in enumerate(reversed(foot)):
        page.text(EDGE, EDGE + LEAD * number, line, SMALL)
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
    return wrap(text, BODY, WIDE - 2 * EDGE - KEY[0] - 12.0)


def _words_high(words: Sequence[str]) -> float:
    return max(LEAD * len(words), KEY[1] + 8.0)


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
    _key_plan(page, subject, one, (WIDE - EDGE - KEY[0], top - 24.0 - KEY[1], WIDE - EDGE, top - 24.0))
    profile, size = one.profile, _size(one.profile)
    foot = top - 24.0 - _words_high(words) - _tall(profile) + BELOW

    def points(values: Array) -> Array:
        return np.column_stack([EDGE + size * profile.stations, foot + size * (values - profile.low)])

    soil = sound(Polygon(np.vstack([points(profile.existing), points(profile.proposed)[::-1]])))
    page.area(soil, FILL_STEPS[1], 0.6)
    page.lines(hatch(soil, 5.0, 60.0), Pen(PROPOSED, 0.4))
    page.lines(LineString(points(profile.existing)), Pen(EXISTING, 1.2, (5.0, 3.0)))
    page.lines(LineString(points(profile.proposed)), Pen(PROPOSED, 2.2))
    _mark(page, points(profile.proposed), one, size)
    _scale(page, subject, foot, size)


def _key_plan(page: Page, subject: Subject, one: SignProfile, frame: Bounds) -> None:
    """Bed and contours of the mound, the profile's line and a ring on the place, north up."""
    bed, proposal, section = subject.site.bed.outline, subject.proposal, one.profile.section
    line = LineString([section.start, section.end])
    west, south, east, north = shapely.union(bed, line).bounds
    size = min((frame[2] - frame[0]) / (east - west), (frame[3] - frame[1]) / (north - south))
    left, low = frame[2] - size * (east - west), frame[3] - size * (north - south)

    def laid(shape: BaseGeometry) -> BaseGeometry:
        return affine_transform(shape, [size, 0.0, 0.0, size, left - size * west, low - size * south])

    interval = contour_interval(float(proposal.fill.min()), float(proposal.fill.max()), subject.site.units)
    levels = levels_between(0.25 * interval, float(proposal.fill.max()), interval)
    page.area(laid(bed), FILL_STEPS[0], 0.6)
    for contour in contour_lines(proposal.grid, proposal.fill, levels):
        page.lines(laid(contour), Pen(PROPOSED, 0.7))
    page.lines(laid(bed.exterior), Pen(INK, 1.2))
    page.lines(laid(line), Pen(INK, 0.9, (5.0, 3.0)))
    assert one.sign.at is not None
    ring = laid(Point(one.sign.at)).buffer(4.5)
    page.area(ring, PAPER)
    page.lines(ring, Pen(INK, 1.6))


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
