"""From answers to a site folder: a commented site file, the shots and the bed, as somebody would write them."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory

from terrain.interview.answers import ACCURACY, Answers, AskedTree, Side
from terrain.site import Site, read_site
from terrain.suggest import first_crest
from terrain.survey import Place
from terrain.tables import csv_text
from terrain.units import parse_slope, unit_length, unit_volume

DEEP = 6.0  # metres that the house is drawn deep: only its near wall is known
TRUCK = {"ft": 10 * 0.9144**3, "m": 8.0}  # m3, where nobody says: common practice, no published source
_READINGS = {"rod": "rod", "string": "rod", "elevations": "elevation"}


def files_of(answers: Answers) -> dict[str, str]:
    """Every file of the site folder by its name."""
    found = {"site.toml": "\n".join(_lines(answers)) + "\n", "bed.csv": _table(answers, ("x", "y"), answers.corners)}
    if answers.shots:
        heads = ("point", "x", "y", _READINGS[answers.measured])
        rows = [(str(number), *shot) for number, shot in enumerate(answers.shots, start=1)]
        found["shots.csv"] = _table(answers, heads, rows)
    return found


def site_of_answers(answers: Answers) -> Site:
    """The site as the folder that the answers make reads. `InputError` where it would not."""
    with TemporaryDirectory(prefix="hummock-") as place:
        for name, text in files_of(answers).items():
            (Path(place) / name).write_text(text, encoding="utf-8", newline="")
        return read_site(Path(place) / "site.toml")


def _figure(answers: Answers, metres: float) -> str:
    """A length in the site's unit, to a tenth of a millimetre."""
    return f"{round(metres / unit_length(answers.units), 4) + 0.0:.10g}"


def _table(answers: Answers, heads: tuple[str, ...], rows: Sequence[Sequence[str | float]]) -> str:
    """A table of lengths; texts stay as they are."""
    shown = [tuple(cell if isinstance(cell, str) else _figure(answers, cell) for cell in row) for row in rows]
    return csv_text(heads, shown)


def _row(key: str, value: str, remark: str = "") -> str:
    """A key of the site file, its remark in a column of its own."""
    row = f"{key:<10} = {value}"
    return f"{row:<38} # {remark}" if remark else row


def _lines(answers: Answers) -> Iterator[str]:
    """The site file, line by line."""
    feet = answers.units == "ft"
    yield "# Written from answers. x runs along the bed, y out from it: read east as along, north as out."
    yield '# A bare number is in `units`; a text may carry any unit, such as "18 in". Every figure may be changed.'
    yield from (_row("name", '"My yard, front bed"', "stands on the drawings"), _row("units", f'"{answers.units}"'))
    yield from ("", "[survey]", *_survey(answers))
    yield from ("", "[bed]", _row("outline", '"bed.csv"', "the corners in order"))
    yield _row("sod", '"2 in"' if feet else '"5 cm"', "stripped before the soil comes; 0 for none")
    for tree in answers.trees:
        yield from _tree(answers, tree)
    if answers.house is not None:
        yield from (
            "",
            "[[building]]",
            _row("name", '"house"'),
            _row("outline", _places(answers, house_outline(answers))),
        )
    yield from ("", "[berm]", _row("max_slope", f'"{answers.slope}"', "the steepest side, run:rise"), *_crest(answers))
    yield from ("", "[soil]", *_soil(answers))


def _survey(answers: Answers) -> Iterator[str]:
    """How the ground was measured."""
    if not answers.shots:
        yield _row("surface", '"flat"', 'nobody measured it; after a survey: shots = "shots.csv" in its place')
        return
    usual = answers.accuracy == ACCURACY[answers.measured]
    why = "usual for this way of measuring" if usual else "the first place read otherwise at the end"
    yield from (_row("shots", '"shots.csv"'), _row("accuracy", _figure(answers, answers.accuracy), f"of a shot: {why}"))


def _tree(answers: Answers, tree: AskedTree) -> Iterator[str]:
    yield from (
        "",
        "[[tree]]",
        _row("name", json.dumps(tree.name, ensure_ascii=False)),
        _row("at", _place(answers, tree.at)),
    )
    yield _row("girth", _figure(answers, tree.girth), "a tape round the trunk, 4 1/2 ft (1.4 m) up")
    if answers.keep_off is not None:
        yield _row("keep_off", _figure(answers, answers.keep_off), "no soil within this of the trunk's centre")


def _crest(answers: Answers) -> Iterator[str]:
    """The high points of a first mound."""
    yield _row("crest", "[", "x, y, height over the ground: move them as you like")
    for x, y, height in first_crest(answers.outline, parse_slope(answers.slope, "slope"), answers.top):
        yield f"    [{_figure(answers, x)}, {_figure(answers, y)}, {_figure(answers, height)}],"
    yield "]"


def _soil(answers: Answers) -> Iterator[str]:
    """The soil, its truck and its price."""
    feet = answers.units == "ft"
    unit, named = ("cu yd", "cubic yard") if feet else ("m3", "m3")
    truck = TRUCK[answers.units] if answers.truck is None else answers.truck
    yield from (_row("kind", '"loam"'), _row("placing", '"by hand"', "wheeled in and raked"))
    yield _row("settlement", '"8 %"', "built so much higher, since it settles")
    yield _row("truck", f'"{truck / unit_volume(answers.units):.4g} {unit}"', "one load, loose")
    yield _row("barrow", '"3 cu ft"' if feet else '"85 L"')
    if answers.price is not None:
        yield _row("price", f"{answers.price:.2f}", f"of a {named}, loose")


def house_outline(answers: Answers) -> list[Place]:
    """Corners of a house along one side of the bed, metres."""
    assert answers.house is not None
    side, away = answers.house
    west, south, east, north = answers.outline.bounds
    near, far = away, away + DEEP
    boxes: dict[Side, tuple[float, float, float, float]] = {
        "near": (west, south - far, east, south - near),
        "far": (west, north + near, east, north + far),
        "left": (west - far, south, west - near, north),
        "right": (east + near, south, east + far, north),
    }
    left, low, right, high = boxes[side]
    return [(left, low), (right, low), (right, high), (left, high)]


def _place(answers: Answers, at: Place) -> str:
    return f"[{_figure(answers, at[0])}, {_figure(answers, at[1])}]"


def _places(answers: Answers, places: list[Place]) -> str:
    return f"[{', '.join(_place(answers, at) for at in places)}]"
