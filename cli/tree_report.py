"""The trees on the terminal: circles, what the work does, soil by ring, and what the arborist is asked."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from cli.report import STYLES, ground_lines, shown_names, shown_path, verdict
from cli.terminal import Line, labelled, on_terminal
from terrain.findings import Finding
from terrain.flow import Study
from terrain.review import RingTable, TreeCheck, circle_rows, limit_words, ring_table, work_rows
from terrain.units import Units

NARROW = 60  # columns below which the table of rings leaves out the columns of depth
MOST_RINGS = 40  # a screen scrolls: no ring is joined to its neighbour


def print_trees(study: Study, names: Sequence[str], folder: Path) -> None:
    """Print every tree on standard output, in the site's own units, as wide as the terminal is."""
    with on_terminal() as console:
        console.print(Text(study.site.name, style="bold"))
        console.print(labelled(ground_lines(study)))
        for check in study.review.trees:
            for part in tree_parts(check, study.site.units, console.width):
                console.print(part)
        console.print()
        console.print(labelled(_closing(study, names, folder)))


def tree_parts(check: TreeCheck, units: Units, width: int) -> Iterator[RenderableType]:
    """One tree on a terminal so many columns wide: whether its limits are kept first."""
    narrow = width < NARROW
    yield Text()
    yield Text(check.name, style="bold")
    yield verdict(*limit_words(check, units))
    rows = [*circle_rows(check, units), *work_rows(check, units)]
    yield labelled((what, Text(figure)) for what, figure in rows)
    table = ring_table(check, units, most_rings=MOST_RINGS)
    yield _rings(table, narrow)
    if not narrow:
        yield Text(table.remark, style="dim")


def _rings(table: RingTable, narrow: bool) -> Table:
    """Soil by ring; a narrow screen shows share and deepest place only."""
    shown = [0, len(table.heads) - 2, len(table.heads) - 1] if narrow else range(len(table.heads))
    found = Table(box=None, padding=(0, 2, 0, 0), header_style="dim")
    for number in shown:
        found.add_column(table.heads[number], justify="left" if number == 0 else "right", overflow="fold")
    for row in table.rows:
        found.add_row(*(row[number] for number in shown), style="bold" if row is table.rows[-1] else "")
    return found


def _closing(study: Study, names: Sequence[str], folder: Path) -> Iterator[Line]:
    """What the arborist is asked, stops on anything else, and the files."""
    findings = study.review.findings
    told = list(caution_lines(findings))
    yield from told
    if len(findings) > len(told):
        yield "Review", Text(f"{len(findings) - len(told)} more on other matters; hummock shape tells them.")
    yield "Files", Text(f"in {shown_path(folder)}: {shown_names(tuple(names))}")


def caution_lines(findings: Sequence[Finding]) -> Iterator[Line]:
    """Every finding on trees, and stops on anything else, as (level, text)."""
    for found in findings:
        if found.topic == "trees" or found.level == "stop":
            yield found.level.capitalize(), Text(found.text, STYLES[found.level])
