"""The workbook of a yard: four tabs, what stands where, in which unit; its reader, its writer and the form share it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal, get_args

from terrain.site.factors import Placing
from terrain.site.root_zones import RULES
from terrain.site.soils import SOILS
from terrain.units import Units

YARD, SHOTS_TAB, BED, TREES_TAB = "Yard", "Shots", "Bed", "Trees"
Kind = Literal["text", "length", "volume", "percent", "money"]
_NONE: Mapping[Units, str] = {"ft": "", "m": ""}
_PLAN: Mapping[Units, str] = {"ft": "ft", "m": "m"}
_THIN: Mapping[Units, str] = {"ft": "in", "m": "cm"}
_LOAD: Mapping[Units, str] = {"ft": "cu yd", "m": "m3"}


@dataclass(frozen=True)
class Asked:
    """One figure of the form: a line of the tab Yard, or a column of a table.

    Parameters
    ----------
    label
        What stands before it, or over it; its unit follows in brackets.
    key
        Of the site file.
    table
        Of the site file, "" for the top of it; columns have none.
    kind, units
        What is written there, and the unit of a bare figure by the yard's.
    choices
        What the cell's list offers.
    told
        One line beside it.
    """

    label: str
    key: str
    table: str = ""
    kind: Kind = "text"
    units: Mapping[Units, str] = field(default_factory=lambda: _NONE)
    choices: tuple[str, ...] = ()
    told: str = ""

    def head(self, units: Units) -> str:
        """The label with its unit: "sod stripped (in)"."""
        unit = self.units[units]
        return f"{self.label} ({unit})" if unit else self.label


def label_and_unit(head: str) -> tuple[str, str]:
    """The label of a head in plain small words, and what stands in brackets behind it: "keep-off (ft)"."""
    label, _, unit = head.strip().rstrip(")]").partition("(" if "(" in head else "[")
    return " ".join(re.split(r"[\W_]+", label.casefold())).strip(), unit.strip()


_RULES = tuple(name for name in RULES if "," not in name)  # a list of choices parts them by commas
YARD_LINES: tuple[Asked, ...] = (
    Asked("name", "name", told="stands on the drawings"),
    Asked("units", "units", choices=("ft", "m"), told="ft or m; the heads of all tabs are in it"),
    Asked("accuracy of a shot", "accuracy", "survey", "length", _PLAN, told="one standard deviation; a level 0.02 ft"),
    Asked("steepest side", "max_slope", "berm", choices=("2:1", "3:1", "4:1", "5:1", "6:1"), told="run:rise"),
    Asked("width of the toe", "toe", "berm", "length", _PLAN, told="over which the foot eases into the lawn"),
    Asked("soil on hand", "soil", "berm", "volume", _LOAD, told="loose; the mound is then scaled to use it"),
    Asked("sod stripped", "sod", "bed", "length", _THIN, told="before the soil comes; 0 for none"),
    Asked("mulch laid", "mulch", "bed", "length", _THIN, told="on top at the end; 0 for none"),
    Asked("soil", "kind", "soil", choices=tuple(SOILS), told="gives swell and shrink"),
    Asked("placed", "placing", "soil", choices=get_args(Placing), told="wheeled in and raked, or packed by a machine"),
    Asked("settlement", "settlement", "soil", "percent", {"ft": "%", "m": "%"}, told="built so much higher"),
    Asked("a truck holds", "truck", "soil", "volume", _LOAD, told="loose"),
    Asked("a barrow holds", "barrow", "soil", "volume", {"ft": "cu ft", "m": "L"}),
    Asked("price of soil", "price", "soil", "money", {"ft": "a cu yd", "m": "a m3"}, told="in your own money, loose"),
    Asked("root zone rule", "rule", "trees", choices=_RULES, told="sizes the ground that trees need"),
)
X = Asked("x", "x", kind="length", units=_PLAN)
Y = Asked("y", "y", kind="length", units=_PLAN)
SHOT_COLUMNS = (
    Asked("point", "point"),
    X,
    Y,
    Asked("elevation", "elevation", kind="length", units=_PLAN),
    Asked("code", "code"),
)
CORNER_COLUMNS = (Asked("corner", "corner"), X, Y)
TOP_COLUMNS = (Asked("high point", "top"), X, Y, Asked("height", "height", kind="length", units=_THIN))
TREE_COLUMNS = (
    Asked("name", "name"),
    X,
    Y,
    Asked("trunk", "trunk", kind="length", units=_THIN),
    Asked("girth", "girth", kind="length", units=_THIN),
    Asked("flare", "flare", kind="length", units=_PLAN),
    Asked("keep-off", "keep_off", kind="length", units=_PLAN),
    Asked("dripline", "dripline", kind="length", units=_PLAN),
    Asked("species", "species"),
)


@dataclass(frozen=True)
class SheetTab:
    """A tab: its name, one remark, its lines where it has any, and its tables, side by side."""

    name: str
    remark: str
    lines: tuple[Asked, ...] = ()
    tables: Mapping[str, tuple[Asked, ...]] = field(default_factory=dict)


BOOK_TABS = (
    SheetTab(
        YARD,
        "Write in the framed cells. A figure may carry another unit: 18 in, 0.45 m. What is left empty is left out.",
        lines=YARD_LINES,
    ),
    SheetTab(
        SHOTS_TAB,
        "x to the east, y to the north, from any corner. Rod readings from one place of a level: head them rod.",
        tables={"shots": SHOT_COLUMNS},
    ),
    SheetTab(
        BED,
        "Corners of the bed line in order; it closes itself. Heights of high points over the ground as it is now.",
        tables={"corners": CORNER_COLUMNS, "high points": TOP_COLUMNS},
    ),
    SheetTab(
        TREES_TAB,
        "Place of the trunk's centre. Trunk across at breast height, or its girth. Distances from that centre.",
        tables={"trees": TREE_COLUMNS},
    ),
)
