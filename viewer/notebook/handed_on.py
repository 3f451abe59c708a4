"""Stages as other libraries hold them: datasets of xarray, bodies of pyvista, tables of pandas.

Figures are in metres, m2 and m3, as inside. Each library is asked for when it is first needed; `InputError` says how to
install it where it is not there.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from terrain.extras import library
from terrain.field import SetOut
from terrain.grid import Grid
from terrain.ground import Ground
from terrain.review import Review
from terrain.shape import Proposal
from terrain.soil import Order

if TYPE_CHECKING:
    import pandas
    import pyvista
    import xarray

_EXTRA = "notebook"


def ground_dataset(ground: Ground) -> xarray.Dataset:
    """Elevation and its standard deviation in metres, and where the shots surround it, over (y, x) in metres."""
    layers = {
        "elevation": (ground.elevation, "m", "existing grade"),
        "deviation": (ground.deviation, "m", "standard deviation of the existing grade"),
        "surveyed": (ground.surveyed, "", "inside the hull of the shots"),
    }
    return _dataset(ground.grid, layers, "Ground.to_xarray", {"method": ground.check.method})


def proposal_dataset(proposal: Proposal) -> xarray.Dataset:
    """Proposed grade, fill, cut and the limit surface in metres, and the bed, over (y, x) in metres."""
    layers = {
        "elevation": (proposal.elevation, "m", "proposed grade, finished"),
        "fill": (proposal.fill, "m", "fill over existing grade"),
        "cut": (proposal.cut, "m", "cut under existing grade"),
        "limit": (proposal.limit, "m", "highest ground that the limits allow"),
        "bed": (proposal.bed, "", "inside the ground that may take fill"),
    }
    return _dataset(proposal.grid, layers, "Proposal.to_xarray", {"steepest": proposal.steepest})


def _dataset(
    grid: Grid, layers: Mapping[str, tuple[np.ndarray, str, str]], call: str, more: Mapping[str, object]
) -> xarray.Dataset:
    made: Any = library("xarray", call, "a dataset", _EXTRA)
    axes = {"x": ("x", grid.x, {"units": "m"}), "y": ("y", grid.y, {"units": "m"})}
    variables = {
        name: (("y", "x"), values, {"long_name": words, **({"units": unit} if unit else {})})
        for name, (values, unit, words) in layers.items()
    }
    dataset: xarray.Dataset = made.Dataset(variables, coords=axes, attrs=dict(more))
    return dataset


def proposal_body(proposal: Proposal) -> pyvista.PolyData:
    """The finished surface as triangles, metres in survey coordinates, with "fill" at points and "bed" on cells."""
    made: Any = library("pyvista", "Proposal.to_pyvista", "a body", _EXTRA)
    mesh = proposal.mesh
    corners = np.column_stack([np.full(len(mesh.triangles), 3), mesh.triangles])
    body: pyvista.PolyData = made.PolyData(np.column_stack([mesh.points, mesh.proposed]), corners.ravel())
    body.point_data["fill"] = mesh.fill
    body.cell_data["bed"] = mesh.inside
    return body


def findings_frame(review: Review) -> pandas.DataFrame:
    """The findings, a row each, the worst first: level, topic, text, value, bound, source, x and y in metres."""
    rows = [
        (one.level, one.topic, one.text, one.value, one.bound, one.source, *(one.at or (None, None))) for one in review
    ]
    columns = ("level", "topic", "text", "value", "bound", "source", "x", "y")
    numbers = ("value", "bound", "x", "y")
    return _frame("Review.to_frame", columns, rows).astype(dict.fromkeys(numbers, float))


def stakes_frame(stakes: SetOut) -> pandas.DataFrame:
    """The stakes, a row each, in the order of walking; lengths and elevations in metres.

    `from_start` and `from_end` are tapes from the points `start` and `end`.
    """
    columns = (
        *("name", "what", "x", "y", "start", "from_start", "end", "from_end", "station", "offset"),
        *("existing", "finished", "day_one", "build"),
    )
    rows = [
        (
            *(one.name, one.what, *one.at, one.tapes.start.name, one.tapes.from_start),
            *(one.tapes.end.name, one.tapes.from_end, one.station, one.offset),
            *(one.existing, one.finished, one.day_one, one.build),
        )
        for one in stakes.stakes
    ]
    return _frame("SetOut.to_frame", columns, rows)


def ledger_frame(order: Order) -> pandas.DataFrame:
    """The ledger, a row for each soil of the job: where it comes from, where it goes, m3 in each measure."""
    columns = ("name", "comes", "goes", "bank", "loose", "placed")
    rows = [tuple(getattr(line, name) for name in columns) for line in order.ledger]
    return _frame("Order.to_frame", columns, rows)


def _frame(call: str, columns: Sequence[str], rows: Sequence[tuple[object, ...]]) -> pandas.DataFrame:
    made: Any = library("pandas", call, "a table", _EXTRA)
    frame: pandas.DataFrame = made.DataFrame(rows, columns=list(columns))
    return frame
