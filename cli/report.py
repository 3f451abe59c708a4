"""The short result on the terminal: what to order, what holds, what does not, what was written."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from rich.text import Text

from cli.terminal import Line, labelled, on_terminal
from terrain.field import survey_words
from terrain.flow import Study
from terrain.ground import lie_of
from terrain.review import count_words, limit_words
from terrain.soil import MACHINE_WORDS, Order, buy_words, money, sure_words, truck_words
from terrain.units import Units, show_length, show_place, show_slope, show_volume

if TYPE_CHECKING:
    from cli.outputs import Outputs

STYLES = {
    "stop": "bold red",
    "caution": "yellow",
    "note": "",
    "kept": "green",
    "broken": "bold red",
    "short": "yellow",
}


def print_report(study: Study, written: Outputs, folder: Path) -> None:
    """Print the short result of a study on standard output, in the site's own units."""
    with on_terminal() as console:
        console.print(Text(study.site.name, style="bold"))
        console.print(labelled(lines(study, written, folder)))


def lines(study: Study, written: Outputs, folder: Path) -> Iterator[Line]:
    """Each line of the result as (label, text); a label is given once for the lines that belong together."""
    yield from ground_lines(study)
    yield from order_lines(study)
    yield from limit_lines(study)
    yield from unmet_lines(study)
    yield from look_lines(study)
    yield from finding_lines(study)
    yield "Files", Text(f"in {shown_path(folder)}: {shown_names(written.names)}")


def ground_lines(study: Study) -> Iterator[Line]:
    """Which way the ground falls: who stood in the yard sees at once whether the heights are upside down."""
    yield from (("Caution", Text(finding.text, STYLES["caution"])) for finding in study.review.first)
    lie = lie_of(study.site, study.ground)
    yield "Ground", Text(lie.text if study.site.survey.measured else lie.short)
    guess = survey_words(study)
    if guess:
        yield "", Text(guess, STYLES["caution"])


def order_lines(study: Study) -> Iterator[Line]:
    """Soil to order as `hummock order` has it, with its range and loads, the layers beside it, how high to build."""
    units, work = study.site.units, study.work
    order = study.order
    yield "Order", Text(buy_words(order, units), style="bold")
    yield from (("", Text(text)) for text in sure_words(order, units))
    yield from (("", Text(text)) for text in _haul_words(order, units))
    if order.machine_work:
        yield "", Text(MACHINE_WORDS)
    layers = [f"mound {show_volume(work.fill_placed, units, 'placed')}"]
    layers += [f"sod to strip {show_volume(work.sod, units)}"] if work.sod else []
    layers += [f"mulch {show_volume(work.mulch, units)}"] if work.mulch else []
    yield "", Text(", ".join(layers))
    height = float(study.proposal.fill.max())
    text = f"{show_length(height, units)} at the top"
    if work.day_one_factor > 1.0:
        text += f"; build {show_length(height * work.day_one_factor, units)} on day one, it settles"
    yield "Height", Text(text)


def _haul_words(order: Order, units: Units) -> Iterator[str]:
    """Trucks of each soil; barrows and cost in one line."""
    for item in order.soils:
        trucks = truck_words(item.haul, units, order.supply.truck)
        if trucks:
            yield trucks if len(order.soils) == 1 else f"{item.name}: {trucks}"
    barrows = f"{order.haul.barrows:,} barrows of soil" if order.haul.barrows else ""
    cost = "" if order.cost is None else f"cost {money(order.cost)}"
    if barrows or cost:
        yield ", ".join(filter(None, (barrows, cost)))


def limit_lines(study: Study) -> Iterator[Line]:
    """The slope limit and every tree's limits, each kept or broken."""
    site, proposal = study.site, study.proposal
    kept = proposal.steepest <= site.berm.max_slope + 1e-6
    slopes = f"slope: steepest {show_slope(proposal.steepest)}, limit {show_slope(site.berm.max_slope)}"
    yield "Limits", verdict(kept, slopes)
    for tree in study.review.trees:
        tree_kept, words = limit_words(tree, site.units)
        yield "", verdict(tree_kept, f"{tree.name}: {words}")


def verdict(kept: bool, text: str) -> Text:
    """A limit with its word: a grey print must tell it as well as a coloured screen."""
    word = "kept" if kept else "broken"
    return Text.assemble((f"{word}  ", STYLES[word]), text)


def unmet_lines(study: Study) -> Iterator[Line]:
    """Crest points that could not be built as wished, and what held them."""
    units, label = study.site.units, "Not met"
    for point in study.proposal.crest:
        if point.held_by:
            wished, built = show_length(point.wished, units), show_length(point.built, units)
            text = f"crest at {show_place(*point.at, units)}: {wished} wished, {built} built, held by "
            yield label, Text(text + point.held_by, STYLES["short"])
            label = ""


def look_lines(study: Study) -> Iterator[Line]:
    """Whether the mound reads natural, and the signs against it."""
    yield "Look", Text(study.review.look.words)


def finding_lines(study: Study) -> Iterator[Line]:
    """Stops and cautions in full, and every check in one line; notes are nothing that anybody has to act on."""
    for level in ("stop", "caution"):
        for finding in study.review.findings:
            if finding.level == level and finding not in study.review.first:
                yield level.capitalize(), Text(finding.text, STYLES[level])
    yield "Checks", Text(f"{count_words(study.review.checks)}. Each is in review.pdf.")


def shown_path(path: Path) -> str:
    """A path as short as it can be typed from here."""
    relative = os.path.relpath(path)
    return relative if len(relative) < len(str(path)) else str(path)


def shown_names(names: tuple[str, ...]) -> str:
    """File names with those that differ by their ending only put together: "plan .pdf .png"."""
    endings: dict[str, str] = {}
    for name in names:
        stem, dot, ending = name.partition(".")
        endings[stem] = f"{endings.get(stem, '')} {dot}{ending}"
    stems: dict[str, list[str]] = {}
    for stem, ending in endings.items():
        stems.setdefault(ending, []).append(stem)
    return "; ".join(f"{', '.join(group)}{ending}" for ending, group in stems.items())
