"""The wish of the page: what of a site may be changed there, read from its messages and laid over the site."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import get_args

from shapely.geometry import Polygon

from terrain.errors import InputError
from terrain.limits import HIGHEST_CREST
from terrain.site import Compass, CrestPoint, Site, Stream, check_site, led_along

MOST_CREST, MOST_RINGS, MOST_CORNERS = 40, 20, 1000
FARTHEST = 1e5  # metres from the page's corner
Spot = tuple[float, float]
Place = Callable[[object], Spot]


@dataclass(frozen=True)
class Wish:
    """The berm that is wished for: bed outline, crest and lines of streams in survey metres, the rest as in `Berm`."""

    outline: Polygon
    crest: tuple[CrestPoint, ...]
    max_slope: float
    toe: float | None
    gentle_side: Compass | None
    soil: float | None
    streams: tuple[tuple[Spot, ...], ...] = ()


def wish_of_site(site: Site) -> Wish:
    """The wish that a site holds."""
    berm = site.berm
    streams = tuple(stream.line for stream in site.stream)
    return Wish(site.bed.outline, berm.crest, berm.max_slope, berm.toe, berm.gentle_side, berm.soil, streams)


def with_wish(site: Site, wish: Wish) -> Site:
    """The site with another wish, checked as a whole.

    Raises
    ------
    InputError
        Where the wish does not fit the site.
    """
    berm = replace(
        site.berm,
        crest=wish.crest,
        max_slope=wish.max_slope,
        toe=wish.toe,
        gentle_side=wish.gentle_side,
        soil=wish.soil,
    )
    bed, stream = replace(site.bed, outline=wish.outline), streams_along(site.stream, wish.streams)
    return check_site(replace(site, bed=bed, berm=berm, stream=stream), "This shape")


def streams_along(streams: tuple[Stream, ...], lines: tuple[tuple[Spot, ...], ...]) -> tuple[Stream, ...]:
    """The streams of a site along other lines, drops and pools with them.

    Raises
    ------
    InputError
        Where the lines are not those of these streams with their points moved.
    """
    if [len(line) for line in lines] != [len(stream.line) for stream in streams]:
        raise InputError("The streams", "are not those of the site.", "Load the page again.")
    return tuple(led_along(stream, line) for stream, line in zip(streams, lines, strict=True))


def on_known_places(wish: Wish, known: Sequence[Wish]) -> Wish:
    """The wish with every place that is a known wish's but for rounding put exactly there.

    A page counts from its own corner; going there and back moves a place by the last digit, and what nobody moved
    would look changed.
    """
    places = {_to_micrometres(spot): spot for one in known for spot in _spots(one)}

    def exact(spot: Spot) -> Spot:
        found: Spot = places.get(_to_micrometres(spot), spot)
        return found

    shape = wish.outline
    outline = Polygon(map(exact, shape.exterior.coords), [map(exact, ring.coords) for ring in shape.interiors])
    crest = tuple(CrestPoint(*exact((point.x, point.y)), point.height) for point in wish.crest)
    return replace(wish, outline=outline, crest=crest, streams=tuple(tuple(map(exact, one)) for one in wish.streams))


def _spots(wish: Wish) -> Iterator[Spot]:
    """Every place of a wish."""
    yield from (spot for ring in (wish.outline.exterior, *wish.outline.interiors) for spot in ring.coords)
    yield from ((point.x, point.y) for point in wish.crest)
    yield from (spot for line in wish.streams for spot in line)


def _to_micrometres(spot: Spot) -> Spot:
    return round(spot[0], 6), round(spot[1], 6)


def read_wish(message: object, corner: Spot, farthest: float = FARTHEST) -> Wish:
    """The wish that a message holds; its coordinates count from `corner` and reach at most `farthest`, metres.

    Raises
    ------
    InputError
        Where anything in it is missing, is no number or is out of range.
    """
    if not isinstance(message, Mapping):
        raise _odd("the berm", message)

    def place(value: object) -> Spot:
        return _spot(value, corner, farthest)

    side = message.get("gentle_side")
    if side is not None and side not in get_args(Compass):
        raise _odd("the gentle side", side)
    return Wish(
        outline=_outline(message.get("outline"), place),
        crest=tuple(_crest(row, place) for row in _rows(message.get("crest"), "the crest", MOST_CREST)),
        max_slope=_number(message.get("max_slope"), "the slope", 0.01, 1.0),
        toe=_maybe(message.get("toe"), "the toe", 0.0, 100.0),
        gentle_side=side,
        soil=_maybe(message.get("soil"), "the soil on hand", 1e-3, 1e6),
        streams=_streams(message.get("streams"), place),
    )


def _streams(value: object, place: Place) -> tuple[tuple[Spot, ...], ...]:
    lines = _rows(value, "the streams", MOST_RINGS) if value else []
    return tuple(tuple(place(spot) for spot in _rows(line, "a stream", MOST_CORNERS)) for line in lines)


def _outline(value: object, place: Place) -> Polygon:
    rings = _rows(value, "the outline", MOST_RINGS)
    corners = [[place(point) for point in _rows(ring, "the outline", MOST_CORNERS)] for ring in rings]
    if any(len(ring) < 3 for ring in corners):
        raise InputError("The bed outline", "has fewer than three corners.", "Put one back.")
    shape = Polygon(corners[0], corners[1:])
    if not shape.is_valid:
        raise InputError("The bed outline", "crosses itself.", "Move the corner back.")
    if shape.area < 0.01:
        raise InputError("The bed outline", "encloses no ground.", "Move the corner back.")
    return shape


def _crest(row: object, place: Place) -> CrestPoint:
    if not isinstance(row, list) or len(row) != 3:
        raise _odd("a high point", row)
    east, north = place(row[:2])
    return CrestPoint(east, north, _number(row[2], "a height", 1e-4, HIGHEST_CREST.value))


def _rows(value: object, noun: str, most: int) -> list[object]:
    if not isinstance(value, list) or not value:
        raise _odd(noun, value)
    if len(value) > most:
        raise InputError("The page", f"sent {len(value)} points for {noun}, more than {most}.")
    return value


def _spot(value: object, corner: Spot, farthest: float) -> Spot:
    if not isinstance(value, list) or len(value) != 2:
        raise _odd("a place", value)
    east, north = (_number(part, "a place", -farthest, farthest) for part in value)
    return corner[0] + east, corner[1] + north


def _maybe(value: object, noun: str, low: float, high: float) -> float | None:
    return None if value is None else _number(value, noun, low, high)


def _number(value: object, noun: str, low: float, high: float) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise _odd(noun, value)
    if not low <= value <= high:  # no number, none without end, and whole numbers of any length fail here
        raise InputError("The page", f"sent {_shown(value)} for {noun}.", f"Accepted: {low:g} to {high:g}.")
    return float(value)


def _odd(noun: str, value: object) -> InputError:
    return InputError("The page", f"sent something that is not {noun}: {_shown(value)}.")


def _shown(value: object) -> str:
    """A short piece of what was sent that any screen and any file can take."""
    try:
        return ascii(value)[:60]
    except (ValueError, RecursionError):  # a whole number too long to write out
        return "a very long one"
