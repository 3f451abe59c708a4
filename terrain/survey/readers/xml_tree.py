"""XML of strangers as a tree: names without their spaces, and no document type, which could name files or swell."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from typing import Any
from xml.parsers import expat

from terrain.errors import InputError

_DEEPEST = 64  # elements in each other


def tree_of(data: bytes, label: str) -> ET.Element:
    """The root of a document; `InputError` names the line of a fault, and refuses a document type."""
    builder = ET.TreeBuilder()
    parser = expat.ParserCreate(namespace_separator="}")
    depth = 0

    def refuse_type(*_: Any) -> None:
        problem = "it declares a document type, which a file of measurements does not need."
        raise InputError(label, problem, "Write it again without.")

    def start(name: str, attributes: dict[str, str]) -> None:
        nonlocal depth
        depth += 1
        if depth > _DEEPEST:
            raise InputError(label, f"its elements stand in each other more than {_DEEPEST} deep.", "Write it flat.")
        builder.start(_local(name), {_local(key): value for key, value in attributes.items()})

    def end(name: str) -> None:
        nonlocal depth
        depth -= 1
        builder.end(_local(name))

    parser.StartDoctypeDeclHandler = refuse_type
    parser.StartElementHandler, parser.EndElementHandler = start, end
    parser.CharacterDataHandler = builder.data
    try:
        parser.Parse(data, True)
    except expat.ExpatError as error:
        words = expat.errors.messages.get(error.code, "a fault")
        raise InputError(
            f"{label} line {error.lineno}", f"this is not valid XML: {words}.", "Write it again."
        ) from None
    return builder.close()


def _local(name: str) -> str:
    return name.rpartition("}")[2]


def text_of(element: ET.Element, name: str) -> str:
    """The text of the first child of a name; "" where there is none."""
    return " ".join((element.findtext(name) or "").split())
