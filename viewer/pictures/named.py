"""Every drawing of a yard by its name, in one format: pictures (PNG) or vector drawings (SVG) of equal content."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from terrain.findings import Finding
from viewer.page import DOTS, Page, Subject, numbered
from viewer.pictures import eye_level
from viewer.pictures.hillshade import hillshade_page
from viewer.pictures.slope_map import slope_page
from viewer.sheets import cutfill_page, plan_page, sections_page


@dataclass(frozen=True)
class Drawing:
    """One drawing: the stem of its file, its page, and the dots per inch of its picture."""

    stem: str
    page: Page
    dots: float = DOTS


def drawings(subject: Subject, findings: Sequence[Finding]) -> Iterator[Drawing]:
    """Contour plan, sections, cut and fill, slopes, hillshade, and the view from every place somebody looks from."""
    sheets: tuple[tuple[str, Callable[[], Page]], ...] = (
        ("plan", lambda: plan_page(subject, findings)),
        ("sections", lambda: sections_page(subject)),
        ("cutfill", lambda: cutfill_page(subject)),
        ("slope", lambda: slope_page(subject)),
        ("hillshade", lambda: hillshade_page(subject)),
    )
    for stem, drawn in sheets:
        (page,) = numbered([drawn()])
        yield Drawing(stem, page)
    for stem, page in eye_level.eye_pages(subject):
        yield Drawing(stem, page, eye_level.DOTS)


def draw_pictures(
    subject: Subject,
    findings: Sequence[Finding],
    kind: str,
    folder: Path,
    progress: Callable[[str], None] = lambda words: None,
) -> list[str]:
    """Write every drawing into an existing folder and answer the names of the files.

    Parameters
    ----------
    kind
        "png" or "svg". In an SVG lines and letters are vectors; light and views are pictures inside it.
    progress
        Called with a few words after each drawing.
    """
    names = []
    for drawing in drawings(subject, findings):
        path = drawing.page.save(folder / f"{drawing.stem}.{kind}", drawing.dots)
        names.append(path.name)
        progress(f"drawn {path.name}")
    return names
