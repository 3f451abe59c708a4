"""Every bound once more, by hand: its value in the words of its source, and that source.

A change of a bound has to be made in two places on purpose. Arithmetic: 1 ft is 0.3048 m, 1 in 0.0254 m, both exact.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import pytest

from terrain import limits
from terrain.limits import Limit

COMMON = "common practice, no published source"
FT, IN = 0.3048, 0.0254

# Name, value in SI units, unit, and words that its source holds.
TABLE: tuple[tuple[str, float, str, str], ...] = (
    ("NOISE", 0.0127, "m", COMMON),
    ("TRACE", 0.001, "m", COMMON),
    ("ROD", 10.0, "m", COMMON),
    ("UNSEEN_MEAN", 0.010, "share", "jacksboro_fault_dem"),
    ("UNSEEN_PLACE", 0.024, "share", "jacksboro_fault_dem"),
    ("CREST_SHORT", 0.0254, "m", COMMON),
    ("MACHINE_TRIPS", 600.0, "", COMMON),
    ("LAST_TRUCK", 0.5, "share", COMMON),
    ("TRIM", 0.1, "share", COMMON),
    ("SHARE_MOST", 0.25, "share", "Johnson 1999"),
    ("SHARE_TO_ASK", 0.10, "share", "cl. 3.3.3"),
    ("FILL_OVER_ROOTS", 2 * IN, "m", "Barton, 2008"),
    ("CLAY_OVER_ROOTS", 1 * IN, "m", "U. Maryland Extension"),
    ("ANCHORAGE", 3.0, "trunk diameters", "Smiley"),
    ("FLARE_CLEAR", 6 * IN, "m", COMMON),
    ("MULCH_DEEPEST", 4 * IN, "m", "UF/IFAS"),
    ("RUNOFF_CHANGE", 1 / 3, "share", COMMON),
    ("TRUNK_USUAL", 36 * IN, "m", COMMON),
    ("BESIDE_ZONE", 5 * FT, "m", COMMON),
    ("POND", 0.02, "m", COMMON),
    ("TURNED", 2.0, "m2", COMMON),
    ("TURNED_SHARE", 0.10, "share", COMMON),
    ("STREAM_WIDTH", 10 * FT, "m", COMMON),
    ("GATHERED", 10.0, "m2", COMMON),
    ("GATHERED_TIMES", 2.0, "", COMMON),
    ("DRAWDOWN", 72.0, "h", "drain within 72 hours"),
    ("BASIN_AWAY", 10 * FT, "m", "10 feet of a foundation"),
    ("FALL", 6 * IN, "m", "IRC R401.3"),
    ("FALL_WITHIN", 10 * FT, "m", "IRC R401.3"),
    ("PAVED_SLOPE", 0.02, "rise/run", "IRC R401.3"),
    ("SWALE_SLOPE", 0.02, "rise/run", "IRC R401.3"),
    ("LEVEL_SLOPE", 0.01, "rise/run", "P100 (2003) sec. 2.5"),
    ("CLEARANCE", 6 * IN, "m", "IRC R404.1.6"),
    ("WALL_STRIP", 6 * IN, "m", COMMON),
    ("LIP_SPREAD", 0.15, "share", COMMON),
    ("SILL", IN / 16, "m", COMMON),
    ("PIPE_SPEED", 5 * FT, "m/s", COMMON),
    ("WIRE_TO_WATER 0", 0.15, "share", COMMON),
    ("WIRE_TO_WATER 1", 0.35, "share", COMMON),
    ("WIRE_TO_WATER 2", 0.45, "share", COMMON),
    ("EVAPORATION", 0.30 * IN, "m", COMMON),
    ("LAKE_OF_PAN", 0.75, "share", "Illinois State Climatologist"),
    ("BETWEEN_REFILLS", 7.0, "", COMMON),
    ("RIM_SPARE", 2 * IN, "m", COMMON),
    ("INTAKE", 6 * IN, "m", COMMON),
    ("SHEET_SLACK", 0.05, "share", "428B"),
    ("SHEET_EDGE", 9 * IN, "m", COMMON),
    ("SHEET_END", 2 * FT, "m", COMMON),
    ("BASIN_EDGE", 1 * FT, "m", COMMON),
    ("SHEET_LAP", 12 * IN, "m", COMMON),
    ("UNDERLAY_MORE", 0.10, "share", COMMON),
    ("COVER", 4 * IN, "m", COMMON),
    ("STILL_WATER", 4.0, "", "Durham Region"),
    ("ENGINEERED_SLOPE", 0.5, "rise/run", "P100 (2003) sec. 2.5"),
    ("COVERED_SLOPE", 1 / 3, "rise/run", "P100 (2003) sec. 2.5"),
    ("MOWER_SLOPE", 0.25, "rise/run", "sec. 12.7"),
    ("MOWN_BERM_SLOPE", 0.20, "rise/run", "sec. 12.7"),
    ("EROSION_SLOPE", 0.06, "rise/run", "sec. 12.7, note b"),
    ("WALK_ALONG", 0.05, "rise/run", "P100 (2003) sec. 2.5"),
    ("WALK_ACROSS", 0.02, "rise/run", "P100 (2003) sec. 2.5"),
    ("RAMP", 1 / 12, "rise/run", "2010 ADA Standards 405.2"),
    ("PERMIT_HEIGHT", 4 * FT, "m", "IRC R105.2 and IBC 105.2"),
    ("FENCE_DEPTH", 18 * IN, "m", "Wasco CA 8.28.010"),
    ("FOOTING_DEPTH", 12 * IN, "m", "IRC R403.1.4"),
    ("SETBACK_LEAST", 2 * FT, "m", "Topeka KS 17.05.190"),
    ("TOE_SHARE", 0.5, "share", "Topeka KS 17.05.190"),
    ("TOE_MOST", 20 * FT, "m", "Topeka KS 17.05.190"),
    ("CUT_SHARE", 0.2, "share", "Topeka KS 17.05.190"),
    ("CUT_MOST", 10 * FT, "m", "Topeka KS 17.05.190"),
    ("PERMIT_FILL_DEPTH", 3 * FT, "m", "Redwood City 9.60"),
    ("PERMIT_VOLUME", 50 * 27 * FT**3, "m3", "Redwood City 9.60"),
    ("STORM_WATER", 43560 * FT**2, "m2", "40 CFR 122.26(b)(15)"),
    ("CLAY_SLOPE", 1 / 3, "rise/run", "2:1 to 3:1"),
    ("CLAY_HIGH", 2 * FT, "m", COMMON),
    ("CLAY_TALL", 4 * FT, "m", COMMON),
    ("CLAY_LOAM_SLOPE", 1 / 3, "rise/run", "clay loam 1.5:1 to 3:1"),
    ("CLAY_LOAM_HIGH", 4 * FT, "m", COMMON),
    ("MULCH_COVERS", 2 * IN, "m", "2 to 4 in"),
    ("BESIDE_PAVING", 5 * FT, "m", COMMON),
    ("TIERS_APART", 2.0, "", "twice the height"),
    ("GUARD_DROP", 30 * IN, "m", "over 30 in"),  # from memory
    ("GUARD_WITHIN", 36 * IN, "m", "within 36 in"),  # from memory
    ("HYDRANT_CLEAR", 3 * FT, "m", "IFC 507.5.5"),
    ("METER_CLEAR", 3 * FT, "m", "NEC 110.26"),  # from memory
    ("SEPTIC_CLEAR", 10 * FT, "m", COMMON),
    ("WELL_CLEAR", 3 * FT, "m", "IRC R310.2.3"),  # from memory
    ("HAND_DIG", 24 * IN, "m", "18 to 24 in"),
    ("SIGHT_LEG", 25 * FT, "m", "Burtchville Township"),
    ("SIGHT_HEIGHT", 30 * IN, "m", "Burtchville Township"),
    ("BENCH_HEIGHT", 5 * FT, "m", "Portland OR 24.70.080"),
    ("BENCH_SLOPE", 0.2, "rise/run", "Portland OR 24.70.080"),
    ("LINE_AWAY", 10 * FT, "m", "29 CFR 1926.600(a)(6)"),
    ("BUILT_TOLERANCE ft", 0.1 * FT, "m", COMMON),
    ("BUILT_TOLERANCE m", 0.03, "m", COMMON),
    ("SOIL_SEEN", 0.5 * IN, "m", COMMON),
    ("ACCURACY_MOST", 0.5, "m", COMMON),
    ("TRUCK 0", 0.2, "m3", COMMON),
    ("TRUCK 1", 60.0, "m3", COMMON),
    ("BARROW 0", 0.01, "m3", COMMON),
    ("BARROW 1", 2.0, "m3", COMMON),
    ("BAG 0", 0.002, "m3", COMMON),
    ("BAG 1", 2.5, "m3", COMMON),
    ("SOLD_IN_MOST", 60.0, "m3", COMMON),
    ("PRICE_MOST", 1e8, "", COMMON),
    ("SLOPE_LEAST", 0.01, "rise/run", COMMON),
    ("THICKEST_LAYER", 0.5, "m", COMMON),
    ("THICKEST_TRUNK", 4.0, "m", COMMON),
    ("HIGHEST_DROP", 1.0, "m", COMMON),
    ("LARGEST_LOSS", 0.5, "share", COMMON),
    ("MOST_RAIN", 0.6, "m", COMMON),
    ("LONGEST_STORM", 240.0, "h", COMMON),
    ("FASTEST_INTAKE", 1.0 / 3600.0, "m/s", COMMON),
    ("VOLUME_RATE_MOST", 10.0 / 3600.0, "m3/s", COMMON),
    ("AREA_RATE_MOST", 1000.0 / 3600.0, "m2/s", COMMON),
    ("STEEPEST_DIG", 10.0, "rise/run", COMMON),
    ("DEEPEST_DIG", 3.0, "m", COMMON),
    ("MOST_FLOW", 0.05, "m3/s", COMMON),
    ("FITTINGS_MOST", 200.0, "", COMMON),
    ("DROPS_APART", 6 * IN, "m", COMMON),
    ("BANK_EDGE", 2 * IN, "m", COMMON),
    ("LEAST_TREAD", 0.01, "rise/run", COMMON),
    ("TREAD_FALL", 0.02, "rise/run", COMMON),
    ("STEEPEST_TREAD", 0.04, "rise/run", COMMON),
    ("LEAST_DROP", 2 * IN, "m", COMMON),
    ("POOL_TURN", math.pi / 6, "rad", COMMON),
    ("POOL_DEPTH", 4 * IN, "m", COMMON),
    ("BANK_LOW", IN / 4, "m", COMMON),
    ("STREAM_DROP", 8 * IN, "m", COMMON),
    ("WIDEST_CHANNEL", 5.0, "m", COMMON),
    ("HIGHEST_STONES", 2.0, "m", COMMON),
    ("TERRACE_OFF", 5.0, "m", COMMON),
    ("ROUGHNESS 0", 0.01, "", COMMON),
    ("ROUGHNESS 1", 1.0, "", "RMRS-GTR-323"),
    ("VOIDS 0", 0.1, "share", COMMON),
    ("VOIDS 1", 1.0, "share", COMMON),
    ("LOOSE_WEIGHTS 0", 300.0, "kg/m3", COMMON),
    ("LOOSE_WEIGHTS 1", 2600.0, "kg/m3", COMMON),
    ("ROD_LIKE ft", 16 * FT, "m", COMMON),
    ("ROD_LIKE m", 5.0, "m", COMMON),
    ("CREST_APART", 0.01, "m", COMMON),
    ("NAME_LONGEST", 200.0, "", COMMON),
    ("SHOTS_MOST", 20_000.0, "", COMMON),
    ("CONTOUR_ACCURACY", 0.003, "m", COMMON),
    ("BOOK_UNPACKED_MOST", 67_108_864.0, "", COMMON),
    ("BOOK_MEMBERS_MOST", 1000.0, "", COMMON),
    ("BOOK_ROWS_MOST", 30_000.0, "", COMMON),
    ("PLAN_PARTS_MOST", 100_000.0, "", COMMON),
    ("PLAN_CORNERS_MOST", 400_000.0, "", COMMON),
    ("PLAN_ACROSS 0", 2.0, "m", COMMON),
    ("PLAN_ACROSS 1", 1000.0, "m", COMMON),
    ("ENTRIES_MOST", 1000.0, "", COMMON),
    ("CORNERS_MOST", 10_000.0, "", COMMON),
    ("HIGHEST_CREST", 5.0, "m", COMMON),
)


def every_limit() -> dict[str, Limit]:
    """All limits by name; those that differ by units as "NAME ft"."""
    found: dict[str, Limit] = {}
    for name, held in vars(limits).items():
        if isinstance(held, Limit):
            found[name] = held
        elif isinstance(held, Mapping) and not name.startswith("_"):
            found |= {f"{name} {units}": limit for units, limit in held.items()}
        elif isinstance(held, tuple):
            found |= {f"{name} {i}": limit for i, limit in enumerate(held)}
    return found


def test_every_limit_has_its_row_here() -> None:
    assert sorted(every_limit()) == sorted(row[0] for row in TABLE)


@pytest.mark.parametrize(("name", "value", "unit", "source"), TABLE)
def test_a_limit_has_the_value_and_the_source_that_are_written_here(
    name: str, value: float, unit: str, source: str
) -> None:
    held = every_limit()[name]
    assert held.value == pytest.approx(value, rel=1e-12)
    assert held.unit == unit
    assert source in held.source
    assert held.meaning
