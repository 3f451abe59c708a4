"""Placing labels: nothing overlaps; a label that finds no room is dropped rather than laid on another."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from viewer.page.lettering import Type, text_size

GAP = 1.2  # points of free paper round every label
TAILS = 0.22  # of the size: how far g and y hang under the line
LEADERS = (9.0, 14.0, 20.0, 27.0, 36.0, 47.0, 61.0)  # points from a mark to the words that it is led to
_HANGING = frozenset("gjpqyçQ")
TRIED = 8  # seats that are looked at together: the first few mostly hold a free one


@dataclass(frozen=True)
class Seat:
    """One place where a label may stand: its centre in points on the paper, turned by `angle` degrees.

    `also` is further paper that the label takes there and that must be free of others: the dot that it names, or the
    leader that ties it to its place.
    """

    across: float
    up: float
    angle: float = 0.0
    also: BaseGeometry | None = None


@dataclass(frozen=True)
class Label:
    """A text that wants a place.

    `seats` come in order of preference. `rank` decides who chooses first: 0 before 1 before 2. `tag` is for the
    caller, who may want to know which labels were placed. `instead` is tried where this one finds no room.
    """

    text: str
    seats: tuple[Seat, ...]
    kind: Type
    rank: int = 5
    tag: str = ""
    instead: Label | None = None


@dataclass(frozen=True)
class PlacedLabel:
    """A label with the seat it took and the paper that its text and its `also` cover."""

    label: Label
    seat: Seat
    box: BaseGeometry


def label_box(label: Label, seat: Seat) -> Polygon:
    """The paper that a label's text covers at a seat, points, with its free margin."""
    (ground,) = _boxes(label, [seat])
    return ground


def place(
    labels: Iterable[Label], room: Polygon, blocked: Sequence[BaseGeometry], crossed: Sequence[BaseGeometry] = ()
) -> list[PlacedLabel]:
    """Seat each label in turn, or drop it.

    Parameters
    ----------
    labels
        What wants a place; lower ranks choose first, the order given decides among equals.
    room
        The part of the paper that labels must stay within.
    blocked
        Geometry on the paper that no label may touch.
    crossed
        Lines and areas that a label would rather not cover: of the free seats the one that covers the least length
        is taken, the earlier of equals.
    """
    taken: list[BaseGeometry] = [g for g in blocked if not g.is_empty]
    lines = shapely.STRtree([line for line in crossed if not line.is_empty])
    shapely.prepare(room)
    placed: list[PlacedLabel] = []
    for label in sorted(labels, key=lambda item: item.rank):
        best: PlacedLabel | None = None
        wanted: Label | None = label
        while best is None and wanted is not None:
            best = _best_seat(wanted, room, np.array(taken, dtype=object), lines)
            wanted = wanted.instead
        if best is not None:
            placed.append(best)
            taken.append(best.box)
    return placed


def _best_seat(label: Label, room: Polygon, taken: np.ndarray, lines: shapely.STRtree) -> PlacedLabel | None:
    """The free seat that covers the least line, or None."""
    best: PlacedLabel | None = None
    least = math.inf
    for first in range(0, len(label.seats), TRIED):
        seats = label.seats[first : first + TRIED]
        grounds = _grounds(label, seats)
        free = shapely.contains(room, grounds)
        free[free] = ~shapely.intersects(grounds[free][:, None], taken[None]).any(axis=1)
        for k in np.flatnonzero(free):
            covered = _covered(grounds[k], lines)
            if covered < least - 0.5:
                best, least = PlacedLabel(label, seats[k], grounds[k]), covered
            if least <= 0.0:
                return best
    return best


def _boxes(label: Label, seats: Sequence[Seat]) -> np.ndarray:
    """The paper that a label's text covers at each of some seats, (n,) polygons."""
    wide, high = text_size(label.text, label.kind)
    across, up = np.array([(seat.across, seat.up) for seat in seats]).T
    aside, above = wide / 2 + GAP, high / 2 + GAP
    under = above + TAILS * label.kind.size if any(sign in _HANGING for sign in label.text) else above
    grounds = shapely.box(across - aside, up - under, across + aside, up + above)
    for k, seat in enumerate(seats):
        if seat.angle:
            grounds[k] = affinity.rotate(grounds[k], seat.angle, origin=(seat.across, seat.up))
    return np.asarray(grounds)


def _grounds(label: Label, seats: Sequence[Seat]) -> np.ndarray:
    """The paper that a label takes at each of some seats, (n,) geometries."""
    grounds = _boxes(label, seats)
    tied = [k for k, seat in enumerate(seats) if seat.also is not None]
    grounds[tied] = shapely.union(grounds[tied], [seats[k].also for k in tied])
    return grounds


def _covered(ground: BaseGeometry, lines: shapely.STRtree) -> float:
    """Length of line in points under a label; an area counts by the edge of what is covered."""
    near = lines.geometries[lines.query(ground, predicate="intersects")]
    return float(shapely.length(shapely.intersection(near, ground)).sum()) if near.size else 0.0


def seats_round(across: float, up: float, text: str, kind: Type, away: float = 4.0) -> tuple[Seat, ...]:
    """Eight seats round a point whose symbol has radius `away` points: right, above, left, below, then corners."""
    wide, high = text_size(text, kind)
    aside, above = away + wide / 2 + GAP, away + high / 2 + GAP
    corner = 0.7 * away + high / 2
    places = (
        (aside, 0.0),
        (0.0, above),
        (-aside, 0.0),
        (0.0, -above),
        (aside * 0.9, corner),
        (-aside * 0.9, corner),
        (aside * 0.9, -corner),
        (-aside * 0.9, -corner),
    )
    return tuple(Seat(across + right, up + rise) for right, rise in places)


def seats_ring(across: float, up: float, text: str, kind: Type, radii: Sequence[float]) -> tuple[Seat, ...]:
    """Seats just outside each of some circles about a point: above first, then down both sides; nearest first."""
    wide, high = text_size(text, kind)
    seats = []
    for radius in radii:
        for turn in (90, 75, 105, 60, 120, 45, 135, 30, 150, 0, 180, -30, 210, -45, 225, -60, 240, -90):
            right, rise = math.cos(math.radians(turn)), math.sin(math.radians(turn))
            # The centre stands off by what the text's own half sizes take in that direction.
            off = radius + 3.0 + abs(right) * wide / 2 + abs(rise) * high / 2
            seats.append(Seat(across + off * right, up + off * rise))
    return tuple(seats)


def seats_led(across: float, up: float, text: str, kind: Type, radius: float) -> tuple[Seat, ...]:
    """Seats farther out, each tied by a leader to the mark of so many points of radius that the text names."""
    wide, high = text_size(text, kind)
    far, turn = np.array(list(product(LEADERS, np.radians(range(90, 450, 15))))).T
    right, rise = np.cos(turn), np.sin(turn)
    off = far + np.abs(right) * wide / 2 + np.abs(rise) * high / 2
    # The leader ends a little before the box of the letters.
    inside = np.minimum(wide / 2 / np.maximum(np.abs(right), 1e-9), high / 2 / np.maximum(np.abs(rise), 1e-9)) + 1.4
    way, spot = np.column_stack([right, rise]), np.array([across, up])
    start, end = radius + 1.0, off - inside
    leaders = shapely.linestrings(np.stack([spot + start * way, spot + end[:, None] * way], axis=1))
    seats = (spot + off[:, None] * way).tolist()
    return tuple(
        Seat(east, north, also=leader if room else None)
        for (east, north), leader, room in zip(seats, leaders, end > start + 1.0, strict=True)
    )


def seats_along(line: LineString, text: str, kind: Type, step: float = 9.0) -> tuple[Seat, ...]:
    """Seats on a line where it runs straight enough for the text, from its middle outwards, text never upside down."""
    wide = text_size(text, kind)[0] + 2 * GAP
    if line.length < 2.2 * wide:
        return ()
    reach = line.length / 2 - 0.75 * wide
    turns = [0.0] + [side * step * k for k in range(1, int(reach / step) + 1) for side in (1, -1)]
    seats = []
    for turn in turns:
        middle = line.length / 2 + turn
        seat = _seat_on(line, middle, wide)
        if seat is not None:
            seats.append(seat)
    return tuple(seats)


def _seat_on(line: LineString, middle: float, wide: float) -> Seat | None:
    """A seat centred at distance `middle` along the line, or None where the line bends under the text."""
    at = shapely.line_interpolate_point(line, middle + wide * np.array([-0.5, -0.25, 0.0, 0.25, 0.5]))
    points = shapely.get_coordinates(at)
    chord = points[-1] - points[0]
    span = float(np.hypot(*chord))
    if span < 0.96 * wide:
        return None
    off = (points - points[0]) @ np.array([-chord[1], chord[0]]) / span
    if float(np.ptp(off)) > 2.2:
        return None
    angle = math.degrees(math.atan2(chord[1], chord[0]))
    angle -= 180.0 if angle > 90.0 else 0.0
    angle += 180.0 if angle <= -90.0 else 0.0
    centre = points.mean(axis=0)
    return Seat(float(centre[0]), float(centre[1]), angle)
