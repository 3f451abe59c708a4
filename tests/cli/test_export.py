"""`hummock export` as a person runs it."""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
import trimesh
from small_yard import small_yard
from yards import results

from cli.export import export
from cli.export_files import KNOWN, OF_EARTH, wanted
from terrain.earth.laid import named_system
from terrain.errors import InputError
from terrain.extras import how_to_install
from terrain.files.check import read_bodies
from terrain.files.formats import FORMATS

SITE = "examples/larkspur-rise/site.toml"
MAPS = ("plan", "sections", "cutfill", "slope", "hillshade")
EYES = ("eye_house_window", "eye_street", "eye_path")
FILES = {
    *("yard.glb", "yard.obj", "yard.dxf", "surfaces.xml", "table-model.stl", "table-model.3mf"),
    *(f"{name}.{kind}" for name in ("existing", "proposed", "fill") for kind in ("ply", "tif")),
    "placed.tif",
    *(f"{name}.local.json" for name in ("bed", "contours", "findings", "shots", "stakes", "yard", "zones")),
    *("points.csv", "design.csv", "stakes.csv", "stakes-known.csv"),
}


@pytest.fixture(scope="module")
def exported(tmp_path_factory: pytest.TempPathFactory, coarse: Path, hummock: Callable) -> tuple:
    """One run with every format but the drawings: how it ended, and its folder."""
    folder = tmp_path_factory.mktemp("export") / "out"
    formats = ",".join(name for name in FORMATS if name not in OF_EARTH)
    words = ("--to", formats, "--scale", "1:50", "--base", "4 mm", "--contours", "25 cm", "--out", folder)
    return hummock("export", coarse / SITE, *words), folder


def test_every_format_is_written(exported: tuple) -> None:
    ended, folder = exported
    assert ended.returncode == 0, ended.stderr
    assert results(folder) == FILES
    assert all(path.stat().st_size > 0 for path in folder.iterdir())


def test_the_terminal_says_what_was_written_and_how_true_it_is(exported: tuple) -> None:
    ended, _ = exported
    for words in (
        "triangles, within",
        "Table model at 1:50",
        "plate 4 mm",
        "Contours every 0.250 m",
        "as surveyed, in m",
        "Keep-offs: read back from fill.ply, proposed.ply, surfaces.xml, yard.glb, yard.obj; no soil lies inside any.",
    ):
        assert words in ended.stdout
    assert "\x1b[" not in ended.stdout


def test_the_table_model_has_the_scale_and_plate_wanted(exported: tuple) -> None:
    _, folder = exported
    model = trimesh.load(folder / "table-model.stl")
    yard = trimesh.load(folder / "proposed.ply")
    assert model.is_watertight
    assert model.extents[:2] == pytest.approx(yard.extents[:2] * 1000.0 / 50.0, abs=1e-2)
    assert model.extents[2] == pytest.approx(yard.extents[2] * 1000.0 / 50.0 + 4.0, abs=1e-2)


def test_the_model_to_look_at_has_its_trees(exported: tuple) -> None:
    bodies = read_bodies(exported[1] / "yard.glb")
    standing = ["buildings", "kept-clear", "keep-offs", "root-zones", "trees"]
    assert list(bodies) == ["existing", "proposed", "fill", *standing]
    assert trimesh.Trimesh(bodies["fill"].vertices, bodies["fill"].faces).is_watertight


@pytest.mark.slow
def test_json_stands_alone_on_standard_output(tmp_path: Path, coarse: Path, hummock: Callable) -> None:
    out = tmp_path / "out"
    ended = hummock("export", coarse / SITE, "--to", "PLY, csv", "--json", "--tolerance", "1 cm", "--out", out)
    assert ended.returncode == 0, ended.stderr
    printed = json.loads(ended.stdout)
    assert printed["format"] == "hummock-summary/2"
    proved = printed["keep_offs_proved"]
    assert (proved["files"], proved["trees"]) == (["fill.ply", "proposed.ply"], ["river birch", "sugar maple"])
    told = printed["export"]
    assert set(told["files"]) == results(out)
    assert told["mesh_tolerance_m"] == 0.01
    assert told["mesh_strays_m"] <= 0.01


@pytest.mark.slow
def test_shape_thins_its_meshes_to_a_stated_tolerance(tmp_path: Path, coarse: Path, hummock: Callable) -> None:
    ended = hummock("shape", coarse / SITE, "--json", "--out", tmp_path)
    assert ended.returncode == 0, ended.stderr
    told = json.loads(ended.stdout)
    assert told["mesh_tolerance_m"] == 0.003
    assert 0.0 < told["mesh_strays_m"] <= 0.003
    assert told["mesh_triangles"] == len(trimesh.load(tmp_path / "proposed.ply").faces)
    assert told["mesh_triangles"] < told["ground"]["nodes"] / 3


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("glb,dfx",), '"dfx" is not a known format. Did you mean dxf? Known: glb, obj, ply, stl, 3mf, dxf,'),
        (("papyrus",), '"papyrus" is not a known format. Known: glb,'),
        ((",",), "no format is named. Known: glb,"),
        (("stl", "100"), '"100" is not a scale. Accepted: 1:1 to 1:10000, such as 1:100, or "1 in = 8 ft".'),
        (("stl", "1:0"), '"1:0" is not a scale.'),
        (("stl", "1:50", "thick"), '--base: "thick" is not a length.'),
        (("stl", "1:50", "3 m"), '"3 m" is out of range. Accepted: 0.5 mm to 100 mm.'),
        (("glb", "1:50", "5 mm", "-1 mm"), '"-1 mm" is out of range. Accepted: 0 mm to 300 mm.'),
    ],
)
def test_an_option_that_cannot_be_is_refused_with_what_would_do(words: tuple[str, ...], said: str) -> None:
    given = (*words, *("glb", "1:100", "5 mm", "3 mm")[len(words) :])
    with pytest.raises(InputError, match=re.escape(said)):
        wanted(*given, "m")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--to", "glb,dfx"), '--to: "dfx" is not a known format. Did you mean dxf?'),
        (("--to", "dfx", "--to", "glb"), '--to: "dfx" is not a known format. Did you mean dxf?'),
        (("--to", "dxf", "--contours", "9 m"), "--contours: 9 m is more than the"),
        (("--to", "svg", "--paper", "napkin"), "--paper"),
    ],
)
def test_a_slip_gets_one_message_and_no_file(
    words: tuple[str, ...], said: str, coarse: Path, hummock: Callable, tmp_path: Path
) -> None:
    ended = hummock("export", coarse / SITE, "--out", tmp_path / "out", *words)
    assert ended.returncode == 2
    assert said in ended.stderr
    assert "Traceback" not in ended.stderr
    assert not (tmp_path / "out").exists()


@pytest.mark.slow
def test_all_writes_every_format_there_is(coarse: Path, hummock: Callable, tmp_path: Path) -> None:
    ended = hummock("export", coarse / SITE, "--to", "all", "--out", tmp_path)
    assert ended.returncode == 0, ended.stderr
    drawn = {f"{name}.{kind}" for name in (*MAPS, *EYES) for kind in ("png", "svg")}
    assert results(tmp_path) == FILES | drawn


def test_a_missing_library_is_named_before_any_work(
    root: Path, coarse: Path, hummock: Callable, tmp_path: Path
) -> None:
    (tmp_path / "hide").mkdir()
    (tmp_path / "hide/sitecustomize.py").write_text("import sys\nsys.modules['ezdxf'] = None\n", encoding="utf-8")
    around = {"PYTHONPATH": f"{tmp_path / 'hide'}:{root}"}
    ended = hummock("export", coarse / SITE, "--to", "dxf", "--out", tmp_path / "out", environment=around)
    assert ended.returncode == 2
    assert "--to dxf: writing this format needs the library ezdxf" in ended.stderr
    assert how_to_install("exchange") in ended.stderr.replace("\n", " ")
    assert not (tmp_path / "out").exists()


def test_all_leaves_out_what_cannot_be_written_here(monkeypatch: pytest.MonkeyPatch) -> None:
    for library in ("ezdxf", "rasterio"):
        monkeypatch.setitem(sys.modules, library, None)
    asked = wanted("all", "1:100", "5 mm", "3 mm", "m")
    assert asked.left_out == ("dxf", "geotiff")
    assert {*asked.formats, *asked.left_out} == set(KNOWN) - set(OF_EARTH)
    with pytest.raises(InputError, match="needs the library ezdxf"):
        wanted("glb,dxf", "1:100", "5 mm", "3 mm", "m")


@pytest.mark.slow
def test_what_was_left_out_is_said(root: Path, hummock: Callable, tmp_path: Path) -> None:
    (tmp_path / "hide").mkdir()
    hidden = "import sys\nfor name in ('ezdxf', 'rasterio'): sys.modules[name] = None\n"
    (tmp_path / "hide/sitecustomize.py").write_text(hidden, encoding="utf-8")
    around = {"PYTHONPATH": f"{tmp_path / 'hide'}:{root}"}
    site = small_yard(tmp_path / "yard")
    ended = hummock("export", site, "--to", "all", "--out", tmp_path / "out", environment=around)
    assert ended.returncode in (0, 1), ended.stderr
    assert "Left out: dxf, geotiff, which need ezdxf, rasterio. Install it" in ended.stdout
    assert {"yard.glb", "surfaces.xml", "bed.local.json", "plan.svg"} <= results(tmp_path / "out")
    assert not {"yard.dxf", "fill.tif"} & results(tmp_path / "out")


def test_the_help_explains_every_format() -> None:
    assert export.help is not None
    for name in KNOWN:
        assert f" {name} " in export.help.replace("\n", " "), name


def test_formats_come_once_each_in_the_order_of_the_help() -> None:
    asked = wanted("dxf, .GLB,glb", "1 : 20", "0.005", "0", "m")
    assert asked.formats == ("glb", "dxf")
    assert (asked.scale, asked.base, asked.tolerance) == (20.0, 0.005, 0.0)
    here = wanted("all", "1:100", "5 mm", "3 mm", "m", located=named_system("26915", "m", "crs"))
    assert here.formats == KNOWN
    assert wanted("all", "1:100", "5 mm", "3 mm", "m").formats == tuple(name for name in KNOWN if name not in OF_EARTH)
    with pytest.raises(InputError, match="not a known format"):
        wanted("glb dxf", "1:100", "5 mm", "3 mm", "m")


def test_a_bare_length_is_in_the_units_of_the_site_and_a_scale_may_be_feet_to_an_inch() -> None:
    asked = wanted("stl", "1 in = 8 ft", "0.02", "0.01", "ft")
    assert asked.scale == 96.0
    assert asked.base == pytest.approx(0.02 * 0.3048, rel=1e-12)
    assert asked.tolerance == pytest.approx(0.01 * 0.3048, rel=1e-12)
    with pytest.raises(InputError, match=r'--scale: "1 in = 0 ft" is not a scale'):
        wanted("stl", "1 in = 0 ft", "5 mm", "3 mm", "ft")
