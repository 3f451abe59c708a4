"""Laying a wish into the site file: only what was changed is written anew, every comment and all else stays."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from difflib import SequenceMatcher
from pathlib import Path
from typing import TYPE_CHECKING, Any

from shapely.geometry import Polygon

from terrain.errors import HummockError, InputError, OutputError
from terrain.files import held_for_saving, refuse_held, replace
from terrain.site import CrestPoint, Places, Site, build_site, moved_along, read_site
from terrain.survey import WORKBOOKS
from terrain.units import Units, parse_length, show_length, unit_length, unit_volume
from viewer.web.live.wish import Wish, wish_of_site

if TYPE_CHECKING:
    from tomlkit.items import Array as Rows

DECIMALS = 4  # of a foot or a metre: finer than any tape
SAME = 2e-5  # metres: what is nearer than this after a round trip through the file is the same


def save_wish(path: Path, opened: str, before: Wish, wish: Wish, units: Units, outside: Sequence[Path] = ()) -> str:
    """Write a wish into a site file, whole or not at all, and return the file's new text.

    Parameters
    ----------
    path
        The site file.
    opened
        Its text as it was read or last saved; where the file has changed since, nothing is written.
    before
        The wish that this text holds.
    wish
        The wish to write.
    units
        The site's units, which bare numbers are in.
    outside
        What the site file may name outside its folder.

    Raises
    ------
    OutputError
        Where the file was changed by somebody else, cannot be written, or would not read back as the same wish.
    """
    real = path.resolve()  # what a site file that is a link leads to is written, and the link stays
    try:
        with held_for_saving(real):
            found = read_exactly(real)
            if found != opened:
                raise OutputError(
                    f"{path.name} was changed by another program since it was opened here; nothing was saved. "
                    "Stop this page's command and start it again: your changes are kept and will be offered."
                )
            refuse_held(real.parent, [real.name])
            text = with_wish_written(found, before, wish, units)
            _check_same(text, path, wish, outside)
            replace(real, text.encode("utf-8"))
    except OSError as error:
        raise OutputError(f"{path.name} cannot be saved ({error.strerror}); nothing was changed.") from error
    return text


def read_exactly(path: Path) -> str:
    """The text of a file with its line ends as they are."""
    return path.read_bytes().decode("utf-8")


def with_wish_written(text: str, before: Wish, wish: Wish, units: Units) -> str:
    """A site file's text with a wish in place of the one `before`; what is the same in both is not touched."""
    import tomlkit

    document = tomlkit.parse(text)
    berm: Any = document["berm"]
    bed: Any = document["bed"]
    if not wish.outline.equals(before.outline):
        bed["outline"] = _outline(wish.outline, units)
    if wish.crest != before.crest or any("elevation" in row for row in berm["crest"] if isinstance(row, Mapping)):
        _write_crest(berm, before.crest, wish.crest, units)
    for key, written in _berm_texts(wish, units).items():
        if getattr(wish, key) == getattr(before, key):
            continue
        if written is None:
            del berm[key]
        else:
            berm[key] = written
    _write_streams(document, before.streams, wish.streams, units)
    return tomlkit.dumps(document)


def _write_streams(document: Any, before: Sequence[Places], wished: Sequence[Places], units: Units) -> None:
    for number, (old, new) in enumerate(zip(before, wished, strict=True)):
        if old != new:
            _write_stream(document["stream"][number], old, new, units)


def _write_stream(stream: Any, old: Places, new: Places, units: Units) -> None:
    """Write a stream's line, and its drops and pools where they go with it."""

    def moved(row: Any) -> list[float]:
        east, north = (parse_length(value, units, "") for value in (row[0], row[1]))
        return _spot(*moved_along(old, new, (east, north)), units)

    stream["line"] = [_spot(x, y, units) for x, y in new]
    for drop in stream.get("drops", ()):
        drop[0], drop[1] = moved(drop)
    for pool in stream.get("pools", ()):
        pool["at"] = moved(pool["at"])


def _berm_texts(wish: Wish, units: Units) -> dict[str, str | None]:
    """The single values of the berm as a site file writes them; None: left out."""
    return {
        "max_slope": f"{_plain(1.0 / wish.max_slope)}:1",
        "toe": None if wish.toe is None else length_text(wish.toe, units),
        "gentle_side": wish.gentle_side,
        "soil": None if wish.soil is None else volume_text(wish.soil, units),
    }


def _write_crest(berm: Any, before: tuple[CrestPoint, ...], crest: tuple[CrestPoint, ...], units: Units) -> None:
    """Write the crest point by point, so that comments between the points stay with their points."""
    rows: Rows = berm["crest"]
    steps = SequenceMatcher(None, before, crest, autojunk=False).get_opcodes()
    # From the end, so that the numbers of the rows before stay what they were.
    for _, low, high, first, last in reversed([step for step in steps if step[0] != "equal"]):
        changed = min(high - low, last - first)
        for k in reversed(range(low + changed, high)):
            del rows[k]
        for k in range(last - first - changed):
            rows.insert(low + changed + k, _crest_row(crest[first + changed + k], units))
        for k in range(changed):
            _change_row(rows, low + k, before[low + k], crest[first + k], units)
    for k, row in enumerate(rows):
        # A wish knows heights only: a point that was given by its elevation would read back as another wish.
        if isinstance(row, Mapping) and "elevation" in row:
            rows[k] = _crest_row(crest[k], units)


def _change_row(rows: Rows, at: int, old: CrestPoint, new: CrestPoint, units: Units) -> None:
    """Change one point; where only its height is new, its place stays as it was written."""
    row: Any = rows[at]
    if (old.x, old.y) == (new.x, new.y) and not isinstance(row, Mapping):
        row[2] = length_text(new.height, units)
    else:
        rows[at] = _crest_row(new, units)


def _crest_row(point: CrestPoint, units: Units) -> list[Any]:
    return [*_spot(point.x, point.y, units), length_text(point.height, units)]


def _outline(outline: Polygon, units: Units) -> Any:
    """A list of corners, one a line; where the bed has holes, a GeoJSON polygon."""
    import tomlkit

    rings = [[_spot(x, y, units) for x, y in ring.coords[:-1]] for ring in (outline.exterior, *outline.interiors)]
    if len(rings) > 1:
        shape = tomlkit.inline_table()
        shape.update({"type": "Polygon", "coordinates": [[*ring, ring[0]] for ring in rings]})
        return shape
    corners = tomlkit.array()
    corners.extend(rings[0])
    return corners.multiline(True)


def _spot(east: float, north: float, units: Units) -> list[float]:
    """Coordinates as they stand in a site file, in its units."""
    return [round(value / unit_length(units), DECIMALS) + 0.0 for value in (east, north)]


def length_text(metres: float, units: Units) -> str:
    """A height or width as a crew reads it where that is exact, else with all its decimals."""
    friendly = show_length(metres, units)
    step = 0.0254 / 4 if units == "ft" else 0.005
    if abs(metres / step - round(metres / step)) < 1e-4:
        return friendly
    return f"{_plain(metres / unit_length(units), 5)} {units}"


def volume_text(m3: float, units: Units) -> str:
    """A volume of soil in the site's big unit."""
    return f"{_plain(m3 / unit_volume(units))} {'cu yd' if units == 'ft' else 'm3'}"


def _plain(value: float, decimals: int = DECIMALS) -> str:
    return f"{value:.{decimals}f}".rstrip("0").rstrip(".")


def _check_same(text: str, path: Path, wish: Wish, outside: Sequence[Path]) -> None:
    """Raise where the text of a site file would not read back as the wish."""
    name = path.name
    try:
        found = wish_of_site(build_site(tomllib.loads(text), path.parent, name, outside))
    except (HummockError, ValueError) as error:
        raise OutputError(f"This shape would not read back from {name}; nothing was saved. {error}") from error
    if not same_wish(found, wish):
        raise OutputError(f"{name} would not hold this shape exactly; nothing was saved.")


def same_wish(one: Wish, other: Wish) -> bool:
    """Tell whether two wishes are the same to within what a site file holds."""
    near = len(one.crest) == len(other.crest) and all(
        max(abs(a.x - b.x), abs(a.y - b.y), abs(a.height - b.height)) < SAME
        for a, b in zip(one.crest, other.crest, strict=True)
    )
    return (
        near
        and one.outline.hausdorff_distance(other.outline) < SAME
        and abs(1.0 / one.max_slope - 1.0 / other.max_slope) < 1e-4
        and one.gentle_side == other.gentle_side
        and _close(one.toe, other.toe)
        and _close(one.soil, other.soil)
        and _same_lines(one.streams, other.streams)
    )


def _same_lines(one: Sequence[Places], other: Sequence[Places]) -> bool:
    flat = [[value for line in lines for spot in line for value in spot] for lines in (one, other)]
    return len(flat[0]) == len(flat[1]) and all(abs(a - b) < SAME for a, b in zip(*flat, strict=True))


def _close(one: float | None, other: float | None) -> bool:
    if one is None or other is None:
        return one is other
    return abs(one - other) < 1e-4


def site_of(path: Path, outside: Sequence[Path] = ()) -> tuple[Site, str]:
    """A site and the exact text of its file.

    Raises
    ------
    InputError
        Where the file cannot be read as a site, or was changed by somebody while it was read.
    """
    if path.suffix.lower() in WORKBOOKS:
        raise InputError(
            str(path),
            "the live page saves into a site file, and this is a workbook.",
            "hummock suggest writes its forms as site files, which the page takes.",
        )
    before = _state(path)
    site = read_site(path, outside)
    try:
        text = read_exactly(path)
    except UnicodeDecodeError as error:
        raise InputError(str(path), "is not in UTF-8, so it could not be saved.", "Save it as UTF-8.") from error
    if _state(path) != before:
        raise InputError(str(path), "the file was changed while it was read.", "Start again.")
    return site, text


def _state(path: Path) -> tuple[int, int, int] | None:
    """What changes with every saving of a file; None where there is none."""
    try:
        found = path.stat()
    except (OSError, ValueError):
        return None
    return found.st_ino, found.st_size, found.st_mtime_ns
