"""The colours keep apart on a grey print, and are the published ones."""

from __future__ import annotations

from itertools import pairwise

import pytest

from viewer.page import palette
from viewer.pictures.slope_map import TINTS as SLOPE_STEPS

# ColorBrewer 2.0, BrBG, 11 classes, as printed on colorbrewer2.org: brown half, middle, blue-green half.
BRBG_11 = [
    "#543005",
    "#8c510a",
    "#bf812d",
    "#dfc27d",
    "#f6e8c3",
    "#f5f5f5",
    "#c7eae5",
    "#80cdc1",
    "#35978f",
    "#01665e",
    "#003c30",
]


def test_fill_and_cut_are_the_two_halves_of_the_published_scale() -> None:
    assert list(palette.FILL_STEPS) == BRBG_11[4::-1]
    assert list(palette.CUT_STEPS) == BRBG_11[6:]


@pytest.mark.parametrize("steps", [palette.FILL_STEPS, palette.CUT_STEPS, palette.UNSURE_STEPS, SLOPE_STEPS])
@pytest.mark.parametrize("count", [2, 3, 4, 5])
def test_steps_darken_and_stay_apart_on_a_grey_print(steps: tuple[str, ...], count: int) -> None:
    greys = [palette.grey_level(colour) for colour in palette.spread(steps, count)]
    # 0.08 of full scale is a little over 20 of 255: more than a worn office printer blurs.
    assert all(light - dark > 0.08 for light, dark in pairwise(greys))


@pytest.mark.parametrize("ground", [palette.PAPER, palette.SOIL, *palette.FILL_STEPS, *palette.CUT_STEPS])
def test_text_stands_out_on_every_tint(ground: str) -> None:
    assert abs(palette.grey_level(palette.ink_on(ground)) - palette.grey_level(ground)) > 0.35


@pytest.mark.parametrize("colour", [palette.PROPOSED, palette.OUTLINE, palette.KEEP_OFF, palette.TREE])
def test_lines_are_dark_enough_to_print_grey(colour: str) -> None:
    assert palette.grey_level(palette.PAPER) - palette.grey_level(colour) > 0.55


@pytest.mark.parametrize("ground", palette.UNSURE_STEPS)
def test_shots_and_tapes_in_ink_are_seen_on_every_purple(ground: str) -> None:
    """WCAG 2.2, success criterion 1.4.11 (level AA): at least 3:1 for parts of drawings."""

    def luminance(colour: str) -> float:
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in palette.channels(colour)]
        return sum(share * part for share, part in zip((0.2126, 0.7152, 0.0722), linear, strict=True))

    assert (luminance(ground) + 0.05) / (luminance(palette.INK) + 0.05) >= 3.0
