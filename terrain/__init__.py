"""The library: site, ground, proposal, earthwork, review. It never prints, draws or knows a screen.

The names below are imported when they are first used, so that taking one small part of the library stays quick.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from terrain.errors import HummockError, InputError, OutputError
    from terrain.field.asbuilt.as_built import check_as_built
    from terrain.field.asbuilt.shots import read_built
    from terrain.field.next_places import where_next
    from terrain.field.setout.set_out import set_out
    from terrain.files.study_files import write_files
    from terrain.files.summary import summary_of
    from terrain.flow import Study, run_site
    from terrain.grid import Grid
    from terrain.ground.existing import model_ground
    from terrain.ground.interpolate import interpolate
    from terrain.look.look import natural_look
    from terrain.review.proposal_review import review
    from terrain.shape.berm import shape_berm
    from terrain.site.model import Site
    from terrain.site.read import build_site, read_site
    from terrain.soil.measure import measure_earthwork
    from terrain.soil.order import Order, order_soil
    from terrain.soil.what_if import WhatIf
    from terrain.suggest.search import suggest

_HOMES = {
    "Grid": "terrain.grid",
    "HummockError": "terrain.errors",
    "InputError": "terrain.errors",
    "Order": "terrain.soil.order",
    "OutputError": "terrain.errors",
    "Site": "terrain.site.model",
    "Study": "terrain.flow",
    "WhatIf": "terrain.soil.what_if",
    "build_site": "terrain.site.read",
    "check_as_built": "terrain.field.asbuilt.as_built",
    "interpolate": "terrain.ground.interpolate",
    "measure_earthwork": "terrain.soil.measure",
    "model_ground": "terrain.ground.existing",
    "natural_look": "terrain.look.look",
    "order_soil": "terrain.soil.order",
    "read_built": "terrain.field.asbuilt.shots",
    "read_site": "terrain.site.read",
    "review": "terrain.review.proposal_review",
    "run_site": "terrain.flow",
    "set_out": "terrain.field.setout.set_out",
    "shape_berm": "terrain.shape.berm",
    "suggest": "terrain.suggest.search",
    "summary_of": "terrain.files.summary",
    "where_next": "terrain.field.next_places",
    "write_files": "terrain.files.study_files",
}

__all__ = [
    "Grid",
    "HummockError",
    "InputError",
    "Order",
    "OutputError",
    "Site",
    "Study",
    "WhatIf",
    "build_site",
    "check_as_built",
    "interpolate",
    "measure_earthwork",
    "model_ground",
    "natural_look",
    "order_soil",
    "read_built",
    "read_site",
    "review",
    "run_site",
    "set_out",
    "shape_berm",
    "suggest",
    "summary_of",
    "where_next",
    "write_files",
]


def __getattr__(name: str) -> object:
    """Import the public name that is asked for; AttributeError for any other."""
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(_HOMES[name]), name)


def __dir__() -> list[str]:
    """The public names, for completion in a notebook."""
    return sorted({*globals(), *__all__})
