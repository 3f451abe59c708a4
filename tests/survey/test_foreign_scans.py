"""Scans of other writers lie where their numbers say: unit, axes, and coordinates of seven digits."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from foreign_scans import SCANS, ForeignScan, height, on_side, yard_points

from terrain.errors import InputError
from terrain.survey.measured import ReadOptions, ScanWay
from terrain.survey.scans import ScanRead, read_scan

pytestmark = pytest.mark.usefixtures("forked_readers")


def read(path: Path, way: ScanWay | None = None, most: int = 400) -> ScanRead:
    return read_scan(path, path.name, ReadOptions("m", "m", most=most, scan=way or ScanWay()))


def refused(path: Path, way: ScanWay | None = None) -> str:
    with pytest.raises(InputError) as fault:
        read(path, way)
    message = str(fault.value)
    assert message.startswith(path.name)
    assert "\n" not in message
    return message


@pytest.mark.parametrize("scan", SCANS, ids=lambda scan: scan.name)
def test_a_scan_of_another_writer_lies_where_its_numbers_say(scan: ForeignScan, tmp_path: Path) -> None:
    path = tmp_path / scan.name
    scan.write(path)
    found = read(path, ScanWay(unit=scan.stated_unit, up=scan.stated_up))
    places = found.cells[:, :3] - scan.shift
    assert len(places) > 100
    assert np.abs(places[:, 2] - height(places)).max() < scan.within + 0.01 * (found.cell / 2) ** 2
    west, south = places[:, :2].min(axis=0)
    east, north = places[:, :2].max(axis=0)
    assert abs(west) < found.cell
    assert abs(south) < found.cell
    assert abs(east - 12.0) < found.cell
    assert abs(north - 9.0) < found.cell


def test_there_are_twenty_of_them_and_more() -> None:
    assert len({scan.name for scan in SCANS}) >= 20


def test_what_was_found_is_said_with_how_to_say_otherwise(tmp_path: Path) -> None:
    path = tmp_path / "s.xyz"
    np.savetxt(path, on_side(yard_points()), fmt="%.3f")
    notes = " ".join(read(path).notes)
    assert 'lies flat across y, which was taken as upward; else state up = "z".' in notes
    assert re.search(
        r"it is 1\d\.\d+ across, which makes a yard in metres; these were taken\. Else state its unit", notes
    )


def test_a_file_without_a_yards_size_in_any_unit_is_asked_about(tmp_path: Path) -> None:
    path = tmp_path / "s.xyz"
    np.savetxt(path, yard_points() * 1e7, fmt="%.1f")
    assert "makes no yard in any unit" in refused(path)
    read(path, ScanWay(unit=1e-7))


def test_a_ball_has_no_upward_axis(tmp_path: Path) -> None:
    path = tmp_path / "s.xyz"
    np.savetxt(path, np.random.default_rng(1).uniform(0.0, 10.0, (3000, 3)), fmt="%.3f")
    assert "nothing tells which of its axes is up" in refused(path)


def ply(path: Path, header: str, body: bytes = b"") -> Path:
    path.write_bytes(f"ply\n{header}end_header\n".encode() + body)
    return path


HEAD = "format binary_big_endian 1.0\nelement vertex {n}\nproperty float x\nproperty float y\nproperty float z\n"


def test_a_ply_of_the_other_byte_order_is_read_and_a_cut_one_refused(tmp_path: Path) -> None:
    points = yard_points()
    body = points.astype(">f4").tobytes()
    whole = ply(tmp_path / "s.ply", HEAD.format(n=len(points)), body)
    cells = read(whole).cells
    assert np.abs(cells[:, 2] - height(cells)).max() < 1e-3
    cut = ply(tmp_path / "c.ply", HEAD.format(n=len(points)), body[: len(body) // 2])
    assert refused(cut) == "c.ply: its header promises 9,450 points and it holds 4,725: it is cut. Fetch it again."


@pytest.mark.parametrize(
    ("header", "problem"),
    [
        ("element vertex 3\nproperty float x\n", "its header names no format that is known"),
        ("format ascii 1.0\nelement face 3\nproperty list uchar int vertex_indices\n", "do not come first"),
        ("format ascii 1.0\nelement vertex many\n", "its header is damaged"),
        ("format ascii 1.0\nelement vertex 3\nproperty list uchar int x\n", 'has the property "list uchar"'),
    ],
)
def test_a_strange_ply_is_refused_in_words(header: str, problem: str, tmp_path: Path) -> None:
    assert problem in refused(ply(tmp_path / "s.ply", header))


def test_numbers_of_32_bits_far_from_zero_are_told_or_refused(tmp_path: Path) -> None:
    near = yard_points() + np.array([30_000.0, 0.0, 0.0])
    far = yard_points() + np.array([512_340.0, 4_512_345.0, 0.0])
    told = read(ply(tmp_path / "n.ply", HEAD.format(n=len(near)), near.astype(">f4").tobytes()))
    assert "go in steps of 2 mm" in " ".join(told.notes)  # 2^-9 m between 16,384 and 32,768: IEEE 754
    problem = refused(ply(tmp_path / "f.ply", HEAD.format(n=len(far)), far.astype(">f4").tobytes()))
    assert "go in steps of 0.5 m" in problem


def test_a_line_of_a_text_that_is_no_point_is_named(tmp_path: Path) -> None:
    path = tmp_path / "s.xyz"
    rows = [f"{x:.3f} {y:.3f} {z:.3f}" for x, y, z in yard_points(300)]
    rows[200] = "end of part one"
    path.write_text("\n".join(rows), encoding="utf-8")
    assert refused(path).startswith("s.xyz row 201: three numbers do not start this line.")


def test_points_that_are_no_numbers_or_lie_beyond_any_yard_are_left_out(tmp_path: Path) -> None:
    path = tmp_path / "s.xyz"
    points = yard_points()
    points[7], points[9] = (np.nan, 1.0, 1.0), (4.0e7, 1.0, 1.0)
    np.savetxt(path, points, fmt="%.3f")
    found = read(path)
    assert found.points == len(points) - 2
    assert "1 points lie farther off than any yard" in " ".join(found.notes)


def test_a_scan_as_shots_is_pointed_to_its_key(tmp_path: Path) -> None:
    from terrain.survey.readers.read import read_measured

    (tmp_path / "s.ply").write_bytes(b"ply\n")
    with pytest.raises(InputError, match=r'Bring it as a scan: scan = \{ file = "s.ply", marks'):
        read_measured(tmp_path / "s.ply", "s.ply", ReadOptions("m", "m"))


def test_memory_stays_bounded_by_larger_cubes(monkeypatch: pytest.MonkeyPatch) -> None:
    from terrain.survey.readers import voxels

    monkeypatch.setattr(voxels, "_MOST", 12_000)
    monkeypatch.setattr(voxels, "_WAITING", 15_000)
    made = voxels.Voxels()
    chance = np.random.default_rng(2)
    total = np.zeros(3)
    for _ in range(8):
        points = chance.uniform((0, 0, 0), (60.0, 60.0, 8.0), (3_000, 3))
        total += points.sum(axis=0)
        made.add(np.column_stack([points, np.zeros(len(points))]))
    means, counts = made.means()
    assert made.side > 0.02
    assert len(means) <= 12_000
    assert counts.sum() == 24_000
    assert np.abs(counts @ means[:, :3] - total).max() < 1e-3  # every point has its part in one mean


def test_the_window_is_kept(tmp_path: Path) -> None:
    import shapely

    path = tmp_path / "s.xyz"
    np.savetxt(path, yard_points(), fmt="%.3f")
    asked = ReadOptions("m", "m", most=400, window=shapely.box(2.0, 2.0, 6.0, 6.0), scan=ScanWay(unit=1.0, up="z"))
    cells = read_scan(path, "s.xyz", asked).cells
    assert cells[:, :2].min() > 1.9
    assert cells[:, :2].max() < 6.1
    with pytest.raises(InputError, match="holds 0 points within the stated distance of the bed"):
        read_scan(path, "s.xyz", replace(asked, window=shapely.box(200.0, 2.0, 206.0, 6.0)))
