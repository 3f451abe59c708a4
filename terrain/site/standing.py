"""How high and wide a tree stands, as measured, else by what is published of such trunks; how high a house is shown.

One owner for pictures, models in files and pages.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from terrain.grid import Array
from terrain.site.model import Tree

# Crown of a free-standing tree: 24 to 27 times its trunk, whatever its kind (Coombes, Martin, Slater 2019, Urban
# Forestry & Urban Greening 44, 126421: 400 trees of four kinds).
CROWN_OVER_TRUNK = 25.0
# Widest open-grown crown, metres: a d^b, d in cm (Russell, Weiskittel 2011, Maine).
OPEN_CROWNS = {
    "red oak": (4.08, 0.310),
    "red maple": (2.17, 0.491),
    "sugar maple": (3.31, 0.356),
    "beech": (2.93, 0.434),
    "yellow birch": (4.04, 0.308),
    "paper birch": (1.48, 0.623),
    "white pine": (1.24, 0.585),
    "hemlock": (2.44, 0.408),
    "red spruce": (1.80, 0.461),
    "balsam fir": (1.37, 0.572),
}
# Height, metres, of a trunk of d cm: London plane in a city, which others in the open come near (USDA Forest Service,
# urban tree database, PSW-GTR-253). Over the widest trunk that it was fitted to the last height is held.
HEIGHT_BY_TRUNK, WIDEST_FITTED = (3.29515, 0.30021, -0.00109), 55.0
CONIFERS = ("pine", "spruce", "fir", "hemlock", "cedar", "larch", "redwood", "cypress")
# Common practice, no published source: how far up the lowest leaves hang, as a share of the height and within bounds
# in metres; a crown is widest at a third of its height.
CLEAR_SHARE, LEAST_CLEAR, MOST_CLEAR = 0.2, 1.0, 3.5
WIDEST_AT = 1.0 / 3.0
HOUSE_HEIGHT = 2.4  # metres shown of a house over its floor; nobody measured it
FLARE_REACH = 0.35  # metres up a trunk within which its flare comes down to a third


@dataclass(frozen=True)
class TreeForm:
    """How a tree stands: height, clear stem and radius of the crown in metres; whether that is measured."""

    height: float
    clear: float
    radius: float
    measured: bool
    conifer: bool


def tree_form(tree: Tree) -> TreeForm:
    """The form of a tree."""
    wide = 100.0 * tree.trunk
    fitted = min(wide, WIDEST_FITTED)
    height = HEIGHT_BY_TRUNK[0] + HEIGHT_BY_TRUNK[1] * fitted + HEIGHT_BY_TRUNK[2] * fitted**2
    clear = float(np.clip(CLEAR_SHARE * height, LEAST_CLEAR, MOST_CLEAR))
    called = f"{tree.species} {tree.name}".lower()
    conifer = any(kind in called for kind in CONIFERS)
    known = next((sizes for kind, sizes in OPEN_CROWNS.items() if kind in called), None)
    radius = tree.dripline or (0.5 * known[0] * wide ** known[1] if known else 0.5 * CROWN_OVER_TRUNK * tree.trunk)
    return TreeForm(height, clear, radius, tree.dripline is not None, conifer)


def trunk_radii(trunk: float, flare: float, up: Array) -> Array:
    """Radius of a trunk at heights (k,) over the ground, metres, from its radius at breast height and its flare's."""
    return np.asarray(trunk * (1.0 + (max(flare / trunk, 1.0) - 1.0) * np.exp(-up / FLARE_REACH)))
