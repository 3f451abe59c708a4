"""One file for the phone: level book, tapes, stakes, built shots; needs no server, no network and nothing installed."""

from __future__ import annotations

import math
from html import escape
from pathlib import Path

import numpy as np

from terrain.field import SetOut, Stake, firm_points, level_shot, show_tape
from terrain.flow import Study
from terrain.language import TONGUES, Language, page_messages, unit_names
from terrain.languages import Retold, names_in
from terrain.limits import BUILT_TOLERANCE
from terrain.site import Site, north_of
from terrain.survey import CLASSES, FLOOR
from terrain.units import Units
from viewer.web.assemble import body, page, policy, script, style
from viewer.web.packed import as_text, pack
from viewer.web.window import shown_window
from viewer.web.written import write_page

USUAL_CLASS = "third order"  # of levelling, where nobody states one


def field_page(study: Study | None, stakes: SetOut | None, units: Units, words: Language) -> str:
    """The page as text: with the stakes and known points of a yard, or without a site for any job.

    Parameters
    ----------
    study, stakes
        The yard worked through and its set-out; None: no stakes come along.
    units
        Units of bare numbers.
    words
        The language that the page opens in; it carries all others.
    """
    title = words.say("Field page") if study is None else study.site.name
    values: dict[str, object] = {
        "site": study is not None,
        "job": title if study is not None else "",
        "units": units,
        "language": words.code,
        "languages": list(TONGUES),
        "words": {code: page_messages(Language(code)) for code in TONGUES if code != "en"},
        "unit_names": {code: unit_names(Language(code)) for code in TONGUES},
        "allowance": {"per_root_km": CLASSES[USUAL_CLASS] / 1000.0, "floor": FLOOR},
        "tolerance": BUILT_TOLERANCE[units].value,
        "benchmark": None,
        "known": [],
        "north": None,  # no yard: nobody knows where it lies
        "stakes": [],
        "field": None,
    }
    if study is not None and stakes is not None:
        values |= _of_the_yard(study, stakes)
    html = body(
        "field.html",
        {
            "name": escape(title),
            "noscript": escape(words.say("This page works with a script, and scripts are off here.")),
            "sheets": escape(words.say("Sheets")),
        },
    )
    look, code = style("field.css"), script("fieldpage.js")
    return page(title, look, html, values, code, policy(look, code))


def _of_the_yard(study: Study, stakes: SetOut) -> dict[str, object]:
    """Stakes, known points, north and the grade of day one; survey coordinates in metres."""
    site = study.site
    known = {point.name: point.at for point in stakes.known}
    # Corners too that no stake is taped from: the crew's own points are taped from whatever stands nearest.
    known |= {point.name: point.at for point in firm_points(site, study.proposal) if point.name not in known}
    built = names_in(site.basin, site.channel, site.terrace, site.retained_edge, site.tree, site.building)
    spoken = {code: Retold(Language(code), built) for code in TONGUES}
    level = level_shot(site, study.proposal)
    return {
        "north": _north(site),
        "benchmark": None
        if level is None
        else {"name": level.name.removeprefix("shot "), "elevation": _fine(level.elevation)},
        "known": [{"name": name, "x": _fine(x), "y": _fine(y)} for name, (x, y) in known.items()],
        "stakes": [
            {
                "name": stake.name,
                "what": {code: said.told(stake.what) for code, said in spoken.items()},
                "where": {code: _where(stake, stakes, site.units, Language(code)) for code in TONGUES},
                "x": _fine(stake.at[0]),
                "y": _fine(stake.at[1]),
                "existing": _fine(stake.existing),
                "day_one": _fine(stake.day_one),
            }
            for stake in stakes.stakes
        ],
        "field": _grades(study),
    }


def _north(site: Site) -> float | None:
    """Degrees clockwise from the survey's y to the north of the sheets; None where nobody knows where the yard lies."""
    return None if site.survey.located is None else round(math.degrees(north_of(site).turn), 2)


def _where(stake: Stake, stakes: SetOut, units: Units, words: Language) -> str:
    """How a stake is found: by two tapes, or along the string and square to it."""
    if stakes.step:
        station, off = (words.measure(show_tape(length, units)) for length in (stake.station, abs(stake.offset)))
        start, end = (known.name for known in stakes.baseline)
        if stake.offset >= 0.0:
            return words.say(
                "{station} along from {start} to {end}, {off} to the left.",
                station=station,
                start=start,
                end=end,
                off=off,
            )
        return words.say(
            "{station} along from {start} to {end}, {off} to the right.", station=station, start=start, end=end, off=off
        )
    tapes = stake.tapes
    first, second = (words.measure(show_tape(length, units)) for length in (tapes.from_start, tapes.from_end))
    ends = {"first": first, "start": tapes.start.name, "second": second, "end": tapes.end.name}
    if tapes.left:
        return words.say("{first} from {start}, {second} from {end}, on the left looking along.", **ends)
    return words.say("{first} from {start}, {second} from {end}, on the right looking along.", **ends)


def _grades(study: Study) -> dict[str, object]:
    """The grade of day one on the grid, packed; metres from its corner and its lowest ground."""
    proposal = study.proposal
    shown = shown_window(study.site, study.ground.grid)
    built = study.ground.elevation + study.work.day_one_factor * proposal.fill - proposal.cut
    grade = np.ascontiguousarray(shown.of(built))
    low = float(grade.min())
    packed = pack(grade - low)
    grid = {"x0": 0.0, "y0": 0.0, "cell": shown.grid.cell, "nx": shown.grid.nx, "ny": shown.grid.ny}
    return {
        "grid": grid,
        "origin": [*shown.corner, low],
        "grade": {"low": packed.low, "step": packed.step, "codes": as_text(packed)},
    }


def _fine(metres: float) -> float:
    """Metres to a hundredth of a millimetre."""
    return round(metres, 5)


def write_field(study: Study | None, stakes: SetOut | None, units: Units, path: Path, words: Language) -> Path:
    """Write the page whole or not at all; `OutputError` where the file cannot be written."""
    return write_page(field_page(study, stakes, units, words), path, "--out")
