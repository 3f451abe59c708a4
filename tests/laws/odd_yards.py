"""Odd yards by the dozen, as site files: every feature at once, laid with no regard for one another. All invented.

`odd_yard(seed)` answers the same yard for the same seed, whatever the library does with it: beds that wrap a tree, with
holes, slivers, corners and lobes; basins, channels with drops, terraces, edges of stones (also two that nearly touch),
walks, heaps, houses, a lot line, places to look from; tilted, curved and rough ground under few shots and many; feet
and metres. Some ask for more than the limits allow. A yard that no tool could work with is refused in words, and a test
takes that for an answer; `SHAPED` is the least share of yards that must not be refused.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
import shapely
from shapely.geometry import LineString, Point, Polygon, box, mapping

from terrain.errors import InputError
from terrain.site.model import Site
from terrain.site.read import read_site
from terrain.site.things import KINDS as KINDS_OF_THINGS

KINDS = ("wrapped", "lobed", "angular", "holed", "sliver", "corner")
SHAPED = 0.8
METRES = {"ft": 0.3048, "m": 1.0}
RULES = ("1 ft per inch", "BS 5837:2012", "AS 4970:2025")


@dataclass(frozen=True)
class OddYard:
    """One yard as the files of its folder: (name, text) each."""

    seed: int
    kind: str
    units: str
    files: tuple[tuple[str, str], ...]

    def write(self, folder: Path) -> Path:
        """Write the folder; answers the path of its site file."""
        folder.mkdir(parents=True, exist_ok=True)
        for name, text in self.files:
            (folder / name).write_text(text, encoding="utf-8")
        return folder / "site.toml"

    def site(self) -> Site:
        """The yard as the library reads it; `InputError` where it refuses it."""
        with tempfile.TemporaryDirectory() as folder:
            return read_site(self.write(Path(folder)))


def odd_sites(seeds: Iterable[int]) -> Iterator[tuple[OddYard, Site]]:
    """The yards of some seeds that the reader accepts, each as its files and as its site."""
    for seed in seeds:
        yard = odd_yard(seed)
        try:
            yield yard, yard.site()
        except InputError:
            continue


@lru_cache(maxsize=256)
def odd_yard(seed: int) -> OddYard:
    """The yard of a seed: kinds of bed in turn, everything else at random."""
    rng = np.random.default_rng([41, seed])
    kind, units = KINDS[seed % len(KINDS)], ("ft", "m")[seed // len(KINDS) % 2]
    return _Draft(seed, kind, units, rng).yard()


class _Draft:
    """A yard while it is drawn up: lengths in metres, written in the yard's unit."""

    def __init__(self, seed: int, kind: str, units: str, rng: np.random.Generator) -> None:
        self.seed, self.kind, self.units, self.rng = seed, kind, units, rng
        self.bed = _bed(kind, rng)
        self.files: dict[str, str] = {}
        self.held: list[Polygon] = []  # what takes no cut
        self.limit = float(rng.choice([1 / 2, 1 / 3, 1 / 4, 1 / 5, 1 / 8]))

    def yard(self) -> OddYard:
        lines = [f'name = "odd yard {self.seed}, {self.kind} (invented)"', f'units = "{self.units}"']
        if self.rng.uniform() < 0.3:
            lines += [f"boundary = {self.ring(box(*self.bed.bounds).buffer(self.rng.uniform(0.2, 4.0), 2))}"]
        lines += [*self.survey(), *self.layers(), *self.trees(), *self.surroundings()]
        lines += [*self.berm(), *self.basins(), *self.channels(), *self.built(), *self.soil()]
        lines += ["[grid]", f"cell = {self.length(min(float(self.rng.choice([0.15, 0.2, 0.25])), _finest(self.bed)))}"]
        lines += self.around()
        self.files["site.toml"] = "\n".join(lines) + "\n"
        return OddYard(self.seed, self.kind, self.units, tuple(self.files.items()))

    # How figures are written

    def length(self, metres: float) -> str:
        return f"{metres / METRES[self.units]:.6g}"

    def place(self, x: float, y: float) -> str:
        return f"[{x / METRES[self.units]:.4f}, {y / METRES[self.units]:.4f}]"

    def places(self, points: Iterable[Iterable[float]]) -> str:
        return "[" + ", ".join(self.place(*point) for point in points) + "]"

    def ring(self, outline: Polygon) -> str:
        return self.places(shapely.get_coordinates(outline.exterior)[:-1])

    # The ground and the bed

    def survey(self) -> list[str]:
        rng = self.rng
        west, south, east, north = self.bed.buffer(float(rng.choice([0.3, 2.0, 4.0]))).bounds
        few = self.seed % 20 == 13
        count = int(rng.integers(3, 6)) if few else int(rng.integers(8, 60))
        corners = np.array([(west, south), (east, south), (east, north), (west, north)])[: 3 if few else 4]
        spots = np.vstack([corners, rng.uniform((west, south), (east, north), (count, 2))])[: max(count, 3)]
        tilt = rng.choice([0.0, 0.02, 0.08, 0.15]) * rng.uniform(-1, 1, 2)
        heights = 30.0 + spots @ tilt + rng.normal(0.0, rng.choice([0.0, 0.01, 0.08]), len(spots))
        heights += rng.choice([0.0, 0.002, -0.004]) * ((spots[:, 0] - 10) ** 2)
        rows = np.column_stack([spots, heights]) / METRES[self.units]
        table = [f"{k},{x:.4f},{y:.4f},{z:.4f}," for k, (x, y, z) in enumerate(rows, start=1)]
        self.files["shots.csv"] = "\n".join(["point,x,y,elevation,code", *table]) + "\n"
        lines = ["[survey]", 'shots = "shots.csv"', f"accuracy = {self.length(rng.choice([0.003, 0.006, 0.02]))}"]
        if rng.uniform() < 0.25 and not few:
            line = [(west, south + 0.5, 30.0 + west * tilt[0]), (east, south + 0.6, 30.0 + east * tilt[0])]
            shown = ["[" + ", ".join(self.length(value) for value in point) + "]" for point in line]
            lines.append(f"breaklines = [[{', '.join(shown)}]]")
        return lines

    def layers(self) -> list[str]:
        rng, outline = self.rng, self.ring(self.bed)
        if self.bed.interiors:
            scaled = shapely.transform(self.bed, lambda xy: xy / METRES[self.units])
            text = str(mapping(scaled)).replace("'", '"').replace("(", "[").replace(",)", "]").replace(")", "]")
            self.files["bed.geojson"] = text
            outline = '"bed.geojson"'
        lines = ["[bed]", f"outline = {outline}"]
        lines += [f"sod = {self.length(rng.choice([0.0, 0.05, 0.1]))}"]
        lines += [f"mulch = {self.length(rng.choice([0.0, 0.08]))}"]
        lines += [f"topsoil = {self.length(0.08)}"] if rng.uniform() < 0.2 else []
        lines += [f"planting = {self.length(0.25)}"] if rng.uniform() < 0.25 else []
        lines += ["sod_leaves = false"] if rng.uniform() < 0.25 else []
        return lines + (['mulch_allowance = "10 %"'] if rng.uniform() < 0.2 else [])

    def trees(self) -> list[str]:
        rng = self.rng
        spots = [(10.0, 8.0)] if self.kind == "wrapped" else []
        spots += [_spot(rng, self.bed.buffer(1.5)) for _ in range(int(rng.integers(0, 4)))]
        lines: list[str] = []
        for number, at in enumerate(spots, start=1):
            trunk = rng.uniform(0.15, 0.8)
            lines += ["[[tree]]", f'name = "tree {number}"', f"at = {self.place(*at)}", f"trunk = {self.length(trunk)}"]
            lines += [f"flare = {self.length(trunk * rng.uniform(0.7, 1.4))}"] if rng.uniform() < 0.6 else []
            keep_off = max(rng.uniform(0.6, 1.6), 1.5 * trunk)
            self.held.append(Point(at).buffer(keep_off))
            lines += [f"keep_off = {self.length(keep_off)}"]
            lines += [f"dripline = {self.length(rng.uniform(1.0, 6.0))}"] if rng.uniform() < 0.4 else []
        return [*lines, "[trees]", f'rule = "{rng.choice(RULES)}"']

    def surroundings(self) -> list[str]:
        rng = self.rng
        west, south, east, north = self.bed.bounds
        lines: list[str] = []
        if rng.uniform() < 0.4:
            lines += ["[[keep_clear]]", 'name = "front walk"', f"paved = {str(rng.uniform() < 0.5).lower()}"]
            self.held.append(box(west - 0.5, north - 0.4, east + 0.5, north + 0.5))
            lines += [f"outline = {self.ring(self.held[-1])}"]
        if rng.uniform() < 0.4:
            house = box(west - 1.0, north + 0.8, east + 1.0, north + 4.0)
            self.held.append(house)
            lines += ["[[building]]", 'name = "house"', f"outline = {self.ring(house)}"]
            lines += [f"floor = {self.length(30.4 + rng.uniform(0.0, 1.0))}"] if rng.uniform() < 0.7 else []
        if rng.uniform() < 0.3:
            ends = (_spot(rng, self.bed.buffer(1.0)), _spot(rng, self.bed.buffer(1.0)))
            lines += ["[[walk]]", 'name = "cut through"', f"line = {self.places(ends)}"]
            lines += [f"width = {self.length(rng.uniform(0.5, 1.2))}"]
        if rng.uniform() < 0.4:
            heap = Point(_spot(rng, self.bed.buffer(0.3))).buffer(rng.uniform(0.5, 1.2), 2)
            lines += ["[[heap]]", 'name = "soil heap"', f"outline = {self.ring(heap)}"]
        if rng.uniform() < 0.4:
            lines += ["[[view_from]]", 'name = "gate"', f"at = {self.place(west - 3.0, south - 1.0)}"]
        return lines

    def around(self) -> list[str]:
        """A storm and things of the yard, at random of their own: what stands above stays as it was."""
        rng = np.random.default_rng([43, self.seed])
        lines = []
        if rng.uniform() < 0.5:
            lines += ["[storm]", f'rain = "{rng.uniform(0.5, 5.0):.2f} in"', f"hours = {rng.choice([0.5, 6, 24])}"]
            lines += [f'intake = "{rng.choice([0, 1, 12])} mm/h"'] if rng.uniform() < 0.6 else []
        for number in range(int(rng.integers(0, 3))):
            kind = str(rng.choice(KINDS_OF_THINGS))
            ends = [_spot(rng, self.bed.buffer(2.0)) for _ in range(1 if kind in ("corner", "hydrant") else 2)]
            lines += ["[[thing]]", f'kind = "{kind}"', f'name = "{kind} {number}"', f"line = {self.places(ends)}"]
            lines += [f"height = {self.length(rng.uniform(0.3, 4.0))}"] if rng.uniform() < 0.5 else []
        return lines

    # What is built

    def berm(self) -> list[str]:
        rng = self.rng
        tall = self.seed % 10 == 4
        room = self.bed.buffer(-0.3)
        points = [_spot(rng, room if room.area > 0.2 else self.bed) for _ in range(int(rng.integers(1, 4)))]
        heights = rng.uniform(1.4, 1.9, len(points)) if tall else rng.uniform(0.1, 0.9, len(points))
        crest = [self.place(*at)[:-1] + f", {self.length(high)}]" for at, high in zip(points, heights, strict=True)]
        lines = ["[berm]", f"max_slope = {self.limit:.6g}", f"crest = [{', '.join(crest)}]"]
        lines += [f"toe = {self.length(rng.choice([0.0, 0.3, 0.8]))}"] if rng.uniform() < 0.6 else []
        lines += [f'gentle_side = "{rng.choice(["north", "south", "east", "west"])}"'] if rng.uniform() < 0.25 else []
        lines += ['saddle = "30 %"'] if rng.uniform() < 0.2 else []
        return lines + ([f'soil = "{rng.uniform(1.0, 12.0):.2f} m3"'] if rng.uniform() < 0.15 else [])

    def basins(self) -> list[str]:
        rng = self.rng
        lines: list[str] = []
        self.pools: list[tuple[float, float]] = []
        for number in range(1, int(rng.choice([0, 1, 1, 2])) + 1):
            at, size, depth = _spot(rng, self.bed.buffer(0.8)), rng.uniform(0.5, 1.2, 2), rng.uniform(0.15, 0.5)
            side = rng.uniform(0.5, 4.0)
            if not self.free(Point(at), size.max() * 0.75 + 0.1 + depth / side):
                continue
            self.pools.append(at)
            shape = self.length(size[0]) if rng.uniform() < 0.5 else f"[{self.length(size[0])}, {self.length(size[1])}]"
            lines += ["[[basin]]", f'name = "pool {number}"', f"center = {self.place(*at)}", f"size = {shape}"]
            lines += [f"depth = {self.length(depth)}", f"side_slope = {side:.3f}"]
        return lines

    def free(self, place: shapely.Geometry, reach: float) -> bool:
        """Whether a dig and half its reach again keep off what takes no cut; one dig in twenty does not ask."""
        return self.rng.uniform() < 0.05 or not place.buffer(1.5 * reach).intersects(shapely.union_all(self.held))

    def channels(self) -> list[str]:
        rng = self.rng
        if rng.uniform() < 0.4:
            return []
        ends = [_spot(rng, self.bed.buffer(0.8)) for _ in range(3)]
        ends = [*ends[:2], self.pools[0]] if self.pools and rng.uniform() < 0.7 else ends
        if not LineString(ends).is_simple:
            ends = ends[:2]
        wide, deep, side = rng.uniform(0.1, 0.4), rng.uniform(0.06, 0.25), float(rng.choice([1 / 3, 2 / 3, 1.0]))
        if not self.free(LineString(ends), wide / 2 + 2 * deep / side):
            return []
        lines = ["[[channel]]", 'name = "ditch"', f"line = {self.places(ends)}"]
        lines += [f"width = {self.length(wide)}", f"depth = {self.length(deep)}", f"side_slope = {side:.4f}"]
        if rng.uniform() < 0.3:
            middle = LineString(ends).interpolate(0.4, normalized=True)
            step = f"{self.place(middle.x, middle.y)[:-1]}, {self.length(0.08)}]"
            lines.append(f"drops = [{step}]")
        return lines

    def built(self) -> list[str]:
        rng = self.rng
        lines: list[str] = []
        if rng.uniform() < 0.4:
            patch = Point(_spot(rng, self.bed)).buffer(rng.uniform(0.5, 1.2), 3).intersection(self.bed.buffer(-0.02))
            if isinstance(patch, Polygon) and not patch.interiors and patch.area > 0.1:
                lines += ["[[terrace]]", 'name = "seat"', f"outline = {self.ring(patch)}"]
                lines += [f"height = {self.length(rng.uniform(0.1, 0.4))}"]
        for number in range(int(rng.choice([0, 1, 2]))):
            at, turn = np.array(_spot(rng, self.bed)), rng.uniform(0, 2 * np.pi)
            line = [at]
            for way in (turn, turn + rng.uniform(-0.6, 0.6)):
                line.append(line[-1] + rng.uniform(0.8, 2.0) * np.array([np.cos(way), np.sin(way)]))
            lines += ["[[retained_edge]]", f'name = "edge {number + 1}"', f"line = {self.places(line)}"]
            lines += [f"height = {self.length(rng.uniform(0.1, 0.4))}"]
        return lines

    def soil(self) -> list[str]:
        rng = self.rng
        lines = ["[soil]", f'kind = "{rng.choice(["loam", "sand", "clay"])}"']
        lines += [f'settlement = "{rng.choice([0, 5, 8])} %"']
        lines += ['truck = "6 m3"'] if rng.uniform() < 0.8 else []
        lines += ['barrow = "80 L"'] if rng.uniform() < 0.8 else []
        lines += ["price = 42.0"] if rng.uniform() < 0.5 else []
        lines += ['sold_in = "0.5 m3"'] if rng.uniform() < 0.3 else []
        lines += ['payload = "9 t"'] if rng.uniform() < 0.2 else []
        lines += ["disposal_price = 20.0", "delivery_price = 60.0"] if rng.uniform() < 0.3 else []
        return lines + (['reuse = "60 %"'] if rng.uniform() < 0.2 else [])


# Beds


def _bed(kind: str, rng: np.random.Generator) -> Polygon:
    """An outline round about (10, 8), metres; drawn again until it is one piece of at least 6 m2."""
    while True:
        bed = _SHAPES[kind](rng)
        bed = bed if bed.is_valid else bed.buffer(0)
        # As a site file will hold it: a tenth of a millimetre.
        bed = shapely.set_precision(bed, 1e-4)
        if isinstance(bed, Polygon) and bed.area >= 6.0 and bed.is_valid:
            return bed


def _wrapped(rng: np.random.Generator) -> Polygon:
    """A ring with a gap, round a tree at (10, 8)."""
    turn, gap = rng.uniform(0, 2 * np.pi), rng.uniform(0.2, 2.2)
    angle = turn + np.linspace(gap / 2, 2 * np.pi - gap / 2, 40)
    inner, wide = rng.uniform(1.3, 2.5), rng.uniform(1.5, 3.5)
    near = np.column_stack([np.cos(angle), np.sin(angle)])
    return Polygon(np.vstack([(10, 8) + (inner + wide) * near, ((10, 8) + inner * near)[::-1]]))


def _lobed(rng: np.random.Generator) -> Polygon:
    angle = np.linspace(0, 2 * np.pi, int(rng.choice([24, 60])), endpoint=False)
    radius = 1 + rng.uniform(0, 0.35) * np.cos(2 * angle + rng.uniform(0, 6)) + rng.uniform(0, 0.25) * np.cos(3 * angle)
    long, short = rng.uniform(3, 7), rng.uniform(2, 4)
    return Polygon(np.column_stack([10 + long * radius * np.cos(angle), 8 + short * radius * np.sin(angle)]))


def _angular(rng: np.random.Generator) -> Polygon:
    angle = np.sort(rng.uniform(0, 2 * np.pi, int(rng.integers(4, 9))))
    far = rng.uniform(2.0, 6.0, len(angle))
    return Polygon(np.column_stack([10 + far * np.cos(angle), 8 + far * np.sin(angle)]))


def _holed(rng: np.random.Generator) -> Polygon:
    bed = _lobed(rng)
    for _ in range(int(rng.integers(1, 3))):
        hole = Point(10 + rng.uniform(-2, 2), 8 + rng.uniform(-1, 1)).buffer(rng.uniform(0.3, 0.8), 4)
        if bed.buffer(-0.1).covers(hole):
            bed = bed.difference(hole)
    return bed


def _sliver(rng: np.random.Generator) -> Polygon:
    """A long thin bed along a bent line, or a body with a thin tongue."""
    if rng.uniform() < 0.5:
        along = [(10 + step, 8 + rng.uniform(-0.6, 0.6)) for step in np.linspace(-6, 6, 5)]
        return LineString(along).buffer(rng.uniform(0.35, 0.8), 3)
    tongue = LineString([(10, 8), (10 + rng.uniform(4, 8), 8 + rng.uniform(-3, 3))]).buffer(rng.uniform(0.06, 0.2), 2)
    return shapely.union(_angular(rng), tongue)


def _corner(rng: np.random.Generator) -> Polygon:
    """An L along two walls."""
    deep, long, high = rng.uniform(1.2, 2.5), rng.uniform(4, 9), rng.uniform(4, 8)
    return Polygon(
        [(6, 5), (6 + long, 5), (6 + long, 5 + deep), (6 + deep, 5 + deep), (6 + deep, 5 + high), (6, 5 + high)]
    )


_SHAPES = {
    "wrapped": _wrapped,
    "lobed": _lobed,
    "angular": _angular,
    "holed": _holed,
    "sliver": _sliver,
    "corner": _corner,
}


def _finest(bed: Polygon) -> float:
    """A cell of which over twenty lie across the bed's narrower side, metres."""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(bed))
    return float(min(np.hypot(*np.diff(corners[:3], axis=0).T))) / 22.0


def _spot(rng: np.random.Generator, area: Polygon) -> tuple[float, float]:
    """A random place in an area, 5 cm and more from its edge where it is wide enough."""
    room = area.buffer(-0.05)
    room = room if not room.is_empty else area
    west, south, east, north = room.bounds
    while True:
        x, y = rng.uniform(west, east), rng.uniform(south, north)
        if room.contains(Point(x, y)):
            return float(x), float(y)
