"""The way a field is written in a site file, noted on the field itself."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Annotated, Any

from shapely.geometry import Polygon

if TYPE_CHECKING:
    from pydantic import GetCoreSchemaHandler
    from pydantic_core import CoreSchema


# Metadata of a field that the reader fills in; a site file does not name it.
NOT_WRITTEN = {"written": False}


class WrittenAs:
    """Names the way a field is written in a site file, so that the reader can turn it into its SI value.

    The reader passes a function of (kind, written value) as the validation context; the model itself knows no
    units and no files.
    """

    def __init__(self, kind: str) -> None:
        self.kind = kind

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        from pydantic_core import core_schema

        def read(value: object, info: core_schema.ValidationInfo) -> object:
            context: Any = info.context
            return context(self.kind, value)

        return core_schema.with_info_plain_validator_function(read)


Text = Annotated[str, WrittenAs("text")]
Length = Annotated[float, WrittenAs("length")]
Size = Annotated[float, WrittenAs("size")]
Layer = Annotated[float, WrittenAs("layer")]
Volume = Annotated[float, WrittenAs("volume")]
Weight = Annotated[float, WrittenAs("weight")]
UnitWeight = Annotated[float, WrittenAs("unit weight")]
Time = Annotated[float, WrittenAs("time")]
Price = Annotated[float, WrittenAs("price")]
PriceByArea = Annotated[float, WrittenAs("price by area")]
PriceByWeight = Annotated[float, WrittenAs("price by weight")]
Money = Annotated[float, WrittenAs("money")]
Share = Annotated[float, WrittenAs("share")]
WholeShare = Annotated[float, WrittenAs("whole share")]
Chance = Annotated[float, WrittenAs("chance")]
Count = Annotated[int, WrittenAs("count")]
YesNo = Annotated[bool, WrittenAs("yes or no")]
Point = Annotated[tuple[float, float], WrittenAs("point")]
Outline = Annotated[Polygon, WrittenAs("outline")]


def entry_words(key: str, number: int, entry: object) -> str:
    """An entry of a list of tables as a person finds it: `[[tree]] 2 "bur oak"`."""
    name = entry.get("name") if isinstance(entry, Mapping) else getattr(entry, "name", None)
    return f"[[{key}]] {number}" + (f' "{name}"' if isinstance(name, str) and name else "")
