"""A tree as a picture draws it, in its measured or published form: stem, limbs and leaves."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from terrain.grid import Array
from terrain.site import WIDEST_AT, Tree, TreeForm, trunk_radii
from viewer.still import BARK, LEAVES, StillBody, gathered, lathe, limb, scattered

ROOTS_STAND_OUT, ROOTS_FADE = 0.15, 0.5  # of the flare between its roots, and metres up to where the trunk is round
_UNDER_GROUND = 0.3  # metres that a trunk goes on down, so that no gap shows on a slope
CLUMPS, _CLUMP = 9000, 0.024  # tufts of leaves in a crown, and the size of one as a share of the crown


def stem(tree: Tree, flare: float, foot: tuple[float, float, float], form: TreeForm) -> StillBody:
    """A trunk with its root flare, as measured."""
    seed = _seed(tree)
    up = np.array([0.0, 0.05, 0.12, 0.22, 0.35, 0.55, 0.9, 1.4, max(form.clear, 1.5)])
    radii = trunk_radii(max(tree.trunk / 2.0, 0.02), flare, up)
    around = 36
    turn = np.linspace(0.0, 2.0 * np.pi, around, endpoint=False)
    roots = 5 + seed % 3
    fade = np.clip(1.0 - up / ROOTS_FADE, 0.0, 1.0)[:, None]
    # The flare as measured is where the roots stand out most.
    lobes = 1.0 - fade * ROOTS_STAND_OUT * (0.5 - 0.5 * np.cos(roots * turn + seed % 7))
    ends = np.concatenate([[-_UNDER_GROUND], up]) + foot[2]
    rings = lathe(foot[:2], np.concatenate([radii[:1], radii]), ends, around, np.vstack([lobes[:1], lobes]))
    return replace(rings, kind=BARK)


def limbs(tree: Tree, foot: tuple[float, float, float], form: TreeForm) -> StillBody:
    """What carries the crown: a few limbs, or the leader of a conifer."""
    low = max(form.clear, 1.5)
    top = np.array([foot[0], foot[1], foot[2] + low])
    high = form.height - form.clear
    thick = max(tree.trunk / 2.0, 0.02)
    if form.conifer:
        return replace(limb(top, top + np.array([0.0, 0.0, 0.95 * high]), thick, 0.02), kind=BARK, casts=False)
    parts = []
    for k, chance in enumerate(scattered(4, 3, _seed(tree) + 1)):
        way = 2.0 * np.pi * (k + 0.7 * chance[0]) / 4.0
        lean = form.radius * (0.35 + 0.25 * chance[1])
        end = top + np.array([lean * np.cos(way), lean * np.sin(way), high * (0.35 + 0.3 * chance[2])])
        parts.append(limb(top - [0.0, 0.0, 0.4 * thick], end, 0.62 * thick, 0.1 * thick))
    found = gathered(parts, kind=BARK, casts=False)
    assert found is not None
    return found


def crown(tree: Tree, foot: tuple[float, float, float], form: TreeForm, clumps: int = CLUMPS) -> StillBody:
    """The crown as tufts of leaves, with sky between them; it throws no shadow, so that the mound shows its form.

    Fewer tufts are larger ones.
    """
    seed = _seed(tree)
    chance = scattered(clumps, 6, seed)
    up = chance[:, 0] if form.conifer else 0.02 + 0.98 * chance[:, 0] ** 0.9
    reach = _profile(up, form.conifer) * form.radius * (1.0 - 0.75 * chance[:, 1] ** 3)
    way = 2.0 * np.pi * chance[:, 2]
    high = form.height - form.clear
    middle = np.column_stack([reach * np.cos(way), reach * np.sin(way), form.clear + up * high]) + np.array(foot)
    size = _CLUMP * np.sqrt(CLUMPS / clumps) * max(form.radius, 0.4 * high) * (0.7 + 0.6 * chance[:, 3])
    # Each tuft lies across the line from the crown's middle, turned a little.
    out = middle - (np.array(foot) + np.array([0.0, 0.0, form.clear + 0.4 * high]))
    out = out / np.linalg.norm(out, axis=1, keepdims=True) + 1.2 * (chance[:, 3:6] - 0.5)
    out /= np.linalg.norm(out, axis=1, keepdims=True)
    # Darker low and inside, lighter above.
    bright = (0.62 + 0.5 * up) * (0.75 + 0.25 * reach / max(form.radius, 1e-6)) * (0.85 + 0.3 * chance[:, 5])
    return tufts(middle, out, size, bright)


def tufts(middle: Array, out: Array, size: Array, bright: Array) -> StillBody:
    """Tufts of leaves about places (n, 3), each across a unit vector (n, 3), so large (n,), metres, and so bright."""
    side = np.cross(out, [0.2, 0.1, 1.0])
    side /= np.linalg.norm(side, axis=1, keepdims=True)
    other = np.cross(out, side)
    corners = np.array([(1.0, 0.0), (0.4, 0.9), (-0.6, 0.7), (-1.0, -0.2), (-0.3, -0.9), (0.7, -0.7)])
    spread = corners[None, :, :1] * side[:, None] + corners[None, :, 1:] * other[:, None]
    points = (middle[:, None] + size[:, None, None] * spread).reshape(-1, 3)
    fan = np.array([[0, 1, 2], [0, 2, 3], [0, 3, 4], [0, 4, 5]])
    triangles = (6 * np.arange(len(middle))[:, None, None] + fan).reshape(-1, 3)
    colours = np.repeat(bright, 4)[:, None] * np.ones((1, 3))
    return StillBody(points, triangles, LEAVES, colours, casts=False)


def _profile(up: Array, conifer: bool) -> Array:
    """Width of a crown at shares (n,) of its height, 1 where it is widest: a cone, or a dome."""
    if conifer:
        return np.asarray(1.0 - 0.93 * up)
    low = np.sqrt(np.clip(1.0 - ((WIDEST_AT - up) / (1.25 * WIDEST_AT)) ** 2, 0.0, 1.0))
    high = np.sqrt(np.clip(1.0 - ((up - WIDEST_AT) / (1.0 - WIDEST_AT)) ** 2, 0.0, 1.0))
    return np.where(up < WIDEST_AT, low, high)


def _seed(tree: Tree) -> int:
    """A number of the tree's own, so that the same tree looks the same in every picture."""
    return sum((k + 1) * ord(sign) for k, sign in enumerate(tree.name)) % 9973 + int(1000 * tree.trunk)
