"""Spoils a file at random, the same way for the same seed: bytes, figures, rows, brackets, signs that act."""

from __future__ import annotations

import random
import re
from collections.abc import Callable

FIGURES = (
    *("0", "-0", "-1", "1e308", "-1e308", "1e999", "nan", "inf", "-inf", "5e-324", "1/0", "1e12", "9007199254740993"),
    *("9" * 400, "9" * 5000, "0." + "3" * 500, "1_000", "0x" + "f" * 60, "१२", "½", "1:0", "0:1", "100000:1", "%"),
)
PIECES = (
    *(
        "\0",
        "\r",
        "\n\n",
        '"',
        "'",
        ",",
        ";",
        "\t",
        "[",
        "]",
        "{",
        "}",
        "=",
        "#",
        "\\",
        "\\u202e",
        "\\ud800",
        "\x1b[2J",
    ),
    *("\u202e", "\ufeff", "\u2028", "null", "true", "[]", "{}", "[[", "]]", '"""', "..", "../../secret", "/etc/passwd"),
    *("[" * 2000, "{" * 2000, '{"a":' * 500, "a." * 300, "x" * 20_000, "ft", " m", " in", "lb", "[tree]", "[[tree]]"),
)
_FIGURE = re.compile(rb"-?\d+(?:\.\d+)?")

Spoil = Callable[[bytes, random.Random], bytes]


def _flip(data: bytes, chance: random.Random) -> bytes:
    spoiled = bytearray(data)
    for _ in range(chance.choice((1, 1, 2, 8, 64))):
        spoiled[chance.randrange(len(spoiled))] = chance.randrange(256)
    return bytes(spoiled)


def _cut(data: bytes, chance: random.Random) -> bytes:
    return data[: chance.randrange(len(data))]


def _drop(data: bytes, chance: random.Random) -> bytes:
    start = chance.randrange(len(data))
    return data[:start] + data[start + chance.choice((1, 3, 20, 400)) :]


def _repeat(data: bytes, chance: random.Random) -> bytes:
    start = chance.randrange(len(data))
    part = data[start : start + chance.choice((1, 8, 60, 600))]
    return data[:start] + part * chance.choice((2, 9, 300)) + data[start:]


def _figure(data: bytes, chance: random.Random) -> bytes:
    found = list(_FIGURE.finditer(data))
    for place in sorted(chance.sample(found, min(len(found), chance.choice((1, 1, 2, 5)))), key=lambda m: -m.start()):
        data = data[: place.start()] + chance.choice(FIGURES).encode() + data[place.end() :]
    return data


def _piece(data: bytes, chance: random.Random) -> bytes:
    start = chance.randrange(len(data))
    piece = chance.choice(PIECES).encode("utf-8", "surrogatepass")
    return data[:start] + piece + data[start + chance.choice((0, 0, len(piece))) :]


def _rows(data: bytes, chance: random.Random) -> bytes:
    rows = data.split(b"\n")
    one, other = chance.randrange(len(rows)), chance.randrange(len(rows))
    change = chance.randrange(3)
    if change == 0:
        rows[one], rows[other] = rows[other], rows[one]
    elif change == 1:
        del rows[one]
    else:
        rows[one:one] = [rows[other]] * chance.choice((1, 2, 3000))
    return b"\n".join(rows)


def _word(data: bytes, chance: random.Random) -> bytes:
    """Four bytes that a header may hold: a count, a length, a place."""
    start = chance.randrange(min(len(data), 600))
    size = chance.choice((1, 2, 4, 8))
    number = chance.choice((0, 1, 2**31 - 1, 2**32 - 1, 2**63, 2**64 - 1, len(data))) % 2 ** (8 * size)
    return data[:start] + number.to_bytes(size, "little") + data[start + size :]


TEXT: tuple[Spoil, ...] = (_flip, _cut, _drop, _repeat, _figure, _figure, _figure, _piece, _piece, _rows)
BINARY: tuple[Spoil, ...] = (_flip, _flip, _cut, _drop, _repeat, _word, _word, _word)


def spoiled(data: bytes, chance: random.Random, ways: tuple[Spoil, ...]) -> bytes:
    """The file, spoiled in one to three ways."""
    for _ in range(chance.choice((1, 1, 2, 3))):
        data = chance.choice(ways)(data, chance) or b" "
    return data[: 4 * 2**20]
