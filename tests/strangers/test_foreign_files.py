"""Foreign formats that lie: what they promise, what they name, and what becomes of the process that reads them."""

from __future__ import annotations

import struct
import threading
import time
from collections.abc import Callable
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from terrain.errors import InputError
from terrain.extras import how_to_install
from terrain.survey.measured import ReadOptions
from terrain.survey.readers.carried import answer, asked_of, measured_of, question
from terrain.survey.readers.read import read_measured

FEET = ReadOptions("ft", "ft")
SECRET = "root:x:0:0:somebody:/root:/bin/sh\n"


def refused(path: Path, asked: ReadOptions = FEET, seconds: float = 40.0) -> str:
    start = time.monotonic()
    with pytest.raises(InputError) as fault:
        read_measured(path, path.name, asked)
    assert time.monotonic() - start < seconds
    message = str(fault.value)
    assert message.startswith(path.name)
    assert "\n" not in message
    assert "somebody" not in message
    return message


# Height grids


def grid(path: Path, heights: np.ndarray | None = None, **more: Any) -> Path:
    rasterio = pytest.importorskip("rasterio")
    heights = np.arange(48.0).reshape(6, 8) if heights is None else heights
    rows, columns = heights.shape
    place = rasterio.transform.from_origin(500_000.0, 4_000_000.0, 1.0, 1.0)
    told = {"driver": "GTiff", "height": rows, "width": columns, "count": 1, "dtype": "float32", "crs": "EPSG:32614"}
    with rasterio.open(path, "w", transform=place, **{**told, **more}) as file:
        file.write(heights.astype("float32"), 1)
    return path


def virtual(source: object, raw: bool) -> str:
    """A virtual raster (as its own documentation gives the form) whose heights are the bytes of another file."""
    inner = (
        f'<SourceFilename relativeToVRT="0">{source}</SourceFilename><ImageOffset>0</ImageOffset>'
        "<PixelOffset>1</PixelOffset><LineOffset>4</LineOffset>"
        if raw
        else f"<SimpleSource><SourceFilename>{source}</SourceFilename><SourceBand>1</SourceBand></SimpleSource>"
    )
    kind = ' subClass="VRTRawRasterBand"' if raw else ""
    return (
        f'<VRTDataset rasterXSize="4" rasterYSize="4"><GeoTransform>0,1,0,0,0,-1</GeoTransform>'
        f'<VRTRasterBand dataType="Byte" band="1"{kind}>{inner}</VRTRasterBand></VRTDataset>'
    )


def test_a_grid_that_names_another_file_is_not_opened(tmp_path: Path) -> None:
    secret = tmp_path / "secret"
    secret.write_text(SECRET, encoding="utf-8")
    for name in (secret, "/etc/passwd"):
        (tmp_path / "s.tif").write_text(virtual(name, raw=True), encoding="utf-8")
        assert "not a GeoTIFF, whatever its name says" in refused(tmp_path / "s.tif")


def test_a_grid_that_names_an_address_calls_nobody(tmp_path: Path) -> None:
    called: list[str] = []

    class Listening(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            called.append(self.path)
            self.send_error(404)

        do_HEAD = do_GET

    with HTTPServer(("127.0.0.1", 0), Listening) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        address = f"/vsicurl/http://127.0.0.1:{server.server_port}/heights.tif"
        (tmp_path / "s.tif").write_text(virtual(address, raw=False), encoding="utf-8")
        refused(tmp_path / "s.tif")
        grid(tmp_path / "t.tif")
        (tmp_path / "t.tif.ovr").write_text(virtual(address, raw=False), encoding="utf-8")
        (tmp_path / "t.tif.msk").write_text(virtual(address, raw=False), encoding="utf-8")
        assert len(read_measured(tmp_path / "t.tif", "t.tif", FEET).shots) == 48
        server.shutdown()
    assert called == []


@pytest.mark.usefixtures("forked_readers")
def test_files_beside_a_grid_change_nothing(tmp_path: Path) -> None:
    alone = read_measured(grid(tmp_path / "a.tif"), "a.tif", FEET)
    path = grid(tmp_path / "b.tif")
    (tmp_path / "b.tif.aux.xml").write_text(
        '<PAMDataset><SRS>EPSG:4326</SRS><PAMRasterBand band="1"><Scale>1000</Scale><Offset>7</Offset>'
        "<NoDataValue>3</NoDataValue><UnitType>ft</UnitType></PAMRasterBand></PAMDataset>",
        encoding="utf-8",
    )
    (tmp_path / "b.tfw").write_text("100\n0\n0\n-100\n5\n5\n", encoding="utf-8")
    (tmp_path / "b.tif.msk").write_bytes(grid(tmp_path / "c.tif", np.zeros((6, 8))).read_bytes())
    beside = read_measured(path, "b.tif", FEET)
    np.testing.assert_array_equal(beside.shots, alone.shots)
    assert [note.replace("b.tif", "a.tif") for note in beside.notes] == list(alone.notes)


def test_millions_of_cells_from_a_few_bytes_are_refused(tmp_path: Path) -> None:
    rasterio = pytest.importorskip("rasterio")
    told = {"driver": "GTiff", "height": 5000, "width": 5000, "count": 1, "dtype": "float32"}
    with rasterio.open(tmp_path / "s.tif", "w", sparse_ok=True, tiled=True, blockxsize=4096, blockysize=4096, **told):
        pass
    assert (tmp_path / "s.tif").stat().st_size < 1000
    assert "25,000,000 cells, more than 4,000,000" in refused(tmp_path / "s.tif")


# Point clouds


def cloud(path: Path, count: int = 120_000) -> Path:
    laspy = pytest.importorskip("laspy")
    pytest.importorskip("lazrs")
    header = laspy.LasHeader(point_format=6, version="1.4")
    header.scales = [0.001] * 3
    las = laspy.LasData(header)
    las.x, las.y, las.z = np.random.default_rng(5).uniform(0, 100, (3, count))
    las.classification = np.full(count, 2)
    las.write(path)
    return path


@pytest.mark.parametrize(("ending", "found"), [("las", 72_000), ("laz", 50_000)])
@pytest.mark.usefixtures("forked_readers")
def test_a_cut_download_tells_promised_and_found(tmp_path: Path, ending: str, found: int) -> None:
    path = cloud(tmp_path / f"s.{ending}")
    whole = path.read_bytes()
    start = len(whole) - 120_000 * 30 if ending == "las" else 0  # a point of format 6 has 30 bytes
    path.write_bytes(whole[: start + (len(whole) - start) * 6 // 10])
    message = refused(path)
    assert f"promises 120,000 points, but {found:,} are there" in message
    assert "Fetch it again." in message


@pytest.mark.parametrize("ending", ["las", "laz"])
def test_a_header_that_promises_thousands_of_millions_is_refused(tmp_path: Path, ending: str) -> None:
    path = cloud(tmp_path / f"s.{ending}", 1000)
    data = bytearray(path.read_bytes())
    struct.pack_into("<Q", data, 247, 4_000_000_000)  # number of points, LAS specification 1.4 R15, table 3
    path.write_bytes(data)
    assert "promises 4,000,000,000 points, but" in refused(path)


@pytest.mark.parametrize("at", [100, 243], ids=["records", "records at the end"])  # tables 3 and 4
def test_a_header_that_promises_thousands_of_millions_of_records_is_refused(tmp_path: Path, at: int) -> None:
    path = cloud(tmp_path / "s.las", 1000)
    data = bytearray(path.read_bytes())
    struct.pack_into("<I", data, at, 4_000_000_000)
    path.write_bytes(data)
    assert "promises 4,000,000,000 records in" in refused(path)


# Drawings


def drawing(path: Path, draw: Callable[[Any], None]) -> Path:
    ezdxf = pytest.importorskip("ezdxf")
    made = ezdxf.new("R2010", units=2)
    made.layers.add("KERB")
    draw(made.modelspace())
    made.saveas(path)
    return path


ON = {"layer": "KERB"}
LINES = ReadOptions("ft", "ft", layers={"breaklines": ("KERB",)}, lines_only=True)
DRAWN: dict[str, tuple[Callable[[Any], Any], str]] = {
    "a circle without end": (
        lambda space: space.add_circle((0, 0), 1e12, dxfattribs=ON),
        "CIRCLE there is no line that can be followed: it is longer than 20 km",
    ),
    "an arc without end": (lambda space: space.add_arc((0, 0), 1e300, 0, 90, dxfattribs=ON), "ARC there is"),
    "a bulge without end": (
        lambda space: space.add_lwpolyline([(0, 0, 0, 0, 1e300), (9, 9, 0, 0, 0)], dxfattribs=ON),
        "LWPOLYLINE there is",
    ),
    "a net of faces": (lambda space: space.add_polymesh((4, 4), dxfattribs=ON), "POLYLINE there is no line"),
}


@pytest.mark.parametrize("case", DRAWN)
@pytest.mark.usefixtures("forked_readers")
def test_what_no_line_can_follow_is_refused_by_its_layer(tmp_path: Path, case: str) -> None:
    draw, words = DRAWN[case]
    assert words in refused(drawing(tmp_path / "s.dxf", draw), LINES)


@pytest.mark.usefixtures("forked_readers")
def test_a_null_axis_is_read_as_the_plain_one(tmp_path: Path) -> None:
    path = drawing(
        tmp_path / "s.dxf", lambda space: space.add_circle((0, 0, 7), 5, dxfattribs={**ON, "extrusion": (0, 0, 0)})
    )
    line = read_measured(path, "s.dxf", LINES).lines[0].points / 0.3048
    np.testing.assert_allclose(np.hypot(line[:, 0], line[:, 1]), 5.0, atol=0.05)


@pytest.mark.usefixtures("forked_readers")
def test_handles_that_are_none_end_in_words(tmp_path: Path) -> None:
    path = drawing(tmp_path / "s.dxf", lambda space: space.add_point((1, 2, 100), dxfattribs={"layer": "G"}))
    text = path.read_text(encoding="utf-8")
    assert "  5\n" in text
    path.write_text(text.replace("  5\n", "  5\nZZ not a handle ", 9), encoding="utf-8")
    assert "not a readable DXF drawing" in refused(path)


# The process itself

LOST = {
    "an abort": ("import os\nos.abort()\n", "the library that reads it gave up"),
    "a panic": ("class PanicException(BaseException): ...\nraise PanicException('index out of bounds')\n", "index out"),
    "an exit": ("import os\nos._exit(0)\n", "the library that reads it gave up"),
    "all memory": ("kept = []\nwhile True:\n    kept.append(bytearray(2**24))\n", "takes more memory"),
    "no end of depth": ("def deeper():\n    deeper()\ndeeper()\n", "maximum recursion depth"),
    "talk of its own": ("print('x' * 100000)\nraise ValueError('spoilt')\n", "spoilt"),
}


def with_library(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, text: str) -> Path:
    """A library in the place of the one that reads point clouds, and a file for it."""
    (tmp_path / "in").mkdir()
    (tmp_path / "in" / "laspy.py").write_text(text, encoding="utf-8")
    (tmp_path / "in" / "sitecustomize.py").write_text(
        f"import sys\nsys.path.insert(0, {str(tmp_path / 'in')!r})\n", encoding="utf-8"
    )
    monkeypatch.setenv("PYTHONPATH", str(tmp_path / "in"))
    (tmp_path / "s.las").write_bytes(b"LASF")
    return tmp_path / "s.las"


@pytest.mark.parametrize("case", LOST)
def test_a_reader_that_is_lost_is_one_sentence(tmp_path: Path, case: str, monkeypatch: pytest.MonkeyPatch) -> None:
    text, words = LOST[case]
    assert words in refused(with_library(tmp_path, monkeypatch, text))


@pytest.mark.slow
def test_a_reader_that_never_comes_back_is_stopped(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = with_library(tmp_path, monkeypatch, "while True:\n    pass\n")
    assert "takes more than 8 seconds of work" in refused(path, seconds=60.0)


def test_what_is_carried_comes_back_as_it_was(tmp_path: Path) -> None:
    import json

    from shapely.geometry import Point

    asked = ReadOptions("ft", "m", True, {"shots": ("A", "B")}, (2, 8), 77, Point(1 / 3, 2).buffer(7), lines_only=True)
    told = json.loads(question("cloud", tmp_path, "s", asked))
    assert asked_of(told["asked"]) == asked
    measured = read_measured(grid(tmp_path / "a.tif"), "a.tif", FEET)
    again = measured_of(answer(measured))
    np.testing.assert_array_equal(again.shots, measured.shots)
    assert (again.names, again.codes, again.notes) == (measured.names, measured.codes, measured.notes)
    with pytest.raises(ValueError, match="do not agree"):
        measured_of(answer(measured)[:-24])


@pytest.mark.parametrize(
    ("name", "library"), [("s.dxf", "ezdxf"), ("s.las", "laspy"), ("s.laz", "lazrs"), ("s.tif", "rasterio")]
)
def test_a_missing_library_is_named_with_its_cure(
    tmp_path: Path, name: str, library: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "hide").mkdir()
    hidden = tmp_path / "hide/sitecustomize.py"
    hidden.write_text(f"import sys\nsys.modules['{library}'] = None\n", encoding="utf-8")
    monkeypatch.setenv("PYTHONPATH", str(hidden.parent))  # the process that reads is a fresh one
    (tmp_path / name).write_bytes(b"anything")
    message = refused(tmp_path / name)
    assert f"needs the library {library}, which is not installed. {how_to_install('exchange')}" in message
