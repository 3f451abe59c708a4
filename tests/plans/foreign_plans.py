"""Plans as a dozen offices draw them: one invented yard in other versions, units, layers, languages and habits.

The yard has closed forms, in metres: existing grade is a plane, and the mound on it a raised cosine over a circle, so
that its volume, its depth and the soil over a root zone can be worked by hand. Nothing here uses the tool's writers.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import contourpy
import ezdxf
import numpy as np

FOOT, INCH = 0.3048, 0.0254
TOP, REACH = 0.6, 5.0  # metres: height and radius of the mound
MIDDLE = (12.0, 10.0)
TREE, TRUNK = (8.0, 6.5), 0.60  # metres; 5.32 m from the mound's middle
VOLUME = TOP * math.pi * REACH**2 * (0.5 - 2.0 / math.pi**2)
WIDE, DEEP = 24.0, 20.0


def existing(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return 30.0 + 0.03 * x + 0.01 * y


def depth(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    off = np.hypot(x - MIDDLE[0], y - MIDDLE[1])
    return np.where(off < REACH, TOP * (1.0 + np.cos(np.pi * off / REACH)) / 2.0, 0.0)


def proposed(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return existing(x, y) + depth(x, y)


Contour = tuple[float, np.ndarray]


def contours(surface: Callable[[np.ndarray, np.ndarray], np.ndarray], interval: float) -> Iterator[Contour]:
    """Level lines of a surface over the yard, drawn by another library than the tool's reader of grades."""
    x, y = np.linspace(0.0, WIDE, 121), np.linspace(0.0, DEEP, 101)
    heights = surface(*np.meshgrid(x, y))
    lines = contourpy.contour_generator(x, y, heights)
    for number in range(math.ceil(heights.min() / interval), math.floor(heights.max() / interval) + 1):
        for line in lines.lines(number * interval):
            yield number * interval, np.asarray(line)[::3] if len(line) > 9 else np.asarray(line)


def mound_contours(interval: float) -> list[Contour]:
    """The proposed level lines where they leave the existing ones, as offices draw them."""
    found = []
    for level, line in contours(proposed, interval):
        near = np.hypot(*(line - MIDDLE).T) < REACH + 0.5
        if near.sum() > 1:
            found.append((level, line[np.flatnonzero(near)[0] : np.flatnonzero(near)[-1] + 1]))
    return found


def ring(sides: int = 48, radius: float = REACH) -> np.ndarray:
    angle = np.arange(sides) * (2.0 * math.pi / sides)
    return np.column_stack([MIDDLE[0] + radius * np.cos(angle), MIDDLE[1] + radius * np.sin(angle)])


@dataclass(frozen=True)
class Office:
    """How one office draws: version and unit of its files, and where its origin lies (metres)."""

    version: str = "R2010"
    code: int = 2  # $INSUNITS
    unit: float = FOOT  # metres
    origin: tuple[float, float] = (0.0, 0.0)

    def new(self) -> tuple[Any, Any]:
        made = ezdxf.new(self.version)
        if self.version != "R12":
            made.header["$INSUNITS"] = self.code
        return made, made.modelspace()

    def at(self, places: np.ndarray | Sequence[float]) -> Any:
        return ((np.asarray(places, dtype=float) + self.origin) / self.unit).tolist()

    def up(self, level: float) -> float:
        return level / self.unit


@dataclass(frozen=True)
class ForeignPlan:
    """A plan: who draws it, what has to be typed besides its name, and words of the first refusal ("" for none)."""

    draw: Callable[[Path], None]
    typed: tuple[str, ...] = ()
    asked: str = ""
    units: str = "ft"
    interval: float = 0.5 * FOOT
    outlined: bool = True
    faceted: bool = False
    origin: tuple[float, float] = (0.0, 0.0)
    more: dict[str, str] = field(default_factory=dict)


def tree_block(made: Any, name: str, tags: Sequence[str]) -> None:
    block = made.blocks.new(name)
    block.add_circle((0, 0), 1.0)
    for tag in tags:
        block.add_attdef(tag, (0, 0))


def put_tree(space: Any, office: Office, block: str, layer: str, written: dict[str, str]) -> None:
    symbol = space.add_blockref(block, office.at(TREE), dxfattribs={"layer": layer})
    symbol.add_auto_attribs(written)


def level_polylines(space: Any, office: Office, lines: Sequence[Contour], layer: str) -> None:
    for level, line in lines:
        attributes = {"layer": layer, "elevation": office.up(level)}
        space.add_lwpolyline(office.at(line), dxfattribs=attributes)


def _survey_and_grading_layers(path: Path) -> None:
    """Layers by the National CAD Standard, feet; a block with tag, kind and bare inches of trunk."""
    office = Office()
    made, space = office.new()
    level_polylines(space, office, list(contours(existing, 0.5 * FOOT)), "V-TOPO-MINR")
    level_polylines(space, office, mound_contours(0.5 * FOOT), "L-GRAD-CONT")
    space.add_lwpolyline(office.at(ring()), close=True, dxfattribs={"layer": "L-LIMIT-WORK"})
    tree_block(made, "TREE-DECID", ("TAG", "DBH", "SPECIES"))
    written = {"TAG": "T-1", "DBH": f"{TRUNK / INCH:.2f}", "SPECIES": "bur oak"}
    put_tree(space, office, "TREE-DECID", "V-VEGE-TREE", written)
    space.add_text("NOT FOR CONSTRUCTION", height=2.0, dxfattribs={"layer": "A-ANNO"}).set_placement((0, -5))
    made.saveas(path)


def _old_version_without_unit(path: Path) -> None:
    """R12: polylines of the old kind, no unit in the header."""
    office = Office("R12")
    made, space = office.new()
    for name, lines in (("EXIST", list(contours(existing, 0.5 * FOOT))), ("PROPOSED", mound_contours(0.5 * FOOT))):
        for level, line in lines:
            polyline = space.add_polyline2d(office.at(line), dxfattribs={"layer": name})
            polyline.dxf.elevation = (0, 0, office.up(level))
    edge = space.add_polyline2d(office.at(ring()), dxfattribs={"layer": "LIMIT"})
    edge.close(True)
    tree_block(made, "TREE1", ("NAME", "TRUNK"))
    put_tree(space, office, "TREE1", "TREES", {"NAME": "oak", "TRUNK": f'{TRUNK / INCH:.2f}"'})
    made.saveas(path)


def _german_office(path: Path) -> None:
    """Metres, 3D polylines, German words, the girth of the trunk in centimetres, a decimal comma."""
    office = Office("R2000", 6, 1.0)
    made, space = office.new()
    both = (("BESTAND Höhenlinien", list(contours(existing, 0.1))), ("PLANUNG Höhenlinien", mound_contours(0.1)))
    for layer, lines in both:
        for level, line in lines:
            space.add_polyline3d([(*at, office.up(level)) for at in office.at(line)], dxfattribs={"layer": layer})
    space.add_lwpolyline(office.at(ring()), close=True, dxfattribs={"layer": "UMRISS"})
    tree_block(made, "BAUM-LAUB", ("NR", "STAMMUMFANG", "KRONENDURCHMESSER", "ART"))
    girth = f"{100.0 * math.pi * TRUNK:.1f} cm".replace(".", ",")
    written = {"NR": "7", "STAMMUMFANG": girth, "KRONENDURCHMESSER": "9,0", "ART": "Eiche"}
    put_tree(space, office, "BAUM-LAUB", "BAUM", written)
    made.saveas(path)


def _millimetres_with_written_spots(path: Path) -> None:
    """Millimetres; proposed grade as texts alone, "FG 30.52" in metres, existing grade as contours."""
    office = Office("R2018", 4, 0.001)
    made, space = office.new()
    level_polylines(space, office, list(contours(existing, 0.1)), "EX-CONTOURS")
    for x, y in spots_on_the_mound():
        said = f"FG {float(proposed(np.array(x), np.array(y))):.3f}"
        space.add_text(said, height=120, dxfattribs={"layer": "FG-SPOTS"}).set_placement(office.at((x, y)))
    space.add_lwpolyline(office.at(ring()), close=True, dxfattribs={"layer": "OUTLINE"})
    tree_block(made, "TREE", ("ID", "DBH"))
    put_tree(space, office, "TREE", "TREES", {"ID": "1", "DBH": f"{1000.0 * TRUNK:.0f} mm"})
    made.saveas(path)


def spots_on_the_mound(step: float = 0.8) -> list[tuple[float, float]]:
    grid = [(x, y) for x in np.arange(6.4, 18.0, step) for y in np.arange(4.4, 16.0, step)]
    return [at for at in grid if math.dist(at, MIDDLE) < REACH - 0.1]


def spots_on_the_ground(step: float = 2.0) -> list[tuple[float, float]]:
    return [(x, y) for x in np.arange(0.0, WIDE + 0.1, step) for y in np.arange(0.0, DEEP + 0.1, step)]


def _inches(path: Path) -> None:
    """Inches, as some programs draw everything; the trunk in inches and a fraction."""
    office = Office("R2004", 1, INCH)
    made, space = office.new()
    level_polylines(space, office, list(contours(existing, 0.5 * FOOT)), "EXISTING GRADE")
    level_polylines(space, office, mound_contours(0.5 * FOOT), "FINISHED GRADE")
    space.add_lwpolyline(office.at(ring()), close=True, dxfattribs={"layer": "BED OUTLINE"})
    tree_block(made, "OAK", ("NO", "CALIPER"))
    put_tree(space, office, "OAK", "TREES EXISTING", {"NO": "4", "CALIPER": "23 5/8 in"})
    made.saveas(path)


FAR = (1_850_000.0, 640_000.0)  # metres, as state grids have them


def _far_coordinates(path: Path) -> None:
    """Feet of a state grid, millions from the origin; splines for contours."""
    office = Office("R2013", 2, FOOT, FAR)
    made, space = office.new()
    for name, lines in (("EG-CONT", list(contours(existing, 0.5 * FOOT))), ("FG-CONT", mound_contours(0.5 * FOOT))):
        for level, line in lines:
            points = [(*at, office.up(level)) for at in office.at(line)]
            space.add_spline(points, dxfattribs={"layer": name})
    space.add_lwpolyline(office.at(ring()), close=True, dxfattribs={"layer": "LOD"})
    tree_block(made, "SHADETREE", ("TREE_NO", "DIAM"))
    put_tree(space, office, "SHADETREE", "C-TREE", {"TREE_NO": "12", "DIAM": f"{TRUNK / FOOT:.4f} ft"})
    made.saveas(path)


def _faces(path: Path) -> None:
    """Both grades as triangles; the edge of the work is not drawn."""
    office = Office("R2007", 6, 1.0)
    made, space = office.new()
    x, y = np.linspace(0.0, WIDE, 49), np.linspace(0.0, DEEP, 41)
    for name, surface in (("EX-TIN", existing), ("PROP-TIN", proposed)):
        for i in range(len(x) - 1):
            for j in range(len(y) - 1):
                corners = [(x[i], y[j]), (x[i + 1], y[j]), (x[i + 1], y[j + 1]), (x[i], y[j + 1])]
                spots = [(*at, float(surface(np.array(at[0]), np.array(at[1])))) for at in corners]
                space.add_3dface([spots[0], spots[1], spots[2], spots[2]], dxfattribs={"layer": name})
                space.add_3dface([spots[0], spots[2], spots[3], spots[3]], dxfattribs={"layer": name})
    tree_block(made, "T1", ("NAME", "TRUNK_DIA"))
    put_tree(space, office, "T1", "ARBRES", {"NAME": "chêne", "TRUNK_DIA": "60"})
    made.saveas(path)


def _points_with_labels(path: Path) -> None:
    """One layer of points drawn at 0 with their elevation beside them, existing as "EX 98.40", proposed as "FG"."""
    office = Office("R2010")
    made, space = office.new()
    spots = [("EX", at, existing) for at in spots_on_the_ground()] + [
        ("FG", at, proposed) for at in spots_on_the_mound()
    ]
    for prefix, (x, y), surface in spots:
        place = office.at((x, y))
        level = float(surface(np.array(x), np.array(y))) / FOOT
        layer = {"layer": f"{prefix}-SPOT"}
        space.add_point((*place, 0.0), dxfattribs=layer)
        label = space.add_text(f"{prefix} {level:.2f}", height=0.4, dxfattribs={"layer": "SPOT-TEXT-EX"})
        label.set_placement((place[0] + 0.3, place[1] + 0.3))
    space.add_lwpolyline(office.at(ring()), close=True, dxfattribs={"layer": "BERM"})
    space.add_circle(office.at(TREE), 12.0, dxfattribs={"layer": "TREE-CANOPY"})
    text = space.add_mtext(f'{TRUNK / INCH:.1f}" BUR OAK', dxfattribs={"layer": "TREE-CANOPY", "char_height": 0.6})
    text.set_location((*office.at((TREE[0] + 0.2, TREE[1] + 0.2)), 0.0))
    made.saveas(path)


def _flat_contours_with_figures(path: Path) -> None:
    """Contours drawn at elevation 0 with their figures on them, as plans on paper have them."""
    office = Office("R2000", 6, 1.0)
    made, space = office.new()
    for layer, lines in (("courbes existant", list(contours(existing, 0.1))), ("courbes projet", mound_contours(0.1))):
        for level, line in lines:
            space.add_lwpolyline(office.at(line), dxfattribs={"layer": layer})
            spot = office.at(line[len(line) // 3])
            space.add_text(f"{level:.1f}", height=0.12, dxfattribs={"layer": layer}).set_placement(spot)
    space.add_lwpolyline(office.at(ring()), close=True, dxfattribs={"layer": "EMPRISE"})
    tree_block(made, "ARBRE", ("NUM", "CIRCONFERENCE"))
    put_tree(space, office, "ARBRE", "ARBRES", {"NUM": "A3", "CIRCONFERENCE": f"{math.pi * TRUNK:.3f} m"})
    made.saveas(path)


def _layers_without_words(path: Path) -> None:
    """Layers called by number: nothing says which grade is which."""
    office = Office()
    made, space = office.new()
    level_polylines(space, office, list(contours(existing, 0.5 * FOOT)), "12")
    level_polylines(space, office, mound_contours(0.5 * FOOT), "17")
    space.add_lwpolyline(office.at(ring()), close=True, dxfattribs={"layer": "3"})
    tree_block(made, "SYM04", ("T", "DBH"))
    put_tree(space, office, "SYM04", "9", {"T": "", "DBH": f"{TRUNK / INCH:.2f}"})
    made.saveas(path)


def _exploded_lines_and_spot_blocks(path: Path) -> None:
    """Contours exploded to single lines, proposed grade as blocks with an attribute ELEV; the trunk is not told."""
    office = Office()
    made, space = office.new()
    for level, line in contours(existing, 0.5 * FOOT):
        places = office.at(line)
        for start, end in itertools.pairwise(places):
            up = office.up(level)
            space.add_line((*start, up), (*end, up), dxfattribs={"layer": "C-TOPO-E"})
    block = made.blocks.new("SPOT")
    block.add_attdef("ELEV", (0, 0))
    for x, y in spots_on_the_mound():
        symbol = space.add_blockref("SPOT", office.at((x, y)), dxfattribs={"layer": "C-GRADING-N"})
        symbol.add_auto_attribs({"ELEV": f"{float(proposed(np.array(x), np.array(y))) / FOOT:.2f}"})
    space.add_lwpolyline(office.at(ring()), close=True, dxfattribs={"layer": "MOUND"})
    tree_block(made, "TREE", ("TAG",))
    put_tree(space, office, "TREE", "TREES", {"TAG": "oak"})
    made.saveas(path)


def _wrong_unit(path: Path) -> None:
    """Drawn in feet, with a header that says millimetres."""
    office = Office("R2010", 4)
    made, space = office.new()
    level_polylines(space, office, list(contours(existing, 0.5 * FOOT)), "EX CONTOUR")
    level_polylines(space, office, mound_contours(0.5 * FOOT), "NEW CONTOUR")
    space.add_lwpolyline(office.at(ring()), close=True, dxfattribs={"layer": "OUTLINE"})
    tree_block(made, "TREE", ("TAG", "DBH"))
    put_tree(space, office, "TREE", "TREES", {"TAG": "oak", "DBH": f"{TRUNK / INCH:.2f} in"})
    made.saveas(path)


def _a_bound_sheet(path: Path) -> None:
    """Everything in one block, put in at a turn and twice the size, as programs bind a sheet that they refer to."""
    office = Office()
    made, space = office.new()
    sheet = made.blocks.new("SITE")
    half = Office(unit=2.0 * FOOT)
    for layer, lines in (("V-TOPO", list(contours(existing, 0.5 * FOOT))), ("L-GRAD", mound_contours(0.5 * FOOT))):
        for level, line in lines:
            turned = [(y, -x, level / half.unit) for x, y in half.at(line)]
            sheet.add_polyline3d(turned, dxfattribs={"layer": f"SITE$0${layer}"})
    edge = [(y, -x) for x, y in half.at(ring())]
    sheet.add_lwpolyline(edge, close=True, dxfattribs={"layer": "SITE$0$LIMIT"})
    tree_block(made, "TREE", ("TAG", "DBH"))
    x, y = half.at(TREE)
    symbol = sheet.add_blockref("TREE", (y, -x), dxfattribs={"layer": "SITE$0$TREES"})
    symbol.add_auto_attribs({"TAG": "oak", "DBH": f"{TRUNK / INCH:.2f}"})
    scaled = {"xscale": 2.0, "yscale": 2.0, "zscale": 2.0, "rotation": 90.0}
    space.add_blockref("SITE", (0, 0), dxfattribs={"layer": "XREF", **scaled})
    made.saveas(path)


PLANS: dict[str, ForeignPlan] = {
    "layers by the national standard": ForeignPlan(_survey_and_grading_layers),
    "an old version without unit": ForeignPlan(
        _old_version_without_unit, ("--units", "ft"), "the drawing does not say its unit"
    ),
    "a German office": ForeignPlan(_german_office, units="m", interval=0.1),
    "millimetres with written spots": ForeignPlan(_millimetres_with_written_spots, units="m", interval=0.1),
    "inches": ForeignPlan(_inches),
    "far coordinates and splines": ForeignPlan(_far_coordinates, origin=FAR),
    "faces without an edge": ForeignPlan(_faces, units="m", outlined=False, faceted=True),
    "points at 0 with labels": ForeignPlan(_points_with_labels),
    "flat contours with figures": ForeignPlan(_flat_contours_with_figures, units="m", interval=0.1),
    "layers without words": ForeignPlan(
        _layers_without_words,
        ("--layer", "existing=12", "--layer", "proposed=17", "--layer", "outline=3"),
        "no layer says that it carries existing grade and proposed grade. Layers with elevations: 12, 17.",
    ),
    "single lines and spot blocks": ForeignPlan(
        _exploded_lines_and_spot_blocks,
        ("--trunk", f"{TRUNK / INCH:.3f} in"),
        "the plan does not say how thick its trunk is",
    ),
    "a bound sheet": ForeignPlan(_a_bound_sheet),
    "a wrong unit": ForeignPlan(_wrong_unit, ("--units", "ft"), "across, which is no yard"),
}
