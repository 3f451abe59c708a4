"""The wheel, installed outside the clone, runs every example of every help page.

Each is a fork of one process that stands ready with what was installed, as in tests/cli; a page that is served, which
runs until somebody stops it, is started afresh.
"""

from __future__ import annotations

import re
import shlex
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import click
import numpy as np
import pytest
from foreign_plans import Office, contours, existing, level_polylines, mound_contours, put_tree, ring, tree_block
from packed import built, copied, installed, outside
from ready_command import Ready, ready_command
from shipped import study_of

from cli.main import COMMANDS, hummock

sys.path.append(str(Path(__file__).parent / "waterworks"))
from stream_yard import write_yard

pytestmark = pytest.mark.slow
SERVED = ("--page", "--live")  # runs until somebody stops it
FROM_THERE = "import cli, terrain, viewer; assert all(m.__file__.startswith({home!r}) for m in (cli, terrain, viewer))"


def examples(command: str) -> list[list[str]]:
    """The words behind `hummock` of each example on a help page, in their order."""
    found = hummock.get_command(click.Context(hummock), command)
    assert found is not None
    lines = re.findall(r"^\s+hummock (.+)$", found.help or "", re.MULTILINE)
    return [shlex.split(line) for line in lines]


@pytest.fixture(scope="module")
def home(root: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the installation; no clone is near it."""
    folder = tmp_path_factory.mktemp("installed")
    return installed(built(copied(root, folder / "tree"), "wheel", folder), folder / "site")


@pytest.fixture(scope="module")
def ready(home: Path) -> Iterator[Ready]:
    with ready_command(home) as process:
        yield process


@pytest.fixture
def desk(root: Path, tmp_path: Path, request: pytest.FixtureRequest) -> Path:
    """A folder as the help pages take it: the shipped examples, somebody's yard, a photograph, a drawing."""
    shutil.copytree(root / "examples", tmp_path / "examples", ignore=shutil.ignore_patterns("out"))
    for name, cell in (("alder-bend", "8 in"), ("larkspur-rise", "20 cm")):  # wide cells: what is asked is that it runs
        with (tmp_path / "examples" / name / "site.toml").open("a", encoding="utf-8") as site:
            site.write(f'\n[grid]\ncell = "{cell}"\n')
    bend = tmp_path / "examples" / "alder-bend"
    for name in ("bed.csv", "shots.csv", "site.toml"):
        shutil.copy(bend / name, tmp_path)
    (tmp_path / "site.toml").rename(tmp_path / "old.toml")
    text = (tmp_path / "old.toml").read_text(encoding="utf-8")
    (tmp_path / "new.toml").write_text(text.replace('"22 in"', '"18 in"'), encoding="utf-8")
    for name in ("window.jpg", "yard.jpg"):
        shutil.copy(bend / "street.jpg", tmp_path / name)
    shutil.copy(bend / "street-marks.csv", tmp_path / "marks.csv")
    command = request.node.callspec.params["command"]
    if command == "stream":
        (tmp_path / "my-yard").mkdir()
        write_yard(tmp_path / "my-yard")
    elif command != "new":
        shutil.copytree(bend, tmp_path / "my-yard")
    if command == "asbuilt":
        _built(tmp_path / "my-yard")
    if command == "trees":
        _drawn(tmp_path / "plan.dxf")
    return tmp_path


def _built(yard: Path) -> None:
    """Shots on the mound of the first example, a little below its finished grade."""
    study = study_of("alder-bend")
    grid, fill = study.proposal.grid, study.proposal.fill
    on = grid.nodes[fill.ravel() > 0.1][::400]
    rows = np.column_stack([on, grid.sample(study.proposal.elevation, on) - 0.02]) / 0.3048
    lines = [f"{number},{x:.3f},{y:.3f},{z:.3f}" for number, (x, y, z) in enumerate(rows, start=1)]
    assert len(lines) > 9
    for name in ("asbuilt.csv", "next-spring.csv"):
        (yard / name).write_text("\n".join(["point,x,y,elevation", *lines]) + "\n", encoding="utf-8")


def _drawn(path: Path) -> None:
    """Somebody's plan with a layer each for the ground, the grading, the bed and the tree."""
    office = Office("R2010", 2)
    made, space = office.new()
    level_polylines(space, office, list(contours(existing, 0.1524)), "V-TOPO")
    level_polylines(space, office, mound_contours(0.1524), "L-GRAD")
    space.add_lwpolyline(office.at(ring()), close=True, dxfattribs={"layer": "LIMIT"})
    tree_block(made, "OAK", ("TAG", "DBH"))
    put_tree(space, office, "OAK", "TREE_EX", {"TAG": "oak", "DBH": "24 in"})
    made.saveas(path)


@pytest.mark.parametrize("command", COMMANDS)
def test_every_example_of_a_help_page_runs_where_the_wheel_is_installed(
    command: str, home: Path, ready: Ready, desk: Path
) -> None:
    lines = examples(command)
    assert lines, "a help page shows how"
    if any("--check" in words for words in lines):
        lines = sorted(lines, key=lambda words: "--check" in words)  # there must be results to check
    if ["new", "my-yard", "--page"] in lines:
        lines = [words if "--page" not in words else ["new", "another-yard", "--page"] for words in lines]
    for words in lines:
        if any(word in words for word in SERVED):
            status, said = _served(words, home, desk)
        else:
            ended = ready.run(words, desk, outside(home), FROM_THERE.format(home=str(home)))
            status, said = ended.returncode, ended.stderr
        assert status in (0, 1), f"{shlex.join(words)}: {said}"


def _served(words: list[str], home: Path, desk: Path) -> tuple[int, str]:
    """Start a page, read its link, and stop it as Control+C does."""
    command = [sys.executable, "-u", "-m", "hummock", *words, "--no-browser"]
    with subprocess.Popen(
        command, cwd=desk, env=outside(home), stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as page:
        assert page.stdout is not None
        link = page.stdout.readline()
        page.send_signal(signal.SIGINT)
        _, said = page.communicate(timeout=60)
    assert link.startswith("http://"), said
    return page.returncode, said


def test_what_runs_is_what_was_installed(home: Path, tmp_path: Path) -> None:
    program = "import cli.main, hummock, terrain, viewer; print(*(m.__file__ for m in (cli, hummock, terrain, viewer)))"
    ended = subprocess.run(
        [sys.executable, "-c", program], cwd=tmp_path, env=outside(home), capture_output=True, text=True, check=True
    )
    assert all(path.startswith(str(home)) for path in ended.stdout.split())
