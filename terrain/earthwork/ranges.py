"""How sure the volumes are: what ground, sod and soil factors add to the range, combined in the open."""

from __future__ import annotations

import math
from collections.abc import Iterable
from statistics import NormalDist

from terrain.earthwork.model import Share
from terrain.earthwork.states import Factors, bank_to_loose, loose_to_order

CENTRAL_90 = NormalDist().inv_cdf(0.95)  # standard deviations from the middle to either end of the central 90 %

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
# Moving the Earth: The Workbook of Excavation, p. 2.51: 80 to 90 % of the bank volume is left after
# compaction.
SHRINK_RANGE = (0.10, 0.20)
# USDA-NRCS, Ponds (Agriculture Handbook 590): 5 % laid in compacted layers, 10 % where not rolled.
SETTLEMENT_RANGE = (0.05, 0.10)


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
        Share("existing grade", mean_deviation * area, "the spread of the ground model over the bed"),
        Share("sod depth", SOD_DEVIATION * sod * area, "common practice, no published source"),
    )


def order_shares(
    placed: float, soil: Factors, settlement: float, kind: str, cut_used: float = 0.0
) -> tuple[Share, ...]:
    """Causes in the soil factors that widen the loose volume to order, standard deviations in m3.

    Parameters
    ----------
    placed
        Placed fill, m3.
    soil, settlement
        The factors that the order is worked with.
    kind
        Kind of soil, which names the published range of its swell.
    cut_used
        Cut on the site that is used as fill, bank m3.

    Notes
    -----
    Order = placed (1 + swell) (1 + settlement) / (1 - shrink) - cut (1 + swell); each share is the derivative
    by one factor times that factor's standard deviation.
    """
    order = loose_to_order(placed, soil, settlement)
    per_swell = (order - bank_to_loose(cut_used, soil)) / (1.0 + soil.swell)
    per_shrink = order / (1.0 - soil.shrink)
    per_settlement = order / (1.0 + settlement)
    unsettled = 0.0 if settlement == 0.0 else even_deviation(SETTLEMENT_RANGE)
    return (
        Share(
            "swell",
            abs(per_swell) * even_deviation(swell_range(kind)),
            "Peurifoy, Construction Planning, Equipment, and Methods, Table 4-1",
        ),
        Share("shrink", per_shrink * even_deviation(SHRINK_RANGE), "Moving the Earth, p. 2.51"),
        Share("settlement", per_settlement * unsettled, "USDA-NRCS, Agriculture Handbook 590"),
    )


def in_loose(shares: Iterable[Share], soil: Factors, settlement: float) -> tuple[Share, ...]:
    """Shares of a placed volume as shares of the loose volume to order, m3."""
    factor = loose_to_order(1.0, soil, settlement)
    return tuple(Share(share.cause, factor * share.deviation, share.source) for share in shares)
