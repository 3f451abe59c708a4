"""The crew's day on the terminal: steps with amounts and hours, where work waits, how many barrows."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from rich.table import Table
from rich.text import Text

from cli.report import shown_names, shown_path
from cli.terminal import on_terminal
from terrain.field import CrewDay, day_rows, grade_words, hold_words, lift_words, squares_words, total_words
from terrain.flow import Study
from terrain.language import Language


def print_crew(study: Study, day: CrewDay, words: Language, names: Sequence[str], folder: Path) -> None:
    """Print the day on standard output."""
    units = study.site.units
    table = Table(box=None, padding=(0, 2, 0, 0), show_header=False)
    table.add_column()
    table.add_column(justify="right")
    table.add_column(justify="right")
    for row in day_rows(study, day, words):
        table.add_row(Text(row.name), Text(row.amount), Text(row.hours))
    told, hours = total_words(day, words)
    table.add_row(Text(told, style="bold"), "", Text(hours, style="bold"))
    with on_terminal() as console:
        console.print(Text(study.site.name, style="bold"))
        console.print(Text(grade_words(study, words)))
        console.print(table)
        for hold in day.holds:
            console.print(Text(f"{words.say('Wait for a yes')}: {hold_words(hold, units, words)}"))
        for line in squares_words(day.squares, units, words):
            console.print(Text(line))
        for lift in day.squares.lifts:
            console.print(Text("; ".join(lift_words(lift, units, words))))
        console.print(f"Files    in {shown_path(folder)}: {shown_names(tuple(names))}")
