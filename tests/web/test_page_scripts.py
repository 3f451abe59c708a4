"""What computes in the pages' scripts, tested under node where there is one."""

from __future__ import annotations

import shutil
import subprocess

import pytest
from live_yards import ROOT


def node() -> str:
    """Where node is; skips the test where there is none."""
    found = shutil.which("node")
    if found is None:
        pytest.skip("no node on this machine (Debian: apt-get install nodejs)")
    return found


def test_what_the_scripts_compute() -> None:
    tests = sorted(map(str, (ROOT / "tests" / "web" / "scripts").glob("*.test.js")))
    assert tests
    ran = subprocess.run([node(), "--test", *tests], capture_output=True, text=True, timeout=120, check=False)
    assert ran.returncode == 0, ran.stdout
