"""The sheet: round scales, exact on paper; the yard fits; the same drawing wherever the survey's origin lies."""

from __future__ import annotations

import re
import zlib
from pathlib import Path
from typing import Literal

import numpy as np
import pytest
from hypothesis import given, strategies as st
from scenario import FT, moved, yard
from shapely.geometry import box

from terrain.papers import PAPERS, scales
from viewer.page.sheet import bar_length, lay_out
from viewer.page.subject import Subject, needed_ground
from viewer.sheets import plan
from viewer.sheets.plan import draw_plan, sheet_of

POINT = 0.0254 / 72.0


def segments(pdf: Path) -> np.ndarray:
    """(n, 2) vectors in points of every straight segment that the page draws, curves left out."""
    streams = re.findall(rb"stream\r?\n(.*?)\r?\nendstream", pdf.read_bytes(), flags=re.DOTALL)
    found: list[tuple[float, float]] = []
    for stream in streams:
        try:
            text = zlib.decompress(stream).decode("latin-1")
        except zlib.error:
            continue
        last: tuple[float, float] | None = None
        for x, y, stroke in re.findall(r"(-?[\d.]+) (-?[\d.]+) ([ml])\b", text):
            at = float(x), float(y)
            if stroke == "l" and last is not None:
                found.append((at[0] - last[0], at[1] - last[1]))
            last = at
    return np.array(found)


@pytest.mark.parametrize(("units", "ratio"), [("ft", 96.0), ("m", 100.0)])
def test_the_pdf_is_to_scale(units: Literal["ft", "m"], ratio: float, tmp_path: Path) -> None:
    site, ground, proposal, work = yard(units)
    sheet = sheet_of(Subject(site, ground, proposal, work))
    assert sheet.scale.ratio == ratio
    draw_plan(Subject(site, ground, proposal, work), (), tmp_path)
    drawn = np.abs(segments(tmp_path / "plan.pdf"))
    # The house front is 32 ft of ground; the bar has four equal pieces.
    bar = bar_length(sheet.scale, units, sheet.panels[0][2] - sheet.panels[0][0] - 78.0)
    for ground_length in (32.0 * FT, bar / 4 * (FT if units == "ft" else 1.0)):
        wanted = ground_length / ratio / POINT
        miss = np.hypot(drawn[:, 0] - wanted, drawn[:, 1]).min()
        assert miss < 0.01, f"no level line of {wanted:.3f} points; nearest misses by {miss:.3f}"


def test_the_page_of_the_pdf_is_the_paper_named(tmp_path: Path) -> None:
    draw_plan(Subject(*yard("ft")), (), tmp_path)
    size = re.search(rb"/MediaBox \[ ?0 0 ([\d.]+) ([\d.]+) ?\]", (tmp_path / "plan.pdf").read_bytes())
    assert size is not None
    assert [float(part) for part in size.groups()] == pytest.approx([612.0, 792.0], abs=0.01)


@given(st.floats(3, 90), st.floats(3, 90), st.floats(0.2, 0.9), st.sampled_from(["ft", "m"]))
def test_the_needed_ground_fits_the_frame_at_a_round_scale(
    wide: float, high: float, share: float, units: Literal["ft", "m"]
) -> None:
    sheet = lay_out(
        (10.0, 20.0, 10.0 + wide, 20.0 + high), (share * max(wide, high), 0.5 * share * max(wide, high)), units
    )
    assert sheet.scale in scales(units)
    assert box(*sheet.window).buffer(1e-9).contains(box(10.0, 20.0, 10.0 + wide, 20.0 + high))
    assert sheet.paper in {name for name, _, _ in PAPERS[units]}
    shown = sheet.points(np.array([[10.0, 20.0], [10.0 + wide, 20.0]]))
    assert np.hypot(*(shown[1] - shown[0])) == pytest.approx(wide / sheet.scale.ratio / POINT, rel=1e-12)


def test_a_small_yard_takes_the_small_paper_and_a_long_one_the_large() -> None:
    assert lay_out((0, 0, 12, 9), (11.0, 5.0), "ft").paper == "letter"
    assert lay_out((0, 0, 60, 40), (12.0, 8.0), "m").paper == "A3"


def test_words_and_drawing_keep_apart_on_every_paper() -> None:
    for units in ("ft", "m"):
        for need in ((0, 0, 12, 9), (0, 0, 60, 40), (0, 0, 9, 30)):
            sheet = lay_out(need, (5.0, 3.0), units)  # type: ignore[arg-type]
            page = box(0, 0, sheet.width, sheet.height)
            panels = [box(*panel) for panel in sheet.panels]
            assert all(page.contains(part) for part in (sheet.room, *panels))
            assert not any(sheet.room.intersects(panel) for panel in panels)


def test_moving_the_survey_moves_nothing_on_the_paper() -> None:
    here, there = Subject(*yard("ft")), Subject(*moved(yard("ft"), (1.0e6, -4.0e5)))
    corners = [np.array(needed_ground(s.site, s.ground.grid)[:2]) for s in (here, there)]
    assert corners[1] - corners[0] == pytest.approx([1.0e6, -4.0e5], abs=1e-6)
    sheets = sheet_of(here), sheet_of(there)
    assert sheets[0].scale == sheets[1].scale
    lines = [
        [contour.line for contour in plan.plan_contours(subject, sheet)[0]]
        for subject, sheet in zip((here, there), sheets, strict=True)
    ]
    assert len(lines[0]) == len(lines[1])
    # A tenth of a point is the width of a hair; coordinates near 1e6 m carry 1e-10 m.
    assert all(one.hausdorff_distance(other) < 0.2 for one, other in zip(*lines, strict=True))
