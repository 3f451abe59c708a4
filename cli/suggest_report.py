"""The suggestions on the terminal: each form with its signs, height, soil and what it does to the trees."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from rich.table import Table
from rich.text import Text

from cli.report import STYLES, ground_lines, shown_names, shown_path
from cli.suggest_files import Suggested, hidden_words
from cli.terminal import Line, labelled, on_terminal
from terrain.flow import Study
from terrain.suggest import winding_words
from terrain.units import show_length, show_volume
from viewer.pictures import Frame, tree_words, unmet

EXPECTED = "soil, loose, expected"
WIDE = 78  # columns of a plain terminal, less two


def print_suggestions(worked: Suggested, names: tuple[str, ...], folder: Path) -> None:
    """Print every form, the one as drawn first, and where the files are."""
    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False, header_style="bold")
    for head in ("form", "height", EXPECTED, "look"):
        table.add_column(head, no_wrap=head in ("height", EXPECTED), overflow="fold")
    for frame in worked.frames:
        table.add_row(*_row(frame))
    with on_terminal() as console:
        console.print(Text(worked.drawn.site.name, style="bold"))
        console.print(labelled(ground_lines(worked.drawn)))
        console.print(table)
        for label, text in _lines(worked, names, folder):
            grid = Table.grid(padding=(0, 2, 0, 0))
            grid.add_column(width=7, no_wrap=True)
            grid.add_column(overflow="fold")
            grid.add_row(Text(label, style="bold"), text)
            console.print(grid)


def _row(frame: Frame) -> tuple[Text, ...]:
    study = frame.study
    units, look = study.site.units, study.review.look
    style = STYLES["kept" if look.reads_natural else "short"]
    return (
        Text(frame.name, style="bold"),
        Text(show_length(float(study.proposal.fill.max()), units)),
        Text(show_volume(study.order.expected, units)),
        Text(look.words, style),
    )


def _lines(worked: Suggested, names: tuple[str, ...], folder: Path) -> Iterator[Line]:
    """Trees, what is not met, and the files."""
    yield from _sentences(worked)
    label = "Trees"
    for frame in worked.frames:
        for text in _trees(frame.study):
            yield label, Text(f"{frame.name}: {text}")
            label = ""
    yield from _hidden(worked)
    for one in worked.winding:
        yield "Stream", Text(winding_words(one, worked.drawn.site.units))
    for frame in worked.frames:
        for text in unmet(frame.study):
            yield "Soil", Text(f"{frame.name}: {text}", STYLES["short"])
        stops = [finding.text for finding in frame.study.review.findings if finding.level == "stop"]
        for text in stops:
            yield "Stop", Text(f"{frame.name}: {text}", STYLES["stop"])
    if not worked.suggestions:
        yield "None", Text("No other form fits this bed. Widen it, or move what it is kept off.", STYLES["short"])
    yield "Files", Text(f"in {shown_path(folder)}: {shown_names(names)}")


def _sentences(worked: Suggested) -> Iterator[Line]:
    """What each form does and takes."""
    label = "Forms"
    for frame in worked.frames:
        if frame.sentence:
            yield label, Text(f"{frame.name}: {frame.sentence}")
            label = ""


def _hidden(worked: Suggested) -> Iterator[Line]:
    """What each form hides of what is looked at."""
    for sight in worked.sights:
        label = "Hidden"
        for frame, share in zip(worked.frames, worked.hidden(sight), strict=True):
            yield label, Text(f"{frame.name}: {hidden_words(share)} of {sight.words}")
            label = ""


def _trees(study: Study) -> list[str]:
    return [tree_words(tree, study) for tree in study.review.trees]
