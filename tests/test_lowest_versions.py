"""CI runs the quick tests on the lowest versions that are promised: the list of them follows pyproject.toml."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

EXTRAS = ("exchange", "live", "maps", "notebook", "window", "test")
NOT_THERE = {"ipykernel", "lib3mf", "nbclient", "nbformat"}  # for slow tests alone, which run on the locked versions


def plain_name(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


def test_every_floor_is_the_version_that_ci_runs_on(root: Path) -> None:
    project = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = [one for extra in EXTRAS for one in project["optional-dependencies"][extra]]
    promised = [*project["dependencies"], *(one for one in extras if not one.startswith("hummock["))]
    listed = (root / ".ci" / "lowest.txt").read_text(encoding="utf-8")
    pins = {plain_name(name): pin for name, pin in re.findall(r"^([\w.-]+)==(\S+)$", listed, re.MULTILINE)}
    off = []
    for requirement in promised:
        name, floor = re.fullmatch(r"([\w.-]+)>=([\d.]+)", requirement).groups()
        if name in NOT_THERE:
            continue
        # A floor that never had a wheel for this Python stands for the first one of its series that has.
        if not (pins[plain_name(name)] + ".").startswith(floor + "."):
            off.append((name, floor, pins[plain_name(name)]))
    assert not off, "renew .ci/lowest.txt as DEVELOPERS.md says"


def test_ci_runs_the_quick_tests_on_them(root: Path) -> None:
    run = (root / ".ci" / "run").read_text(encoding="utf-8")
    assert "--requirement .ci/lowest.txt" in run
    assert "bash .ci/pythons" in run
    (started,) = re.findall(r"^    \.venv-lowest/bin/pytest -n 1 ", run, re.MULTILINE)
    waited = run.index('wait "$lowest" ||')  # what it answers is asked for once the other tests are done
    assert run.index(started) < run.index('eval "$test_command') < waited


def test_what_is_left_out_on_them_is_still_there(root: Path) -> None:
    left_out = (root / ".ci" / "lowest_left_out.txt").read_text(encoding="utf-8").splitlines()
    assert left_out
    assert not [name for name in left_out if not (root / name).exists()]
