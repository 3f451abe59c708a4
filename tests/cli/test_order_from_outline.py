"""An order from an outline and a depth alone: an answer at once, that says what it took for granted."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from pypdf import PdfReader
from shapely.geometry import Polygon

CUBIC_YARD = 0.9144**3  # m3
CORNERS = {"ft": [(0, 0), (40, 0), (40, 20), (0, 20)], "m": [(0, 0), (12, 0), (12, 6), (0, 6)]}


def outline(folder: Path, units: str = "ft") -> Path:
    rows = "\n".join(f"{x},{y}" for x, y in CORNERS[units])
    (folder / "bed.csv").write_text(f"x,y\n{rows}\n", encoding="utf-8")
    return folder / "bed.csv"


def test_the_order_of_an_outline_says_that_nobody_measured(tmp_path: Path, hummock: Callable) -> None:
    run = hummock("order", "--outline", outline(tmp_path), "--depth", "6 in")
    assert run.returncode == 0, run.stderr
    told = " ".join(run.stdout.split())
    for words in (
        "6 in deep in the mean over the bed",
        "Nothing was measured: the ground is taken as flat.",
        "20 shots would narrow the order to",
        "cu yd loose of fill soil",
        "Taken for granted: 2 in of sod is stripped",
    ):
        assert words in told
    assert told.index("Nothing was measured") < told.index("Order")
    sheet = " ".join(PdfReader(tmp_path / "out" / "order.pdf").pages[0].extract_text().split())
    assert "Nobody measured the ground: it is taken as flat" in sheet
    assert "20 shots would narrow" in sheet


@pytest.mark.slow
@pytest.mark.parametrize(("units", "depth", "metres"), [("ft", "6 in", 0.1524), ("m", "15 cm", 0.15)])
def test_the_mound_is_as_deep_in_the_mean_as_was_asked(
    tmp_path: Path, hummock: Callable, units: str, depth: str, metres: float
) -> None:
    """Placed fill above existing grade over the area of the bed, to 1 %."""
    out = hummock("order", "--outline", outline(tmp_path, units), "--depth", depth, "--units", units, "--json")
    summary = json.loads(out.stdout)
    size = 1.0 if units == "m" else 0.3048
    area = Polygon(CORNERS[units]).area * size**2
    sod = 2 * 0.0254 if units == "ft" else 0.05
    deep = summary["earthwork"]["fill_placed_m3"] / area - sod
    assert deep == pytest.approx(metres, rel=0.01)
    assert summary["ground"]["shots"] == 0
    low, high = summary["ground"]["order_after_20_shots_loose_m3"]
    assert summary["order"]["low_loose_m3"] < low < high < summary["order"]["high_loose_m3"]
    assert summary["order"]["what_if"]["mean_depth_m"] == pytest.approx(metres, abs=1e-9)


@pytest.mark.slow
def test_a_depth_that_no_slope_leaves_room_for_is_said_with_what_fits(tmp_path: Path, hummock: Callable) -> None:
    told = " ".join(hummock("order", "--outline", outline(tmp_path), "--depth", "30 in").stdout.split())
    assert "30 in deep in the mean over the bed, which the limits hold at" in told


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "neither is given. One of them, such as --outline bed.csv"),
        (("--outline", "{}"), "nothing says how high the mound is."),
        (("--outline", "no.csv", "--depth", "9 in"), "there is no file no.csv"),
        (("site.toml", "--outline", "{}", "--depth", "9 in"), "both are given"),
        (("site.toml", "--slope", "3:1"), "a site file says them itself"),
        (("--outline", "{}", "--depth", "9 in", "--height", "2 ft"), "each sets the heights"),
        (("--outline", "{}", "--depth", "-9 in"), '"-9 in" is out of range'),
        (("--outline", "{}", "--depth", "9 in", "--slope", "0 %"), '"0 %" leaves no room to rise'),
        (("--outline", "{}", "--depth", "nine"), "nine"),
    ],
)
def test_what_cannot_be_worked_is_refused_in_words(
    tmp_path: Path, hummock: Callable, words: tuple[str, ...], said: str
) -> None:
    bed = outline(tmp_path)
    run = hummock("order", *(word.format(bed) for word in words))
    assert run.returncode == 2
    assert said in run.stderr
    assert "Traceback" not in run.stderr
    assert not (tmp_path / "out").exists()
