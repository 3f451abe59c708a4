"""The soil order by layer: what is stripped, kept, used, bought, laid and hauled away."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from terrain.earthwork.model import Earthwork
from terrain.earthwork.prisms import prism_volume
from terrain.earthwork.states import (
    bank_to_loose,
    bank_to_placed,
    day_one_factor,
    placed_to_bank,
    placed_to_loose,
)
from terrain.shape.mesh import YardMesh
from terrain.site.model import Bed, Soil

MULCH = "mulch"
Moves = Literal["arrives", "stays", "leaves"]


@dataclass(frozen=True)
class LayerPlan:
    """What the user decides about layers; depths in metres, shares as fractions.

    Parameters
    ----------
    sod_leaves
        True: stripped sod is hauled away. False: it is turned under, where it rots and counts as no fill.
    topsoil
        Depth stripped under the sod over the whole worked area, kept on the site and laid again on top.
    planting
        Depth of planting soil on top of the fill; None: one soil throughout.
    usable_cut
        Share of the cut from basins and channels, under its sod, that is fit to be used as fill.
    mulch_allowance
        Share ordered above the laid volume because mulch settles: 0.1 to 0.2 is common practice, no published
        source.
    """

    sod_leaves: bool = True
    topsoil: float = 0.0
    planting: float | None = None
    usable_cut: float = 1.0
    mulch_allowance: float = 0.0


@dataclass(frozen=True)
class Layer:
    """One soil or cover on the job.

    `bank`, `loose` and `placed` are its volume in each measure, m3; None where the measure has no meaning for
    it (mulch has no bank). `moves` says whether it arrives on the site, stays there or leaves it.
    """

    name: str
    moves: Moves
    loose: float
    bank: float | None = None
    placed: float | None = None


def top_layer(mesh: YardMesh, stripped: float, depth: float) -> float:
    """Volume in m3 of the uppermost `depth` metres of the fill, where `stripped` metres of ground were taken off.

    Exact on the triangles of the mesh: the whole fill less the fill that lies deeper.
    """
    triangles, ground = mesh.triangles[mesh.inside], mesh.existing - stripped
    whole = prism_volume(mesh.points, triangles, ground, mesh.proposed).fill
    deeper = prism_volume(mesh.points, triangles, ground, mesh.proposed - depth).fill
    return whole - deeper


def soil_layers(
    work: Earthwork, bed: Bed, soil: Soil, mesh: YardMesh, plan: LayerPlan | None = None
) -> tuple[Layer, ...]:
    """Every layer of the job with its volumes; layers of no volume are left out.

    Parameters
    ----------
    work
        Measured earthwork of the proposal.
    bed, soil
        Sod and mulch depth; swell, shrink and settlement, used for every soil on the job.
    mesh
        The surfaces that `work` was measured on; the planting layer is cut from them.
    plan
        What the user decides; left out: one soil, sod hauled away, all cut used.

    Notes
    -----
    Topsoil stripped under the sod deepens the fill by as much as it gives back, less its shrink. Soil of the
    site goes first: kept topsoil to the planting layer, then with the cut to the fill under it; what is then
    missing arrives, and cut that finds no place leaves.
    """
    plan = plan or LayerPlan()
    area = work.worked_area
    settled = day_one_factor(soil.settlement)
    whole = (work.fill_placed + plan.topsoil * area) * settled
    planting = _planting(mesh, bed.sod + plan.topsoil, plan.planting, whole, settled)
    topsoil = bank_to_placed(plan.topsoil * area, soil)
    usable = bank_to_placed(plan.usable_cut * work.cut_below_sod, soil)
    topsoil_on_top = min(topsoil, planting) if plan.planting is not None else 0.0
    room = whole - planting
    topsoil_below = min(topsoil - topsoil_on_top, room)
    cut_used = min(usable, room - topsoil_below)
    kept = topsoil_on_top + topsoil_below
    spare = work.cut_below_sod - placed_to_bank(cut_used, soil)
    sod = bed.sod * area + work.cut_bank - work.cut_below_sod
    layers = (
        _in_bank("sod", "leaves" if plan.sod_leaves else "stays", sod, soil),
        _in_place("topsoil kept and laid again", "stays", kept, soil),
        _in_bank("topsoil to spare", "leaves", placed_to_bank(topsoil - kept, soil), soil),
        _in_place("cut used as fill", "stays", cut_used, soil),
        _in_bank("cut to spare", "leaves", spare, soil),
        _in_place("planting soil", "arrives", planting - topsoil_on_top, soil),
        _in_place("fill soil", "arrives", room - topsoil_below - cut_used, soil),
        Layer(MULCH, "arrives", work.mulch * (1.0 + plan.mulch_allowance)),
    )
    return tuple(layer for layer in layers if layer.loose > 1e-9)


def _planting(mesh: YardMesh, stripped: float, depth: float | None, whole: float, settled: float) -> float:
    """Volume of the planting layer as built, m3; nothing where there is one soil throughout."""
    return 0.0 if depth is None else min(whole, top_layer(mesh, stripped, depth) * settled)


def _in_bank(name: str, moves: Moves, bank: float, soil: Soil) -> Layer:
    return Layer(name, moves, loose=bank_to_loose(bank, soil), bank=bank)


def _in_place(name: str, moves: Moves, placed: float, soil: Soil) -> Layer:
    return Layer(name, moves, placed_to_loose(placed, soil), placed_to_bank(placed, soil), placed)
