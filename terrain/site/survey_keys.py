"""The keys of [survey]: what a crew measured with tape and level, and how its files are to be read.

[survey]
shots      = "shots.csv"        # or .geojson, .dxf, .las, .laz, .tif; or a list of [x, y, elevation]
accuracy   = "0.02 ft"

level_book  = "levels.csv"      # elevations by point name
benchmark   = { point = "BM", elevation = 100.0 }
level_class = "third order"     # what the misclosure is held to
level_run   = "200 ft"          # length levelled; left out: along the turning points, where they have places
level_floor = "0.02 ft"         # least allowance

points    = { A = [0, 0], B = [50, 0] }   # known places
ties      = "ties.csv"          # places by tape
tie_bound = "0.1 ft"            # what three tapes or more may disagree by
offsets   = "offsets.csv"       # places by station and offset
baseline  = ["A", "B"]

breaklines = "kerbs.csv"        # or lists of point names or [x, y, elevation]
leave_out  = ["17"]             # shots that the surface shall not use

file_units = "m"                # unit of bare numbers in the file of shots, where it is not the site's
layers     = { shots = ["SPOTS"], breaklines = ["KERB"], outline = ["BED"] }   # of a drawing
classes    = [2]                # of a point cloud
thin_to    = 1000               # shots made at most of a point cloud or a height grid
within     = "60 ft"            # how far around the bed those are read

crs        = "EPSG:2264"        # where on earth: x and y are coordinates of this system; or
place      = { point = "A", lat = 44.95, lon = -93.09, toward = "B", bearing = "12 deg" }

picture    = { file = "air.jpg", marks = "air-marks.csv" }   # from above, under the plan; a GeoTIFF needs no marks

scan       = { file = "yard.ply", marks = "marks.csv" }      # the ground by a scan (terrain.site.scan_keys)

columns    = { x = "Easting (grid)", elevation = "RL" }   # headings of the tables, where they are unusual
encoding   = "latin-1"          # of the tables; left out: found, and said
"""

from __future__ import annotations

import codecs
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated, Any

import numpy as np

from terrain.errors import InputError
from terrain.limits import SHOTS_MOST
from terrain.site.earth_keys import PlaceKey, read_place
from terrain.site.fields import READERS, FieldReader
from terrain.site.scan_keys import ScanKey, read_scan_key
from terrain.site.survey import PictureFile
from terrain.site.written import Size, Text, WrittenAs
from terrain.survey import (
    CLASSES,
    FLOOR,
    LARGEST_FILE,
    LEVELS,
    OFFSETS,
    SHOTS,
    TIE_BOUND,
    TIES,
    Hints,
    Place,
    check_there,
)
from terrain.units import Units, as_written

_PICTURES = 'Accepted: { file = "air.tif" }, or { file = "air.jpg", marks = "air-marks.csv" }.'
MOST_SHOTS = 1000  # a ground model takes this many in seconds, and a yard has no more to tell


@dataclass(frozen=True)
class SurveyKeys:
    """[survey] as written, each value checked by itself; lengths in metres.

    `shots` is a path, shots as (n, 3) metres, or None; `breaklines` a path or a list of lines, whose points are names
    or (easting, northing, elevation) in metres. `baseline` holds two names or places.
    """

    shots: Annotated[object, WrittenAs("shots source")] = None
    level_book: Text | None = None
    benchmark: Annotated[Mapping[str, float], WrittenAs("benchmarks")] = field(default_factory=dict)
    level_class: Annotated[str, WrittenAs("level class")] = "third order"
    level_run: Size | None = None
    level_floor: Size = FLOOR
    points: Annotated[Mapping[str, Place], WrittenAs("known points")] = field(default_factory=dict)
    ties: Text | None = None
    tie_bound: Size = TIE_BOUND
    offsets: Text | None = None
    baseline: Annotated[tuple[str | Place, ...], WrittenAs("baseline")] = ()
    breaklines: Annotated[object, WrittenAs("breaklines source")] = ()
    file_units: Annotated[Units | None, WrittenAs("file units")] = None
    layers: Annotated[Mapping[str, tuple[str, ...]], WrittenAs("layers")] = field(default_factory=dict)
    classes: Annotated[tuple[int, ...], WrittenAs("classes")] = (2,)
    thin_to: Annotated[int, WrittenAs("shots kept")] = MOST_SHOTS
    within: Size | None = None
    columns: Annotated[Mapping[str, str], WrittenAs("columns")] = field(default_factory=dict)
    encoding: Annotated[str, WrittenAs("encoding")] = ""
    crs: Annotated[str, WrittenAs("crs")] = ""
    place: Annotated[tuple[PlaceKey, ...], WrittenAs("place on earth")] = ()
    picture: Annotated[PictureFile | None, WrittenAs("picture")] = None
    scan: Annotated[ScanKey | None, WrittenAs("scan")] = None

    @property
    def hints(self) -> Hints:
        """Encoding and headings of the tables."""
        return Hints(self.encoding, self.columns)

    @property
    def joined(self) -> bool:
        """Whether places and elevations come together by point name."""
        return bool(self.level_book or self.ties or self.offsets or self.points)


def _shots_source(value: Any, at: FieldReader) -> object:
    return value if isinstance(value, str) and value.strip() else READERS["shots"](value, at)


def _benchmarks(value: Any, at: FieldReader) -> Mapping[str, float]:
    accepted = 'Accepted: { point = "BM", elevation = 100.0 }, or a list of these.'
    tables = [value] if isinstance(value, Mapping) else value
    known: dict[str, float] = {}
    if not isinstance(tables, Sequence) or isinstance(tables, str):
        raise InputError("", f"{as_written(value)} is no benchmark.", accepted)
    for table in tables:
        if not isinstance(table, Mapping) or set(table) != {"point", "elevation"}:
            raise InputError("", f"{as_written(table)} is no benchmark.", accepted)
        name = str(READERS["text"](table["point"], at))
        known[name] = _number(READERS["length"](table["elevation"], at))
    return known


def _number(value: object) -> float:
    assert isinstance(value, float)
    return value


def _place(value: Any, at: FieldReader) -> Place:
    place = READERS["point"](value, at)
    assert isinstance(place, tuple)
    return _number(place[0]), _number(place[1])


def _level_class(value: Any, at: FieldReader) -> str:
    word = " ".join(value.split()).casefold() if isinstance(value, str) else ""
    found = next((name for name in CLASSES if name.casefold() == word), None)
    if found is None:
        raise InputError("", f"{as_written(value)} is no class of levelling.", f"Accepted: {', '.join(CLASSES)}.")
    return found


def _known_points(value: Any, at: FieldReader) -> Mapping[str, Place]:
    if not isinstance(value, Mapping):
        raise InputError(
            "", f"{as_written(value)} is no table of points.", "Accepted: such as { A = [0, 0], B = [50, 0] }."
        )
    return {str(name): _place(place, at) for name, place in value.items()}


def _baseline(value: Any, at: FieldReader) -> tuple[str | Place, ...]:
    if not isinstance(value, Sequence) or isinstance(value, str) or len(value) != 2:
        raise InputError(
            "",
            f"{as_written(value)} is no baseline.",
            'Accepted: two points, start and end, such as ["A", "B"] or [[0, 0], [50, 0]].',
        )
    start, end = (end.strip() if isinstance(end, str) else _place(end, at) for end in value)
    if start == end:
        raise InputError("", f"{as_written(value)} starts and ends at one point.", "Accepted: two different points.")
    return start, end


def _breaklines_source(value: Any, at: FieldReader) -> object:
    """A path, or lines of names and places; arrays are in metres."""
    accepted = 'Accepted: a file, or lines such as [["12", "13"], [[0, 0, 100], [5, 0, 100.2]]].'
    if isinstance(value, str) and value.strip():
        return value
    if not isinstance(value, Sequence) or isinstance(value, str):
        raise InputError("", f"{as_written(value)} is neither a file nor a list of lines.", accepted)
    return [_breakline(line, number, at, accepted) for number, line in enumerate(value, start=1)]


def _breakline(line: Any, number: int, at: FieldReader, accepted: str) -> list[object]:
    """One line of names and places."""
    if isinstance(line, np.ndarray):
        return [tuple(row) for row in line.tolist()]
    if not isinstance(line, Sequence) or isinstance(line, str) or len(line) < 2:
        raise InputError("", f"line {number}, {as_written(line)}, is not a list of two or more points.", accepted)
    return [point.strip() if isinstance(point, str) else _spot(point, number, at) for point in line]


def _spot(value: object, line: int, at: FieldReader) -> tuple[float, ...]:
    if not isinstance(value, Sequence) or len(value) != 3:
        raise InputError(
            "",
            f"line {line}: {as_written(value)} is not a point.",
            'Accepted: [x, y, elevation] or a name, such as "12".',
        )
    return tuple(_number(READERS["length"](part, at)) for part in value)


def _file_units(value: Any, at: FieldReader) -> str:
    if value not in ("ft", "m"):
        raise InputError("", f"{as_written(value)} is not a unit of a file.", 'Accepted: "ft" or "m".')
    return str(value)


def _layers(value: Any, at: FieldReader) -> Mapping[str, tuple[str, ...]]:
    accepted = 'Accepted: such as { shots = ["SPOTS"], breaklines = ["KERB"], outline = ["BED"] }.'
    uses = ("shots", "breaklines", "outline")
    if not isinstance(value, Mapping) or any(use not in uses for use in value):
        raise InputError("", f"{as_written(value)} does not name layers by their use.", accepted)
    layers: dict[str, tuple[str, ...]] = {}
    for use, names in value.items():
        listed = [names] if isinstance(names, str) else names
        if not isinstance(listed, Sequence) or not all(isinstance(name, str) for name in listed):
            raise InputError("", f"{as_written(names)} is no list of layers.", accepted)
        layers[use] = tuple(listed)
    return layers


def _classes(value: Any, at: FieldReader) -> tuple[int, ...]:
    listed = [value] if isinstance(value, int) else value
    whole = isinstance(listed, Sequence) and all(isinstance(part, int) and 0 <= part <= 255 for part in listed)
    if not whole or not listed or any(isinstance(part, bool) for part in listed):
        raise InputError("", f"{as_written(value)} is no list of classes.", "Accepted: such as [2], ground.")
    return tuple(listed)


def _shots_kept(value: Any, at: FieldReader) -> int:
    count = READERS["count"](value, at)
    assert isinstance(count, int)
    if count > SHOTS_MOST.value:
        most = f"Accepted: up to {SHOTS_MOST.value:,.0f}."
        raise InputError("", f"{count:,} shots are more than a yard can use.", most)
    return count


def _columns(value: Any, at: FieldReader) -> Mapping[str, str]:
    meanings = dict.fromkeys(name for kind in (SHOTS, LEVELS, TIES, OFFSETS) for name in kind.names)
    if not isinstance(value, Mapping) or not all(map(_is_text, value.values())):
        raise InputError(
            "",
            f"{as_written(value)} names no headings.",
            'Accepted: such as { x = "Easting (grid)", elevation = "RL" }.',
        )
    strange = next((meaning for meaning in value if meaning not in meanings), None)
    if strange is not None:
        raise InputError("", f"{as_written(strange)} is no column of a survey.", f"Accepted: {', '.join(meanings)}.")
    return {str(meaning): str(title) for meaning, title in value.items()}


def _is_text(value: object) -> bool:
    """Whether it is a text that is not blank."""
    return isinstance(value, str) and bool(value.strip())


def _encoding(value: Any, at: FieldReader) -> str:
    try:
        "a".encode(value)  # refuses what encodes no text
        return codecs.lookup(value).name
    except (LookupError, TypeError, ValueError):
        raise InputError(
            "",
            f"{as_written(value)} is no encoding of text.",
            'Accepted: "utf-8", "utf-16", "latin-1", "cp1252", or another name that Python knows.',
        ) from None


def _picture(value: Any, at: FieldReader) -> PictureFile:
    """A picture and its marks; either file is looked for, and read where the plan is drawn."""
    if isinstance(value, PictureFile):
        return value
    if not isinstance(value, Mapping) or not set(value) <= {"file", "marks"} or not all(map(_is_text, value.values())):
        raise InputError("", f"{as_written(value)} is no picture.", _PICTURES)
    if "file" not in value:
        raise InputError("", "the picture has no file.", _PICTURES)
    name, marks = str(value["file"]), value.get("marks")
    if Path(name).suffix.lower() in (".tif", ".tiff"):
        if marks is not None:
            raise InputError("", "a GeoTIFF says itself where it lies.", "Leave marks out.")
        return PictureFile(_there(name, at), name)
    if marks is None:
        raise InputError("", "a photograph does not say where it lies.", f"Add marks, three and more. {_PICTURES}")
    return PictureFile(_there(name, at), name, (_there(str(marks), at), str(marks)))


def _there(name: str, at: FieldReader) -> Path:
    """The path of a file, which is there."""
    path = at.folder.file(name)
    check_there(path, name, most=LARGEST_FILE)
    return path


def _crs(value: Any, at: FieldReader) -> str:
    text = str(value) if isinstance(value, int) and not isinstance(value, bool) else value
    if not isinstance(text, str) or not text.strip():
        accepted = 'Accepted: the number of a plane system, such as "EPSG:2264".'
        raise InputError("", f"{as_written(value)} is no coordinate system.", accepted)
    return text.strip()


KEY_READERS: Mapping[str, Callable[[Any, FieldReader], object]] = {
    **READERS,
    "shots source": _shots_source,
    "benchmarks": _benchmarks,
    "level class": _level_class,
    "known points": _known_points,
    "baseline": _baseline,
    "breaklines source": _breaklines_source,
    "file units": _file_units,
    "layers": _layers,
    "classes": _classes,
    "columns": _columns,
    "encoding": _encoding,
    "shots kept": _shots_kept,
    "crs": _crs,
    "picture": _picture,
    "scan": lambda value, at: read_scan_key(value, lambda part: _number(READERS["length"](part, at))),
    "place on earth": lambda value, at: read_place(value, lambda place: _place(place, at)),
}
