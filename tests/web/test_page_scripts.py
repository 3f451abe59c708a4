"""The pages' scripts: what they compute under node, and, where its packages are installed, their lint and types."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest
from live_yards import ROOT

from viewer.web.assemble import asset
from viewer.web.measures import NAME, measures_module

SCRIPTS = ROOT / "tests" / "web" / "scripts"


def node() -> str:
    """Where node is; skips the test where there is none."""
    found = shutil.which("node")
    if found is None:
        pytest.skip("no node on this machine (Debian: apt-get install nodejs)")
    return found


def npx(*words: str) -> subprocess.CompletedProcess[str]:
    """Run one of the installed checkers; skips the test where they are not installed."""
    checker = SCRIPTS / "node_modules" / ".bin" / words[0]
    if not checker.exists():
        pytest.skip("the scripts' checkers are not installed (npm ci in tests/web/scripts)")
    command = [node(), str(checker), *words[1:]]
    return subprocess.run(command, capture_output=True, text=True, timeout=300, check=False, cwd=ROOT)


def test_what_the_scripts_compute() -> None:
    tests = sorted(map(str, SCRIPTS.glob("*.test.js")))
    assert tests
    ran = subprocess.run([node(), "--test", *tests], capture_output=True, text=True, timeout=120, check=False)
    assert ran.returncode == 0, ran.stdout


@pytest.mark.slow
def test_the_scripts_pass_their_lint() -> None:
    config = str(SCRIPTS / "eslint.config.js")
    ran = npx("eslint", "--config", config, "--max-warnings", "0", "viewer/web/assets", "tests/web/scripts")
    assert ran.returncode == 0, ran.stdout + ran.stderr


@pytest.mark.slow
def test_the_scripts_pass_their_types() -> None:
    ran = npx("tsc", "--project", str(SCRIPTS / "tsconfig.json"))
    assert ran.returncode == 0, ran.stdout


def test_measures_are_the_librarys_and_stand_once() -> None:
    assert asset(NAME) == measures_module()
    assert "export const FOOT = 0.3048;" in asset(NAME)  # exact, NIST SP 811 (2008), appendix B.6
    assert "export const INCH = 0.0254;" in asset(NAME)
    scripts: list[Path] = [path for path in (ROOT / "viewer/web/assets").glob("*.js") if path.name != NAME]
    assert not [path.name for path in scripts if re.search(r"0\.3048|0\.0254|0\.9144|0\.7645", path.read_text())]


def test_the_lock_file_names_no_host_to_load_from() -> None:
    text = (SCRIPTS / "package-lock.json").read_text()
    assert '"resolved"' not in text
    assert "registry" not in text
