"""A page measured in points: the one place that speaks to the drawing library. One unit of drawing is 1/72 inch."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field, replace
from importlib import import_module
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiLineString
from shapely.geometry.base import BaseGeometry

from terrain.numerics import merged, overlap
from viewer.page.lettering import FIGURE_HEIGHT, TITLE_FAMILY, Type, boxes_for_missing_letters, text_size
from viewer.page.one_line import line_of_text
from viewer.page.palette import INK, PAPER
from viewer.page.tongue import as_spoken, spoken_code
from viewer.page.vector import write_svg

DOTS = 200.0  # to an inch of a picture
# What the formats say of who wrote them, and that no date goes into an SVG.
_SIGNED: Mapping[str, Mapping[str, str | None]] = {
    ".png": {"Software": "hummock"},
    ".pdf": {"Creator": "hummock"},
    ".svg": {"Creator": "hummock", "Date": None},
}
Dash = tuple[float, ...] | None
_EFFORT = 2  # of 9, at packing a picture: in half the time of the library's 6, and 10 % larger
# What a font says of letters yet to be set, and their names: of no use to those that stand on the page, and slow
# to take apart. ISO 32000-2, 9.9.1, says what a font in a file must hold.
_FOR_SETTING = ("GDEF", "GPOS", "GSUB", "MATH", "kern", "post")


@dataclass(frozen=True)
class Pen:
    """A line: colour, width in points, dash pattern (on, off, ... in points; None is solid)."""

    colour: str = INK
    width: float = 0.8
    dash: Dash = None


@dataclass(frozen=True)
class Page:
    """A page of `width` by `height` points, origin at the lower left; what is drawn later lies on top."""

    width: float
    height: float
    figure: Any
    axes: Any
    part: bool = False  # of a sheet that several pages of words stand on
    size: float = 1.0  # of letters and lines, where the page stands smaller or larger on axes of somebody's own
    layers: list[tuple[int, str]] = field(default_factory=list)  # first mark and name of each

    @property
    def _next(self) -> int:
        """The next layer: above everything that is drawn already."""
        return len(self.axes.get_children())

    def begin(self, layer: str) -> None:
        """What is drawn from here on belongs to a layer, in files that have layers."""
        self.layers.append((self._next, layer))

    def lines(self, shapes: BaseGeometry | Iterable[BaseGeometry], pen: Pen) -> None:
        """Draw the lines of some geometry, or the edges of its areas."""
        from matplotlib.collections import LineCollection

        paths = list(_paths(shapes))
        if not paths:
            return
        style: Any = "solid" if pen.dash is None else (0, tuple(d / pen.width for d in pen.dash))
        self.axes.add_collection(
            LineCollection(
                paths,
                colors=pen.colour,
                linewidths=pen.width * self.size,
                linestyles=[style],
                capstyle="butt",
                joinstyle="round",
                zorder=self._next,
            ),
            autolim=False,
        )

    def area(self, shape: BaseGeometry, colour: str, opacity: float = 1.0) -> None:
        """Fill an area, its holes left open."""
        from matplotlib.collections import PathCollection
        from matplotlib.path import Path as Outline

        rings = []
        for part in shapely.get_parts(shape):
            if part.geom_type == "Polygon" and not part.is_empty:
                loops = [np.asarray(ring.coords) for ring in (part.exterior, *part.interiors)]
                rings.append(Outline.make_compound_path(*(Outline(loop, closed=True) for loop in loops)))
        if rings:
            self.axes.add_collection(
                PathCollection(rings, facecolors=colour, edgecolors="none", alpha=opacity, zorder=self._next),
                autolim=False,
            )

    def text(self, across: float, up: float, text: str, kind: Type, anchor: str = "left", angle: float = 0.0) -> None:
        """Set one line of text; `up` is its baseline, or the middle of its figures when anchor is "centre".

        Signs that do not print become spaces: some formats could not be read again with them.
        """
        if anchor == "centre":
            turn, drop = np.radians(angle), FIGURE_HEIGHT * kind.size / 2
            across, up = across + drop * np.sin(turn), up - drop * np.cos(turn)
        line = line_of_text(
            (across, up),
            "".join(sign if sign.isprintable() else " " for sign in as_spoken(text)),
            replace(kind, size=kind.size * self.size),
            anchor if anchor in ("left", "right") else "center",
            angle,
        )
        line.set_zorder(self._next)
        self.axes.add_artist(line)

    def picture(self, image: np.ndarray, bounds: tuple[float, float, float, float]) -> None:
        """Lay a picture (rows from the top) into left, bottom, right, top."""
        from viewer.page.image import pixel_image

        left, bottom, right, top = bounds
        picture = pixel_image(self.axes, image, (left, right, bottom, top))
        picture.set_zorder(self._next)
        self.axes.add_image(picture)

    def named(self, title: str) -> None:
        """Give the page its title, which stands in the files that are written of it."""
        self.figure.set_label(title)

    @property
    def title(self) -> str:
        """The title that was given, or nothing."""
        return str(self.figure.get_label())

    def save(self, path: Path, dpi: float = DOTS) -> Path:
        """Write a picture (.png, on tinted paper) or a vector page (.pdf, .svg; bare: no ink is spent on the ground).

        Equal pages make equal SVG files.
        """
        with _letters():
            if path.suffix == ".png":
                self._save_picture(path, dpi)
            elif path.suffix == ".pdf":
                save_book([self], path)
            else:
                self._save_vectors(path)
        return path

    def _save_vectors(self, path: Path) -> None:
        for mark in (*self.axes.collections, *self.axes.images, *self.axes.texts):
            mark.set_gid(f"mark-{mark.get_zorder()}")
        widths = {}
        for text in self.axes.texts:
            kind = text.get_fontproperties()
            shown = Type(kind.get_size(), bold=kind.get_weight() == "bold", title=kind.get_name() == TITLE_FAMILY)
            widths[text.get_gid()] = text_size(text.get_text(), shown)[0]
        write_svg(self.figure, self.layers, widths, path, _SIGNED[path.suffix])

    def _save_picture(self, path: Path, dpi: float) -> None:
        """Write a picture without the channel of transparency, which holds nothing on paper: smaller, sooner done."""
        from PIL import Image
        from PIL.PngImagePlugin import PngInfo

        signed = PngInfo()
        for key, word in _SIGNED[path.suffix].items():
            signed.add_text(key, str(word))
        Image.fromarray(self._drawn(dpi)).save(path, dpi=(dpi, dpi), pnginfo=signed, compress_level=_EFFORT)

    def pixels(self, dpi: float = 72.0) -> NDArray[np.uint8]:
        """(height, width, 3) the page as a picture, rows from the top; by `dpi` 72 a pixel is a point."""
        with _letters():
            return self._drawn(dpi)

    def _drawn(self, dpi: float) -> NDArray[np.uint8]:
        from matplotlib.backends.backend_agg import FigureCanvasAgg

        self.figure.set_facecolor(PAPER)
        self.figure.set_dpi(dpi)
        # An older library leaves the canvas of the last PDF here.
        canvas: Any = FigureCanvasAgg(self.figure)
        canvas.draw()
        return np.ascontiguousarray(np.asarray(canvas.buffer_rgba())[..., :3])


def save_book(pages: Iterable[Page], path: Path, title: str = "") -> Path:
    """Write pages, each of its own size, as one vector file (.pdf), bare as `Page.save` does.

    Its title is the one given, or that of the first page; its language that in which the pages are spoken; letters are
    text.
    """
    from matplotlib.backends.backend_pdf import Name, PdfPages

    leaves = list(pages)
    name = title or (leaves[0].title if leaves else "")
    signed = {**_SIGNED[".pdf"], **({"Title": name} if name else {})}
    with _letters(), _bare_fonts(), PdfPages(path, metadata=signed) as book:
        file: Any = book._ensure_file()  # the library has no other way to the catalogue of the document
        kind: Any = Name
        root = {"Type": kind("Catalog"), "Pages": file.pagesObject, "Lang": spoken_code()}
        file.writeObject(file.rootObject, {**root, "ViewerPreferences": {"DisplayDocTitle": True}})
        for page in leaves:
            book.savefig(page.figure, facecolor="none")
    return path


def load_letters() -> None:
    """Load what sets pages and writes them, for whoever wants it ready before there is anything to draw."""
    for name in ("figure", "backends.backend_agg", "backends.backend_pdf"):
        import_module(f"matplotlib.{name}")
    import_module("PIL.PngImagePlugin")

    text_size("hummock", Type())


@contextmanager
def _letters() -> Iterator[None]:
    """How letters are set in every file."""
    from matplotlib import rc_context

    # Hinted letters grow by up to a pixel each; unhinted ones are as wide as the placing of labels takes them.
    # Type 42: letters that a reader can search, copy and read aloud, which those of the library's Type 3 are not.
    kept: Any = {"text.hinting": "no_hinting", "svg.hashsalt": "hummock", "svg.fonttype": "none", "pdf.fonttype": 42}
    with rc_context(kept), boxes_for_missing_letters():
        yield


@contextmanager
def _bare_fonts() -> Iterator[None]:
    """Fonts go into a file without what only setting letters needs, in half the time and smaller."""
    subset: Any = import_module("fontTools.subset")
    usual = subset.load_font  # the drawing library has no other way to what it leaves out

    def load_bare(*asked: Any, **more: Any) -> Any:
        font = usual(*asked, **more)
        for table in _FOR_SETTING:
            if table in font:
                del font[table]
        font.setGlyphOrder([f"glyph{number}" for number in range(font["maxp"].numGlyphs)])
        return font

    subset.load_font = load_bare
    try:
        yield
    finally:
        subset.load_font = usual


def new_page(width: float, height: float) -> Page:
    """An empty page of the given size in points.

    Within `side_by_side` it is the next place of its size on a sheet, within `drawn_on` the axes that are given.
    """
    given = _GIVEN.get()
    if given is not None:
        return _on_axes(given, width, height)
    tray = _TRAY.get()
    return _bare(width, height) if tray is None or tray.size != (width, height) else tray.next()


def _bare(width: float, height: float) -> Page:
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width / 72.0, height / 72.0))
    FigureCanvasAgg(figure)
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    _measured(axes, width, height)
    return Page(width, height, figure, axes)


def _measured(axes: Any, width: float, height: float) -> None:
    """Make one unit of some axes a point of paper."""
    axes.set_axis_off()
    axes.set_xlim(0.0, width)
    axes.set_ylim(0.0, height)
    axes.set_autoscale_on(False)


def _on_axes(axes: Any, width: float, height: float) -> Page:
    """A page on axes of somebody's own, as large as it fits there now; letters and lines keep their share of it."""
    _measured(axes, width, height)
    axes.set_aspect("equal")
    room = axes.get_window_extent()
    points = 72.0 / axes.figure.dpi
    return Page(width, height, axes.figure, axes, True, points * min(room.width / width, room.height / height))


_GIVEN: ContextVar[Any] = ContextVar("given", default=None)


@contextmanager
def drawn_on(axes: Any) -> Iterator[None]:
    """Lay the page that is made until the block ends on axes of the drawing library's."""
    token = _GIVEN.set(axes)
    try:
        yield
    finally:
        _GIVEN.reset(token)


@dataclass(frozen=True)
class _Tray:
    """Sheets that fill up with pages of one size, from the upper left on."""

    size: tuple[float, float]
    sheet: tuple[float, float]
    sheets: list[Page]
    taken: list[int]

    def next(self) -> Page:
        """The next free place, on a new sheet where the last is full."""
        across, down = (round(one / own) for one, own in zip(self.sheet, self.size, strict=True))
        if not self.taken or self.taken[-1] == across * down:
            self.sheets.append(_bare(*self.sheet))
            self.taken.append(0)
        row, column = divmod(self.taken[-1], across)
        self.taken[-1] += 1
        sheet, (wide, high) = self.sheets[-1], self.size
        share = wide / sheet.width, high / sheet.height
        axes = sheet.figure.add_axes((column * share[0], 1.0 - (row + 1) * share[1], *share))
        _measured(axes, wide, high)
        return Page(wide, high, sheet.figure, axes, part=True)


_TRAY: ContextVar[_Tray | None] = ContextVar("tray", default=None)


@contextmanager
def side_by_side(size: tuple[float, float], sheet: tuple[float, float]) -> Iterator[list[Page]]:
    """Stand pages of a size (points) beside each other on sheets of a larger one until the block ends.

    Answers the list of these sheets, which is whole when it does. Whole pages stand on a sheet without a rest.
    """
    tray = _Tray(size, sheet, [], [])
    token = _TRAY.set(tray)
    try:
        yield tray.sheets
    finally:
        _TRAY.reset(token)


def _paths(shapes: BaseGeometry | Iterable[BaseGeometry]) -> Iterable[np.ndarray]:
    """Coordinate arrays of every line and ring."""
    for shape in [shapes] if isinstance(shapes, BaseGeometry) else shapes:
        for part in shapely.get_parts(shape):
            if part.is_empty or part.geom_type == "Point":
                continue
            rings = (part.exterior, *part.interiors) if part.geom_type == "Polygon" else (part,)
            if part.geom_type == "GeometryCollection":
                yield from _paths(part)
            else:
                yield from (np.asarray(ring.coords) for ring in rings)


def hatch(area: BaseGeometry, spacing: float, angle: float = 45.0) -> BaseGeometry:
    """Parallel lines over an area, `spacing` points apart, at `angle` degrees; real lines, so that they stay sharp."""
    if area.is_empty:
        return MultiLineString()
    left, bottom, right, top = area.bounds
    turn = np.radians(angle)
    along = np.array([np.cos(turn), np.sin(turn)])
    across = np.array([-along[1], along[0]])
    corners = np.array([[left, bottom], [right, bottom], [right, top], [left, top]])
    reach = corners @ along
    # Multiples of the spacing from the page's own origin, so that neighbouring areas hatch in step.
    steps = np.arange(np.floor((corners @ across).min() / spacing), np.ceil((corners @ across).max() / spacing) + 1)
    starts = np.outer(steps * spacing, across) + reach.min() * along
    ends = np.outer(steps * spacing, across) + reach.max() * along
    return overlap(shapely.multilinestrings(np.stack([starts, ends], axis=1)), area)


def cut_gaps(lines: Sequence[BaseGeometry], boxes: Sequence[BaseGeometry]) -> list[BaseGeometry]:
    """The lines with a gap wherever a label stands on them."""
    if not boxes:
        return list(lines)
    return list(shapely.difference(np.array(lines, dtype=object), merged(boxes)))
