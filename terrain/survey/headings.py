"""Headings of measurement tables: what each column is taken for, in the words and languages that people write."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from terrain.errors import InputError
from terrain.survey.measured import Hints
from terrain.units import written_units

_LONGEST_HEADING = 200  # characters: the pattern of a unit takes longer than its length
_SUFFIX = re.compile(r"^(?P<name>.*?)(?:[\s_]+|[\s_]*(?=[\[(]))[\[(]?\s*(?P<unit>[a-z]+)\.?\s*[\])]?$")
_NAMES_TOLD = 6  # of the names that would do, as many as anybody reads


@dataclass(frozen=True)
class Columns:
    """Columns that a kind of table may have.

    `names` are what people call each meaning, `lengths` the meanings that are lengths. A `sparse` table leaves cells
    empty (a level book), so that blanks cannot stand between its values. Where a table lacks a meaning, another may do:
    `instead` names it.
    """

    names: Mapping[str, tuple[str, ...]]
    lengths: tuple[str, ...]
    sparse: bool = False
    instead: Mapping[str, str] = field(default_factory=dict)


POINT = (
    *("point", "name", "id", "pt", "no", "nr", "number", "shot", "point no", "point number", "point id", "pt no"),
    *("pt id", "punkt", "punktnr", "punkt nr", "punktnummer", "pkt", "punto", "num", "numero", "matricule"),
)
CODE = (
    *("code", "description", "desc", "note", "notes", "remark", "remarks", "feature", "beschreibung", "bemerkung"),
    *("codigo", "descripcion"),
)
ELEVATION = (
    *("elevation", "elev", "z", "height", "level", "rl", "reduced level", "ground level", "z coord", "z coordinate"),
    *("altitude", "alt", "hohe", "hoehe", "h", "cota", "elevacion", "gelandehohe", "ortho height"),
)
ROD_READING = (
    "rod",
    "rod reading",
    "reading",
    "staff",
    "staff reading",
    "lattenablesung",
    "lecture",
    "lectura",
    "mire",
)
SHOTS = Columns(
    {
        "point": (*POINT, "p"),  # P, N, E, Z, D: the heads that many loggers write
        "x": ("x", "easting", "east", "e", "x coord", "x coordinate", "rechtswert", "ostwert", "est", "este"),
        "y": ("y", "northing", "north", "n", "y coord", "y coordinate", "hochwert", "nordwert", "nord", "norte"),
        "elevation": ELEVATION,
        "rod": ROD_READING,
        "code": (*CODE, "d"),
    },
    lengths=("x", "y", "elevation", "rod"),
    instead={"elevation": "rod"},
)


def plain_title(title: str) -> str:
    """A heading in small letters, without accents and double blanks; "#" and "°" stand for "no"."""
    spelled = title.replace("n°", "no").replace("N°", "no").replace("#", " no ")
    bare = unicodedata.normalize("NFKD", spelled.casefold())
    return " ".join("".join(sign for sign in bare if not unicodedata.combining(sign)).split())


def word_and_unit(title: str) -> tuple[str, str]:
    """A heading without the unit that ends it, in small letters and plain words, and that unit ("" for none)."""
    word = plain_title(title)
    suffix = _SUFFIX.match(word) if len(word) <= _LONGEST_HEADING else None
    if suffix and written_units(f"1 {suffix['unit']}"):
        return _words_alone(suffix["name"]), suffix["unit"]
    return _words_alone(word), ""


def _words_alone(word: str) -> str:
    return " ".join(re.split(r"[\W_]+", word)).strip() or word


def titled(
    header: Sequence[str], known: Mapping[str, tuple[str, ...]], hints: Hints, where: str
) -> Mapping[str, tuple[str, ...]]:
    """The names of each meaning, with the heading that the site file states in their place."""
    names = dict(known)
    plain = {plain_title(title): title for title in header}
    for meaning in known.keys() & hints.columns.keys():
        stated = hints.columns[meaning]
        if plain_title(stated) in plain:
            # No other column stands for the meaning then, and this one for nothing else.
            word, _ = word_and_unit(stated)
            names = {other: tuple(n for n in spellings if n != word) for other, spellings in names.items()}
            names[meaning] = (word,)
        elif hints.strict:
            shown = ", ".join(f'"{title}"' for title in header)
            raise InputError(
                where,
                f'no column is called "{stated}", as [survey] columns has it; the columns are {shown}.',
                "Accepted: one of them.",
            )
    return names


def meaning_of(title: str, known: Mapping[str, tuple[str, ...]]) -> tuple[str, str] | None:
    """What a column title means and the unit it carries, or None for a column that is not ours."""
    word, unit = word_and_unit(title)
    found = next((meaning for meaning, names in known.items() if word in map(_words_alone, names)), None)
    return (found, unit) if found else None


def columns_of(header: Sequence[str], where: str, known: Mapping[str, tuple[str, ...]]) -> dict[str, tuple[int, str]]:
    """Index and unit of each column that has a meaning; two columns of one meaning are refused."""
    found: dict[str, tuple[int, str]] = {}
    for i, title in enumerate(header):
        meaning = meaning_of(title, known)
        if meaning is None:
            continue
        if meaning[0] in found:
            other = header[found[meaning[0]][0]]
            raise InputError(
                where, f'the columns "{other}" and "{title}" both give the {meaning[0]}.', "Keep one of them."
            )
        found[meaning[0]] = (i, meaning[1])
    return found


def missing_from(found: Mapping[str, object], needed: Sequence[str], columns: Columns) -> list[str]:
    """The meanings that are needed and that no column gives, nor one that would do instead."""
    return [meaning for meaning in needed if meaning not in found and columns.instead.get(meaning) not in found]


def refuse_lacking(
    header: Sequence[str],
    where: str,
    needed: Sequence[str],
    found: Mapping[str, tuple[int, str]],
    columns: Columns,
) -> None:
    """Refuse a header that lacks what is needed, with what each column was taken for and what would do instead."""
    missing = missing_from(found, needed, columns)
    if not missing:
        return
    if _numeric(header):
        problem = "the first line holds numbers, not the names of the columns."
        raise InputError(where, problem, example_header(needed))
    meanings = {i: meaning for meaning, (i, _) in found.items()}
    taken = ", ".join(f'"{title}" for {meanings.get(i, "nothing")}' for i, title in enumerate(header))
    accepted = "; ".join(f"{meaning}: {', '.join(columns.names[meaning][:_NAMES_TOLD])}" for meaning in missing)
    raise InputError(
        where,
        f"no column gives the {' or the '.join(missing)}; the columns were taken so: {taken}.",
        f"Accepted names: {accepted}. Other headings: name them under [survey], such as "
        'columns = { x = "Easting (grid)" }.',
    )


def example_header(needed: Sequence[str]) -> str:
    """A first line that would do."""
    return f'Add a first line that names the columns, such as "{",".join(needed)}".'


def _numeric(header: Sequence[str]) -> bool:
    """Whether two or more cells of a line are numbers, so it cannot be a header."""
    bodies = [cell.removeprefix("+").removeprefix("-") for cell in header]
    return sum(bool(re.fullmatch(r"[\d.,]+", body)) and any(map(str.isdigit, body)) for body in bodies) >= 2
