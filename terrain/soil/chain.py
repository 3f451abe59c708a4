"""The soil order, line by line: from what was measured to what is bought, how sure that is and how it comes.

Each line is written once: worked for the answer, written out as a formula of the workbook, printed as the working. All
volumes are in one unit, m3 here and the site's own in the workbook.

Settlement has one law. The mound is built to finished height x (1 + settlement), the height taken over existing grade:
that is the grade which stakes mark for day one. What fills the ground under it, where sod and topsoil were stripped, is
no height and gets no allowance.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from terrain.numerics import Figure, Formula, Values, either, least, most, quantile, root, size, whole
from terrain.soil.among import job_at, share_of_jobs, short_by

SETTLEMENT_LAW = (
    "height built = finished height over existing grade x (1 + settlement); the stripped ground under it gets no "
    "allowance"
)
EVEN = 12.0  # the variance of a value that is even between two bounds is their distance squared over this


@dataclass(frozen=True)
class Line:
    """One line of the working.

    Parameters
    ----------
    name
        What formulas call it.
    label
        What a reader calls it.
    measure
        "bank", "loose" or "placed" for a volume, "share", "count", "" for a plain number.
    formula
        How it follows from lines above and from what is given.
    source
        What it means or where it comes from, where the formula does not say it.
    shared
        True where it is the same for every height of the mound.
    told
        The formula in words, where it is too long to be read.
    """

    name: str
    label: str
    measure: str
    formula: Formula
    source: str = ""
    shared: bool = False
    told: str = ""


def loads(volume: Figure, load: Figure) -> Figure:
    """Whole loads of a volume, the last perhaps not full; none where a load has no size."""
    return either(load > 0, whole(volume / load), 0)


def rounded(volume: Figure, step: Figure) -> Figure:
    """The least whole number of steps that holds a volume; the volume itself where any amount is sold."""
    return either(step > 0, whole(volume / step) * step, volume)


def _doubted_placed(v: Figure) -> Figure:
    """Placed volume that the shrink of the soil bought, or of one soil for all, has a part in."""
    return v.built * v.brought_per_placed - v.own_loose * (1 - v.ground_shrink)


def _unbrought(v: Figure, volume: Figure, trucks: Figure) -> Figure:
    """By how much the last load of a volume is smaller than the least that is paid for."""
    last = volume - most(0, trucks - 1) * v.truck_load
    return either(volume > 0, most(0, v.least_load - last), 0)


SUPPLY = (
    Line("loose_per_placed", "Loose for one placed", "", lambda v: (1 + v.swell) / (1 - v.shrink), shared=True),
    Line(
        "brought_per_placed",
        "Loose brought for one placed",
        "",
        lambda v: v.loose_per_placed / (1 - v.lost),
        "with what is lost between the heap and the mound",
        shared=True,
    ),
    Line("step", "Step used", "loose", lambda v: either(v.bag > 0, v.bag, v.sold_in), shared=True),
    Line(
        "truck_load",
        "A truck brings",
        "loose",
        lambda v: either(
            v.truck > 0,
            either(v.payload * v.unit_weight > 0, least(v.truck, v.payload / v.unit_weight), v.truck),
            0,
        ),
        "its volume, or less where that would weigh too much",
        shared=True,
    ),
)
OWN_SOIL = (
    Line(
        "sod_placed",
        "Sod turned under",
        "placed",
        lambda v: (1 - v.sod_leaves) * (v.sod_in_bed + v.sod_on_digs) * (1 - v.ground_shrink),
        "takes up room like any other soil",
        shared=True,
    ),
    Line(
        "topsoil_placed",
        "Topsoil at hand",
        "placed",
        lambda v: v.topsoil_stripped * (1 - v.ground_shrink),
        shared=True,
    ),
    Line(
        "usable_placed",
        "Cut at hand, fit to use",
        "placed",
        lambda v: v.reuse * v.cut_under_sod * (1 - v.ground_shrink),
        shared=True,
    ),
)
MOUND = (
    Line(
        "built",
        "Built on day one",
        "placed",
        lambda v: v.fill_placed + v.topsoil_stripped + v.rise * v.settlement,
        SETTLEMENT_LAW,
    ),
    Line(
        "planting_built",
        "Planting layer built",
        "placed",
        lambda v: least(v.built, v.planting_layer * (1 + v.settlement)),
    ),
    Line("sod_in_fill", "Sod laid in the fill", "placed", lambda v: least(v.sod_placed, v.built - v.planting_built)),
    Line(
        "topsoil_on_top",
        "Topsoil laid in the planting layer",
        "placed",
        lambda v: least(v.topsoil_placed, v.planting_built),
    ),
    Line(
        "topsoil_below",
        "Topsoil laid in the fill",
        "placed",
        lambda v: least(v.topsoil_placed - v.topsoil_on_top, v.built - v.planting_built - v.sod_in_fill),
    ),
    Line(
        "cut_in_fill",
        "Cut laid in the fill",
        "placed",
        lambda v: least(v.usable_placed, v.built - v.planting_built - v.sod_in_fill - v.topsoil_below),
    ),
    Line(
        "own_spare",
        "Own soil left over",
        "placed",
        lambda v: (
            (v.sod_placed - v.sod_in_fill)
            + (v.topsoil_placed - v.topsoil_on_top - v.topsoil_below)
            + (v.usable_placed - v.cut_in_fill)
        ),
    ),
    Line(
        "planting_missing",
        "Planting soil from outside",
        "loose",
        lambda v: (v.planting_built - v.topsoil_on_top) * v.brought_per_placed,
    ),
    Line(
        "fill_missing",
        "Fill soil from outside",
        "loose",
        lambda v: (v.built - v.planting_built - v.sod_in_fill - v.topsoil_below - v.cut_in_fill) * v.brought_per_placed,
    ),
    Line("missing", "Soil from outside", "loose", lambda v: v.planting_missing + v.fill_missing),
    Line(
        "balance",
        "Balance",
        "loose",
        lambda v: either(v.missing > 0, v.missing, 0 - v.own_spare * v.brought_per_placed),
        "below zero: more soil on the site than the mound takes",
    ),
    Line("expected", "Soil expected", "loose", lambda v: most(0, v.balance)),
    Line(
        "own_loose",
        "Own soil that counts",
        "loose",
        lambda v: (
            (v.sod_in_fill + v.topsoil_on_top + v.topsoil_below + v.cut_in_fill + either(v.balance > 0, 0, v.own_spare))
            / (1 - v.ground_shrink)
            * v.brought_per_placed
        ),
        "as if it were bought",
    ),
)
DOUBTS = (
    Line(
        "doubt_ground",
        "existing grade",
        "loose",
        lambda v: v.ground_deviation * (1 + v.settlement) * v.brought_per_placed,
        "the spread of the ground model over the bed",
    ),
    Line(
        "doubt_sod",
        "sod depth",
        "loose",
        lambda v: v.sod_spread * v.sod_in_bed * (1 - (1 - v.sod_leaves) * (1 - v.ground_shrink)) * v.brought_per_placed,
        "common practice, no published source",
    ),
    Line(
        "doubt_swell",
        "swell",
        "loose",
        lambda v: size(_doubted_placed(v)) / (1 + v.swell) * (v.swell_high - v.swell_low) / root(EVEN),
        "Peurifoy, Construction Planning, Equipment, and Methods, Table 4-1",
    ),
    Line(
        "doubt_shrink",
        "shrink",
        "loose",
        lambda v: (
            size(_doubted_placed(v) / (1 - v.shrink) + v.own_loose * v.one_soil)
            * (v.shrink_high - v.shrink_low)
            / root(EVEN)
        ),
        "Moving the Earth, p. 2.51",
    ),
    Line(
        "doubt_own",
        "shrink of the ground",
        "loose",
        lambda v: v.own_loose * (1 - v.one_soil) * (v.own_high - v.own_low) / root(EVEN),
        "Moving the Earth, p. 2.51",
    ),
    Line(
        "doubt_settling",
        "settlement",
        "loose",
        lambda v: either(
            v.settlement > 0, v.rise * v.brought_per_placed * (v.settling_high - v.settling_low) / root(EVEN), 0
        ),
        "USDA-NRCS, Agriculture Handbook 590",
    ),
    Line(
        "doubt_lost",
        "soil lost on the way",
        "loose",
        lambda v: most(0, v.missing) / (1 - v.lost) * (v.lost_high - v.lost_low) / root(EVEN),
        "common practice, no published source",
    ),
    Line(
        "doubt_toe",
        "toe that is not cut",
        "loose",
        lambda v: v.toe_deviation * v.brought_per_placed,
        "the ground that stands over finished grade and is left",
    ),
)
ORDER = (
    Line(
        "deviation",
        "Standard deviation of the soil needed",
        "loose",
        lambda v: root(sum((getattr(v, line.name) ** 2 for line in DOUBTS[1:]), v.doubt_ground**2)),
        "the root of the sum of the squares: the scale on which the drawn jobs are kept",
    ),
    Line(
        "low",
        "Low end of the 90 % range",
        "loose",
        lambda v: most(0, job_at(v, 0 - v.reach)),
        told="what one drawn job in twenty needs less than",
    ),
    Line(
        "high",
        "High end of the 90 % range",
        "loose",
        lambda v: most(0, job_at(v, v.reach)),
        told="what one drawn job in twenty needs more than",
    ),
    Line(
        "needed",
        "Enough with the chance asked for",
        "loose",
        lambda v: most(0, job_at(v, quantile(v.chance))),
        told="what that share of the drawn jobs needs at most",
    ),
    Line("to_buy", "Of it to buy", "loose", lambda v: most(0, v.needed - v.on_hand), "less the soil on hand"),
    Line(
        "fill_short",
        "Fill soil that the heap leaves open",
        "loose",
        lambda v: most(0, v.fill_missing - v.on_hand),
        "soil on hand goes into the fill first",
    ),
    Line(
        "planting_short",
        "Planting soil that the heap leaves open",
        "loose",
        lambda v: most(0, v.planting_missing - most(0, v.on_hand - v.fill_missing)),
    ),
    Line(
        "planting_to_buy",
        "Planting soil to buy",
        "loose",
        lambda v: either(
            v.fill_short + v.planting_short > 0,
            v.planting_short / (v.fill_short + v.planting_short) * v.to_buy,
            either(v.fill_missing > 0, 0, either(v.planting_missing > 0, v.to_buy, 0)),
        ),
        "what is bought on top of the expected is shared out as the expected is",
    ),
    Line("fill_to_buy", "Fill soil to buy", "loose", lambda v: v.to_buy - v.planting_to_buy),
    Line("planting_order", "Planting soil ordered", "loose", lambda v: rounded(v.planting_to_buy, v.step)),
    Line("fill_order", "Fill soil ordered", "loose", lambda v: rounded(v.fill_to_buy, v.step)),
    Line("soil_order", "Soil to order", "loose", lambda v: v.planting_order + v.fill_order),
    Line("planting_trucks", "Trucks of planting soil", "count", lambda v: loads(v.planting_order, v.truck_load)),
    Line("fill_trucks", "Trucks of fill soil", "count", lambda v: loads(v.fill_order, v.truck_load)),
    Line(
        "unbrought",
        "Paid for and not brought",
        "loose",
        lambda v: _unbrought(v, v.planting_order, v.planting_trucks) + _unbrought(v, v.fill_order, v.fill_trucks),
        "by a last truck under the least load",
        told="least load - the last truck of each soil, where that brings less",
    ),
    Line("soil_trucks", "Trucks", "count", lambda v: v.planting_trucks + v.fill_trucks),
    Line(
        "covered",
        "Chance that it is enough",
        "share",
        lambda v: share_of_jobs(v, v.on_hand + v.soil_order),
        told="share of the drawn jobs that need no more than on hand + soil order",
    ),
    Line(
        "short_median",
        "Half of the short jobs miss less than",
        "loose",
        lambda v: short_by(v, 2),
        told="what half of the drawn jobs that run short miss at most",
    ),
    Line(
        "short_95",
        "One short job in twenty misses more than",
        "loose",
        lambda v: short_by(v, 20),
        told="what all but one in twenty of them miss at most",
    ),
    Line(
        "heap_short",
        "Chance that the soil on hand alone falls short",
        "share",
        lambda v: 1 - share_of_jobs(v, v.on_hand),
        told="share of the drawn jobs that need more than on hand",
    ),
)
LEAVES = (
    Line(
        "sod_away",
        "Sod hauled away",
        "bank",
        lambda v: v.sod_leaves * (v.sod_in_bed + v.sod_on_digs),
        shared=True,
    ),
    Line("cut_unfit", "Cut unfit to use", "bank", lambda v: (1 - v.reuse) * v.cut_under_sod, shared=True),
    Line(
        "leaves",
        "Hauled away",
        "loose",
        lambda v: (v.sod_away + v.cut_unfit + v.own_spare / (1 - v.ground_shrink)) * (1 + v.ground_swell),
    ),
    Line("mulch_loose", "Mulch", "loose", lambda v: v.mulch_laid * (1 + v.mulch_extra), shared=True),
    Line("gravel_loose", "Gravel", "loose", lambda v: v.gravel_laid * v.gravel_per_laid, shared=True),
)
LINES: Mapping[str, Line] = {line.name: line for line in (*SUPPLY, *OWN_SOIL, *MOUND, *DOUBTS, *ORDER, *LEAVES)}
FORMULAS: Mapping[str, Formula] = {name: line.formula for name, line in LINES.items()}


def evaluated(given: Mapping[str, Figure]) -> Values:
    """Every line of the order from what is given, each worked when it is asked for.

    Parameters
    ----------
    given
        Numbers, or arrays (n,) of as many jobs, under the names of `terrain.soil.given`.
    """
    return Values(given, FORMULAS)
