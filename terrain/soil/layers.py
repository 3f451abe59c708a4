"""The soil order by layer: what is stripped, kept, used, bought, laid and hauled away."""

from __future__ import annotations

from collections.abc import Sequence

from terrain.site.model import Bed, Soil
from terrain.site.soil_states import (
    Factors,
    bank_to_loose,
    bank_to_placed,
    day_one_factor,
    ground_factors,
    placed_to_bank,
    placed_to_loose,
)
from terrain.site.soils import soil_factors
from terrain.soil.measured import Measured
from terrain.soil.model import Layer, Moves

SOD = "sod"
TOPSOIL_KEPT = "topsoil kept and laid again"
TOPSOIL_TO_SPARE = "topsoil to spare"
CUT_USED = "cut used as fill"
CUT_TO_SPARE = "cut to spare"
CUT_UNFIT = "cut unfit to use"
PLANTING_SOIL = "planting soil"
FILL_SOIL = "fill soil"
MULCH = "mulch"
GRAVEL = "gravel"

BOUGHT_SOIL = (FILL_SOIL, PLANTING_SOIL)
OWN_SOIL = (TOPSOIL_KEPT, CUT_USED)
SPARE_SOIL = (TOPSOIL_TO_SPARE, CUT_TO_SPARE)
COVERS = (MULCH, GRAVEL)


def soil_layers(measured: Measured, bed: Bed, soil: Soil) -> tuple[Layer, ...]:
    """Every layer of the job with its volumes; layers of no volume are left out.

    Parameters
    ----------
    measured
        What the surfaces of the proposal hold.
    bed
        Depths stripped and laid, and what becomes of the sod.
    soil
        Factors of the soil that is bought and of the soil that lies on the site, settlement, and the share of the cut
        that is fit to use.

    Notes
    -----
    Topsoil stripped under the sod deepens the fill by as much as it gives back, less its shrink. Soil of the site goes
    first: kept topsoil to the planting layer, then with the cut to the fill under it; what is then missing arrives,
    and what finds no place leaves. Placed is as built on day one: the settlement allowance is in it.
    """
    own, settled = ground_factors(soil), day_one_factor(soil.settlement)
    stripped = bed.topsoil * measured.worked_area
    whole = (measured.fill_placed + stripped) * settled
    planting = min(whole, measured.planting * settled)
    room = whole - planting
    topsoil = bank_to_placed(stripped, own)
    topsoil_on_top = min(topsoil, planting)
    topsoil_below = min(topsoil - topsoil_on_top, room)
    usable = bank_to_placed(soil.reuse * measured.cut_below_sod, own)
    cut_used = min(usable, room - topsoil_below)
    kept = topsoil_on_top + topsoil_below
    sod = bed.sod * measured.worked_area + measured.cut_bank - measured.cut_below_sod
    mulch = bed.mulch * measured.mulch_area
    layers = (
        _in_bank(SOD, "leaves" if bed.sod_leaves else "stays", sod, own),
        _in_place(TOPSOIL_KEPT, "stays", kept, own),
        _in_bank(TOPSOIL_TO_SPARE, "leaves", placed_to_bank(topsoil - kept, own), own),
        _in_place(CUT_USED, "stays", cut_used, own),
        _in_bank(CUT_UNFIT, "leaves", (1.0 - soil.reuse) * measured.cut_below_sod, own),
        _in_bank(CUT_TO_SPARE, "leaves", placed_to_bank(usable - cut_used, own), own),
        _in_place(PLANTING_SOIL, "arrives", planting - topsoil_on_top, soil),
        _in_place(FILL_SOIL, "arrives", room - topsoil_below - cut_used, soil),
        Layer(MULCH, "arrives", mulch * (1.0 + bed.mulch_allowance), placed=mulch),
        _in_place(GRAVEL, "arrives", measured.gravel, soil_factors("gravel")),
    )
    return tuple(layer for layer in layers if layer.loose > 1e-9)


def loose_of(layers: Sequence[Layer], *names: str) -> float:
    """Loose volume of the layers of these names together, m3."""
    return sum(layer.loose for layer in layers if layer.name in names)


def bank_of(layers: Sequence[Layer], *names: str) -> float:
    """Bank volume of the layers of these names together, m3."""
    return sum(layer.bank or 0.0 for layer in layers if layer.name in names)


def soil_balance(layers: Sequence[Layer], soil: Soil) -> float:
    """Soil missing on the site, loose m3 as bought; negative: soil fit to use that is left over, measured alike."""
    missing = loose_of(layers, *BOUGHT_SOIL)
    if missing > 0.0:
        return missing
    own = ground_factors(soil)
    return 0.0 - placed_to_loose(bank_to_placed(bank_of(layers, *SPARE_SOIL), own), soil)


def _in_bank(name: str, moves: Moves, bank: float, soil: Factors) -> Layer:
    return Layer(name, moves, loose=bank_to_loose(bank, soil), bank=bank)


def _in_place(name: str, moves: Moves, placed: float, soil: Factors) -> Layer:
    return Layer(name, moves, placed_to_loose(placed, soil), placed_to_bank(placed, soil), placed)
