"""The set-out on the terminal: known points, then every stake with its tapes and what to build there."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from rich.table import Table
from rich.text import Text

from cli.report import STYLES, ground_lines, shown_names, shown_path
from cli.terminal import labelled, on_terminal
from terrain.field import (
    SetOut,
    Stake,
    Tapes,
    depth_words,
    reading_notes,
    rod_words,
    show_tape,
    side_words,
    stakes_by_tapes,
)
from terrain.flow import Study
from terrain.units import show_length, show_place


def print_set_out(study: Study, stakes: SetOut, names: Sequence[str], folder: Path) -> None:
    """Print the stakes on standard output, those taped from the same two points together."""
    units = study.site.units
    with on_terminal() as console:
        console.print(Text(study.site.name, style="bold"))
        console.print(labelled(ground_lines(study)))
        console.print(f"{len(stakes.stakes)} stakes, in the order of walking. Known points:")
        for known in stakes.known:
            console.print(f"  {known.name}: {show_place(*known.at, units)}")
        for tapes, group in stakes_by_tapes(stakes):
            console.print(Text(f"\nFrom {tapes.start.name} and {tapes.end.name}", style="bold"))
            console.print(f"each {side_words(tapes)}")
            console.print(_table(stakes, group, tapes, study))
        for line in reading_notes(stakes, study):
            console.print(Text(line))
        for finding in study.review.findings:
            if finding.level == "stop":
                console.print(Text(f"Stop  {finding.text}", STYLES["stop"]))
        console.print(f"Files    in {shown_path(folder)}: {shown_names(tuple(names))}")


def _table(stakes: SetOut, group: Sequence[Stake], tapes: Tapes, study: Study) -> Table:
    units = study.site.units
    table = Table(box=None, padding=(0, 2, 0, 0), header_style="dim")
    table.add_column("")
    for head in (tapes.start.name, tapes.end.name, f"build {stakes.stage}", f"grade {stakes.stage}"):
        table.add_column(head, justify="right", overflow="fold")
    if stakes.level:
        table.add_column("rod", justify="right")
    for stake in group:
        cells = [
            stake.name,
            show_tape(stake.tapes.from_start, units),
            show_tape(stake.tapes.from_end, units),
        ]
        grade = stakes.grade(stake)
        cells += [depth_words(stakes.depth(stake), units), show_length(grade, units, "elevation")]
        table.add_row(*cells, *([rod_words(stakes, grade, units)] if stakes.level else []))
    return table
