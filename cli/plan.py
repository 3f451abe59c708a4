"""Somebody else's plan on the command line: how it is to be taken, the check of its trees, and what is told of it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path

from rich.text import Text

from cli.report import STYLES, look_lines, shown_names, shown_path
from cli.terminal import Line, labelled, on_terminal
from cli.tree_report import tree_parts
from terrain.errors import InputError
from terrain.flow import Study
from terrain.ground import lie_of
from terrain.site import PlanDesign, PlanOptions, check_rule
from terrain.soil import Earthwork
from terrain.survey import parse_layers
from terrain.units import (
    Units,
    as_written,
    parse_length,
    parse_slope,
    show_slope,
    show_span,
    show_volume,
    written_units,
)

_DRAWING_UNITS = ("ft", "in", "m", "cm", "mm")


def plan_options(
    layers: Sequence[str],
    units: str | None,
    trunks: Sequence[str],
    rule: str | None,
    slope: str | None,
) -> PlanOptions:
    """What was typed, read.

    Raises `InputError` for a layer, a unit, a trunk, a rule or a slope that cannot be.
    """
    if units is not None and units not in _DRAWING_UNITS:
        problem = f"{as_written(units)} is no unit of a drawing."
        raise InputError("--units", problem, f"Accepted: {', '.join(_DRAWING_UNITS)}.")
    return PlanOptions(
        layers=parse_layers(layers),
        unit=units or "",
        trunk_unit=next((text.strip() for text in trunks if text.strip() in _DRAWING_UNITS), ""),
        trunks=_trunks([text for text in trunks if text.strip() not in _DRAWING_UNITS]),
        rule=check_rule(rule) if rule else "",
        slope=None if slope is None else parse_slope(slope, "--max-slope"),
    )


def _trunks(typed: Sequence[str]) -> Mapping[str, float]:
    """Trunk diameters in metres by tree, "" for all others: from "oak 3=24 in" and "24 in"."""
    found = {}
    for text in typed:
        name, _, figure = text.rpartition("=")
        where = f'--trunk "{text}"'
        if written_units(figure) is None:
            raise InputError(
                where,
                "a trunk is told with its unit.",
                'Accepted: "24 in", "60 cm", for one tree "NAME=24 in", or the unit of all bare figures, such as in.',
            )
        found[name.strip()] = parse_length(figure, "m", where)
    return found


def plan_plain(design: PlanDesign) -> dict[str, object]:
    """What the plan's layers were taken for and what was assumed, for the summary."""
    return {
        "layers": [
            {"layer": look.layer, "holds": look.words, "taken_for": look.use or None} for look in design.uses.looks
        ],
        "assumed": list(design.assumed),
    }


def check_plan(plan: Path, asked: PlanOptions, progress: Callable[[str], None]) -> tuple[PlanDesign, Study]:
    """Read a plan and work it through."""
    from terrain.planned import run_plan
    from terrain.site import read_design

    progress("reading the plan")
    design = read_design(plan, asked)
    return design, run_plan(design, progress=progress)


def print_plan(design: PlanDesign, study: Study, names: Sequence[str], folder: Path) -> None:
    """Print what was taken for what, every tree, and all findings."""
    with on_terminal() as console:
        console.print(Text(study.site.name, style="bold"))
        console.print(labelled(_taken(design)))
        for check in study.review.trees:
            for part in tree_parts(check, study.site.units, console.width):
                console.print(part)
        console.print()
        console.print(labelled(_closing(study, names, folder)))


def _taken(design: PlanDesign) -> Iterator[Line]:
    """The layers that are used, those that are not, and what was assumed."""
    label = "Taken"
    for look in design.uses.looks:
        if look not in design.uses.unused:
            yield label, look.said
            label = ""
    unused = [f"{look.layer} ({look.words})" for look in design.uses.unused]
    if unused:
        yield "Not used", "; ".join(unused)
    for number, text in enumerate(design.assumed):
        yield "Assumed" if not number else "", text


def _closing(study: Study, names: Sequence[str], folder: Path) -> Iterator[Line]:
    """Volumes, slopes and look of the design, every finding but the notes on the plan itself, and the files."""
    units, work = study.site.units, study.work
    yield "Ground", lie_of(study.site, study.ground).text
    fill, cut = show_volume(work.fill_placed, units, "placed"), show_volume(work.cut_bank, units, "bank")
    yield "Soil", f"as drawn: fill {fill}, cut {cut}"
    yield "", _range_words(work, units)
    yield "Slopes", f"steepest {show_slope(study.proposal.steepest)}"
    yield from look_lines(study)
    for level in ("stop", "caution"):
        for finding in study.review.findings:
            if finding.level == level:
                yield level.capitalize(), Text(finding.text, STYLES[level])
    yield "Files", f"in {shown_path(folder)}: {shown_names(tuple(names))}"


def _range_words(work: Earthwork, units: Units) -> str:
    """The ranges of both volumes, and what they leave out: nobody knows a plan's grade between what it draws."""
    fill = show_span(work.fill_placed_low, work.fill_placed_high, units)
    cut = f", cut {show_span(work.cut_bank_low, work.cut_bank_high, units)}" if work.cut_bank > 0.0 else ""
    known = f"The doubt of the existing grade alone: fill {fill}{cut} in nine cases of ten."
    return f"{known} How the drawn grade runs between its own lines is not in it."
