"""Random mounds with a random stream down each, as fields of a site file. All invented."""

from __future__ import annotations

from typing import Any

import numpy as np

FOOT = 0.3048  # metres, exact
LENGTHS = ("width", "depth", "edge", "highest_drop")


def random_stream(seed: int, units: str = "m", turn: float = 0.0) -> dict[str, Any]:
    """Fields of one site: a mound on sloping ground, a stream that winds from its top past its edge into a basin.

    Parameters
    ----------
    seed
        The same yard for the same seed.
    units
        The lengths are written in these; the yard is the same.
    turn
        Angle in radians by which the whole yard is turned about its south-west corner.
    """
    rng = np.random.default_rng([7, seed])
    scale = 1.0 / FOOT if units == "ft" else 1.0
    cos, sin = np.cos(turn), np.sin(turn)
    tilt = rng.uniform(-0.03, 0.03, 2)

    def places(points: Any) -> list[list[float]]:
        points = np.atleast_2d(points)
        turned = np.column_stack([cos * points[:, 0] - sin * points[:, 1], sin * points[:, 0] + cos * points[:, 1]])
        return [[float(x), float(y)] for x, y in scale * (turned + 40.0)]

    angle = np.arange(24) * (2.0 * np.pi / 24.0)
    reach = 3.6 + 0.5 * np.sin(2.0 * angle + rng.uniform(0.0, 6.0)) + 0.3 * np.sin(3.0 * angle + rng.uniform(0.0, 6.0))
    outline = np.column_stack([8.0 + 1.5 * reach * np.cos(angle), 6.5 + reach * np.sin(angle)])
    x, y = (values.ravel() for values in np.meshgrid(np.linspace(0.0, 17.0, 9), np.linspace(0.0, 13.0, 7)))
    level = 50.0 + tilt[0] * x + tilt[1] * y + 0.05 * np.sin(x / 3.0 + rng.uniform(0.0, 6.0))
    shots = [[*place, float(scale * z)] for place, z in zip(places(np.column_stack([x, y])), level, strict=True)]
    crest = np.array([[6.5, 6.0], [9.0, 7.0]]) + rng.normal(0.0, 0.2, (2, 2))
    heights = rng.uniform(0.4, 0.75, 2)
    # Down the hill from the mound, so that the water has somewhere to go.
    down = float(np.arctan2(-tilt[1], -tilt[0]))
    start = crest[int(rng.integers(2))] + rng.normal(0.0, 0.3, 2)
    ways = down + rng.normal(0.0, 0.35, 4)
    steps = rng.uniform(1.2, 1.9, 4)
    line = start + np.vstack([[0.0, 0.0], np.cumsum(steps[:, None] * np.column_stack([np.cos(ways), np.sin(ways)]), 0)])
    legs = np.hypot(*np.diff(line, axis=0).T)
    stream: dict[str, Any] = {
        "name": "run",
        "line": places(line),
        "width": scale * float(rng.uniform(0.25, 0.5)),
        "depth": scale * float(rng.uniform(0.1, 0.18)),
        "side_slope": float(rng.choice([0.5, 1.0, 2.0])),
        "basin": "vault",
    }
    if rng.uniform() < 0.5:
        # Half-way down the legs, so that no drop comes too near another.
        middles = (line[1:4] + line[:3]) / 2.0
        stream["drops"] = [[*place, float(scale * rng.uniform(0.04, 0.16))] for place in places(middles)]
    if rng.uniform() < 0.7:
        size = float(min(0.9, 0.45 * legs[:2].min()) * scale)
        stream["pools"] = [{"at": places(line[1])[0], "size": size, "depth": scale * 0.08}]
    return {
        "name": f"random stream {seed} (invented)",
        "units": units,
        "survey": {"shots": shots},
        "bed": {"outline": places(outline), "sod": scale * 0.05},
        "berm": {
            "max_slope": float(rng.choice([1 / 3, 1 / 4, 1 / 5])),
            "crest": [[*place, float(scale * h)] for place, h in zip(places(crest), heights, strict=True)],
        },
        "basin": [
            {"name": "vault", "center": places(line[-1])[0], "size": scale * 1.0, "depth": scale * 0.9},
        ],
        "stream": [stream],
        "grid": {"cell": scale * 0.15},
    }
