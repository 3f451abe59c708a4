"""What the picture of a page is drawn with: the stills' sun, colours and grain, and their trees, in plain values."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from shapely.geometry import Point, box

from terrain.grid import Array
from terrain.site import Tree, tree_form
from viewer.page import Subject, TreeCircles, tree_circles, yard_bounds
from viewer.pictures import LEAVES_SHOWN, WALLS, boulders, crown, level_sheets, limbs, stem, view_sun
from viewer.still import FAR, GRAVEL, NEAR, STONE, WATER, StillBody, gathered, grain_tiles, told_light
from viewer.web.packed import Packed, as_text, pack
from viewer.web.window import Shown

Plain = dict[str, object]
_TUFTS, _LEAST_TUFTS, _MOST_TUFTS = 2400, 120, 900  # of leaves in all crowns of a page, and in one
_MOST_STONES = 1000  # in one mesh: its corners are counted in 16 bits
_GRAIN_STEP = 0.02  # of brightness: finer steps are lost among grain


def scenery_of(subject: Subject, shown: Shown) -> Plain:
    """Sun (3,), light, grain and trees of a page: these on ground of height 0, in metres from the page's corner."""
    near, far = grain_tiles()
    return {
        "toSun": np.round(view_sun(subject), 5).tolist(),
        "light": told_light(),
        "bed": "mulch" if subject.site.bed.mulch > 0.0 else "soil",
        "walls": np.round(WALLS).astype(int).tolist(),
        "leaves": LEAVES_SHOWN,
        "near": {"pixel": NEAR, "kinds": [_grain(tile) for tile in near]},
        "far": {"pixel": FAR, "kinds": [[_grain(tile[:, :, k]) for k in range(2)] for tile in far]},
        "trees": _standing(subject, shown),
    }


def laid_of(subject: Subject, corner: tuple[float, float], base: float) -> list[Plain]:
    """Stones of walls and streams, water in pools and stone in basins, once built; metres from the page's corner."""
    from_corner = np.array([*corner, base])
    stones = list(boulders(subject))
    groups = [gathered(stones[k : k + _MOST_STONES], kind=STONE) for k in range(0, len(stones), _MOST_STONES)]
    bodies = [*(body for body in groups if body is not None), *level_sheets(subject)]
    names = {STONE: "stone", WATER: "water", GRAVEL: "gravel"}
    return [
        {"kind": names[body.kind], "casts": body.casts, **_mesh(replace(body, points=body.points - from_corner))}
        for body in bodies
        if len(body.triangles)
    ]


def _grain(tile: Array) -> Plain:
    low = float(tile.min())
    codes = np.rint((tile - low) / _GRAIN_STEP).astype(np.uint16)
    return {"low": round(low, 4), "step": _GRAIN_STEP, "nodes": len(tile), "codes": as_text(Packed(low, 1.0, codes))}


def _standing(subject: Subject, shown: Shown) -> list[Plain]:
    """The bodies of every tree whose trunk stands on the ground shown."""
    east, north = shown.corner
    ground = box(*yard_bounds(shown.grid))
    here = [one for one in tree_circles(subject.site) if ground.covers(Point(one.tree.at))]
    tufts = int(np.clip(_TUFTS // max(len(here), 1), _LEAST_TUFTS, _MOST_TUFTS))
    return [_tree(one, (one.tree.at[0] - east, one.tree.at[1] - north, 0.0), tufts) for one in here]


def _tree(circles: TreeCircles, foot: tuple[float, float, float], tufts: int) -> Plain:
    tree: Tree = circles.tree
    form = tree_form(tree)
    bodies = {
        "stem": stem(tree, circles.flare, foot, form),
        "limbs": limbs(tree, foot, form),
        "crown": crown(tree, foot, form, tufts),
    }
    return {"at": list(foot[:2]), **{name: _mesh(body) for name, body in bodies.items()}}


def _mesh(body: StillBody) -> Plain:
    """Points, triangles, and of each triangle how bright it is beside its kind."""
    points = pack(body.points)
    told: Plain = {
        "low": points.low,
        "step": points.step,
        "points": [len(body.points), as_text(points)],
        "triangles": [len(body.triangles), as_text(Packed(0.0, 1.0, body.triangles.astype(np.uint16)))],
    }
    if body.colours is not None:
        bright = np.asarray(body.colours)[:, :1]
        told["bright"] = as_text(Packed(0.0, 1.0, np.rint(bright * 100.0).astype(np.uint16)))
    return told
