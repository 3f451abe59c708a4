"""The as-built check as a table and as plain values."""

from __future__ import annotations

from dataclasses import asdict

from terrain.field.asbuilt.cause_words import cause_words
from terrain.field.asbuilt.model import AsBuilt, BuiltShot
from terrain.tables import csv_text
from terrain.units import Units, unit_length

_HEADS = ("point", "where", "verdict", "held against")
_FIGURES = (
    "easting",
    "northing",
    "built",
    "existing",
    "day one",
    "settled",
    "built less day one",
    "built less settled",
    "bound",
)


def as_built_csv(check: AsBuilt, units: Units) -> str:
    """Every shot against the plan as CSV, in the site's units; minus is low."""
    rows = []
    for shot in check.shots:
        values = [*shot.at, shot.elevation, shot.existing, shot.day_one, shot.settled]
        values += [shot.over_day_one, shot.over_settled, shot.bound]
        rows.append([shot.name, shot.where, shot.verdict, check.stage, *(_figure(value, units) for value in values)])
    return csv_text([*_HEADS, *(f"{head} ({units})" for head in _FIGURES)], rows)


def _figure(metres: float, units: Units) -> str:
    text = f"{metres / unit_length(units):.3f}"
    return text.removeprefix("-") if float(text) == 0.0 else text


def as_built_plain(check: AsBuilt, units: Units) -> dict[str, object]:
    """The check as plain values, SI units."""
    missing = check.missing
    return {
        "stage": check.stage,
        "tolerance_m": check.tolerance,
        "method": check.method,
        "check_rms_m": check.check_rms,
        "cause": {**asdict(check.cause), "words": cause_words(check.cause, units)},
        "slip_m": check.slip,
        "suspected_slip_m": check.suspected,
        "missing_placed_m3": missing.missing,
        "missing_placed_low_m3": missing.low,
        "missing_placed_high_m3": missing.high,
        "missing_loose_m3": missing.loose,
        "surplus_placed_m3": missing.surplus,
        "top_m": check.top,
        "planned_top_m": check.planned_top,
        "steepest": check.steepest,
        "too_steep_m2": check.steep_area,
        "covered_share": check.covered,
        "reads_natural": check.look.reads_natural,
        "shots": [_shot(shot) for shot in check.shots],
        "findings": [asdict(finding) for finding in check.findings],
    }


def _shot(shot: BuiltShot) -> dict[str, object]:
    return {
        "name": shot.name,
        "at": list(shot.at),
        "where": shot.where,
        "verdict": shot.verdict,
        "built_m": shot.elevation,
        "existing_m": shot.existing,
        "day_one_m": shot.day_one,
        "settled_m": shot.settled,
    }
