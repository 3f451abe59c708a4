"""Every bound that a design, a look, a stake or a built mound is held against: once, with its unit and its source.

A value is a planning default of the source beside it; local code and the licensed people on site decide. What no
source could be opened for says "common practice, no published source". A bound is added here, with its value and source
written out a second time in `tests/test_limits.py`, and used by its name everywhere.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

INCH = 0.0254  # metres, exact
FOOT = 12.0 * INCH
YARD = 3.0 * FOOT
POUND = 0.45359237  # kg, exact
PRACTICE = "common practice, no published source"


@dataclass(frozen=True)
class Limit:
    """One bound.

    Parameters
    ----------
    value
        In SI units.
    unit
        "m", "m2", "m3", "m/s", "m2/s", "m3/s", "h", "kg/m3", "rise/run", "share", "trunk diameters", or "" for a figure
        without one.
    meaning
        What it bounds, in a few words.
    source
        Where it is published, as a finding prints it.
    """

    value: float
    unit: str
    meaning: str
    source: str


# The survey and the soil.
NOISE = Limit(0.5 * INCH, "m", "change of grade that a survey cannot tell from none", PRACTICE)
TRACE = Limit(0.001, "m", "depth above which soil counts as lying there at all; thinner is arithmetic", PRACTICE)
ROD_LIKE: Mapping[str, Limit] = MappingProxyType(
    {
        "ft": Limit(16.0 * FOOT, "m", "under which elevations without a benchmark may be rod readings", PRACTICE),
        "m": Limit(5.0, "m", "under which elevations without a benchmark may be rod readings", PRACTICE),
    }
)
_OPEN_TERRAIN = (
    "worked out on beds of the open terrain of matplotlib's sample grid jacksboro_fault_dem whose edge falls by less "
    "than 5 %, held against a plane through their edge (tests/ground/test_unmeasured.py)"
)
UNSEEN_MEAN = Limit(
    0.010, "share", "of the root of a bed's area by which the mean of unseen ground leaves its plane", _OPEN_TERRAIN
)
UNSEEN_PLACE = Limit(0.024, "share", "the same, of the ground at any one place", _OPEN_TERRAIN)
ROD = Limit(10.0, "m", "longest levelling rod", PRACTICE)
CREST_SHORT = Limit(INCH, "m", "shortfall of a crest point that is worth a word: what a crew can build to", PRACTICE)
MACHINE_TRIPS = Limit(600, "", "barrow trips beyond which it is work for a machine", PRACTICE)
LAST_TRUCK = Limit(0.5, "share", "of a load under which the last truck is worth a lower mound", PRACTICE)
TRIM = Limit(0.1, "share", "of the height at the top that may be trimmed to save a truck", PRACTICE)

# Trees.
SHARE_MOST = Limit(
    0.25,
    "share",
    "of a root protection zone filled, dug or stripped together, at most",
    "Minnesota Stormwater Manual citing Johnson 1999: disturb at most 25 % of the roots",
)
SHARE_TO_ASK = Limit(
    0.10,
    "share",
    "of a root protection zone disturbed, from which an arborist must justify it",
    "AS 4970-2009 (replaced in 2025) cl. 3.3.3: more than 10 % of the zone asks for an arborist",
)
FILL_OVER_ROOTS = Limit(
    2.0 * INCH,
    "m",
    "fill over a root protection zone before words grow strong",
    "U. Delaware Extension (Barton, 2008): avoid grade changes over 2 in in the root zone",
)
CLAY_OVER_ROOTS = Limit(
    1.0 * INCH, "m", "the same for clay", "U. Maryland Extension, Grade changes: clay over about 1 in"
)
ANCHORAGE = Limit(
    3.0,
    "trunk diameters",
    "from the trunk's centre within which nothing is dug",
    "Smiley (2008), Root pruning and stability of young willow oak: young trees, no trench within 3 trunk diameters",
)
FLARE_CLEAR = Limit(6.0 * INCH, "m", "round a root flare that stays bare, whatever is allowed", PRACTICE)
MULCH_DEEPEST = Limit(4.0 * INCH, "m", "mulch over roots, at most", "UF/IFAS Extension, mulching: 2 to 4 in")
RUNOFF_CHANGE = Limit(1 / 3, "share", "by which runoff to a root protection zone changes before it is told", PRACTICE)
TRUNK_USUAL = Limit(
    36.0 * INCH, "m", "trunk over which a root protection zone larger than the yard is doubted", PRACTICE
)
BESIDE_ZONE = Limit(
    5.0 * FOOT, "m", "work this near outside a root protection zone still counts as beside the tree", PRACTICE
)

# Water.
POND = Limit(0.02, "m", "depth from which standing water counts", PRACTICE)
TURNED = Limit(2.0, "m2", "by which a catchment grows before it is worth a word", PRACTICE)
TURNED_SHARE = Limit(0.10, "share", "the same, of what it was", PRACTICE)
STREAM_WIDTH = Limit(10.0 * FOOT, "m", "of a line through which a gathered stream is measured", PRACTICE)
GATHERED = Limit(10.0, "m2", "of ground more that a stream gathers before it is worth a word", PRACTICE)
GATHERED_TIMES = Limit(2.0, "", "times what came through the same place before", PRACTICE)
DRAWDOWN = Limit(
    72.0,
    "h",
    "from the end of the rain until a basin that shall dry is empty, at most",
    "New Jersey Future, Developers Green Infrastructure Guide: rain gardens drain within 72 hours",
)
BASIN_AWAY = Limit(
    10.0 * FOOT,
    "m",
    "from a foundation to a basin whose water soaks in, at least",
    "Rain Garden Handbook for Western Washington: not within 10 feet of a foundation",
)
FALL = Limit(
    6.0 * INCH,
    "m",
    "fall of the ground over the first stretch from a building, at least",
    "IRC R401.3: 6 in within the first 10 ft, or a swale; the adopted local code decides",
)
FALL_WITHIN = Limit(10.0 * FOOT, "m", "that stretch", FALL.source)
PAVED_SLOPE = Limit(
    0.02,
    "rise/run",
    "fall of paved ground within that stretch, at least",
    "IRC R401.3: 6 in within the first 10 ft, on paving 2 %; the adopted local code decides",
)
SWALE_SLOPE = Limit(
    0.02,
    "rise/run",
    "fall of a swale within that stretch, at least",
    "IRC R401.3: swales within 10 ft of a building fall at least 2 %; the adopted local code decides",
)
LEVEL_SLOPE = Limit(
    0.01,
    "rise/run",
    "fall of ground that is to shed rain, at least",
    "GSA Facilities Standards P100 (2003) sec. 2.5: turf falls at least 1 %, better 2 %",
)
CLEARANCE = Limit(
    6.0 * INCH,
    "m",
    "finished grade at a wall below the floor, at least",
    "IRC R404.1.6 and R317.1: 6 in; the floor stands in for the top of the foundation; local code decides",
)
WALL_STRIP = Limit(6.0 * INCH, "m", "strip beside a wall that is kept bare, as mulch is off a flare", PRACTICE)

# Streams on the mound.
BANK_EDGE = Limit(2.0 * INCH, "m", "of bank over running water, where no other figure is stated", PRACTICE)
LEAST_TREAD = Limit(
    0.01, "rise/run", "fall of a stream's bed between drops, at least; a flat bed holds water", PRACTICE
)
TREAD_FALL = Limit(0.02, "rise/run", "fall of a stream's bed between drops that are proposed", PRACTICE)
STEEPEST_TREAD = Limit(0.04, "rise/run", "fall of a stream's bed between drops, at most, before more are due", PRACTICE)
LEAST_DROP = Limit(2.0 * INCH, "m", "of a drop that is proposed, at least: less is left to the bed", PRACTICE)
POOL_TURN = Limit(math.radians(30.0), "rad", "by which a stream turns at least where a pool is proposed", PRACTICE)
POOL_DEPTH = Limit(4.0 * INCH, "m", "of the floor of a pool that is proposed under its sill", PRACTICE)
BANK_LOW = Limit(0.25 * INCH, "m", "that a bank may lie low before the mound is raised for it", PRACTICE)
STREAM_DROP = Limit(8.0 * INCH, "m", "of a drop that is proposed, at most, where no other figure is stated", PRACTICE)

# Running water.
LIP_SPREAD = Limit(0.15, "share", "by which a rough stone lip passes more or less than the formula", PRACTICE)
SILL = Limit(INCH / 16.0, "m", "off its elevation that a sill is set, and off level, at most", PRACTICE)
PIPE_SPEED = Limit(5.0 * FOOT, "m/s", "of water in a pipe, at most", PRACTICE)
WIRE_TO_WATER = (
    Limit(0.15, "share", "of its power that a small pump turns into lift, at least", PRACTICE),
    Limit(0.35, "share", "of its power that a small pump turns into lift", PRACTICE),
    Limit(0.45, "share", "of its power that a small pump turns into lift, at most", PRACTICE),
)
EVAPORATION = Limit(0.30 * INCH, "m", "that a pan loses on a summer day, about 0.20 to 0.45 in", PRACTICE)
LAKE_OF_PAN = Limit(
    0.75, "share", "of what a pan loses that open water loses", "Illinois State Climatologist: pan coefficient 0.75"
)
BETWEEN_REFILLS = Limit(7.0, "", "days that a basin lasts without a refill, at least", PRACTICE)
RIM_SPARE = Limit(2.0 * INCH, "m", "of rim over the water of a resting pump and the rain, at least", PRACTICE)
INTAKE = Limit(6.0 * INCH, "m", "of water that a pump needs over the floor, where no other is stated", PRACTICE)
SHEET_SLACK = Limit(
    0.05, "share", "of length more, laid in folds, at least", "NRCS Arizona 428B: at least 5 % slack in a ditch"
)
SHEET_EDGE = Limit(9.0 * INCH, "m", "of sheet beyond the bank on each side of a stream", PRACTICE)
SHEET_END = Limit(2.0 * FOOT, "m", "of sheet beyond each end of a stream", PRACTICE)
BASIN_EDGE = Limit(1.0 * FOOT, "m", "of sheet beyond the rim of a basin", PRACTICE)
SHEET_LAP = Limit(12.0 * INCH, "m", "of an upper sheet over a lower one at a drop, at least", PRACTICE)
UNDERLAY_MORE = Limit(0.10, "share", "of cloth more than sheet", PRACTICE)
COVER = Limit(4.0 * INCH, "m", "of stone over the sheet of a bed", PRACTICE)
STILL_WATER = Limit(
    4.0, "", "days from which still water breeds mosquitoes", "Durham Region: 4 to 14 days from egg to adult"
)

# Slopes.
_P100 = "GSA Facilities Standards P100 (2003) sec. 2.5"
_VA = "US Department of Veterans Affairs, site development design manual, sec. 12.7"
ENGINEERED_SLOPE = Limit(1 / 2, "rise/run", "steeper needs an engineer", f"{_P100}; Indio and Thousand Oaks codes: 2:1")
COVERED_SLOPE = Limit(1 / 3, "rise/run", "steeper cannot be mown and needs ground cover or a mat", _P100)
MOWER_SLOPE = Limit(1 / 4, "rise/run", "steeper is too steep for a mower", _VA)
MOWN_BERM_SLOPE = Limit(1 / 5, "rise/run", "to which one design manual keeps berms that are mown", _VA)
EROSION_SLOPE = Limit(0.06, "rise/run", "over which bare soil is protected from rain", f"{_VA}, note b")
WALK_ALONG = Limit(0.05, "rise/run", "of a walk along it, at most", f"{_P100}; 2010 ADA Standards 405.2: ramps 1:12")
WALK_ACROSS = Limit(0.02, "rise/run", "of a walk across it, at most", WALK_ALONG.source)
RAMP = Limit(1 / 12, "rise/run", "of the steepest ramp; over it steps are needed", WALK_ALONG.source)

CLAY_SLOPE = Limit(1 / 3, "rise/run", "at which wet clay still stands", "Newman 1890 ch. VI: wet clay 2:1 to 3:1")
CLAY_HIGH = Limit(2.0 * FOOT, "m", "of clay under which its slope is no matter", PRACTICE)
CLAY_TALL = Limit(4.0 * FOOT, "m", "of clay that is designed where it is steeper", PRACTICE)
CLAY_LOAM_SLOPE = Limit(
    1 / 3, "rise/run", "at which clay loam stands however wet it is", "Newman 1890 ch. VI: clay loam 1.5:1 to 3:1"
)
CLAY_LOAM_HIGH = Limit(4.0 * FOOT, "m", "of clay loam under which its slope is no matter", PRACTICE)
MULCH_COVERS = Limit(2.0 * INCH, "m", "of mulch that covers bare soil", "UF/IFAS mulching pages: 2 to 4 in")
BESIDE_PAVING = Limit(5.0 * FOOT, "m", "from a bare steep face to paving that it washes onto", PRACTICE)

# Who must be asked.
SETBACK_LEAST = Limit(
    2.0 * FOOT, "m", "from work to the lot line, at least", "Topeka KS 17.05.190 (b) and (c); local code decides"
)
TOE_SHARE = Limit(1 / 2, "share", "of a fill's height that its toe stays off the lot line", SETBACK_LEAST.source)
TOE_MOST = Limit(20.0 * FOOT, "m", "that a toe need stay off the lot line, at most", SETBACK_LEAST.source)
CUT_SHARE = Limit(1 / 5, "share", "of a cut's depth that its top stays off the lot line", SETBACK_LEAST.source)
CUT_MOST = Limit(10.0 * FOOT, "m", "that a cut need stay off the lot line, at most", SETBACK_LEAST.source)
PERMIT_FILL_DEPTH = Limit(
    3.0 * FOOT, "m", "of fill from which the strictest code read asks for a permit", "Redwood City 9.60"
)
PERMIT_VOLUME = Limit(50.0 * YARD**3, "m3", "of earth moved, likewise", PERMIT_FILL_DEPTH.source)
STORM_WATER = Limit(4046.8564224, "m2", "of disturbed ground, one acre, that needs a permit", "40 CFR 122.26(b)(15)")
BENCH_HEIGHT = Limit(5.0 * FOOT, "m", "of fill that is benched into steep ground", "Portland OR 24.70.080")
BENCH_SLOPE = Limit(1 / 5, "rise/run", "of ground that counts as steep there", BENCH_HEIGHT.source)
LINE_AWAY = Limit(10.0 * FOOT, "m", "from an overhead line, at least", "29 CFR 1926.600(a)(6), to 50 kV")

# Walls, water and footings.
PERMIT_HEIGHT = Limit(
    4.0 * FOOT,
    "m",
    "of a wall from the foot of its base stones, up to which no permit is asked for",
    "IRC R105.2 and IBC 105.2: exempt to 4 ft from the foot, unless it bears a surcharge",
)
FENCE_DEPTH = Limit(
    18.0 * INCH, "m", "of open water, from which rules on fences begin", "Wasco CA 8.28.010: fish ponds of 18 in"
)
FOOTING_DEPTH = Limit(
    12.0 * INCH,
    "m",
    "to which a footing reaches where nobody said how deep the ground freezes",
    "IRC R403.1.4: 12 in at least, and below frost",
)
TIERS_APART = Limit(
    2.0, "", "times its height that the next wall up stands from a lower one", "Bothell WA 12.14.152: twice the height"
)
GUARD_DROP = Limit(30.0 * INCH, "m", "of drop beside a seat or a walk without a guard", "IRC R312.1: over 30 in")
GUARD_WITHIN = Limit(36.0 * INCH, "m", "from the drop that counts as beside it", "IRC R312.1: within 36 in")

# Things of the yard.
HYDRANT_CLEAR = Limit(
    3.0 * FOOT, "m", "of clear ground round a hydrant", "City of La Porte TX fire marshal (IFC 507.5.5): 3 ft"
)
METER_CLEAR = Limit(
    3.0 * FOOT, "m", "of clear ground before a meter", "NEC 110.26 (A): 3 ft of working space; its owner decides"
)
SEPTIC_CLEAR = Limit(10.0 * FOOT, "m", "of clear ground round a septic tank or its field", PRACTICE)
WELL_CLEAR = Limit(
    3.0 * FOOT, "m", "of clear ground round a window well", "IRC R310.2.3: a well projects 36 in; local code decides"
)
HAND_DIG = Limit(
    24.0 * INCH,
    "m",
    "on either side of a buried line that is opened by hand",
    "29 CFR 1926.651(b); 18 to 24 in by the rules of the states",
)
SIGHT_LEG = Limit(
    25.0 * FOOT, "m", "of a sight triangle along each street", "Burtchville Township MI: 25 ft; local code decides"
)
SIGHT_HEIGHT = Limit(30.0 * INCH, "m", "over the street in a sight triangle, at most", SIGHT_LEG.source)

# Set-out and the built mound.
BUILT_TOLERANCE: Mapping[str, Limit] = MappingProxyType(
    {
        "ft": Limit(0.1 * FOOT, "m", "off the plan that finish grading is held to", PRACTICE),
        "m": Limit(0.03, "m", "off the plan that finish grading is held to", PRACTICE),
    }
)
SOIL_SEEN = Limit(0.5 * INCH, "m", "of soil beside the work; thinner is not told from rough turf", PRACTICE)

# What a site file may say. Beyond these a figure is a slip of units or of a decimal, or nobody's yard.
ACCURACY_MOST = Limit(0.5, "m", "accuracy of one shot; ground that is less sure is not surveyed", PRACTICE)
TRUCK = (
    Limit(0.2, "m3", "that a truck holds, at least: half a pickup's bed", PRACTICE),
    Limit(60.0, "m3", "that a truck holds, at most: a long trailer", PRACTICE),
)
BARROW = (
    Limit(0.01, "m3", "that a barrow holds, at least: a bucket", PRACTICE),
    Limit(2.0, "m3", "that a barrow holds, at most: a small dumper", PRACTICE),
)
BAG = (
    Limit(0.002, "m3", "that a bag holds, at least", PRACTICE),
    Limit(2.5, "m3", "that a bag holds, at most: a large bulk bag", PRACTICE),
)
SOLD_IN_MOST = Limit(60.0, "m3", "step in which soil is sold, at most", PRACTICE)
PRICE_MOST = Limit(1e8, "", "of money for a m3, a tonne, a load or a bag, at most, in any currency", PRACTICE)
SLOPE_LEAST = Limit(0.01, "rise/run", "steepest side of a mound, at least: flatter is no mound", PRACTICE)
THICKEST_LAYER = Limit(0.5, "m", "of sod or mulch, at most", PRACTICE)
THICKEST_TRUNK = Limit(4.0, "m", "of a trunk across, at most", PRACTICE)
HIGHEST_DROP = Limit(1.0, "m", "from one bed of a channel to the next, at most", PRACTICE)
LARGEST_LOSS = Limit(0.5, "share", "lost to shrinking or settling, at most", PRACTICE)
MOST_RAIN = Limit(0.6, "m", "of rain in one storm, at most", PRACTICE)
LONGEST_STORM = Limit(240.0, "h", "that a storm lasts, at most", PRACTICE)
FASTEST_INTAKE = Limit(1.0 / 3600.0, "m/s", "that soil drinks, at most: a metre an hour, clean gravel", PRACTICE)
VOLUME_RATE_MOST = Limit(10.0 / 3600.0, "m3/s", "that one person moves or digs by hand, at most", PRACTICE)
AREA_RATE_MOST = Limit(1000.0 / 3600.0, "m2/s", "that one person strips, at most: with a powered cutter", PRACTICE)
STEEPEST_DIG = Limit(
    10.0, "rise/run", "of the sides of a dig, at most: they may stand steeper than ground may be left", PRACTICE
)
DEEPEST_DIG = Limit(3.0, "m", "of a basin or a channel, at most", PRACTICE)
MOST_FLOW = Limit(0.05, "m3/s", "of a stream on a mound, at most: 790 US gallons a minute", PRACTICE)
ROUGHNESS = (
    Limit(0.01, "", "Manning's n of a bed, at least: smooth plastic", PRACTICE),
    Limit(1.0, "", "Manning's n of a bed, at most", "USDA RMRS-GTR-323 (2014): steep streams at low flow, up to 0.96"),
)
FITTINGS_MOST = Limit(200.0, "", "sum of the loss factors of a pipe's fittings, at most", PRACTICE)
VOIDS = (
    Limit(0.1, "share", "of a basin that water fills, at least", PRACTICE),
    Limit(1.0, "share", "of a basin that water fills, at most: an open one", PRACTICE),
)
DROPS_APART = Limit(6.0 * INCH, "m", "along a stream from one drop to the next, at least", PRACTICE)
WIDEST_CHANNEL = Limit(5.0, "m", "across the bed of a channel, at most", PRACTICE)
HIGHEST_STONES = Limit(2.0, "m", "of soil that laid stones hold, at most", PRACTICE)
TERRACE_OFF = Limit(5.0, "m", "between a terrace's elevation and the nearest of the shots, at most", PRACTICE)
LOOSE_WEIGHTS = (
    Limit(300.0, "kg/m3", "of loose soil, at least: dry compost", PRACTICE),
    Limit(2600.0, "kg/m3", "of loose soil, at most: wet stone", PRACTICE),
)
CREST_APART = Limit(0.01, "m", "between two crest points, at least", PRACTICE)
NAME_LONGEST = Limit(200.0, "", "signs in a text, at most", PRACTICE)
SHOTS_MOST = Limit(20_000.0, "", "shots in one file, at most: a yard has no more to tell", PRACTICE)
CONTOUR_ACCURACY = Limit(0.003, "m", "of a place on a contour of a plan as a shot: as it is drawn", PRACTICE)
PLAN_PARTS_MOST = Limit(100_000.0, "", "parts of a plan, at most: lines, symbols, labels", PRACTICE)
PLAN_CORNERS_MOST = Limit(400_000.0, "", "corners of all lines and faces of a plan, at most", PRACTICE)
PLAN_ACROSS = (
    Limit(2.0, "m", "across the work of a plan, at least: less is drawn in another unit", PRACTICE),
    Limit(1000.0, "m", "across the work of a plan, at most: more is drawn in another unit, or no yard", PRACTICE),
)
BOOK_UNPACKED_MOST = Limit(64.0 * 2**20, "", "bytes that a workbook unpacks to, at most", PRACTICE)
BOOK_MEMBERS_MOST = Limit(1000.0, "", "parts of a workbook, at most", PRACTICE)
BOOK_ROWS_MOST = Limit(30_000.0, "", "rows of a tab down to its last, at most", PRACTICE)
ENTRIES_MOST = Limit(1000.0, "", "trees, walks, crest points and the like, at most of each", PRACTICE)
CORNERS_MOST = Limit(10_000.0, "", "corners of an outline or points of a line, at most", PRACTICE)

# How far shapes go.
HIGHEST_CREST = Limit(5.0, "m", "of a crest point or terrace over existing grade", PRACTICE)
