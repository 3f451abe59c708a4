"""How sure the volumes are: what ground, sod and soil factors add to the range, combined in the open."""

from __future__ import annotations

import math
from collections.abc import Iterable
from statistics import NormalDist

from terrain.grid import Array, Mask
from terrain.site.model import Soil
from terrain.site.soil_states import Factors, bank_to_loose, loose_to_order, placed_to_loose
from terrain.site.soils import soil_factors
from terrain.soil.model import Share

CENTRAL_90 = NormalDist().inv_cdf(0.95)  # standard deviations from the middle to either end of the central 90 %

GROUND = "existing grade"
# Sod is stripped by eye: common practice, no published source.
SOD_DEVIATION = 0.25  # of the depth

# Swell ranges: Peurifoy, Construction Planning, Equipment, and Methods, Table 4-1 (as quoted in a structural
# engineers' mailing list, 1998). Sand and gravel 5-15 %, topsoil 10-25, loamy soil 10-35, common earth 20-45,
# clay 30-60. A soil of another name is as unsure as common earth.
SWELL_RANGES = {
    "sand": (0.05, 0.15),
    "gravel": (0.05, 0.15),
    "sand and gravel": (0.05, 0.15),
    "topsoil": (0.10, 0.25),
    "loam": (0.10, 0.35),
    "common earth": (0.20, 0.45),
    "earth": (0.20, 0.45),
    "clay": (0.30, 0.60),
}
SWELL_SOURCE = "Peurifoy, Construction Planning, Equipment, and Methods, Table 4-1"
# Moving the Earth: The Workbook of Excavation, p. 2.51: 80 to 90 % of the bank volume is left after
# compaction.
SHRINK_RANGE = (0.10, 0.20)
SHRINK_SOURCE = "Moving the Earth, p. 2.51"
# USDA-NRCS, Ponds (Agriculture Handbook 590): 5 % laid in compacted layers, 10 % where not rolled.
SETTLEMENT_RANGE = (0.05, 0.10)
SETTLEMENT_SOURCE = "USDA-NRCS, Agriculture Handbook 590"


def even_deviation(bounds: tuple[float, float]) -> float:
    """Standard deviation of a value equally likely anywhere between two bounds: width / sqrt(12)."""
    return (bounds[1] - bounds[0]) / math.sqrt(12.0)


def swell_range(kind: str) -> tuple[float, float]:
    """Published range of swell of a kind of soil, as shares of the bank volume."""
    word = " ".join(kind.lower().replace("/", " and ").split())
    return SWELL_RANGES.get(word, SWELL_RANGES["common earth"])


def combined_deviation(shares: Iterable[Share]) -> float:
    """Standard deviation of independent causes together: the root of the sum of squares, m3."""
    return math.sqrt(sum(share.deviation**2 for share in shares))


def central_range(volume: float, shares: Iterable[Share]) -> tuple[float, float]:
    """Low and high end in m3 of the central 90 % range about a volume; never below zero."""
    reach = CENTRAL_90 * combined_deviation(shares)
    return max(0.0, volume - reach), max(0.0, volume + reach)


def fill_shares(area: float, mean_deviation: float, sod: float) -> tuple[Share, ...]:
    """Causes that widen the placed fill, standard deviations in m3.

    Parameters
    ----------
    area
        Plan area that is stripped and filled, m2.
    mean_deviation
        Standard deviation of the mean elevation error of the existing grade over that area, metres. The crew
        builds to the finished grade, so this error times the area is the error of the fill.
    sod
        Depth of sod stripped, metres.
    """
    return (
        Share(GROUND, mean_deviation * area, "the spread of the ground model over the bed"),
        Share("sod depth", SOD_DEVIATION * sod * area, "common practice, no published source"),
    )


def cut_shares(deviation: Array, dug: Mask, cell_area: float) -> tuple[Share, ...]:
    """Causes that widen the cut, standard deviations in m3.

    Parameters
    ----------
    deviation, dug
        (ny, nx): standard deviation of the existing grade at each node, metres, and where ground is taken away.
    cell_area
        Of the grid, m2.

    Notes
    -----
    Digs are made to stated elevations, so the error of the ground over them is the error of the cut. Within a dig the
    errors are taken to go together, which is right for a small one and too wide for a long one.
    """
    return (Share(GROUND, float(deviation[dug].sum()) * cell_area, "the spread of the ground model over the digs"),)


def order_shares(built: float, own: float, soil: Soil) -> tuple[Share, ...]:
    """Causes in the soil factors that widen the loose volume to order, standard deviations in m3.

    Parameters
    ----------
    built
        Placed fill as built on day one, settlement allowance included, m3.
    own
        Soil of the site that goes into it or could, bank m3.
    soil
        The factors that the order is worked with; its kind names the published range of swell.

    Notes
    -----
    Order = (built - own (1 - shrink of the ground)) (1 + swell) / (1 - shrink), and built = fill (1 + settlement);
    each share is the derivative by one factor times that factor's standard deviation. Where the site names no soil of
    its own for the ground, both shrinks are one and err together.
    """
    per_own = bank_to_loose(own, soil) / (1.0 - soil.shrink)
    ground = soil if soil.ground is None else soil_factors(soil.ground)
    whole = placed_to_loose(built, soil)
    order = whole - per_own * (1.0 - ground.shrink)
    per_settlement = whole / (1.0 + soil.settlement)
    unsettled = 0.0 if soil.settlement == 0.0 else even_deviation(SETTLEMENT_RANGE)
    per_shrink = order / (1.0 - soil.shrink) + (per_own if soil.ground is None else 0.0)
    shrink = even_deviation(SHRINK_RANGE)
    shares = (
        Share("swell", abs(order) / (1.0 + soil.swell) * even_deviation(swell_range(soil.kind)), SWELL_SOURCE),
        Share("shrink", abs(per_shrink) * shrink, SHRINK_SOURCE),
        Share("shrink of the ground", per_own * shrink if soil.ground is not None else 0.0, SHRINK_SOURCE),
        Share("settlement", per_settlement * unsettled, SETTLEMENT_SOURCE),
    )
    return tuple(share for share in shares if share.deviation > 0.0 or share.cause != "shrink of the ground")


def in_loose(shares: Iterable[Share], soil: Factors, settlement: float) -> tuple[Share, ...]:
    """Shares of a placed volume as shares of the loose volume to order, m3."""
    factor = loose_to_order(1.0, soil, settlement)
    return tuple(Share(share.cause, factor * share.deviation, share.source) for share in shares)
