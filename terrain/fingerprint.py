"""Fingerprints of whole values: two values have one fingerprint where every part of them is equal."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import fields, is_dataclass
from typing import TYPE_CHECKING

import numpy as np
from shapely.geometry.base import BaseGeometry

if TYPE_CHECKING:
    from _typeshed import DataclassInstance


def fingerprint(*values: object) -> str:
    """32 hexadecimal digits that stand for the given values, down to the last bit.

    >>> fingerprint([1.0, "a"]) == fingerprint((1.0, "a"))
    True
    >>> fingerprint("ab", "c") == fingerprint("a", "bc")
    False

    Dataclasses (but for what takes no part in comparing), sequences and mappings are taken apart; arrays count by their
    type, shape and bytes, geometry by its coordinates, everything else by its `repr`.
    """
    digest = hashlib.blake2b(digest_size=16)
    for piece in _pieces(values):
        # The length first: "ab", "c" and "a", "bc" must not come out the same.
        digest.update(len(piece).to_bytes(8, "little"))
        digest.update(piece)
    return digest.hexdigest()


def alike(one: object, other: object) -> bool:
    """Whether two values have one fingerprint; parts that both hold as the very same value are not looked into.

    >>> alike([1.0, "a"], (1.0, "a"))
    True
    """
    if one is other:
        return True
    if type(one) is type(other):
        mine, theirs = _parts(one), _parts(other)
        if mine and len(mine) == len(theirs):
            return all(alike(*pair) for pair in zip(mine, theirs, strict=True))
    return fingerprint(one) == fingerprint(other)


def _parts(value: object) -> Sequence[object]:
    """What a dataclass or a tuple is made of; nothing of any other value."""
    if is_dataclass(value) and not isinstance(value, type):
        return _compared(value)
    return value if isinstance(value, tuple) else ()


class Comparable:
    """A dataclass whose values are equal where every part of them is, arrays and geometry too, and hash alike.

    The parts count that take part in comparing (`field(compare=False)` leaves one out); the class itself is declared
    with `eq=False`, so that the comparing of arrays that dataclasses have, which raises, is not used.
    """

    def __eq__(self, other: object) -> bool:
        """Whether the other is a value of the same class with equal parts."""
        if type(other) is not type(self):
            return NotImplemented
        return alike(self, other)

    def __hash__(self) -> int:
        return hash(fingerprint(self))


def _compared(value: DataclassInstance) -> list[object]:
    """The parts of a dataclass that take part in comparing."""
    return [getattr(value, part.name) for part in fields(value) if part.compare]


def _pieces(value: object) -> Iterator[bytes]:
    if isinstance(value, np.ndarray):
        yield f"{value.dtype.str}{value.shape}".encode()
        yield np.ascontiguousarray(value).tobytes()
    elif isinstance(value, BaseGeometry):
        yield bytes(value.wkb)
    elif is_dataclass(value) and not isinstance(value, type):
        yield type(value).__name__.encode()
        for part in _compared(value):
            yield from _pieces(part)
    elif isinstance(value, Mapping):
        yield f"mapping of {len(value)}".encode()
        for key, part in value.items():
            yield from _pieces((key, part))
    elif isinstance(value, tuple | list):
        yield f"sequence of {len(value)}".encode()
        for part in value:
            yield from _pieces(part)
    else:
        yield repr(value).encode()
