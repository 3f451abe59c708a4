"""The as-built check on the terminal: what is missing, what is wrong, and every shot that stands off."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from rich.table import Table
from rich.text import Text

from cli.report import STYLES, ground_lines, shown_names, shown_path, verdict
from cli.terminal import Line, labelled, on_terminal
from terrain.field import AsBuilt, BuiltShot, cause_words, off_words
from terrain.findings import Finding
from terrain.flow import Study
from terrain.ground import left_out_words
from terrain.units import Units, show_length, show_slope, show_volume


def print_as_built(study: Study, check: AsBuilt, names: Sequence[str], folder: Path) -> None:
    """Print the check on standard output, in the site's own units."""
    with on_terminal() as console:
        console.print(Text(study.site.name, style="bold"))
        console.print(labelled(_lines(study, check)))
        if check.apart:
            console.print(Text("\nShots that stand off", style="bold"))
            console.print(_table(check.apart, study))
        console.print(f"\nFiles    in {shown_path(folder)}: {shown_names(tuple(names))}")


def _lines(study: Study, check: AsBuilt) -> Iterator[Line]:
    units, missing = study.site.units, check.missing
    yield from ground_lines(study)
    yield "Measured", Text(f"{100 * check.covered:.0f} % of the mound; all figures are of that")
    yield from _causes(check, units)
    placed = show_volume(missing.missing, units, "placed")
    span = f" ({show_volume(missing.low, units)} to {show_volume(missing.high, units)}, 90 % range)"
    if check.suspected:
        yield "If not", Text(f"{placed} missing{span}")
    else:
        yield "Missing", Text.assemble((placed, "bold"), span)
    surplus = show_volume(missing.surplus, units)
    yield "", Text(f"{show_volume(missing.loose, units, 'loose')} to bring; {surplus} lies over the plan")
    yield "Shots", Text(f"{_shots(check, units)}; {len(check.shots)} in all")
    top, plan = show_length(check.top, units), show_length(check.planned_top, units)
    yield "Height", Text(f"{top} at the top, {plan} planned for {check.stage}")
    limit = study.site.berm.max_slope
    kept = not any(finding.level == "stop" and finding.topic == "slopes" for finding in check.findings)
    slope = f"steepest {show_slope(check.steepest)} once settled, limit {show_slope(limit)}"
    if kept and check.steepest > limit:
        slope += ": as near as the shots tell it"
    yield "Slope", verdict(kept, slope)
    yield from _findings(check.findings)
    yield "Surface", Text(f"by {check.method}; it misses a left-out shot by {left_out_words(check.check_rms, units)}")


def _causes(check: AsBuilt, units: Units) -> Iterator[Line]:
    """What is wrong with the benchmark, or most likely is."""
    if check.slip:
        cause = f"the benchmark: untouched ground stands {_off(check.slip, units)} the survey"
        yield "Cause", Text.assemble((cause, "bold"), "; it is taken out of what follows")
    if check.suspected:
        cause = f"most likely the benchmark: the mound stands {_off(check.suspected, units)} the plan, all alike"
        yield "Cause", Text.assemble((cause, "bold"), "; three shots beside the mound will tell")
    if not check.slip and not check.suspected and check.cause.kind != "as planned":
        explains = f", which explains {100 * check.cause.explains:.0f} % of what is off" if check.cause.explains else ""
        yield "Cause", Text.assemble((cause_words(check.cause, units), "bold"), explains)


def _off(metres: float, units: Units) -> str:
    return f"{show_length(abs(metres), units)} {'over' if metres > 0.0 else 'under'}"


def _shots(check: AsBuilt, units: Units) -> str:
    """How many of the shots on the work keep to it, as they are and if the benchmark has slipped."""
    work = [shot for shot in check.shots if shot.where in ("mound", "dig")]
    within, bound = sum(shot.verdict == "within" for shot in work), show_length(check.tolerance, units)
    text = f"{within} of {len(work)} within {bound} of the {check.stage} grade"
    if check.suspected:
        apart = sum(shot.where in ("mound", "dig") for shot in check.apart)
        text += f", {len(work) - apart} if the benchmark has slipped"
    return text


def _findings(findings: Sequence[Finding]) -> Iterator[Line]:
    """Stops, then cautions, each in full; of the notes their number."""
    for level in ("stop", "caution"):
        yield from ((level.capitalize(), Text(f.text, STYLES[level])) for f in findings if f.level == level)
    notes = sum(finding.level == "note" for finding in findings)
    if notes:
        yield "Notes", Text(f"{notes} in asbuilt.json")


def _table(shots: Sequence[BuiltShot], study: Study) -> Table:
    units = study.site.units
    table = Table(box=None, padding=(0, 2, 0, 0), header_style="dim")
    for head in ("shot", "where"):
        table.add_column(head, overflow="fold")
    for head in ("built", "day one", "settled"):
        table.add_column(head, justify="right")
    for shot in shots:
        beside = shot.verdict == "soil"
        over = off_words(shot.elevation - shot.existing, units)
        cells = (over, "") if beside else (off_words(shot.over_day_one, units), off_words(shot.over_settled, units))
        table.add_row(shot.name, shot.where, show_length(shot.elevation, units, "elevation"), *cells)
    return table
