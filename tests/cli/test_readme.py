"""What the README, the guide, the starter and the help page promise is what the program does."""

from __future__ import annotations

import re
import shlex
from dataclasses import fields
from pathlib import Path

import click
import pytest

from cli.main import COMMANDS, hummock
from terrain.site.features import Basin, Channel, RetainedEdge, Terrace
from terrain.site.model import (
    Bed,
    Berm,
    Building,
    GridSpec,
    Heap,
    KeepClear,
    Site,
    Soil,
    Tree,
    TreeRule,
    ViewFrom,
    Walk,
)
from terrain.site.prices import Prices
from terrain.site.storm import Storm
from terrain.site.survey import Survey
from terrain.site.things import Thing

TABLES = (Site, Survey, Bed, Tree, TreeRule, KeepClear, Walk, Heap, Building, Berm, Soil, Prices, GridSpec, ViewFrom)
FEATURES = (Basin, Channel, Terrace, RetainedEdge, Storm, Thing)


LINKED = re.compile(r"!?\[[^\]]*\]\(([^)#]+)(?:#[^)]*)?\)")


@pytest.fixture(scope="module")
def readme(root: Path) -> str:
    return (root / "README.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def guide(root: Path) -> str:
    """Every page that a reader of the README is led to."""
    return "\n".join(path.read_text(encoding="utf-8") for path in sorted((root / "examples/guide").glob("*.md")))


def blocks(text: str, language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```", text, re.MULTILINE | re.DOTALL)


def keys() -> list[str]:
    """Every key of a site file that a command uses."""
    tables = (*TABLES, *FEATURES)
    names = {field.name for table in tables for field in fields(table) if field.metadata.get("written", True)}
    return sorted(names)


def test_the_first_two_shell_blocks_are_one_line_each(readme: str) -> None:
    first, second = blocks(readme, "sh")[:2]
    assert first == "sh .ci/setup && .venv/bin/hummock shape examples/alder-bend/site.toml\n"
    assert second == "sh .ci/setup test && .venv/bin/pytest -n 2 --dist worksteal\n"


def test_the_readme_is_read_in_a_few_minutes(readme: str) -> None:
    assert len(readme.splitlines()) < 150


def test_every_page_and_picture_that_is_linked_is_there(root: Path) -> None:
    pages = (root / "README.md", *(root / "examples").glob("**/*.md"))
    missing = [
        f"{page.name}: {link}"
        for page in pages
        for link in LINKED.findall(page.read_text(encoding="utf-8"))
        if not link.startswith("http") and not (page.parent / link).exists()
    ]
    assert len(pages) > 5
    assert not missing


def test_every_command_line_of_the_readme_and_the_guide_can_be_typed(readme: str, guide: str) -> None:
    """Each is parsed as far as its values: the command, its options, and how many names it takes."""
    lines = re.findall(r"\.venv[/\\](?:bin|Scripts)[/\\]hummock ([^`\n]*)", readme + guide)
    lines += re.findall(r"`hummock ([^`]*--[^`]*)`", readme)
    for line in lines:
        name, *words = shlex.split(line)
        found = hummock.get_command(click.Context(hummock), name)
        assert found is not None, line
        if words:
            found.make_context(name, words)
    assert len(lines) > 8


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_is_documented(command: str, guide: str) -> None:
    assert f"| `hummock {command} " in guide


@pytest.mark.parametrize("command", COMMANDS)
def test_every_option_is_documented_and_every_help_page_tells_the_exit_status(command: str, guide: str) -> None:
    found = hummock.get_command(click.Context(hummock), command)
    assert found is not None
    missing = [
        name
        for option in found.params
        for name in option.opts
        if name.startswith("--") and not re.search(rf"{name}\b", guide)
    ]
    assert not missing
    with click.Context(found, info_name=command) as context:
        page = found.get_help(context)
    assert page.count("Exit status") == 1
    assert all(f"{status} " in page[page.index("Exit status") :] for status in (0, 1, 2, 3))


def test_every_key_of_the_site_file_is_explained(guide: str) -> None:
    assert len(keys()) > 100
    assert not [key for key in keys() if not re.search(rf"`(\[*){key}(\]*)`", guide)], "in examples/guide"


@pytest.mark.parametrize("units", ["feet", "metres"])
def test_the_starter_shows_every_key(units: str, root: Path) -> None:
    starter = (root / f"cli/starter/{units}/site.toml").read_text(encoding="utf-8")
    shown = r"^(# *)?(\[+{}\]+|.*\b{} *=)"
    assert not [key for key in keys() if not re.search(shown.format(key, key), starter, re.MULTILINE)]


@pytest.mark.parametrize("folder", ["examples/alder-bend", "examples/larkspur-rise", "cli/starter/feet"])
def test_every_file_of_a_yard_says_that_it_is_invented(folder: str, root: Path) -> None:
    files = [path for path in (root / folder).iterdir() if path.suffix in {".toml", ".csv", ".geojson"}]
    assert len(files) >= 3
    for path in files:
        assert "nvented" in path.read_text(encoding="utf-8"), path.name


@pytest.mark.slow
def test_the_python_of_the_guide_runs(
    guide: str, root: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (snippet,) = blocks(guide, "python")
    monkeypatch.chdir(root)
    exec(snippet, {"__name__": "__main__"})
    assert "m3 loose" in capsys.readouterr().out
