"""A first crest for a bed that nobody has drawn one for: one ridge that tapers along the middle of the bed."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import shapely
from shapely.geometry import Polygon

from terrain.errors import InputError
from terrain.ground import points_over
from terrain.shape import spine_of
from terrain.site import Site, build_site, read_outline
from terrain.suggest.families import crest_of
from terrain.survey import Folder
from terrain.units import Units, parse_slope

# The top off the middle, and a back that falls to the far end: (along, off, share of the top), as in `families`.
_RIDGE = [(0.28, 0.15, 1.0), (0.6, -0.15, 0.6), (0.88, 0.1, 0.25)]
_ROOM = 0.8  # of the height that the slope limit leaves in the middle of the bed: the toe eases, and needs its share
_HIGHEST = 1.2  # metres that a mound is high where nobody says how high: common practice, no published source
_APART = 1.2  # of its radius between the middles of two circles
_TRIED, _MOST_CIRCLES, _NARROW = 1500, 16, 0.3  # places tried; circles at most, and none so narrow beside the widest
# What an order from an outline alone takes for granted: common practice, no published source.
SLOPE = "4:1"
LAYERS = {"ft": {"sod": "2 in"}, "m": {"sod": "5 cm"}}
SOIL = {
    "ft": {"kind": "loam", "placing": "by hand", "settlement": "8 %", "truck": "10 cu yd", "barrow": "3 cu ft"},
    "m": {"kind": "loam", "placing": "by hand", "settlement": "8 %", "truck": "8 m3", "barrow": "85 L"},
}


def first_crest(outline: Polygon, slope: float, top: float | None = None) -> list[tuple[float, float, float]]:
    """High points (easting, northing, height over existing grade), metres, of a first mound in a bed.

    Parameters
    ----------
    outline
        The bed, metres.
    slope
        Steepest side, rise/run.
    top
        Wished height of the top, metres; None: about as high as the slope allows in the middle.
    """
    spine = spine_of(outline)
    middle = shapely.maximum_inscribed_circle(outline)  # from the middle to the nearest edge
    high = min(_ROOM * slope * float(middle.length), _HIGHEST) if top is None else top
    ridge = crest_of(_RIDGE, spine, 1.0, high) if spine.clearance.max(initial=0.0) > 0.0 else []
    inside = [at for at in ridge if outline.contains(shapely.Point(at[:2]))]
    # Where a bend of the bed leaves the highest outside, the middle of its widest place stands in.
    return inside if inside[:1] == ridge[:1] and inside else [(*middle.coords[0], high)]


def filling_crest(outline: Polygon, slope: float) -> list[tuple[float, float, float]]:
    """High points (easting, northing, height), metres, of a mound that fills a bed of any shape, arms and all.

    The middles of circles that fit into the bed, the widest first, each outside those before it; as high as the slope
    leaves room for there, in the order of a walk.
    """
    places = points_over(outline, _TRIED)
    spots = shapely.points(places)
    room = np.asarray(shapely.distance(outline.boundary, spots))
    left, chosen = room.copy(), list[int]()
    while len(chosen) < _MOST_CIRCLES and left.max() > _NARROW * room.max():
        chosen.append(int(np.argmax(left)))
        left[shapely.distance(spots[chosen[-1]], spots) < _APART * room[chosen[-1]]] = 0.0
    order = [chosen.pop(0)]
    while chosen:
        order.append(min(chosen, key=lambda k: float(spots[order[-1]].distance(spots[k]))))
        chosen.remove(order[-1])
    return [(*places[k].tolist(), min(_ROOM * slope * float(room[k]), _HIGHEST)) for k in order]


def site_of_outline(path: Path, units: Units, slope: str | None = None) -> Site:
    """A yard of which a bed outline is all that is known: flat ground, a first crest, usual soil.

    Parameters
    ----------
    path
        A table with x and y, or a GeoJSON polygon; bare numbers are in `units`.
    slope
        Steepest side as written, "4:1"; None: 4:1.

    Raises
    ------
    InputError
        Where the file or the slope cannot be read.
    """
    if not path.is_file():
        raise InputError("--outline", f"there is no file {path}.", "Give a table with x and y, or a GeoJSON polygon.")
    steepest = parse_slope(SLOPE if slope is None else slope, "--slope")
    outline = read_outline(path.name, units, Folder(path.parent, ()))
    fields = {
        "name": f"{path.stem}, not measured",
        "units": units,
        "survey": {"surface": "flat"},
        "bed": {"outline": path.name, **LAYERS[units]},
        "berm": {
            "max_slope": steepest,
            "crest": [[f"{value} m" for value in at] for at in filling_crest(outline, steepest)],
        },
        "soil": SOIL[units],
    }
    return build_site(fields, path.parent, "--outline")


def taken_words(site: Site) -> str:
    """What an order from an outline alone takes for granted, in one sentence."""
    layers, soil = LAYERS[site.units], SOIL[site.units]
    return (
        f"Taken for granted: {layers['sod']} of sod is stripped, {soil['kind']} laid {soil['placing']} settles by "
        f"{soil['settlement']}, trucks bring {soil['truck']}; no tree, house or line is near. "
        "hummock new --ask asks for your own."
    )
