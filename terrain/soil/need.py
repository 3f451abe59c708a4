"""What a measured mound asks for: its layers, the soil that is missing, and how unsure that is."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from terrain.site.model import Bed, Soil
from terrain.site.soil_states import day_one_factor
from terrain.soil.layers import OWN_SOIL, SPARE_SOIL, bank_of, soil_balance, soil_layers
from terrain.soil.measured import Measured
from terrain.soil.model import Layer, Share
from terrain.soil.ranges import in_loose, order_shares


@dataclass(frozen=True)
class Need:
    """Soil for one mound.

    Parameters
    ----------
    layers
        Every layer of the job.
    balance
        Soil missing, loose m3; negative: left over.
    shares
        What makes the balance unsure, standard deviations in loose m3.
    """

    layers: tuple[Layer, ...]
    balance: float
    shares: tuple[Share, ...]


def soil_need(measured: Measured, bed: Bed, soil: Soil, fill_shares: Iterable[Share]) -> Need:
    """The need of a measured mound; `fill_shares` is what makes its placed fill unsure (`ranges.fill_shares`)."""
    layers = soil_layers(measured, bed, soil)
    balance = soil_balance(layers, soil)
    # Soil of the site that found no place would find one if more were needed; that only counts where none is bought.
    own = bank_of(layers, *OWN_SOIL, *(SPARE_SOIL if balance <= 0.0 else ()))
    built = (measured.fill_placed + bed.topsoil * measured.worked_area) * day_one_factor(soil.settlement)
    shares = in_loose(fill_shares, soil, soil.settlement) + order_shares(built, own, soil)
    return Need(layers, balance, shares)
