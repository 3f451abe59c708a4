"""What goes to the process that reads a foreign file and what comes back: JSON and numbers, nothing that could run.

A question is one JSON object. An answer is one line of JSON, and behind it the points as 8-byte floats.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path
from typing import Any

import numpy as np
import shapely

from terrain.earth import Located
from terrain.errors import InputError
from terrain.plain import plain
from terrain.survey.measured import Hints, Measured, MeasuredLine, ReadOptions, ScanWay


def question(reader: str, path: Path, label: str, asked: ReadOptions) -> bytes:
    """Which reader shall read which file, and how."""
    window = None if asked.window is None else shapely.to_wkb(asked.window, hex=True)
    told = {"reader": reader, "path": str(path), "label": label, "asked": {**asdict(asked), "window": window}}
    return json.dumps(told).encode("ascii")


def asked_of(told: dict[str, Any]) -> ReadOptions:
    """The part of a question that says how to read."""
    window = None if told["window"] is None else shapely.from_wkb(told["window"])
    layers = {use: tuple(names) for use, names in told["layers"].items()}
    return ReadOptions(
        **{
            **told,
            "window": window,
            "layers": layers,
            "classes": tuple(told["classes"]),
            "hints": Hints(**told["hints"]),
            "located": None if told["located"] is None else Located(**told["located"]),
            "scan": None if told["scan"] is None else ScanWay(**told["scan"]),
        }
    )


def answer(measured: Measured) -> bytes:
    """What a file holds."""
    parts = [measured.shots, *(line.points for line in measured.lines)]
    told = {
        "shots": len(measured.shots),
        "names": measured.names,
        "codes": measured.codes,
        "lines": [[line.code, line.where, len(line.points)] for line in measured.lines],
        "notes": measured.notes,
    }
    numbers = np.vstack(parts).astype("<f8")
    return json.dumps(told).encode("ascii") + b"\n" + numbers.tobytes()


def plain_answer(parts: Mapping[str, Any]) -> bytes:
    """What a file holds that is no list of measurements: plain values."""
    return json.dumps({"parts": parts}).encode("ascii") + b"\n"


def refusal(where: str, problem: str, accepted: str) -> bytes:
    """Why a file is not worked with."""
    return json.dumps({"refused": [where, problem, accepted]}).encode("ascii") + b"\n"


def parts_of(data: bytes) -> Mapping[str, Any]:
    """The other end of `plain_answer`, every text in plain signs; raises as `measured_of`."""
    parts = _understood(data.partition(b"\n")[0])["parts"]
    if not isinstance(parts, dict):
        raise ValueError("no parts")
    return {key: _plain_signs(value) for key, value in parts.items()}


def _plain_signs(value: Any) -> Any:
    """The same value, every text in it made plain."""
    if isinstance(value, str):
        return plain(value)
    if isinstance(value, list):
        return [_plain_signs(item) for item in value]
    if isinstance(value, dict):
        return {plain(key): _plain_signs(item) for key, item in value.items()}
    return value


def _understood(head: bytes) -> dict[str, Any]:
    """The first line of an answer; raises the refusal that it carries."""
    told = json.loads(head)
    if "refused" in told:
        raise InputError(*(str(word) for word in told["refused"]))
    return dict(told)


def told_and_body(data: bytes) -> tuple[dict[str, Any], bytes]:
    """The first line of an answer, and the bytes behind it; raises as `measured_of`."""
    head, _, body = data.partition(b"\n")
    return _understood(head), body


def measured_of(data: bytes) -> Measured:
    """The other end of `answer`.

    Raises
    ------
    InputError
        The one that `refusal` carries.
    ValueError, KeyError, TypeError
        For bytes that are no answer.
    """
    told, body = told_and_body(data)
    points = np.frombuffer(body, dtype="<f8").astype(float).reshape(-1, 3)
    counts = [int(told["shots"]), *(int(count) for _, _, count in told["lines"])]
    if min(counts) < 0 or sum(counts) != len(points) or not len(told["names"]) == len(told["codes"]) == counts[0]:
        raise ValueError("the counts do not agree")
    shots, *lines = np.split(points, np.cumsum(counts)[:-1])
    return Measured(
        shots,
        _words(told["names"]),
        _words(told["codes"]),
        lines=tuple(
            MeasuredLine(plain(str(code)), places, plain(str(where)))
            for (code, where, _), places in zip(told["lines"], lines, strict=True)
        ),
        notes=_words(told["notes"]),
    )


def _words(listed: list[object]) -> tuple[str, ...]:
    return tuple(plain(str(word)) for word in listed)
