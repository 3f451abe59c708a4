"""What one file of measurements holds, whatever its format."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from shapely.geometry import Polygon

from terrain.earth import SURVEY_FOOT, Located
from terrain.errors import InputError
from terrain.grid import Array
from terrain.limits import SHOTS_MOST
from terrain.units import Units, unit_length

_UNIT_NAMES = {
    1.0: "metres",
    0.3048: "feet",
    SURVEY_FOOT: "US survey feet",
    0.0254: "inches",
    0.9144: "yards",
    0.1: "decimetres",
    0.01: "centimetres",
    0.001: "millimetres",
    1000.0: "kilometres",
    1609.344: "miles",
}
# The two feet differ by 2 parts in a million: nothing in a yard, but metres in coordinates of millions of feet.
_SAME_FOOT = 1e-5


@dataclass(frozen=True)
class MeasuredLine:
    """A line of a file: the code (or layer) it carries, its (n, 3) points in metres, and where a message finds it.

    An elevation that the file does not give is nan.
    """

    code: str
    points: Array
    where: str


@dataclass(frozen=True)
class Measured:
    """Shots and lines of one file.

    Parameters
    ----------
    shots
        (n, 3) easting, northing, elevation in metres; nan where the file gives none.
    names, codes
        One for each shot; a name is empty where the file gives none.
    rows
        Line of each shot in a table; empty for other files.
    lines
        Lines of the file, in its order.
    notes
        What was converted, thinned or left out, in sentences.
    """

    shots: Array
    names: tuple[str, ...]
    codes: tuple[str, ...]
    rows: tuple[int, ...] = ()
    lines: tuple[MeasuredLine, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Hints:
    """How the tables of a survey are written, where that is unusual.

    `encoding` is as Python names it ("": found), `columns` the heading of a meaning; a `strict` table must have them.
    """

    encoding: str = ""
    columns: Mapping[str, str] = field(default_factory=dict)
    strict: bool = False


@dataclass(frozen=True)
class ScanWay:
    """How a scan is laid and what is asked of it.

    Parameters
    ----------
    laid
        Twelve numbers: the rows of a (3, 4) matrix that takes (x, y, z, 1) of the file to the site, metres; empty where
        the scan lies on the site's axes already, and its unit and its upward axis are to be found.
    unit, up
        Metres in the file's unit (0.0: to be found) and its upward axis, "y" or "z" ("": to be found).
    breast
        Height over the ground at which trunks are measured, metres.
    controls
        Places (easting, northing, metres) at which the height of its ground is asked.
    """

    laid: tuple[float, ...] = ()
    unit: float = 0.0
    up: str = ""
    breast: float = 1.3
    controls: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True)
class ReadOptions:
    """How a file is to be read.

    Parameters
    ----------
    site
        The site's units.
    units
        Units of bare numbers in the file.
    stated
        Whether the site file states `units` for this file, against what the file itself may say.
    layers
        Layers of a drawing by use: "shots", "breaklines", "outline"; a use that is not named is open to all.
    classes
        Classes of a point cloud that are ground.
    most
        Shots that are made at most of a cloud or a height grid.
    window
        Ground outside which a cloud or a height grid is not read, metres; None: all is read.
    lines_only
        The file is one of lines: of a drawing, every line counts (those of `layers["breaklines"]` where it names any).
    hints
        Encoding and headings of a table.
    located
        Where on earth the survey lies, for files of another system; None where nobody said.
    scan
        How a scan is laid; None for all other files.
    """

    site: Units
    units: Units
    stated: bool = False
    layers: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    classes: tuple[int, ...] = (2,)
    most: int = 1000
    window: Polygon | None = None
    lines_only: bool = False
    hints: Hints = field(default_factory=Hints)
    located: Located | None = None
    scan: ScanWay | None = None


def settled_unit(tag: float | None, asked: ReadOptions, label: str, what: str) -> tuple[float, tuple[str, ...]]:
    """Metres in one unit of a file, and the note that this calls for.

    Parameters
    ----------
    tag
        Metres in the unit that the file itself names; None where it names none.
    asked
        The units that hold where the file names none, or against it where they are stated.
    label, what
        The file and which of its figures are meant, for the note.
    """
    own = unit_length(asked.units)
    if tag is None:
        return own, () if asked.stated else (
            f"{label}: the file does not name the unit of its {what}; {unit_name(own)} were taken.",
        )
    if abs(tag / own - 1.0) < _SAME_FOOT and (asked.site == "ft" or tag == own):
        feet = f"{label}: the {what} are in US survey feet, which were taken as the feet of the site."
        return own, (feet,) if tag != own else ()
    if asked.stated and abs(tag / own - 1.0) >= _SAME_FOOT:
        return own, (
            f"{label}: the file names {unit_name(tag)} for its {what}, but file_units says {unit_name(own)}, "
            "which were taken.",
        )
    return tag, (f"{label}: the {what} are in {unit_name(tag)} and were converted.",)


def refuse_many(count: int, label: str) -> None:
    """Refuse a file of more shots than a ground is modelled from; clouds and height grids are thinned instead."""
    if count > SHOTS_MOST.value:
        raise too_many(count, "shots", label)


def too_many(count: int, noun: str, label: str) -> InputError:
    """The refusal of a file of too many shots or rows."""
    return InputError(
        label,
        f"it holds {count:,} {noun}, more than {SHOTS_MOST.value:,.0f}.",
        "Keep those about the bed, or hand in a point cloud or a height grid, which is thinned.",
    )


def unit_name(metres: float) -> str:
    """The unit of a length, for a note."""
    near = min(_UNIT_NAMES, key=lambda known: abs(known / metres - 1.0))
    return _UNIT_NAMES[near] if abs(near / metres - 1.0) < 1e-9 else f"units of {metres:g} m"
