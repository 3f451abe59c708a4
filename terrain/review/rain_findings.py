"""What is said of a storm: one note on the whole yard, and one finding for each basin that it is too much for."""

from __future__ import annotations

import math
from collections.abc import Iterator

import shapely

from terrain.findings import Finding
from terrain.limits import DRAWDOWN, INCH, Limit
from terrain.review.rain import Rain
from terrain.review.water import BasinWater, Place, Runoff, StormWater
from terrain.site import HOUR, INTAKE_SOURCE, RAIN_SOURCE, Site
from terrain.units import Units, show_length, show_volume

LITTLE = 0.001  # m3, a litre: less is not told


def basin_findings(site: Site, rain: Rain) -> Iterator[Finding]:
    """Every basin that the storm is too much for, that dries too slowly or lies too near a house, in one each."""
    for basin in rain.water.basins:
        yield from _basin(site, rain, basin)


def storm_words(units: Units, storm: StormWater) -> str:
    """ "2 in of rain in 6 h"."""
    stated = storm.storm
    return f"{show_length(stated.rain, units)} of rain in {stated.lasts / HOUR:g} h"


def hours_words(hours: float) -> str:
    """ "5 h", "3 days"; "no time" where it never ends."""
    if math.isinf(hours):
        return "no time"
    if hours < 1.0:
        return "less than an hour"
    return f"{hours:.0f} h" if hours <= DRAWDOWN.value else f"{hours / 24.0:.0f} days"


def storm_finding(units: Units, storm: StormWater) -> Finding:
    """Where the rain goes, before and after, and what was assumed."""
    was, now = storm.before, storm.after
    text = (
        f"Of {storm_words(units, storm)}{_assumed(storm)}, {show_volume(now.left, units)} run off, "
        f"{show_volume(was.left, units)} before{_widest(units, storm)}; {show_volume(now.soaked, units)} soak in at "
        f"{_rate(units, storm.storm.intake)}. {_standing(now)}roofs are not counted."
    )
    text = text.replace(". roofs", ". Roofs")
    return Finding("note", "drainage", text, now.left, was.left, f"{RAIN_SOURCE}; {INTAKE_SOURCE}")


def _rate(units: Units, intake: float) -> str:
    """A rate at which ground takes water, m/s, as rain is told."""
    per_hour = intake * HOUR
    return f"{per_hour / INCH:.2f} in an hour" if units == "ft" else f"{1000.0 * per_hour:.0f} mm an hour"


def _widest(units: Units, storm: StormWater) -> str:
    """The side over which most leaves, and how wide."""
    if not storm.leaving or storm.leaving[0].after <= 0.0:
        return ""
    most = storm.leaving[0]
    return f", most over the {most.side} side, {show_length(most.width_after, units, 'distance')} wide"


def _standing(now: Runoff) -> str:
    if now.stored < LITTLE:
        return ""
    return f"What stands {'stays' if math.isinf(now.dry_after) else f'is gone after {hours_words(now.dry_after)}'}; "


def _assumed(storm: StormWater) -> str:
    """Which keys the site file does not hold."""
    return f" (assumed: {', '.join(storm.storm.assumed)})" if storm.storm.assumed else ""


def _basin(site: Site, rain: Rain, basin: BasinWater) -> Iterator[Finding]:
    """A basin that runs over, stands too long or lies too near a house: one finding for all that is wrong with it."""
    units, (away, house) = site.units, _nearest_house(site, basin)
    told: list[tuple[str, str, Limit, float]] = []
    if not basin.holds:
        held = f"holds {show_volume(basin.room, units)} of the {show_volume(basin.comes, units)} that "
        held += f"{storm_words(units, rain.water)} bring; {_over(site, rain, basin)}"
        room = Limit(basin.room, "m3", "", RAIN_SOURCE)
        told.append((held, "Make it larger, or lead the rest off", room, basin.comes))
    if basin.dry_after > DRAWDOWN.value:
        slow = f"dries in {hours_words(basin.dry_after)} where {hours_words(DRAWDOWN.value)} are asked"
        told.append((slow, "Drain its floor, or line it as a pond", DRAWDOWN, basin.dry_after))
    off = site.local.bound("basin_away")
    if away < off.value - 1e-6:
        away_words, asked = (show_length(length, units, "distance") for length in (away, off.value))
        near = f"lies {away_words} from {house}, nearer than {asked}"
        told.append((near, "Line it or move it", off, away))
    if told:
        _, advice, bound, value = told[0]
        text = f"{basin.name} {'; it '.join(one[0] for one in told)}. {advice}."
        yield Finding("caution", "drainage", text, value, bound.value, bound.source, basin.to or basin.at)


def _nearest_house(site: Site, basin: BasinWater) -> tuple[float, str]:
    """Distance in metres from a basin's own outline to the nearest building, and its name."""
    outline = next(one.outline for one in site.basin if one.name == basin.name)
    houses = [(float(shapely.distance(house.outline, outline)), house.name) for house in site.building]
    return min(houses, default=(math.inf, ""))


def _over(site: Site, rain: Rain, basin: BasinWater) -> str:
    """Where the rest goes."""
    if basin.to is None:
        return "the rest stands about it"
    return f"{show_volume(basin.spills, site.units)} run over{_toward(site, rain, basin.to)}"


def _toward(site: Site, rain: Rain, start: Place) -> str:
    """What the way of the overflow comes near: a house."""
    line, off = shapely.linestrings(rain.way(start)), site.local.bound("basin_away").value
    for house in site.building:
        if shapely.distance(house.outline, line) < off:
            return f" toward {house.name}"
    return ""
