"""The drawings as SVG: vector pages of the same content and size as the pictures."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from terrain.findings import Finding
from viewer.cutfill import cutfill_page
from viewer.hillshade import hillshade_page
from viewer.page import Page
from viewer.plan import plan_page
from viewer.sections import sections_page
from viewer.slope_map import slope_page
from viewer.subject import Subject


def draw_svg(subject: Subject, findings: Sequence[Finding], folder: Path) -> list[str]:
    """Write plan.svg, sections.svg, cutfill.svg, slope.svg and hillshade.svg into `folder`; answer their names."""
    pages = {
        "plan": plan_page(subject, findings),
        "sections": sections_page(subject),
        "cutfill": cutfill_page(subject),
        "slope": slope_page(subject),
        "hillshade": hillshade_page(subject),
    }
    for name, page in pages.items():
        save_svg(page, folder / f"{name}.svg")
    return [f"{name}.svg" for name in pages]


def save_svg(page: Page, path: Path) -> Path:
    """Write one page; letters become outlines, so that they look alike everywhere, and equal pages equal files."""
    from matplotlib import rc_context

    with rc_context({"svg.hashsalt": "hummock", "text.hinting": "no_hinting"}):
        page.figure.savefig(path, facecolor="none", metadata={"Creator": "hummock", "Date": None})
    return path
