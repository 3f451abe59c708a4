"""The set-out as a table and as plain values. The table's tapes read back as a table of tape ties."""

from __future__ import annotations

from terrain.field.setout import words
from terrain.field.setout.model import Nail, SetOut, Stake, Tapes
from terrain.limits import SILL
from terrain.tables import csv_text
from terrain.units import Units, unit_length

_HEADS = ("point", "what", "from", "distance", "from 2", "distance 2", "side", "baseline station", "baseline offset")
_GRADES = ("existing", "finished", "day one", "finished less existing", "day one less existing")
_SMALLEST = {"ft": 3, "m": 3}  # decimals of figures that are worked on, not read off a rule


def set_out_csv(set_out: SetOut, units: Units) -> str:
    """The stakes as CSV: tapes to 1/4 in or 1 cm, elevations in the site's units."""
    grades = [f"{head} ({units})" for head in _GRADES]
    rods = [f"rod finished ({units})", f"rod day one ({units})"] if set_out.level else []
    heads = [*_HEADS, f"easting ({units})", f"northing ({units})", *grades, *rods, "remark"]
    return csv_text(heads, (_row(set_out, stake, units) for stake in set_out.stakes))


def known_csv(set_out: SetOut, units: Units) -> str:
    """What the stakes are measured from, as CSV: the known points, and the instrument where there is one."""
    start, end = set_out.baseline
    uses = {
        start.name: ("start of the baseline", f"offsets are left or right, looking to {end.name}"),
        end.name: ("end of the baseline", "hold tapes level; grades are of soil, mulch comes on top"),
    }
    nails = {nail.point.name for nail in set_out.nails}
    points = dict.fromkeys([*set_out.known, *(nail.point for nail in set_out.nails)])
    rows = [
        (
            k.name,
            *(_figure(value, units) for value in k.at),
            None,
            *uses.get(k.name, ("tapes start here", None)),
            "drive it first" if k.name in nails else None,
        )
        for k in points
    ]
    if set_out.level:
        height = _figure(set_out.level.instrument, units)
        rows.append(("instrument", None, None, height, "height of instrument", set_out.level.source, None))
    heads = ["point", f"easting ({units})", f"northing ({units})", f"elevation ({units})", "use", "remark", "nail"]
    return csv_text(heads, rows)


def _figure(metres: float, units: Units) -> str:
    text = f"{metres / unit_length(units):.{_SMALLEST[units]}f}"
    return text.removeprefix("-") if float(text) == 0.0 else text


def _row(set_out: SetOut, stake: Stake, units: Units) -> list[str]:
    tapes = stake.tapes
    row = [stake.name, stake.what, tapes.start.name, words.show_tape(tapes.from_start, units)]
    row += [tapes.end.name, words.show_tape(tapes.from_end, units), words.side_words(tapes)]
    row += [words.show_tape(stake.station, units), words.offset_words(stake.offset, units)]
    row += [_figure(value, units) for value in (*stake.at, stake.existing, stake.finished, stake.day_one)]
    row += [_figure(value, units) for value in (stake.fill, stake.build)]
    if set_out.level:
        row += [words.rod_words(set_out, grade, units) for grade in (stake.finished, stake.day_one)]
    return [*row, words.stake_notes(stake)]


def set_out_plain(set_out: SetOut) -> dict[str, object]:
    """The stakes as plain values, metres."""
    level = set_out.level
    return {
        "stage": set_out.stage,
        "tolerance_m": set_out.tolerance,
        "strung_error_m": set_out.error,
        "excepted": list(set_out.excepted),
        "station_step_m": set_out.step,
        "nails": [_nail(nail) for nail in set_out.nails],
        "checks": [{"from": one.start, "to": one.end, "distance_m": one.distance} for one in set_out.checks],
        "baseline": [known.name for known in set_out.baseline],
        "known": [{"name": known.name, "at": list(known.at)} for known in set_out.known],
        "sills": [
            {
                "name": sill.name,
                "at": list(sill.at),
                "tapes": _tapes(sill.tapes),
                "finished_m": sill.elevation,
                "day_one_m": sill.day_one,
                "tolerance_m": SILL.value,
            }
            for sill in set_out.sills
        ],
        "instrument_m": None if level is None else level.instrument,
        "stakes": [_plain(stake, set_out) for stake in set_out.stakes],
    }


def _nail(nail: Nail) -> dict[str, object]:
    return {
        "name": nail.point.name,
        "at": list(nail.point.at),
        "tapes": None if nail.tapes is None else _tapes(nail.tapes),
    }


def _tapes(tapes: Tapes) -> list[dict[str, object]]:
    return [
        {"from": tapes.start.name, "distance_m": tapes.from_start},
        {"from": tapes.end.name, "distance_m": tapes.from_end},
    ]


def _plain(stake: Stake, set_out: SetOut) -> dict[str, object]:
    tapes, level = stake.tapes, set_out.level
    plain: dict[str, object] = {
        "name": stake.name,
        "what": stake.what,
        "at": list(stake.at),
        "tapes": _tapes(tapes),
        "side": words.side_words(tapes),
        "weakness": tapes.dilution,
        "clear": tapes.clear,
        "station_m": stake.station,
        "offset_left_m": stake.offset,
        "existing_m": stake.existing,
        "finished_m": stake.finished,
        "day_one_m": stake.day_one,
        "fill_m": stake.fill,
        "build_m": stake.build,
    }
    if level is not None:
        plain |= {"rod_finished_m": level.rod(stake.finished), "rod_day_one_m": level.rod(stake.day_one)}
    return plain
