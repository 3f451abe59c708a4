"""Wheel and sdist hold what they should and nothing else; no foreign package takes the place of one of ours."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tarfile
import tomllib
import zipfile
from email import message_from_string
from pathlib import Path
from typing import Any

import pytest
from markdown_it import MarkdownIt
from packed import built, copied


@pytest.fixture(scope="module")
def project(root: Path) -> dict[str, Any]:
    found: dict[str, Any] = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    return found


def test_no_requirement_is_written_twice(project: dict[str, Any]) -> None:
    extras = project["optional-dependencies"]
    written = [re.split(r"[<>=~!]", one)[0] for part in (project["dependencies"], *extras.values()) for one in part]
    own = [name for name in written if name.startswith("hummock[")]
    assert len(own) > 1, "the extras `all` and `test` name others"
    assert {extra for name in own for extra in name[8:-1].split(",")} <= set(extras)
    others = sorted(set(written) - set(own))
    assert [name for name in others if written.count(name) > 1] == []


def test_the_licence_is_an_expression_and_no_address_is_made_up(project: dict[str, Any], root: Path) -> None:
    assert project["license"] == "MIT"
    assert all((root / name).is_file() for name in project["license-files"])
    assert "urls" not in project, "there is no address yet; one that is added must lead somewhere"
    assert not [one for one in project["classifiers"] if one.startswith("License ::")], "PEP 639: one or the other"


def shown_by_a_registry(metadata: str, root: Path) -> None:
    """What is told of a package is the README whole, but that nothing in it leads where only the repository is."""
    told = message_from_string(metadata)
    assert told["Description-Content-Type"] == "text/markdown"
    here, shown = (
        [one for block in MarkdownIt().parse(text) for one in (block, *(block.children or ()))]
        for text in ((root / "README.md").read_text(encoding="utf-8"), told.get_payload())
    )
    assert [one for one in here if one.type == "image"], "the README has pictures"
    for kind, key in (("image", "src"), ("link_open", "href")):
        assert [
            one.attrs[key] for one in shown if one.type == kind and not str(one.attrs[key]).startswith("https:")
        ] == []
    for kind in ("heading_open", "fence", "code_block", "tr_open"):
        assert len([one for one in here if one.type == kind]) == len([one for one in shown if one.type == kind])
    words = " ".join(one.content for one in shown if one.type in ("text", "code_inline"))
    assert "examples/guide/commands.md" in words, "where to look stands there in words"


@pytest.mark.slow
def test_wheel_and_sdist_hold_what_stands_here_and_nothing_stale(root: Path, tmp_path: Path) -> None:
    tree = copied(root, tmp_path / "tree")
    stale = tree / "build" / "lib" / "terrain" / "left_over.py"
    stale.parent.mkdir(parents=True)
    stale.write_text("raise SystemExit\n")
    (tree / "examples" / "alder-bend" / "out").mkdir()
    (tree / "examples" / "alder-bend" / "out" / "plan.pdf").touch()
    standing = {str(path.relative_to(tree)) for path in tree.rglob("*") if path.is_file()}
    standing -= {str(stale.relative_to(tree)), "examples/alder-bend/out/plan.pdf"}

    sdist = built(tree, "sdist", tmp_path / "sdist")
    with tarfile.open(sdist) as packed:
        packed.extractall(tmp_path / "unpacked", filter="data")
    (top,) = (tmp_path / "unpacked").iterdir()
    held = {str(path.relative_to(top)) for path in top.rglob("*") if path.is_file()}
    added = {"PKG-INFO", "setup.cfg"} | {name for name in held if name.startswith("hummock.egg-info/")}
    assert held - added == standing, "README's two commands work from it"
    assert os.access(top / ".ci" / "setup", os.R_OK)

    shown_by_a_registry((top / "PKG-INFO").read_text(encoding="utf-8"), root)
    wheels = [built(tree, "wheel", tmp_path / "one"), built(top, "wheel", tmp_path / "two")]
    names = []
    for wheel in wheels:
        with zipfile.ZipFile(wheel) as packed_wheel:
            names.append(sorted(packed_wheel.namelist()))
            (told,) = [name for name in names[-1] if name.endswith(".dist-info/METADATA")]
            shown_by_a_registry(packed_wheel.read(told).decode(), root)
    assert names[0] == names[1], "one and the same wheel from clone and sdist"
    inside = {name for name in names[0] if ".dist-info/" not in name}
    assert {name.partition("/")[0] for name in inside} == {"hummock", "terrain", "viewer", "cli"}
    assert {f"{name}/py.typed" for name in ("hummock", "terrain", "viewer", "cli")} <= inside
    modules = {name for name in standing if name.endswith((".py", ".pyi")) and not name.startswith(("tests", ".ci"))}
    assert {name for name in inside if name.endswith((".py", ".pyi"))} == {
        name.removeprefix("cli/door/") for name in modules
    }


@pytest.mark.parametrize("name", ["terrain", "viewer", "cli"])
def test_a_foreign_package_that_stands_in_the_way_is_named(name: str, root: Path, tmp_path: Path) -> None:
    (tmp_path / name).mkdir()
    (tmp_path / name / "__init__.py").touch()
    path = os.pathsep.join((str(tmp_path), str(root / "cli" / "door"), str(root)))
    for arguments, status in ((["-m", "hummock", "--help"], 2), (["-c", "from hummock import read_site"], 1)):
        ended = subprocess.run(
            [sys.executable, *arguments],
            cwd=root / "tests",
            env={**os.environ, "PYTHONPATH": path},
            capture_output=True,
            text=True,
            timeout=60,
            check=False,
        )
        assert ended.returncode == status
        assert f'another package named "{name}"' in ended.stderr
        assert str(tmp_path) in ended.stderr
        assert ("Traceback" in ended.stderr) == (status == 1)
