"""Bodies as one GLB: glTF 2.0 in binary form, metres, Y up, a named node for each body.

Follows the glTF 2.0 specification (Khronos Group, ISO/IEC 12113:2022): east is +X, up is +Y, north is -Z; positions in
single precision; colours of vertices are linear, as section 3.7.2.1 asks of COLOR_0.
"""

from __future__ import annotations

import json
import struct
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from terrain.files.bodies import Body
from terrain.files.stage_grades import Grade
from terrain.grid import Array

_FLOAT, _SHORT, _INT = 5126, 5123, 5125  # component types
_VERTICES, _FACES = 34962, 34963  # targets of buffer views
_LAST_SHORT = 65535


def linear(screen: Array) -> Array:
    """Linear light of screen colours, 0 to 1: the sRGB transfer function of IEC 61966-2-1."""
    dark = screen <= 0.04045
    return np.where(dark, screen / 12.92, ((np.maximum(screen, 0.04045) + 0.055) / 1.055) ** 2.4)


def glb_bytes(bodies: Sequence[Body], offset: tuple[float, float, float], grade: Grade = "finished") -> bytes:
    """The bytes of the file.

    Parameters
    ----------
    bodies
        Metres, Z up; each becomes a node and a mesh of its name.
    offset
        What to add to east, north and up to be back in the survey, metres; kept under `extras` of the scene.
    grade
        What the proposed grade is; kept beside it.
    """
    buffer = _Buffer()
    opacities = sorted({body.opacity for body in bodies}, reverse=True)
    meshes = [
        {"name": body.name, "primitives": [{**_primitive(buffer, body), "material": opacities.index(body.opacity)}]}
        for body in bodies
    ]
    nodes = [{"name": body.name, "mesh": number} for number, body in enumerate(bodies)]
    tree = {
        "asset": {"version": "2.0", "generator": "hummock"},
        "scene": 0,
        "scenes": [
            {"name": "yard", "nodes": list(range(len(nodes))), "extras": {"offset_m": list(offset), "grade": grade}}
        ],
        "nodes": nodes,
        "meshes": meshes,
        "materials": [_matt(opacity) for opacity in opacities],
        "accessors": buffer.accessors,
        "bufferViews": buffer.views,
        "buffers": [{"byteLength": len(buffer.data)}],
    }
    return _packed(tree, bytes(buffer.data))


def _matt(opacity: float) -> Mapping[str, object]:
    """A material without gloss that takes its colour from the vertices."""
    see_through = opacity < 1.0
    surface = {"metallicFactor": 0.0, "roughnessFactor": 1.0}
    return {
        "name": "see-through" if see_through else "matt",
        "pbrMetallicRoughness": surface | ({"baseColorFactor": [1.0, 1.0, 1.0, opacity]} if see_through else {}),
        "doubleSided": True,
        **({"alphaMode": "BLEND"} if see_through else {}),
    }


class _Buffer:
    """The binary part while it is being filled."""

    def __init__(self) -> None:
        self.data = bytearray()
        self.views: list[Mapping[str, object]] = []
        self.accessors: list[Mapping[str, object]] = []

    def add(self, values: NDArray[np.generic], kind: str, component: int, target: int, **more: object) -> int:
        """Append an array; answer the number of its accessor."""
        written = values.tobytes()
        self.views.append({"buffer": 0, "byteOffset": len(self.data), "byteLength": len(written), "target": target})
        self.data += written + b"\0" * (-len(written) % 4)
        count = values.size if kind == "SCALAR" else len(values)
        view = len(self.views) - 1
        self.accessors.append({"bufferView": view, "componentType": component, "count": count, "type": kind, **more})
        return len(self.accessors) - 1


def _primitive(buffer: _Buffer, body: Body) -> Mapping[str, object]:
    upright = _upright(body.vertices).astype("<f4")
    bounds = {"min": upright.min(axis=0).astype(float).tolist(), "max": upright.max(axis=0).astype(float).tolist()}
    attributes = {"POSITION": buffer.add(upright, "VEC3", _FLOAT, _VERTICES, **bounds)}
    if not body.closed:
        # A surface is lit smoothly; a solid has sharp edges, which viewers light by its faces.
        attributes["NORMAL"] = buffer.add(_upright(_normals(body)).astype("<f4"), "VEC3", _FLOAT, _VERTICES)
    if body.colours is not None:
        colours = np.column_stack([linear(body.colours), np.ones(len(body.colours))])
        shorts = np.rint(np.clip(colours, 0.0, 1.0) * 65535.0).astype("<u2")
        attributes["COLOR_0"] = buffer.add(shorts, "VEC4", _SHORT, _VERTICES, normalized=True)
    # Short numbers where they reach: half the bytes. The last one may not be used (section 3.7.2.1).
    short = len(body.vertices) < _LAST_SHORT
    faces = body.faces.astype("<u2" if short else "<u4").ravel()
    indices = buffer.add(faces, "SCALAR", _SHORT if short else _INT, _FACES)
    return {"attributes": attributes, "indices": indices}


def _upright(vertices: Array) -> Array:
    """East, north, up as X, Y (up) and Z (south)."""
    return np.column_stack([vertices[:, 0], vertices[:, 2], -vertices[:, 1]])


def _normals(body: Body) -> Array:
    """(n, 3) unit normals: the mean of those of the faces about each vertex, by their area."""
    first, second, third = (body.vertices[body.faces[:, corner]] for corner in range(3))
    across = np.cross(second - first, third - first)
    total = np.zeros_like(body.vertices)
    for corner in range(3):
        np.add.at(total, body.faces[:, corner], across)
    length = np.linalg.norm(total, axis=1, keepdims=True)
    return np.where(length > 0.0, total / np.where(length > 0.0, length, 1.0), np.array([0.0, 0.0, 1.0]))


def _packed(tree: Mapping[str, object], binary: bytes) -> bytes:
    """Header, JSON chunk and binary chunk, each padded to four bytes."""
    text = json.dumps(tree, separators=(",", ":"), allow_nan=False).encode()
    text += b" " * (-len(text) % 4)
    whole = 12 + 8 + len(text) + 8 + len(binary)
    head = struct.pack("<4sII", b"glTF", 2, whole)
    return head + struct.pack("<I4s", len(text), b"JSON") + text + struct.pack("<I4s", len(binary), b"BIN\0") + binary
