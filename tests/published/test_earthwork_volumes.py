"""Published worked examples of volumes; the source and how far it could be checked stand beside each."""

from __future__ import annotations

import numpy as np
import pytest

from terrain.numerics.end_areas import end_area_volume
from terrain.numerics.prisms import prism_volume
from terrain.numerics.unit_area import SplitMethod, grid_volume, node_weights, unit_area_volume

CUBIC_FEET = 27.0  # cubic feet a cubic yard; the examples are worked in their own units

# Solved student problem, 2 x 2 cells of 15 m x 12 m, formation 50.00 m; inputs and the first two cells
# confirmed, the rest recomputed from the inputs.
G2_LEVELS = np.array([[45.2, 48.5, 55.6], [47.3, 51.2, 56.6], [50.0, 53.2, 58.5]])
G2_CELL = 180.0


def g2_depth() -> np.ndarray:
    return 50.0 - G2_LEVELS  # fill positive


def test_single_cell_fill_of_a_licence_exam_problem() -> None:
    # G1, confirmed: 50 ft cell, mean ground 87.85, grade 90, fill depth 2.15 ft, 199 yd3.
    depth = 90.0 - np.array([[87.6, 87.6], [87.6, 88.6]])
    assert depth.mean() == pytest.approx(2.15, abs=1e-9)
    assert unit_area_volume(depth, 2500.0) / CUBIC_FEET == pytest.approx(199.0, abs=0.5)


def test_four_corner_gross_volumes_match_the_solved_cells() -> None:
    # G2, confirmed for the first two cells: cut/fill 54/405 and 603/67.5; the third cell's cut 198.
    depth = g2_depth()
    first = grid_volume(depth[:2, :2], G2_CELL, method="four corners")
    second = grid_volume(depth[:2, 1:], G2_CELL, method="four corners")
    third = grid_volume(depth[1:, :2], G2_CELL, method="four corners")
    assert (first.cut, first.fill) == pytest.approx((54.0, 405.0), abs=1e-6)
    assert (second.cut, second.fill) == pytest.approx((603.0, 67.5), abs=1e-6)
    assert third.cut == pytest.approx(198.0, abs=1e-6)


@pytest.mark.parametrize(
    ("method", "cut", "fill"),
    [
        ("four corners", 1732.5, 594.0),
        ("bilinear", 1558.769, 420.269),
        ("proportional", 1548.852, 410.352),
        ("rising diagonals", 1526.536, 416.536),
        ("falling diagonals", 1593.282, 426.282),
    ],
)
def test_gross_volumes_depend_on_the_named_method(method: SplitMethod, cut: float, fill: float) -> None:
    # G2, totals recomputed independently of this code from the confirmed inputs (computed, not printed).
    result = grid_volume(g2_depth(), G2_CELL, method=method)
    assert result.method == method
    assert result.cut == pytest.approx(cut, abs=0.0006)
    assert result.fill == pytest.approx(fill, abs=0.0006)


@pytest.mark.parametrize(
    ("rows", "columns", "cut", "fill"),
    [
        (slice(0, 2), slice(0, 2), 5.0096, 356.0096),
        (slice(0, 2), slice(1, 3), 540.967, 5.467),
        (slice(1, 3), slice(0, 2), 135.292, 58.792),
        (slice(1, 3), slice(1, 3), 877.5, 0.0),
    ],
)
def test_bilinear_split_of_each_cell(rows: slice, columns: slice, cut: float, fill: float) -> None:
    # G2, exact bilinear column (computed).
    result = grid_volume(g2_depth()[rows, columns], G2_CELL, method="bilinear")
    assert (result.cut, result.fill) == pytest.approx((cut, fill), abs=0.0006)


@pytest.mark.parametrize("method", ["four corners", "bilinear", "proportional"])
def test_net_of_the_four_point_family_is_one_number(method: SplitMethod) -> None:
    # G2: net 1138.5 m3 of cut whatever the split; the two triangulations have 1110.0 and 1167.0, mean 1138.5.
    assert grid_volume(g2_depth(), G2_CELL, method=method).net == pytest.approx(-1138.5, abs=1e-6)
    assert unit_area_volume(g2_depth(), G2_CELL) == pytest.approx(-1138.5, abs=1e-6)


def test_nets_of_the_two_triangulations_lie_on_either_side() -> None:
    rising = grid_volume(g2_depth(), G2_CELL, method="rising diagonals").net
    falling = grid_volume(g2_depth(), G2_CELL, method="falling diagonals").net
    assert (rising, falling) == pytest.approx((-1110.0, -1167.0), abs=1e-6)
    assert (rising + falling) / 2.0 == pytest.approx(-1138.5, abs=1e-6)


def test_averaging_positive_corners_overstates_both_cut_and_fill() -> None:
    rough, exact = (grid_volume(g2_depth(), G2_CELL, method=m) for m in ("four corners", "bilinear"))
    assert rough.cut > exact.cut + 100.0
    assert rough.fill > exact.fill + 100.0


def test_grid_excavation_of_twelve_hundred_foot_cells() -> None:
    # G3: Nunnally, Construction Methods and Management, ch. 2; from memory, printed 19,156 yd3 with the mean
    # rounded to 4.31 ft, so 0.2 %.
    depth = np.array(
        [
            [6.0, 5.8, 5.2, 4.6, 3.4],
            [3.0, 5.0, 4.6, 4.2, 2.8],
            [3.0, 4.9, 4.0, 3.6, 3.5],
            [2.0, 4.8, 4.8, 5.5, 4.0],
        ]
    )
    weights = node_weights(np.ones((3, 4), dtype=bool))
    assert depth[weights == 1].sum() == pytest.approx(15.4, abs=1e-9)
    assert depth[weights == 2].sum() == pytest.approx(43.0, abs=1e-9)
    assert depth[weights == 4].sum() == pytest.approx(26.3, abs=1e-9)
    assert unit_area_volume(depth, 1e4) / CUBIC_FEET == pytest.approx(19156.0, rel=0.002)
    assert unit_area_volume(depth, 1e4) / CUBIC_FEET == pytest.approx(19129.63, abs=0.005)


def test_borrow_pit_cut_from_levels() -> None:
    # G4: Ghilani and Wolf, borrow-pit notes, confirmed: BM 360.48 + BS 4.22 = HI 364.70; grade 358.0; rod 5.2
    # -> 1.5.
    height_of_instrument = 360.48 + 4.22
    cut = height_of_instrument - np.full((2, 2), 5.2) - 358.0
    assert unit_area_volume(cut, 400.0) == pytest.approx(1.5 * 400.0, abs=1e-6)


def section_area(height: float, width: float, side_slope: float) -> float:
    """A level section: top or formation width plus two side slopes."""
    return (width + side_slope * height) * height


def test_railway_bank_with_varying_height() -> None:
    # P1, exam-preparation page, confirmed: areas 6 and 40 at the ends; average end areas 3450.
    areas = np.array([section_area(h, 11.0, 2.0) for h in (0.5, 2.5)])
    assert areas == pytest.approx([6.0, 40.0], abs=1e-9)
    assert end_area_volume(areas, np.array([0.0, 150.0])) == pytest.approx(3450.0, abs=1e-9)


def test_tank_in_level_ground() -> None:
    # P2, exam-preparation page, confirmed: areas 2000 and 816 at top and bottom; average end areas 5632.
    areas = np.array([(50.0 - 4.0 * depth) * (40.0 - 4.0 * depth) for depth in (0.0, 4.0)])
    assert areas == pytest.approx([2000.0, 816.0], abs=1e-9)
    assert end_area_volume(areas, np.array([0.0, 4.0])) == pytest.approx(5632.0, abs=1e-9)


def test_bank_over_four_hundred_metres() -> None:
    # P4, solved problem, confirmed: average end areas 14,139 m3.
    heights = 207.0 + np.arange(5) - np.array([204.8, 206.2, 207.5, 207.2, 208.3])
    areas = np.array([section_area(h, 12.0, 2.0) for h in heights])
    stations = 100.0 * np.arange(5)
    assert areas == pytest.approx([36.08, 28.08, 22.50, 49.28, 46.98], abs=0.005)
    ends = end_area_volume(areas, stations)
    assert ends == pytest.approx(14139.0, abs=0.5)


def test_railroad_handbook_of_1857() -> None:
    # P5, G. L. Vose, Handbook of Railroad Construction, 1857, section 108, confirmed: 56,200 ft3 from areas
    # printed as 0, 137, 350, 637, 0; 56,250 from the unrounded ones.
    cuts, stations = np.array([0.0, 5.0, 10.0, 15.0, 0.0]), 50.0 * np.arange(5)
    areas = np.array([section_area(c, 20.0, 1.5) for c in cuts])
    printed = np.array([0.0, 137.0, 350.0, 637.0, 0.0])
    assert end_area_volume(printed, stations) == pytest.approx(56200.0, abs=1e-6)
    assert end_area_volume(areas, stations) == pytest.approx(56250.0, abs=1e-6)


def test_average_end_area_of_two_road_sections() -> None:
    # P6, Ghilani and Wolf, Elementary Surveying, first volume example; value from memory: 2270 yd3.
    volume = end_area_volume(np.array([711.0, 515.0]), np.array([0.0, 100.0])) / CUBIC_FEET
    assert volume == pytest.approx(2270.37, abs=0.005)


def test_five_sections_of_a_surveying_text() -> None:
    # P7, open companion to a surveying text, example 10.8: inputs confirmed, answers recomputed.
    areas = np.array([section_area(h, 7.5, 2.0) for h in (1.8, 2.175, 2.55, 2.925, 3.0)])
    assert end_area_volume(areas, 30.0 * np.arange(5)) == pytest.approx(3815.775, abs=0.0005)


def test_seven_sections_of_a_surveying_text() -> None:
    # P8, same companion, example 10.10: inputs confirmed, answers recomputed.
    heights = np.array([214.2, 214.8, 215.1, 216.1, 216.9, 217.4, 218.2]) - (212.66 + 0.5 * np.arange(7))
    areas = np.array([section_area(h, 6.0, 2.0) for h in heights])
    assert end_area_volume(areas, 20.0 * np.arange(7)) == pytest.approx(2303.744, abs=0.0005)


def test_sections_on_cross_sloping_ground() -> None:
    # P9, same companion, example 10.13: inputs confirmed, answers recomputed.
    width, side, cross = 9.0, 2.0, 6.0
    heights = np.array([181.5, 181.8, 182.4]) - (179.0 - np.array([0.0, 30.0, 60.0]) / 40.0)
    slope = cross**2 * side / (cross**2 - side**2)  # the level section of equal area has these sides

    def area(height: float) -> float:
        return slope * (height + width / (2.0 * side)) ** 2 - width**2 / (4.0 * side)

    areas = np.array([area(h) for h in heights])
    assert areas == pytest.approx([40.6406, 65.5650, 104.9006], abs=5e-5)
    assert end_area_volume(areas, np.array([0.0, 30.0, 60.0])) == pytest.approx(4150.069, abs=0.0005)


def test_trapezoid_trench() -> None:
    # P10, school problem, confirmed: 3.0 m top, 1.8 m bottom, 1 m deep, 20 m long: 48 m3.
    areas = np.full(2, (3.0 + 1.8) / 2.0 * 1.0)
    assert end_area_volume(areas, np.array([0.0, 20.0])) == pytest.approx(48.0, abs=1e-9)


def test_average_end_area_of_a_point_is_half_as_much_again() -> None:
    # Deakin and Hunter, "The Prismoidal Correction Revisited", 2009: the rule errs through pyramids only.
    ends = end_area_volume(np.array([9.0, 0.0]), np.array([0.0, 5.0]))
    assert ends == pytest.approx(1.5 * 9.0 * 5.0 / 3.0, rel=1e-12)


def test_contour_map_volume() -> None:
    # K1, tutorial "How to estimate earthwork volume through contour map", confirmed: 61,080 m3.
    areas = np.array([2000.0, 10650.0, 12400.0, 12630.0, 15320.0, 18160.0])
    assert end_area_volume(areas, np.arange(6.0)) == pytest.approx(61080.0, abs=1e-6)


def test_extension_berm_prism() -> None:
    # M4, Univ. of Regina Math Central QQ.09.11, confirmed: 815 ft long, 5 ft high, 3:1, 4 ft top: base 34 ft;
    # the volume 77,425 ft3 is computed (a prism, no end slopes).
    base = 4.0 + 2.0 * 3.0 * 5.0
    assert base == 34.0
    volume = end_area_volume(np.full(2, section_area(5.0, 4.0, 3.0)), np.array([0.0, 815.0]))
    assert volume == pytest.approx(77425.0, abs=1e-6)
    assert volume / CUBIC_FEET == pytest.approx(2867.59, abs=0.005)


def test_truncated_triangular_prism() -> None:
    # M5 (computed): legs 30 x 40 ft, heights 1, 2, 3.5: 1300 ft3 = 48.1481 yd3.
    corners = np.array([[0.0, 0.0], [30.0, 0.0], [0.0, 40.0]])
    heights = np.array([1.0, 2.0, 3.5])
    result = prism_volume(corners, np.array([[0, 1, 2]]), np.zeros(3), heights)
    assert result.fill == pytest.approx(1300.0, rel=1e-12)
    assert result.fill / CUBIC_FEET == pytest.approx(48.1481, abs=5e-5)
    assert result.cut == 0.0
