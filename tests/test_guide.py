"""The guide: built by one command with no broken reference, and its first page leads from the tape to the order."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from packed import outside

import terrain

FIRST = "examples/guide/index.md"


def blocks(page: str, language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```", page, re.MULTILINE | re.DOTALL)


def built(root: Path, into: Path) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "mkdocs", "build", "--strict", "--config-file", ".ci/guide.yml", "-d", str(into)]
    return subprocess.run(command, cwd=root, capture_output=True, text=True, timeout=300, check=False)


@pytest.mark.slow
def test_the_guide_is_built_whole_and_no_reference_is_broken(root: Path, tmp_path: Path) -> None:
    pytest.importorskip("mkdocs")
    pytest.importorskip("mkdocstrings")
    ended = built(root, tmp_path / "guide")
    assert ended.returncode == 0, ended.stderr
    library = (tmp_path / "guide" / "library.html").read_text(encoding="utf-8")
    for name in terrain.__all__:
        assert re.search(rf'<h2 id="terrain\.[\w.]*{name}"', library), name
    assert 'id="viewer.plots.whole_pages.plot_plan"' in library or 'id="viewer.plots.plot_plan"' in library
    assert "<ul>" in (tmp_path / "guide" / "changes.html").read_text(encoding="utf-8") or not (root / ".git").exists()


@pytest.mark.slow
def test_a_broken_reference_stops_the_build(root: Path, tmp_path: Path) -> None:
    pytest.importorskip("mkdocs")
    pytest.importorskip("mkdocstrings")
    for name in (".ci", "examples/guide"):
        shutil.copytree(root / name, tmp_path / "tree" / name)
    for name in ("terrain", "viewer"):
        (tmp_path / "tree" / name).symlink_to(root / name)
    with (tmp_path / "tree" / FIRST).open("a", encoding="utf-8") as page:
        page.write("\n[a page](no-such-page.md) [a part](commands.md#no-such-part)\n")
    ended = built(tmp_path / "tree", tmp_path / "guide")
    assert ended.returncode != 0
    for broken in ("no-such-page", "no-such-part"):
        assert re.search(rf"WARNING\b.*{broken}", ended.stderr), "each alone would stop it"


@pytest.mark.slow
def test_the_first_page_leads_to_the_order_that_it_shows(root: Path, tmp_path: Path) -> None:
    """Every line to type is typed, in its order; what the page shows of the answers stands in them."""
    page = (root / FIRST).read_text(encoding="utf-8")
    lines = [line for block in blocks(page, "sh") for line in block.splitlines()]
    answers, *shown = blocks(page, "text")
    assert [line.split()[1] for line in lines] == ["new", "shape", "ground", "setout", "crew"]
    said = ""
    path = {**outside(root), "PYTHONPATH": f"{root}:{root / 'cli' / 'door'}"}
    for line in lines:
        command = [sys.executable, "-m", "hummock", *line.split()[1:]]
        ended = subprocess.run(
            command, input=answers, cwd=tmp_path, env=path, capture_output=True, text=True, timeout=300, check=False
        )
        assert ended.returncode == 0, f"{line}: {ended.stderr}"
        said += ended.stdout
    for block in shown:
        assert " ".join(block.split()) in " ".join(said.split())
    for name in re.findall(r"`(\w+\.(?:png|pdf))`", page):
        assert (tmp_path / "my-yard" / "out" / name).is_file(), name


def test_what_cites_the_tool_names_its_version_and_licence(root: Path) -> None:
    """The keys that edition 1.2.0 of the Citation File Format asks for (citation-file-format.github.io)."""
    project = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    text = (root / ".citation.cff").read_text(encoding="utf-8")
    told = dict(re.findall(r"^([\w-]+): *(.*)$", text, re.MULTILINE))
    assert {"cff-version", "message", "title", "authors"} <= set(told)
    assert (told["version"], told["license"]) == (project["version"], project["license"])
