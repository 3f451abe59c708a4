"""Bank, loose and placed measure of the same soil, with the direction of every conversion in its name.

Bank is soil in its natural bed, loose is soil in the truck or the barrow, placed is soil settled in the
finished mound. Two conventions for "shrink" are in use and disagree: the share of the bank volume that is
lost (the one in use here: 25 % leaves 0.75) and the divisor form of the Federal Lands Highway design manual,
section 9.4.C (25 % leaves 1/1.25 = 0.80).
"""

from __future__ import annotations

from typing import Protocol

from terrain.site.factors import job_factors
from terrain.site.model import Soil


class Factors(Protocol):
    """Anything with a swell (loose/bank - 1) and a shrink (1 - placed/bank), such as a site's soil."""

    @property
    def swell(self) -> float:
        """loose/bank - 1."""

    @property
    def shrink(self) -> float:
        """1 - placed/bank."""


def ground_factors(soil: Soil) -> Factors:
    """Swell and shrink of the soil that lies on the site: of its own kind where the site file names one."""
    return soil if soil.ground is None else job_factors(soil.ground, soil.placing)


def bank_to_loose(volume: float, soil: Factors) -> float:
    """Loose volume of a bank volume, m3: times (1 + swell)."""
    return volume * (1.0 + soil.swell)


def placed_to_bank(volume: float, soil: Factors) -> float:
    """Bank volume of a placed volume, m3: by (1 - shrink)."""
    return volume / (1.0 - soil.shrink)


def placed_to_loose(volume: float, soil: Factors) -> float:
    """Loose volume of a placed volume, m3."""
    return bank_to_loose(placed_to_bank(volume, soil), soil)


def day_one_factor(settlement: float) -> float:
    """Height to build per unit of finished height, so that the settled surface is the design: 1 + settlement.

    The allowance is a share of the finished height, as USDA-NRCS, Ponds (Agriculture Handbook 590), words it:
    the design height plus 5 % where soil is laid in compacted layers, plus 10 % where it is not rolled.
    """
    return 1.0 + settlement


def loose_to_order(placed: float, soil: Factors, settlement: float) -> float:
    """Loose soil in m3 for a placed and settled volume in m3: shrink, swell, settlement allowance."""
    return placed_to_loose(placed, soil) * day_one_factor(settlement)
