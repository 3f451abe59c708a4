"""A page as an SVG that a drawing program can work on: words stay words, what belongs together is a named layer."""

from __future__ import annotations

import io
import re
import xml.etree.ElementTree as Tree
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

_SVG, _INKSCAPE = "http://www.w3.org/2000/svg", "http://www.inkscape.org/namespaces/inkscape"
_SPACES = {
    "": _SVG,
    "xlink": "http://www.w3.org/1999/xlink",
    "inkscape": _INKSCAPE,
    "cc": "http://creativecommons.org/ns#",
    "dc": "http://purl.org/dc/elements/1.1/",
    "rdf": "http://www.w3.org/1999/02/22-rdf-syntax-ns#",
}
# Where our type is not installed: types of nearly the same widths, then any; `textLength` keeps the width.
_INSTEAD = {"'DejaVu Sans'": "'DejaVu Sans', Verdana, sans-serif", "'DejaVu Serif'": "'DejaVu Serif', Georgia, serif"}


def write_svg(
    figure: Any, layers: Sequence[tuple[int, str]], widths: Mapping[str, float], path: Path, metadata: Any
) -> None:
    """Write a figure with one pair of axes as an SVG.

    Parameters
    ----------
    layers
        (drawn first, name) of each layer, by the order of drawing: a layer goes on until the next begins.
    widths
        What the words of a text (by its id in the figure) take of the paper, points.
    """
    drawn = io.BytesIO()
    figure.savefig(drawn, format="svg", facecolor="none", metadata=metadata)
    for prefix, space in _SPACES.items():
        Tree.register_namespace(prefix, space)
    root = Tree.fromstring(drawn.getvalue())
    for one in root.iter(f"{{{_SVG}}}g"):
        if one.get("id") in widths:
            _set_words(one, widths[one.get("id", "")])
    for axes in root.iter(f"{{{_SVG}}}g"):
        if re.fullmatch(r"axes_\d+", axes.get("id", "")):
            _group(axes, layers)
            break
    path.write_bytes(Tree.tostring(root, encoding="utf-8", xml_declaration=True))


def _set_words(group: Tree.Element, width: float) -> None:
    for text in group.iter(f"{{{_SVG}}}text"):
        style = text.get("style", "")
        for ours, any_of in _INSTEAD.items():
            style = style.replace(ours, any_of)
        text.set("style", style)
        text.set("textLength", f"{width:.2f}")
        text.set("lengthAdjust", "spacingAndGlyphs")


def _group(axes: Tree.Element, layers: Sequence[tuple[int, str]]) -> None:
    """Put the marks of some axes, whose ids end in the order of drawing, into a group for each layer."""
    marks = list(axes)
    for mark in marks:
        axes.remove(mark)
    taken: dict[str, int] = {}
    here: Tree.Element | None = None
    name = ""
    for mark in marks:
        number = re.fullmatch(r"mark-(\d+)", mark.get("id", ""))
        if number is None:
            axes.append(mark)
            continue
        wanted = next((title for first, title in reversed(layers) if int(number[1]) >= first), "ground")
        if here is None or wanted != name:
            name = wanted
            taken[name] = taken.get(name, 0) + 1
            again = f" {taken[name]}" if taken[name] > 1 else ""
            told = {"id": re.sub(r"[^A-Za-z0-9]+", "-", f"{name}{again}"), f"{{{_INKSCAPE}}}label": f"{name}{again}"}
            here = Tree.SubElement(axes, f"{{{_SVG}}}g", {**told, f"{{{_INKSCAPE}}}groupmode": "layer"})
        here.append(mark)
