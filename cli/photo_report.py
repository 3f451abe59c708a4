"""What a photograph with the mound in it is worth, on the terminal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from rich.text import Text

from cli.report import STYLES, shown_names, shown_path
from cli.terminal import Line, labelled, on_terminal
from terrain.flow import Study
from terrain.photograph import NO_SET_OUT, TRUE, photo_rows
from viewer.pictures import PlacedPhoto


def print_photo(study: Study, placed: PlacedPhoto, names: Sequence[str], folder: Path) -> None:
    """Print the camera, the marks and what the picture may be used for on standard output."""
    with on_terminal() as console:
        console.print(Text(study.site.name, style="bold"))
        console.print(labelled(_lines(study, placed, names, folder)))


def _lines(study: Study, placed: PlacedPhoto, names: Sequence[str], folder: Path) -> Iterator[Line]:
    yield from photo_rows(placed.fit, placed.photograph, placed.light, study.site.units)
    yield "Picture", f"{TRUE} {NO_SET_OUT}"
    for finding in study.review.findings:
        if finding.level == "stop":
            yield "Stop", Text(finding.text, STYLES["stop"])
    yield "Files", f"in {shown_path(folder)}: {shown_names(tuple(names))}"
