"""Fingerprints of whole values: two values have one fingerprint where every part of them is equal."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass

import numpy as np
from shapely.geometry.base import BaseGeometry


def fingerprint(*values: object) -> str:
    """32 hexadecimal digits that stand for the given values, down to the last bit.

    Dataclasses, sequences and mappings are taken apart; arrays count by their type, shape and bytes, geometry by its
    coordinates, everything else by its `repr`.
    """
    digest = hashlib.blake2b(digest_size=16)
    for piece in _pieces(values):
        # The length first: "ab", "c" and "a", "bc" must not come out the same.
        digest.update(len(piece).to_bytes(8, "little"))
        digest.update(piece)
    return digest.hexdigest()


def _pieces(value: object) -> Iterator[bytes]:
    if isinstance(value, np.ndarray):
        yield f"{value.dtype.str}{value.shape}".encode()
        yield np.ascontiguousarray(value).tobytes()
    elif isinstance(value, BaseGeometry):
        yield bytes(value.wkb)
    elif is_dataclass(value) and not isinstance(value, type):
        yield type(value).__name__.encode()
        for part in fields(value):
            yield from _pieces(getattr(value, part.name))
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
