"""Named numbers that reach a user, once more by hand: value and source, and a case on either side where they decide.

`tests/test_limits.py` does the same for `terrain/limits.py`. "Practice" stands for common practice, no published
source; "measured" for figures set on shapes and yards of this repository. 1 ft is 0.3048 m, 1 in 0.0254 m, 1 lb
0.45359237 kg.
"""

from __future__ import annotations

import math
from importlib import import_module
from typing import Any

import numpy as np
import pytest
from order_yards import a_site
from shapely.geometry import Polygon

from terrain.field.setout.known import Known
from terrain.field.setout.pairs import best_tapes, choose_pairs
from terrain.review.pits import laid_back, pit_duty
from terrain.review.setbacks import cut_setback, toe_setback
from terrain.review.slopes import slope_class
from terrain.shape.form import ridge_line
from terrain.shape.proposal import BuiltCrest
from terrain.site.factors import job_factors, shrink_range, swell_range
from terrain.site.model import Soil
from terrain.site.soils import soil_factors
from terrain.soil.model import Volumes
from terrain.soil.order import order_soil
from terrain.soil.stone import boulder_weight
from terrain.soil.supply import UNIT_WEIGHTS

FT, IN, LB = 0.3048, 0.0254, 0.45359237

# Module, name, value, source.
TABLE: tuple[tuple[str, str, object, str], ...] = (
    ("terrain.soil.stone", "ROCK", 165 * LB / FT**3, "EM 1110-2-1601: 150 to 175 lb/ft3, granite 165"),
    ("terrain.soil.stone", "VOIDS", 0.40, "usual in stormwater manuals"),
    ("terrain.soil.stone", "ONE_PERSON", 51 * LB, "NIOSH Publication 94-110: 51 lb"),
    ("terrain.shape.courses", "LOW_WALL", 18 * IN, "practice"),
    ("terrain.shape.courses", "LOW_BURY", 4 * IN, "practice"),
    ("terrain.shape.courses", "LOW_BEDDING", 2 * IN, "practice"),
    ("terrain.shape.courses", "LOW_DRAIN", 4 * IN, "practice"),
    ("terrain.shape.courses", "DRAIN", 8 * IN, "practice"),
    ("terrain.shape.courses", "BURY", 12 * IN, "a municipal drawing of a rockery"),
    ("terrain.shape.courses", "BEDDING", 4 * IN, "a municipal drawing of a rockery"),
    ("terrain.shape.courses", "MOST_COURSES", 2, "practice"),
    ("terrain.shape.courses", "BATTER", 1 / 6, "practice"),
    ("terrain.waterworks.lip", "GRAVITY", 9.80665, "standard gravity"),
    (
        "terrain.waterworks.lip",
        "FRANCIS",
        3.33 * FT**0.5,
        "Francis, by USBR Water Measurement Manual ch. 7: 3.33 in feet",
    ),
    ("terrain.waterworks.lip", "BRINK", 0.715, "Rouse 1936 (from memory)"),
    ("terrain.waterworks.pipe", "VISCOSITY", 1.08e-5 * FT**2, "textbooks: water at 68 F, 1.08e-5 ft2/s"),
    ("terrain.waterworks.pipe", "SMOOTH", 1.5e-6, "textbooks: plastic, 0 to 0.0015 mm"),
    ("terrain.waterworks.pipe", "CORRUGATED", 0.015, "drain tubing (from memory)"),
    ("terrain.waterworks.pipe", "LAMINAR", 2300.0, "textbooks"),
    ("terrain.waterworks.transit", "ROUGHNESS_FACTOR", 2.0, "practice, beside USDA RMRS-GTR-323"),
    ("terrain.waterworks.transit", "LEVEL", 0.002, "practice"),
    ("terrain.waterworks.armour", "SPECIFIC_GRAVITY", 2.65, "quartz"),
    ("terrain.waterworks.armour", "ROUGH_WATER", 0.86, "Isbash, by NCHRP 568"),
    ("terrain.waterworks.rocks", "SMALL", 6 * IN, "practice: sold as 4 to 8 in"),
    ("terrain.waterworks.rocks", "SMALL_MOST", 8 * IN, "practice: sold as 4 to 8 in"),
    ("terrain.waterworks.rocks", "MIDDLE", 13 * IN, "practice: sold as 12 in, 100 to 125 lb"),
    ("terrain.waterworks.rocks", "LARGE", 17 * IN, "practice: sold as 18 in, about 250 lb"),
    ("terrain.waterworks.rocks", "TO_CHOOSE_FROM", 0.25, "practice"),
    ("terrain.waterworks.rocks", "GRAVEL_SIZES", 2, "practice"),
    ("terrain.waterworks.rocks", "KEY_BURIED", 0.25, "practice: a quarter to a third"),
    ("terrain.waterworks.rocks", "BESIDE_STEP", 2, "practice"),
    ("terrain.waterworks.rocks", "GRAVEL_MOST", 2.5 * IN, "practice"),
    ("terrain.waterworks.rocks", "LEAST_GRAVEL", 1 * IN, "practice"),
    ("terrain.waterworks.rocks", "SPLASH", 1 * FT, "practice"),
    ("terrain.waterworks.rocks", "WEIGHT_SPREAD", 0.25, "practice"),
    ("terrain.waterworks.rocks", "FILLED_VOIDS", 0.6, "practice"),
    ("terrain.review.running_water", "OFF_THE_FLOW", 0.10, "practice"),
    ("terrain.soil.covers", "MULCH_BACK", 6 * IN, "practice"),
    ("terrain.site.spreads", "SOD_DEVIATION", 0.25, "practice"),
    ("terrain.site.factors", "PACKED", (0.10, 0.20), "Moving the Earth, p. 2.51: 80 to 90 % is left"),
    ("terrain.site.factors", "PACKED_SAND", (0.05, 0.12), "FM 5-434, Table 1-1: 0.95; Nunnally, ch. 2 (from memory)"),
    ("terrain.site.factors", "HAND_TAMPED", 0.85, "labour yields for backfill, 0.20 m layers"),
    ("terrain.site.factors", "PLATE", 0.95, "the same list"),
    ("terrain.site.factors", "STATED", 0.5, "practice"),
    ("terrain.site.factors", "LOST_MOST", 0.02, "practice"),
    (
        "terrain.site.factors",
        "SETTLEMENT_RANGES",
        {"by hand": (0.05, 0.10), "by machine": (0.025, 0.075)},
        "Agriculture Handbook 590: 5 and 10 %",
    ),
    ("terrain.numerics.normal", "CENTRAL_90", 1.6448536269514722, "tables of the normal distribution"),
    ("terrain.review.edges", "DESIGNED_HEIGHT", 24 * IN, "IRC R404.4 (2009): 24 in"),
    ("terrain.review.pits", "EXIT_DEPTH", 4 * FT, "29 CFR 1926.651(c)(2): 4 ft"),
    ("terrain.review.pits", "PROTECT_DEPTH", 5 * FT, "29 CFR 1926.652(a)(1): 5 ft"),
    ("terrain.review.pits", "ENGINEER_DEPTH", 20 * FT, "29 CFR 1926.652, Appendix B: 20 ft"),
    ("terrain.review.pits", "HEAP_BACK", 2 * FT, "29 CFR 1926.651(j)(2): 2 ft"),
    ("terrain.review.pits", "EXIT_WITHIN", 25 * FT, "29 CFR 1926.651(c)(2): 25 ft"),
    ("terrain.review.pits", "PIT_DEPTH", 1 * FT, "practice"),
    ("terrain.review.pits", "LEAST_ROOM", 2 * IN, "pages on basins: 2 to 8 in"),
    ("terrain.review.trees", "BAND", {"m": 0.10, "ft": 4 * IN}, "round figures"),
    ("terrain.review.trees", "RING", {"m": 1.0, "ft": 3 * FT}, "round figures"),
    ("terrain.review.cautions", "CHIPS", {"ft": (6 * IN, 12 * IN), "m": (0.15, 0.30)}, "G6885: 6 to 12 in"),
    ("terrain.review.walks", "LEVEL", 2 * FT, "practice: a level of 2 ft"),
    ("terrain.review.walks", "UNSEEN", 0.005, "practice"),
    ("terrain.review.existing_water", "LEVEL", 0.001, "practice"),
    ("terrain.review.swales", "OVER", 1.0, "practice"),
    ("terrain.review.slopes", "SOIL_LEFT", 0.01, "practice"),
    ("terrain.review.slopes", "LEAST_AREA", 0.1, "practice"),
    ("terrain.review.overlaps", "LEAST", 0.01, "practice: a spade's width each way"),
    ("terrain.shape.form", "SADDLE", 0.18, "practice"),
    ("terrain.shape.layout", "TOE_SHARE", 0.35, "practice"),
    ("terrain.shape.layout", "TOE_SHARE_MOST", 0.8, "practice"),
    ("terrain.shape.layout", "LEAST_TOE", 3.0, "measured"),
    ("terrain.shape.courses", "LEAST_STONE", 0.3, "practice"),
    ("terrain.shape.digs", "LEAST_FALL", 0.01, "practice: a ditch falls 1 %"),
    ("terrain.field.setout.pairs", "WELL", 2.0, "practice"),
    ("terrain.field.setout.pairs", "FAIR", 2.6, "practice"),
    ("terrain.field.setout.pairs", "POOR", 6.0, "practice"),
    ("terrain.field.setout.pairs", "LONGEST", 30.0, "a tape of 100 ft or 30 m"),
    ("terrain.field.setout.pairs", "NEAREST", 0.3, "practice"),
    ("terrain.field.setout.set_out", "CLOSEST", 0.3, "practice"),
    ("terrain.field.setout.set_out", "WIDEST", 15.0, "practice"),
    ("terrain.field.setout.set_out", "FINEST", 0.003, "practice"),
    ("terrain.field.setout.set_out", "COARSEST", 0.3048, "practice"),
    ("terrain.field.setout.places", "MOST", 400, "practice"),
    ("terrain.field.setout.places", "BESIDE", 0.3, "practice"),
    ("terrain.field.setout.places", "STAND_OFF", 0.01, "practice"),
    ("terrain.field.setout.strung", "APART", 0.1, "practice"),
    ("terrain.field.setout.baseline", "LONG", 12.0, "practice"),
    ("terrain.field.setout.baseline", "SLENDER", 2.5, "practice"),
    ("terrain.field.setout.baseline", "STEP", {"ft": 2 * FT, "m": 0.5}, "practice"),
    ("terrain.field.setout.baseline", "PEGS", {"ft": 16 * FT, "m": 5.0}, "practice"),
    ("terrain.field.setout.words", "STEP", {"ft": 0.25 * IN, "m": 0.01}, "what a tape is read to"),
    ("terrain.field.asbuilt.marks", "DEVIATIONS", 3.0, "practice: a dozen clean shots, one survey in a hundred"),
    ("terrain.field.asbuilt.missing", "DEEP", 0.5, "measured: tests/field/test_missing_soil.py"),
    ("terrain.field.asbuilt.missing", "SHOULDER", 0.75, "measured: tests/field/test_missing_soil.py"),
    ("terrain.field.asbuilt.causes", "ENOUGH", 0.6, "practice"),
    ("terrain.field.asbuilt.findings", "LEAST_STEEP", 0.1, "practice"),
    ("terrain.field.asbuilt.shots", "FARTHEST", 200.0, "practice"),
    ("terrain.field.asbuilt.shots", "HIGHEST", 30.0, "practice"),
    ("terrain.soil.words", "LITTLE_LEFT", 0.02, "practice"),
    ("terrain.soil.words", "NOTHING", 1e-6, "practice"),
    ("terrain.ground.leave_one_out", "FEWEST", 8, "measured"),
    ("terrain.ground.leave_one_out", "WORTH_ASIDE", 2.5, "measured"),
    ("terrain.ground.kriging", "FEWEST_TO_FIT", 7, "measured"),
    ("terrain.units", "STEEPEST_SLOPE", 1.0, "practice"),
    ("terrain.survey.shots", "SAME_PLACE", 0.001, "practice"),
    ("terrain.survey.shots", "HIGHEST_SPAN", 100.0, "practice"),
    ("terrain.survey.shots", "WIDEST_YARD", 2000.0, "practice"),
    ("terrain.ground.unmeasured", "TWENTY", 20, "practice"),
    (
        "terrain.interview.answers",
        "ACCURACY",
        {"rod": 0.006, "elevations": 0.006, "string": 0.012, "no": 0.006},
        "practice",
    ),
    ("terrain.interview.reading", "LEAST_BED", 0.9, "practice"),
    ("terrain.interview.signs", "FALLS", 0.005, "practice"),
    ("terrain.interview.written", "TRUCK", {"ft": 10 * (3 * FT) ** 3, "m": 8.0}, "practice"),
    ("terrain.survey.level_book", "FLOOR", 0.02 * FT, "practice"),
    ("terrain.survey.ties", "TIE_BOUND", 0.1 * FT, "practice"),
    ("terrain.survey.ties", "WEAK", 4.0, "practice"),
    ("terrain.files.thinning", "TOLERANCE", 0.003, "practice"),
)


@pytest.mark.parametrize(("module", "name", "value", "source"), TABLE, ids=lambda part: str(part)[:40])
def test_a_named_number_is_what_is_written_here(module: str, name: str, value: object, source: str) -> None:
    held = getattr(import_module(module), name)
    assert source
    if isinstance(value, dict):
        assert {key: pytest.approx(one, rel=1e-12) for key, one in value.items()} == held
    else:
        assert held == pytest.approx(value, rel=1e-12)


# The most of each mark that reads natural. Measured on labelled shapes (tests/look); "too tall" is practice: four times
# as wide as high.
SIGNS = {
    "cone": 0.988,
    "straight_faces": 0.31,
    "sharp_toe": 0.72,
    "flat_top": 0.08,
    "sharp_peak": 0.64,
    "too_tall": 0.25,
    "same_all_round": 0.957,
    "loaf": 0.50,
    "parallel_contours": 0.18,
    "stepped": 0.66,
    "holds_water": 0.15,
}


@pytest.mark.parametrize("sign", SIGNS)
def test_a_sign_has_its_bound(sign: str) -> None:
    assert import_module("terrain.look.bounds").BOUNDS[sign].most == SIGNS[sign]


# FM 5-434, Table 1-1: loose and compacted volume of one in the bank.
@pytest.mark.parametrize(
    ("kind", "loose", "compacted"),
    [("sand", 1.11, 0.95), ("gravel", 1.11, 0.95), ("loam", 1.25, 0.90), ("topsoil", 1.25, 0.90), ("clay", 1.43, 0.90)],
)
def test_swell_and_shrink_are_the_tables(kind: str, loose: float, compacted: float) -> None:
    factors = soil_factors(kind)
    assert (1.0 + factors.swell, 1.0 - factors.shrink) == pytest.approx((loose, compacted), abs=1e-12)


# Peurifoy, Construction Planning, Equipment, and Methods, Table 4-1.
@pytest.mark.parametrize(
    ("kind", "low", "high"),
    [
        ("sand", 0.05, 0.15),
        ("gravel", 0.05, 0.15),
        ("topsoil", 0.10, 0.25),
        ("loam", 0.10, 0.35),
        ("common earth", 0.20, 0.45),
        ("clay", 0.30, 0.60),
        ("what nobody has named", 0.20, 0.45),
    ],
)
def test_the_range_of_swell_is_the_tables(kind: str, low: float, high: float) -> None:
    assert swell_range(kind) == (low, high)


# Moving the Earth, p. 2.51; by hand 95 / 85 of the volume that is then left, and no more than there was in the bank.
@pytest.mark.parametrize(
    ("kind", "placing", "low", "high"),
    [
        ("loam", None, 0.10, 0.20),
        ("loam", "by machine", 0.10, 0.20),
        ("clay", "by hand", 0.0, 1.0 - 0.80 * 95 / 85),
        ("sand", "by machine", 0.05, 0.12),
        ("sand", "by hand", 0.0, 1.0 - 0.88 * 95 / 85),
    ],
)
def test_the_range_of_shrink_is_that_of_how_soil_is_placed(kind: str, placing: Any, low: float, high: float) -> None:
    assert shrink_range(kind, placing) == pytest.approx((low, high), abs=1e-12)
    assert job_factors(kind, placing).shrink == pytest.approx((low + high) / 2.0, abs=1e-9)


# Weight of loose soil, kg/m3, dry and wet: engineering data pages; wet topsoil 2700 lb/yd3, the highest of three pages.
@pytest.mark.parametrize(
    ("kind", "dry", "wet"),
    [
        ("sand", 1555, 1905),
        ("gravel", 1680, 2000),
        ("topsoil", 949, 1602),
        ("loam", 1280, 1602),
        ("common earth", 1220, 1602),
        ("clay", 1600, 1760),
    ],
)
def test_soil_weighs_what_the_pages_say(kind: str, dry: float, wet: float) -> None:
    assert UNIT_WEIGHTS[kind] == (dry, wet)
    if kind in ("topsoil", "loam", "common earth"):
        assert wet == pytest.approx(2700 * LB / (3 * FT) ** 3, abs=0.5)


def ten_cubic_metres(planting: float) -> Volumes:
    """A mound of 10 m3 over existing grade on 50 m2, of it so much planting soil; nothing stripped or dug."""
    return Volumes(
        fill_placed=10.0,
        worked_area=50.0,
        mulch_area=50.0,
        rise=10.0,
        sod_in_bed=0.0,
        sod_on_digs=0.0,
        topsoil=0.0,
        cut_bank=0.0,
        cut_below_sod=0.0,
        planting_placed=planting,
        mulch=0.0,
    )


def test_an_order_of_loam_is_unsure_by_its_published_ranges() -> None:
    """10 m3 over existing grade, loam at 1.225 and 0.85, settlement 8 %; each factor alike anywhere in its range, whose
    deviation is its width / sqrt(12)."""
    held = ten_cubic_metres(planting=0.0)
    order = order_soil(a_site(soil=Soil(kind="loam", swell=0.225, shrink=0.15, settlement=0.08)), held)
    loose, shares = 10.8 * 1.225 / 0.85, {share.cause: share.deviation for share in order.shares}
    assert order.expected == pytest.approx(loose)
    assert shares["swell"] == pytest.approx(loose / 1.225 * 0.25 / math.sqrt(12))
    assert shares["shrink"] == pytest.approx(loose / 0.85 * 0.10 / math.sqrt(12))
    assert shares["settlement"] == pytest.approx(loose / 1.08 * 0.05 / math.sqrt(12))
    assert order.high - order.low == pytest.approx(2.0 * 1.6448536 * order.deviation, rel=0.05)


def test_planting_soil_is_built_as_much_higher_as_the_fill_under_it() -> None:
    """3 of 10 m3 as planting soil, settlement 8 %: 3.24 m3 on day one, at 1.25 / 0.90 loose."""
    order = order_soil(a_site(soil=Soil(kind="loam", swell=0.25, shrink=0.10, settlement=0.08)), ten_cubic_metres(3.0))
    assert order.working["planting_missing"] == pytest.approx(3.24 * 1.25 / 0.90)
    assert order.working["fill_missing"] == pytest.approx(7.56 * 1.25 / 0.90)


@pytest.mark.parametrize(("lacks", "short"), [(0.0253, False), (0.0255, True)])
def test_a_crest_is_short_from_an_inch(lacks: float, short: bool) -> None:
    """Practice: what a crew can build to; an inch is 25.4 mm."""
    assert BuiltCrest((0.0, 0.0), 0.5, 0.5 - lacks, "").short is short


def test_a_boulder_of_two_feet_weighs_as_the_manual_says() -> None:
    """EM 1110-2-1601: W = unit weight x pi D^3 / 6; 165 lb/ft3 and 2 ft make 691 lb."""
    assert boulder_weight(2 * FT) / LB == pytest.approx(691.15, abs=0.01)


@pytest.mark.parametrize(
    ("slope", "words"),
    [
        (0.5, "3:1"),
        (0.501, "2:1"),
        (1 / 3, "4:1"),
        (0.334, "3:1"),
        (0.25, "5:1"),
        (0.251, "4:1"),
        (0.2, None),
        (0.201, "5:1"),
    ],
)
def test_a_slope_falls_in_its_class_on_either_side(slope: float, words: str | None) -> None:
    """P100 (2003) sec. 2.5 and VA sec. 12.7: 2:1, 3:1, 4:1, 5:1; a slope at the bound keeps it."""
    found = slope_class(slope)
    assert (found is None) if words is None else (found is not None and f"than {words}" in found.text)


@pytest.mark.parametrize(
    ("feet", "words"),
    [
        (0.99, None),
        (1.01, "each day and after rain"),
        (3.99, "each day"),
        (4.01, "way out within 25 ft"),
        (4.99, "way out"),
        (5.01, "shored or laid back"),
        (19.99, "shored"),
        (20.0, "engineer's design"),
    ],
)
def test_a_pit_asks_for_more_at_each_depth_of_the_rule(feet: float, words: str | None) -> None:
    """29 CFR 1926 Subpart P."""
    duty = pit_duty(feet * FT, "ft")
    assert (duty is None) if words is None else (duty is not None and words in duty[1])
    if duty is not None and "engineer" not in duty[1]:
        assert "2 ft back" in duty[1]


def test_pit_sides_lie_back_by_the_table() -> None:
    """Subpart P, Appendix B, table B-1: 3/4:1, 1:1, 1 1/2:1; soil that nobody has classed is type C."""
    assert [laid_back(2.0, kind) for kind in ("rock", "A", "B", "C")] == pytest.approx([0.0, 1.5, 2.0, 3.0])
    assert laid_back(2.0) == pytest.approx(3.0)


@pytest.mark.parametrize(
    ("high", "toe", "cut"), [(1, 2, 2), (4, 2, 2), (6, 3, 2), (10, 5, 2), (30, 15, 6), (60, 20, 10)]
)
def test_setbacks_are_the_codes(high: float, toe: float, cut: float) -> None:
    """Topeka KS 17.05.190: half the height, 2 to 20 ft; a fifth of the depth, 2 to 10 ft."""
    assert toe_setback(high * FT) / FT == pytest.approx(toe)
    assert cut_setback(high * FT) / FT == pytest.approx(cut)


def test_a_ridge_sags_between_far_high_points_by_its_share() -> None:
    """Two tops of one height, far apart on a narrow bed: the middle gives up 18 %; 9 % where they stand two breadths
    apart."""
    for breadth, sag in ((1e-9, 0.18), (5.0, 0.09)):
        ridge = ridge_line(np.array([[0.0, 0.0], [10.0, 0.0]]), breadth)
        assert ridge.weights[3].sum() == pytest.approx(1.0 - sag, abs=1e-6)


@pytest.mark.parametrize(("degrees", "served"), [(13.0, False), (16.0, True), (45.0, True), (90.0, True)])
def test_tapes_that_cross_too_flat_place_no_stake(degrees: float, served: bool) -> None:
    """1 / sqrt(1 - cos) is 6 at 13.6 degrees."""
    far, half = 10.0, math.radians(degrees) / 2.0
    ends = [Known(name, (side * far * math.sin(half), 0.0), 0) for name, side in (("A", -1.0), ("B", 1.0))]
    stake = np.array([[0.0, far * math.cos(half)]])
    (tapes,) = best_tapes(ends, stake, Polygon())
    assert (tapes is not None) == served


@pytest.mark.parametrize(("away", "served"), [(29.9, True), (30.1, False), (0.31, True), (0.29, False)])
def test_a_tape_is_a_tape_of_thirty_metres_and_begins_a_hand_off(away: float, served: bool) -> None:
    """A second pair stands ready that crosses worse: it is taken where the first cannot be."""
    near = [Known("A", (away, 0.0), 0), Known("B", (0.0, 5.0), 0)]
    poor = [Known("C", (-9.0, 3.0), 1), Known("D", (-9.0, 8.0), 1)]
    (tapes,) = choose_pairs([*near, *poor], np.array([[0.0, 0.0]]), Polygon())
    assert ({tapes.start.name, tapes.end.name} == {"A", "B"}) == served
