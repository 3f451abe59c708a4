"""All drawings of a yard, in one call, in both systems of units, whatever the yard is like."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Literal

import numpy as np
import pytest
from scenario import Stages, yard
from shipped import study_of

from terrain.findings import Finding
from viewer.draw import draw_all
from viewer.page.subject import Subject, subject_of
from viewer.pictures.standpoints import standpoints

MAPS = ["plan.pdf", "plan.png", "sections.png", "cutfill.png"]
LOOKS = ["skyline.png", "slope.png", "signs.png", "view.png"]
FINDINGS = (
    Finding("stop", "trees", "Soil lies inside the keep-off of bur oak. " * 3),
    Finding("caution", "safety", "Have buried lines located before any dig."),
    Finding("note", "look", "It reads natural."),
)


def eyes(stages: Stages) -> list[str]:
    """The files of the eye-level views."""
    return [f"eye_{stand.stem}.png" for stand in standpoints(stages[0], stages[1])]


def bare(stages: Stages) -> Stages:
    """The same yard with no tree, house or walk, and no mound."""
    site, ground, proposal, work = stages
    grid = ground.grid
    flat = replace(proposal, fill=np.zeros(grid.shape), elevation=ground.elevation)
    calm = replace(ground, check=replace(ground.check, doubtful=()))
    return replace(site, tree=(), building=(), keep_clear=()), calm, flat, work


@pytest.mark.parametrize(
    "units", [pytest.param("ft", marks=pytest.mark.slow), pytest.param("m", marks=pytest.mark.fuzz)]
)
def test_every_drawing_is_written(units: Literal["ft", "m"], tmp_path: Path) -> None:
    from PIL import Image

    drawn = draw_all(Subject(*yard(units)), FINDINGS, tmp_path)
    assert [path.name for path in drawn] == [*MAPS, *eyes(yard(units)), *LOOKS]
    for path in drawn:
        assert path.stat().st_size > 20_000
    for name, least in (("plan.png", 1600), ("sections.png", 1600), ("cutfill.png", 1600), ("view.png", 1600)):
        with Image.open(tmp_path / name) as picture:
            assert picture.width >= least
            assert np.asarray(picture.convert("L")).std() > 5.0


@pytest.mark.slow
def test_a_bare_yard_without_a_mound_is_drawn(tmp_path: Path) -> None:
    drawn = draw_all(Subject(*bare(yard("ft"))), (), tmp_path)
    assert [path.name for path in drawn] == [*MAPS, "eye_street.png", "eye_path.png", *LOOKS]


def test_a_very_long_name_and_many_findings_stay_on_the_page(tmp_path: Path) -> None:
    from viewer.sheets.plan import plan_page

    site, ground, proposal, work = yard("ft")
    long = replace(
        site, name="The bed beside the very long drive at the corner of Alder Bend and Larkspur Rise, part 2"
    )
    page = plan_page(Subject(long, ground, proposal, work), FINDINGS * 10)
    page.figure.set_dpi(72.0)
    page.figure.canvas.draw()
    for text in page.axes.texts:
        extent = text.get_window_extent()
        assert extent.x0 > 0
        assert extent.y0 > 0
        assert extent.x1 < page.width
        assert extent.y1 < page.height
    assert any("more in review.pdf" in text.get_text() for text in page.axes.texts)


@pytest.mark.parametrize("units", ["ft", "m"])
def test_a_caution_stands_on_the_plan_and_not_only_where_the_rest_is_read(units: Literal["ft", "m"]) -> None:
    from viewer.sheets.plan import plan_page

    page = plan_page(Subject(*yard(units)), FINDINGS * 10)  # type: ignore[arg-type]
    told = [text.get_text() for text in page.axes.texts]
    assert any(line.startswith(FINDINGS[0].text[:20]) for line in told)


def test_words_beside_the_drawings_never_overlap() -> None:
    from viewer.sheets.cutfill import cutfill_page
    from viewer.sheets.plan import plan_page, sheet_of

    for units in ("ft", "m"):
        subject = Subject(*yard(units))  # type: ignore[arg-type]
        sheet = sheet_of(subject)
        for page in (plan_page(subject, FINDINGS), cutfill_page(subject)):
            page.figure.set_dpi(4 * 72.0)
            page.figure.canvas.draw()
            boxes = [
                text.get_window_extent()
                for text in page.axes.texts
                if text.get_window_extent().y1 < 4 * sheet.frame[1] or text.get_window_extent().x0 > 4 * sheet.frame[2]
            ]
            assert len(boxes) > 20
            for k, one in enumerate(boxes):
                for other in boxes[:k]:
                    across = min(one.x1, other.x1) - max(one.x0, other.x0)
                    up = min(one.y1, other.y1) - max(one.y0, other.y0)
                    # Line boxes hold the room for descenders; a point of that may be shared.
                    assert min(across, up) < 4 * 1.0


def test_the_drawing_code_loads_no_heavy_library_before_it_draws() -> None:
    code = (
        "import sys, viewer.draw; "
        "print([n for n in ('matplotlib', 'pyvista', 'vtkmodules', 'contourpy', 'PIL', 'pint') if n in sys.modules])"
    )
    root = Path(__file__).resolve().parent.parent.parent
    run = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
        env={**os.environ, "PYTHONPATH": str(root)},
    )
    assert run.stdout.strip() == "[]"


@pytest.mark.slow
def test_the_real_stages_are_drawn(root: Path, tmp_path: Path) -> None:
    """Of the examples that no test of `shape` draws whole."""
    examples = {path.parent.name for path in (root / "examples").glob("*/site.toml")}
    for example in sorted(examples - {"alder-bend", "larkspur-rise"}):
        study = study_of(example, 0.2)
        folder = tmp_path / example
        folder.mkdir()
        drawn = draw_all(subject_of(study), study.review, folder)
        eye_files = [f"eye_{stand.stem}.png" for stand in standpoints(study.site, study.ground)]
        assert [path.name for path in drawn] == [*MAPS, *eye_files, *LOOKS]
