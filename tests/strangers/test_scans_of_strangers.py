"""Scans that lie: what they promise, what they name, and numbers that no place has."""

from __future__ import annotations

import json
import struct
from pathlib import Path

import numpy as np
import pytest

from terrain.errors import InputError
from terrain.survey.measured import ReadOptions, ScanWay
from terrain.survey.scans import ScanRead, read_scan

ASKED = ReadOptions("m", "m", scan=ScanWay(unit=1.0, up="z"))
SECRET = "root:x:0:0:somebody:/root:/bin/sh\n"


def read_or_refused(path: Path) -> ScanRead | str:
    try:
        return read_scan(path, path.name, ASKED)
    except InputError as fault:
        return str(fault)


def refused(path: Path) -> str:
    message = read_or_refused(path)
    assert isinstance(message, str)
    assert message.startswith(path.name)
    assert "\n" not in message
    assert "Traceback" not in message
    assert "somebody" not in message
    return message


def glb(path: Path, tree: dict[str, object], body: bytes = b"") -> Path:
    """A binary glTF as its specification (2.0, section 4.4) lays it out."""
    text = json.dumps(tree).encode("ascii")
    text += b" " * (-len(text) % 4)
    chunks = struct.pack("<II", len(text), 0x4E4F534A) + text
    chunks += struct.pack("<II", len(body), 0x004E4942) + body if body else b""
    path.write_bytes(struct.pack("<III", 0x46546C67, 2, 12 + len(chunks)) + chunks)
    return path


def mesh_tree(count: int, uri: str = "") -> dict[str, object]:
    return {
        "asset": {"version": "2.0"},
        "buffers": [{"byteLength": 36, **({"uri": uri} if uri else {})}],
        "bufferViews": [{"buffer": 0, "byteLength": 36}],
        "accessors": [{"bufferView": 0, "componentType": 5126, "count": count, "type": "VEC3"}],
        "meshes": [{"primitives": [{"attributes": {"POSITION": 0}}]}],
        "nodes": [{"mesh": 0}],
        "scenes": [{"nodes": [0]}],
        "scene": 0,
    }


@pytest.mark.usefixtures("forked_readers")
def test_a_model_that_names_another_file_does_not_read_it(tmp_path: Path) -> None:
    (tmp_path / "secret.bin").write_text(SECRET * 3, encoding="ascii")
    for uri in ("secret.bin", (tmp_path / "secret.bin").as_uri(), "/etc/passwd", "http://127.0.0.1:9/x"):
        refused(glb(tmp_path / "s.glb", mesh_tree(3, uri)))
    (tmp_path / "s.obj").write_text(
        "mtllib secret.bin\nusemtl a\nv 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n", encoding="ascii"
    )
    assert read_scan(tmp_path / "s.obj", "s.obj", ASKED).points > 0


@pytest.mark.parametrize("count", [4_000_000_000, 4, -1])
@pytest.mark.usefixtures("forked_readers")
def test_a_model_that_promises_more_than_it_holds_is_refused(count: int, tmp_path: Path) -> None:
    refused(glb(tmp_path / "s.glb", mesh_tree(count), bytes(36)))


@pytest.mark.parametrize(
    "faces",
    ["f 1 2 9", "f 0 0 0", "f -9 1 2", "f a b c", "f 1 2 3\n" + "f 1 2 3 " + "1 2 3 " * 50_000],
)
@pytest.mark.usefixtures("forked_readers")
def test_faces_without_corners_do_no_harm(faces: str, tmp_path: Path) -> None:
    path = tmp_path / "s.obj"
    path.write_text(f"v 0 0 0\nv 9 0 0\nv 0 9 0\n{faces}\n", encoding="ascii")
    found = read_or_refused(path)
    assert not isinstance(found, str) or found.startswith("s.obj")


@pytest.mark.parametrize("value", ["nan", "inf", "1e300", "-1e38"])
@pytest.mark.parametrize("ending", ["obj", "xyz", "ply"])
@pytest.mark.usefixtures("forked_readers")
def test_numbers_that_no_place_has_are_left_out_or_refused(value: str, ending: str, tmp_path: Path) -> None:
    path = tmp_path / f"s.{ending}"
    chance = np.random.default_rng(1)
    rows = [" ".join(f"{part:.3f}" for part in row) for row in chance.uniform((0, 0, 0), (9, 9, 0.02), (900, 3))]
    rows[5] = f"1 {value} 2"
    head = "ply\nformat ascii 1.0\nelement vertex 900\n" + "".join(f"property double {axis}\n" for axis in "xyz")
    text = {"obj": "v " + "\nv ".join(rows), "xyz": "\n".join(rows), "ply": head + "end_header\n" + "\n".join(rows)}
    path.write_text(text[ending] + "\n", encoding="ascii")
    found = read_or_refused(path)
    if isinstance(found, str):
        assert found.startswith(path.name)
    else:
        assert found.points == 899
        assert np.isfinite(found.cells).all()
        assert np.abs(found.cells[:, :2]).max() < 10.0


@pytest.mark.usefixtures("forked_readers")
def test_a_header_that_promises_thousands_of_millions_of_points(tmp_path: Path) -> None:
    axes = "".join(f"property float {axis}\n" for axis in "xyz")
    head = "ply\nformat {} 1.0\nelement vertex 4000000000\n" + axes + "end_header\n"
    for form, body in (("binary_little_endian", bytes(12_000)), ("ascii", b"0 0 0\n" * 1000)):
        (tmp_path / "s.ply").write_bytes(head.format(form).encode("ascii") + body)
        assert "promises 4,000,000,000 points and it holds 1,000: it is cut" in refused(tmp_path / "s.ply")


@pytest.mark.parametrize("ending", ["ply", "obj", "glb", "xyz", "pts", "las", "laz", "csv"])
@pytest.mark.usefixtures("forked_readers")
def test_what_is_no_scan_whatever_its_name_is_refused_in_words(ending: str, tmp_path: Path) -> None:
    path = tmp_path / f"s.{ending}"
    for data in (b"", b"\0" * 5000, SECRET.encode() * 50, bytes(range(256)) * 40, b"ply\nglTF" * 900, b"\n" * 9000):
        path.write_bytes(data)
        refused(path)


def test_a_line_without_end_takes_no_more_than_a_reader_may_have(tmp_path: Path) -> None:
    path = tmp_path / "s.xyz"
    path.write_bytes(b"1 2 3\n" + b"4" * 30_000_000)
    refused(path)
