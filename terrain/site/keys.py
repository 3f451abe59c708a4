"""The keys of a site file: which tables there are, what each may hold, and what a forgotten one looks like."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import fields as fields_of
from difflib import get_close_matches
from typing import Any

from terrain.errors import Faults, InputError
from terrain.limits import ENTRIES_MOST
from terrain.site.crew import Crew
from terrain.site.drafting import Drafting, Revision
from terrain.site.features import Basin, Channel, RetainedEdge, Terrace
from terrain.site.local import Local
from terrain.site.model import (
    Allowed,
    Bed,
    Berm,
    Building,
    GridSpec,
    KeepClear,
    Site,
    Soil,
    Tree,
    TreeRule,
    ViewFrom,
)
from terrain.site.prices import Prices
from terrain.site.storm import Storm
from terrain.site.streams import Pipe, Pool, Stream, StreamWater
from terrain.site.survey import Survey
from terrain.site.survey_keys import SurveyKeys
from terrain.site.things import Heap, Thing, Walk
from terrain.site.written import entry_words
from terrain.units import as_written

Fields = Mapping[str, Any]

TABLES = {
    "survey": Survey,
    "bed": Bed,
    "trees": TreeRule,
    "berm": Berm,
    "soil": Soil,
    "prices": Prices,
    "water": StreamWater,
    "storm": Storm,
    "local": Local,
    "crew": Crew,
    "drawing": Drafting,
    "grid": GridSpec,
}
LISTS = {
    "tree": Tree,
    "keep_clear": KeepClear,
    "walk": Walk,
    "heap": Heap,
    "building": Building,
    "basin": Basin,
    "channel": Channel,
    "terrace": Terrace,
    "retained_edge": RetainedEdge,
    "stream": Stream,
    "view_from": ViewFrom,
    "thing": Thing,
}
EXAMPLES = {
    "name": 'name = "front bed"',
    "units": 'units = "ft"',
    "survey": '[survey] with shots = "shots.csv"',
    "shots": 'shots = "shots.csv"',
    "bed": '[bed] with outline = "bed.csv"',
    "outline": "outline = [[0, 0], [20, 0], [20, 12]]",
    "at": "at = [31.0, 22.5]",
    "kind": 'kind = "hydrant"',
    "trunk": 'trunk = "26 in"',
    "allowed": 'allowed = { fill = "3 in", share = "15 %", by = "A. Person", licence = "12-3", date = "2026-05-04" }',
    "by": 'by = "A. Person"',
    "licence": 'licence = "12-3"',
    "date": 'date = "2026-05-04"',
    "berm": '[berm] with max_slope = "4:1" and a crest',
    "max_slope": 'max_slope = "4:1"',
    "width": 'width = "12 in"',
    "line": "line = [[30, 22], [27, 18], [22, 16]]",
    "pools": 'pools = [{ at = [22, 16], size = "3 ft", depth = "6 in" }]',
    "drops": 'drops = [[27, 18, "6 in"]]',
    "pump": 'pump = [[0, "18 ft"], ["2100 gal/h", "13.5 ft"]]',
    "pipe": 'pipe = { length = "40 ft", size = "2 in" }',
    "crest": 'crest = [[18, 20, "22 in"]]',
    "revision": 'revision = [{ mark = "B", date = "2026-05-04", what = "bed moved 2 ft north" }]',
    "mark": 'mark = "B"',
    "what": 'what = "bed moved 2 ft north"',
}

# Keys that a site file once had, each with why it is gone, and what to write.
_GONE: Mapping[tuple[type, str], tuple[str, str]] = {
    **{
        (TreeRule, key): (
            "would allow it for every tree at once and names nobody.",
            f"Under the [[tree]] that it was given for write {EXAMPLES['allowed']}, as the arborist wrote.",
        )
        for key in ("allowed_fill", "allowed_share")
    },
    (Soil, "frost"): ("belongs to the place and not to the soil.", "Write it under [local]."),
}
# Tables inside other tables, alone or in a list.
_INSIDE: Mapping[tuple[type, str], type] = {
    (Tree, "allowed"): Allowed,
    (Stream, "pools"): Pool,
    (StreamWater, "pipe"): Pipe,
    (Drafting, "revision"): Revision,
}
# A table that the reader works into another one: its own keys come beside those.
_WORKED: Mapping[type, type] = {Survey: SurveyKeys}


def _written_keys(table: type) -> list[str]:
    """The keys that a site file may use in a table."""
    both = [table, *([_WORKED[table]] if table in _WORKED else [])]
    return list(dict.fromkeys(f.name for part in both for f in fields_of(part) if f.metadata.get("written", True)))


def refuse_unknown(fields: Fields, label: str) -> None:
    """Refuse all keys that mean nothing here, at any depth, before anything is read from them."""
    faults = Faults()
    _refuse_keys(fields, Site, label, faults)
    berm = fields.get("berm")
    _refuse_many(berm.get("crest") if isinstance(berm, Mapping) else None, f"{label} [berm] crest")
    for key, table in TABLES.items():
        if isinstance(fields.get(key), Mapping):
            _refuse_keys(fields[key], table, f"{label} [{key}]", faults)
    for key, table in LISTS.items():
        _refuse_many(fields.get(key), f"{label} [[{key}]]")
        for i, entry in _entries(fields.get(key)):
            _refuse_keys(entry, table, f"{label} {entry_words(key, i, entry)}", faults)
    faults.refuse()


def _refuse_many(entries: object, where: str) -> None:
    if isinstance(entries, Sequence) and not isinstance(entries, str) and len(entries) > ENTRIES_MOST.value:
        raise InputError(where, f"{len(entries):,} of them stand here.", f"Accepted: up to {ENTRIES_MOST.value:,.0f}.")


def _entries(tables: object) -> Iterator[tuple[int, Fields]]:
    """The tables of an array of tables, counted from 1."""
    if isinstance(tables, Sequence):
        yield from ((i, entry) for i, entry in enumerate(tables, start=1) if isinstance(entry, Mapping))


def _refuse_keys(given: Fields, table: type, where: str, faults: Faults) -> None:
    known = _written_keys(table)
    for key in given:
        if (table, key) in _GONE:
            problem, instead = _GONE[table, key]
            faults.found.append(InputError(where, f"{as_written(key)} {problem}", instead))
        elif key not in known:
            near = get_close_matches(key.lower(), known, n=1)
            hint = f' Did you mean "{near[0]}"?' if near else ""
            problem = f"{as_written(key)} is not a known key.{hint}"
            faults.found.append(InputError(where, problem, f"Known keys: {', '.join(known)}."))
        if (table, key) in _INSIDE and isinstance(given[key], Mapping):
            _refuse_keys(given[key], _INSIDE[table, key], f"{where} {key}", faults)
        elif (table, key) in _INSIDE:
            _refuse_many(given[key], f"{where} {key}")
            for number, entry in _entries(given[key]):
                _refuse_keys(entry, _INSIDE[table, key], f"{where} {key} {number}", faults)
