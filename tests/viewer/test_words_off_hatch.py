"""No word stands on a hatch: the hatch leaves it a gap, or it stands on ground of its own."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
import shapely
from every_drawing import drawn
from matplotlib.collections import LineCollection, PathCollection
from shapely import affinity
from shapely.geometry import Polygon
from shipped import study_of

from viewer.page.lettering import FIGURE_HEIGHT, TITLE_FAMILY, Type, text_size
from viewer.page.page import Page, Pen, cut_gaps, hatch, new_page
from viewer.page.palette import PAPER

FEWEST = 5  # parallel lines that make a hatch
GROUND = 0.5  # opacity from which an area hides what lies under it
SHEETS = ("plan", "sections", "cut and fill", "trees", "set-out", "water", "as-built", "ground", "order")


def hatches(page: Page) -> Iterator[tuple[float, np.ndarray]]:
    """Order and segments (n, 2, 2) of every set of parallel lines on a page."""
    for lines in page.axes.collections:
        if not isinstance(lines, LineCollection):
            continue
        found = [np.asarray(segment) for segment in lines.get_segments()]
        if len(found) < FEWEST or any(len(segment) != 2 for segment in found):
            continue
        segments = np.array(found)
        steps = np.diff(segments, axis=1)[:, 0]
        turns = np.mod(np.arctan2(steps[:, 1], steps[:, 0]), np.pi)
        if np.ptp(np.mod(turns - turns[0] + 0.5, np.pi)) < 0.01:
            yield float(lines.get_zorder()), segments


def letters_of(page: Page) -> Iterator[tuple[float, str, Polygon]]:
    """Order, words and the box of the letters of every text."""
    for text in page.axes.texts:
        font, (x, y) = text.get_fontproperties(), text.get_position()
        kind = Type(font.get_size(), bold=font.get_weight() == "bold", title=font.get_name() == TITLE_FAMILY)
        wide = text_size(text.get_text(), kind)[0]
        left = x - {"left": 0.0, "center": 0.5, "right": 1.0}[text.get_horizontalalignment()] * wide
        flat = shapely.box(left + 0.5, y + 0.5, left + wide - 0.5, y + FIGURE_HEIGHT * kind.size - 0.5)
        if wide > 2.0:
            yield float(text.get_zorder()), text.get_text(), affinity.rotate(flat, text.get_rotation(), origin=(x, y))


def hatched_words(page: Page) -> list[str]:
    """Words with a line of a hatch through their letters and no ground between."""
    areas = [
        (float(area.get_zorder()), Polygon(path.to_polygons()[0]).buffer(0))
        for area in page.axes.collections
        if isinstance(area, PathCollection) and (area.get_alpha() or 1.0) >= GROUND
        for path in area.get_paths()
        if len(path.vertices) > 3
    ]
    found = []
    for order, words, box in letters_of(page):
        for drawn_at, segments in hatches(page):
            lines = shapely.linestrings(segments)
            crossed = lines[shapely.length(shapely.intersection(lines, box)) > 1.0]
            grounds = [area for at, area in areas if drawn_at < at < order and area.covers(box)]
            if drawn_at < order and len(crossed) and not grounds:
                found.append(words)
    return found


def test_a_word_on_a_hatch_is_found_and_one_in_a_gap_or_on_ground_is_not() -> None:
    page, area = new_page(300.0, 200.0), shapely.box(20.0, 20.0, 280.0, 180.0)
    gap = shapely.box(38.0, 146.0, 120.0, 164.0)
    page.lines(cut_gaps(list(shapely.get_parts(hatch(area, 6.0))), [gap]), Pen())
    page.text(40.0, 150.0, "in a gap", Type(9.0))
    page.text(40.0, 100.0, "on the hatch", Type(9.0))
    page.area(shapely.box(38.0, 46.0, 160.0, 64.0), PAPER, 0.85)
    page.text(40.0, 50.0, "on ground of its own", Type(9.0))
    assert hatched_words(page) == ["on the hatch"]


@pytest.mark.slow
@pytest.mark.parametrize("yard", ["alder-bend", "tansy-hollow"])
def test_no_word_of_a_sheet_stands_on_a_hatch(yard: str) -> None:
    study = study_of(yard)
    assert not [(name, words) for name in SHEETS for page in drawn(name, study) for words in hatched_words(page)]
