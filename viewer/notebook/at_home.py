"""What the stages can do in a notebook, given to them when the door `hummock` is opened: the library draws nothing."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from terrain.field import SetOut
from terrain.flow import Study
from terrain.ground import Ground
from terrain.review import Review
from terrain.shape import Proposal
from terrain.site import Site
from terrain.soil import Order
from viewer.notebook import faces, handed_on

_GIVEN: Mapping[type, Mapping[str, Callable[[Any], object]]] = {
    Site: {"_repr_html_": faces.site_html},
    Ground: {"_repr_html_": faces.ground_html, "to_xarray": handed_on.ground_dataset},
    Proposal: {
        "_repr_html_": faces.proposal_html,
        "to_xarray": handed_on.proposal_dataset,
        "to_pyvista": handed_on.proposal_body,
    },
    Order: {"_repr_html_": faces.order_html, "to_frame": handed_on.ledger_frame},
    Review: {"_repr_html_": faces.review_html, "to_frame": handed_on.findings_frame},
    SetOut: {"to_frame": handed_on.stakes_frame},
    Study: {"_repr_html_": faces.study_html},
}


def shown_in_notebooks() -> None:
    """Let every stage show itself by `_repr_html_`, and hand itself on by `to_xarray`, `to_pyvista`, `to_frame`."""
    for kind, given in _GIVEN.items():
        for name, way in given.items():
            setattr(kind, name, way)
