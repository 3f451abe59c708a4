"""What `from terrain import ...` promises, in whatever order things are imported."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from setuptools.config.expand import find_packages
from shipped import study_of

import terrain

STEPS = "read_site, model_ground, shape_berm, measure_earthwork, review, natural_look, interpolate, Grid"
RUN = """
site = read_site("examples/larkspur-rise/site.toml")
ground = model_ground(site)
proposal = shape_berm(site, ground)
work = measure_earthwork(site, ground, proposal)
findings = review(site, ground, proposal, work)
assert findings and all(finding.level in ("note", "caution", "stop") for finding in findings)
"""


@pytest.mark.parametrize("name", terrain.__all__)
def test_every_public_name_is_there(name: str) -> None:
    assert callable(getattr(terrain, name))
    assert name in dir(terrain)


def test_a_wrong_name_is_an_attribute_error() -> None:
    with pytest.raises(AttributeError, match="attribute shape_bern"):
        terrain.shape_bern  # noqa: B018


@pytest.mark.parametrize(
    "before",
    [
        "import terrain.review.words",
        pytest.param("", marks=pytest.mark.slow),
        pytest.param("from terrain.review.proposal_review import review", marks=pytest.mark.slow),
    ],
)
def test_the_steps_run_whatever_was_imported_before(before: str, root: Path) -> None:
    """The folder `terrain.review` and the function of that name must not hide each other."""
    program = f"{before}\nfrom terrain import {STEPS}\n{RUN}"
    ended = subprocess.run(
        [sys.executable, "-c", program], cwd=root, capture_output=True, text=True, timeout=120, check=False
    )
    assert ended.returncode == 0, ended.stderr


def test_a_room_that_answers_to_a_call_offers_nothing_by_the_name_of_its_module(root: Path) -> None:
    """Its own kind of module stands in place of the loader's, which keeps the two apart: the first asked for wins."""
    rooms = [door for door in root.glob("[ctv]*/**/__init__.py") if "__class__ =" in door.read_text(encoding="utf-8")]
    assert {room.parent.name for room in rooms} >= {"review", "suggest"}
    for room in rooms:
        offered = re.findall(
            r"from \.(\w+) import ([^(\n]+|\([^)]+\))", room.with_suffix(".pyi").read_text(encoding="utf-8")
        )
        assert not [module for module, names in offered if re.search(rf"\bas {module}\b", names)], room


def test_the_face_alone_loads_no_heavy_package(root: Path) -> None:
    program = "import sys, terrain; print([name for name in ('numpy', 'shapely', 'scipy') if name in sys.modules])"
    ended = subprocess.run(
        [sys.executable, "-c", program], cwd=root, capture_output=True, text=True, timeout=60, check=False
    )
    assert ended.stdout.strip() == "[]"


def test_the_door_of_the_name_hands_on_all_that_the_library_offers(root: Path) -> None:
    program = (
        "import hummock, terrain\n"
        "assert set(terrain.__all__) < set(hummock.__all__) and 'plot_plan' in hummock.__all__\n"
        "assert all(callable(getattr(hummock, name)) for name in hummock.__all__)\n"
        "assert all(getattr(hummock, name) is getattr(terrain, name) for name in terrain.__all__)\n"
        "from importlib.metadata import version\n"
        "assert hummock.__version__ == version('hummock') and '__version__' in dir(hummock)\n"
        "try:\n    hummock.shape_bern\nexcept AttributeError as error:\n    assert 'shape_bern' in str(error)\n"
        "else:\n    raise AssertionError\n"
    )
    path = os.pathsep.join((str(root), str(root / "cli" / "door")))
    around = {**os.environ, "PYTHONPATH": path}
    for arguments, words in ((("-c", program), ""), (("-m", "hummock", "--help"), "Usage: hummock")):
        ended = subprocess.run(
            [sys.executable, *arguments], capture_output=True, text=True, timeout=60, check=False, env=around
        )
        assert ended.returncode == 0, ended.stderr
        assert words in ended.stdout


def test_the_door_of_the_name_is_installed_under_that_name(root: Path) -> None:
    settings = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"]
    where = {}
    found = find_packages(root_dir=root, fill_package_dir=where, namespaces=True, **settings["packages"]["find"])
    assert {"hummock", "terrain", "terrain.site", "cli", "viewer.web"} <= set(found)
    assert not [name for name in found if name.startswith("cli.door")]
    assert where["hummock"] == "cli/door/hummock"


def test_the_files_of_a_study_are_the_same_set_whoever_writes_them(root: Path, tmp_path: Path) -> None:
    study = study_of("larkspur-rise")
    written = terrain.write_files(study, tmp_path / "new" / "out")
    meshes = {f"{name}.{kind}" for name in ("existing", "proposed", "fill") for kind in ("glb", "stl", "ply")}
    assert {path.name for path in written} == meshes | {"summary.json"}
    assert all(path.stat().st_size > 0 for path in written)
    assert written == tuple(sorted((tmp_path / "new" / "out").glob("[!.]*")))
    (tmp_path / "taken").write_text("a file")
    with pytest.raises(terrain.InputError, match="this is a file"):
        terrain.write_files(study, tmp_path / "taken")
    with pytest.raises(terrain.InputError, match="write_files: study: a Site arrived"):
        terrain.write_files(study.site, tmp_path)
