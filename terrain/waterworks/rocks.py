"""The stones of a stream: what covers its sheet, what stands at its drops, what holds its edges; their weight."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from terrain.limits import COVER, FOOT, INCH
from terrain.soil import ONE_PERSON, ROCK, VOIDS, boulder_weight, bulk_weight
from terrain.waterworks.armour import steady_stone
from terrain.waterworks.lip import fall_speed, throw
from terrain.waterworks.reaches import Reach, Sill

# What is no larger than gravel is bought by volume, in two sizes of about as much: the cover of a bed of one size looks
# poured. Common practice, no published source.
GRAVEL_MOST = 2.5 * INCH
LEAST_GRAVEL = 1.0 * INCH
GRAVEL_SIZES = 2
# Stones to be seen are sold as 4 to 8, 12 and 18 in; those of the last two weigh 100 to 125 and about 250 lb, which are
# balls of about 13 and 17 in. Common practice, no published source.
SMALL, SMALL_MOST, MIDDLE, LARGE = 6.0 * INCH, 8.0 * INCH, 13.0 * INCH, 17.0 * INCH
# Of them a quarter more comes on the truck than is laid, to choose from: common practice, no published source.
TO_CHOOSE_FROM = 0.25
# A key stone is about as large as its step is high (step-pool streams: Grant and others 1990); one more at each end
# keeps the water on the step.
BESIDE_STEP = 2
KEY_BURIED = 0.25  # share of its height that it stands in its bed, at least: common practice, no published source
SPLASH = FOOT  # beyond where a sheet lands that the bed is covered with large stones: common practice
# Weights of stones by their size are good to about a quarter: common practice, no published source.
WEIGHT_SPREAD = 0.25
_SAME = 1e-6  # metres
FILLED_VOIDS = 0.6  # over this a basin is filled with boxes and no stone


@dataclass(frozen=True)
class Stones:
    """Stones of one size: what for, how many are laid, mean diameter in metres."""

    what: str
    count: int
    size: float

    @property
    def bought(self) -> int:
        """How many come on the truck, to choose from."""
        return math.ceil(self.count * (1.0 + TO_CHOOSE_FROM) - 1e-9)

    @property
    def each(self) -> float:
        """Weight of one, as a ball, kg."""
        return boulder_weight(self.size)

    @property
    def mass(self) -> float:
        """Weight of all that come, kg."""
        return self.bought * self.each


@dataclass(frozen=True)
class Gravel:
    """Gravel as it lies: what for, m3, mean diameter in metres."""

    what: str
    volume: float
    size: float

    @property
    def mass(self) -> float:
        """Weight, kg."""
        return self.volume * bulk_weight(ROCK, VOIDS)


@dataclass(frozen=True)
class Rocks:
    """All stones and gravel of a stream and of the basin that it ends in."""

    stones: tuple[Stones, ...]
    gravel: tuple[Gravel, ...]

    @property
    def stone_mass(self) -> float:
        """Of all stones that come, kg."""
        return sum(one.mass for one in self.stones)

    @property
    def by_two(self) -> int:
        """Stones that one person must not lift."""
        return sum(one.count for one in self.stones if one.each > ONE_PERSON)

    @property
    def gravel_volume(self) -> float:
        """Of all gravel, m3."""
        return sum(one.volume for one in self.gravel)

    @property
    def mass(self) -> float:
        """Of stones and gravel, kg."""
        return self.stone_mass + sum(one.mass for one in self.gravel)


def rocks_of(reaches: Sequence[Reach], sills: Sequence[Sill], lip: float, flow: float | None, speed: float) -> Rocks:
    """The stones of a stream.

    Parameters
    ----------
    reaches, sills
        Of the stream, from the top down.
    lip
        Width of the lips, metres.
    flow
        m3/s; None where it is not known: then nothing is said of stones where the water lands.
    speed
        Of the running water at its fastest, m/s; 0 where it is not known.
    """
    cover = sum(reach.developed * reach.path for reach in reaches) * COVER.value
    size = max(LEAST_GRAVEL, steady_stone(speed))
    stones = [*_keys(sills, lip), *_landings(reaches, sills, lip, flow), *_edges(reaches)]
    if size <= GRAVEL_MOST:
        shares = (cover / GRAVEL_SIZES, cover / GRAVEL_SIZES)
        sizes = (size, min(2.0 * size, GRAVEL_MOST))
        return Rocks(tuple(stones), tuple(Gravel("cover of the bed", *one) for one in zip(shares, sizes, strict=True)))
    count = math.ceil(cover * (1.0 - VOIDS) / (math.pi / 6.0 * size**3))
    return Rocks((Stones("cover of the bed", count, size), *stones), ())


def _keys(sills: Sequence[Sill], lip: float) -> Iterator[Stones]:
    """Stones that make each step, side by side over the lip and one at each end; those of a size together."""
    alike: dict[float, list[Sill]] = {}
    for sill in sills:
        if sill.height > 0.0:
            alike.setdefault(key_stone(sill.height), []).append(sill)
    for size, steps in alike.items():
        count = len(steps) * (math.ceil(lip / size - 1e-4) + BESIDE_STEP)
        names = ", ".join(sill.name for sill in steps)
        yield Stones(f"{'step' if len(steps) == 1 else 'steps'} of {names}", count, size)


def _landings(reaches: Sequence[Reach], sills: Sequence[Sill], lip: float, flow: float | None) -> Iterator[Stones]:
    """Stones that stay where the water of a drop lands on the bed; a pool takes the blow itself."""
    for sill in sills:
        if flow is None or sill.height <= 0.0:
            continue
        reach = throw(flow, lip, sill.height) + SPLASH
        if any(one.kind == "pool" and 0.0 <= one.start - sill.station + _SAME <= reach for one in reaches):
            continue
        size = sold(max(SMALL, steady_stone(fall_speed(sill.height))))
        area = reach * max(lip, reaches[0].width)
        yield Stones(f"foot of {sill.name}", math.ceil(area / size**2), size)


def _edges(reaches: Sequence[Reach]) -> Iterator[Stones]:
    """One row on each bank, which covers the edge of the sheet."""
    along = sum(reach.path for reach in reaches)
    yield Stones("edges", 2 * math.ceil(along / MIDDLE), MIDDLE)


def key_stone(height: float) -> float:
    """Size of the stones that make a step `height` metres high, metres: a part of each stands in its bed."""
    return sold(max(MIDDLE, height / (1.0 - KEY_BURIED)))


def sold(size: float) -> float:
    """Mean diameter of the stones that are sold and are no smaller than `size` metres; of the small ones the larger."""
    if size <= SMALL_MOST:
        return size
    return next((one for one in (MIDDLE, LARGE) if size <= one), size)


def basin_fill(area: float, depth: float, voids: float) -> tuple[Gravel, ...]:
    """The gravel that fills a basin of m2 and metres; none where it is left as open as only boxes leave it."""
    return (Gravel("fill of the basin", area * depth, 1.5 * INCH),) if voids <= FILLED_VOIDS else ()
