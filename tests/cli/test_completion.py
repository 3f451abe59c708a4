"""What a shell is told when somebody presses the tabulator."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest


def told(asked: str, words: str, root: Path, **more: str) -> subprocess.CompletedProcess[str]:
    environment = {"PYTHONPATH": str(root), "PATH": "/usr/bin:/bin", "_HUMMOCK_COMPLETE": asked, "COMP_WORDS": words}
    command = [sys.executable, "-m", "cli.main"]
    return subprocess.run(command, env={**environment, **more}, capture_output=True, text=True, timeout=60, check=False)


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_each_shell_gets_its_lines(root: Path, shell: str) -> None:
    if shell == "bash" and subprocess.run(["bash", "-c", "true"], capture_output=True, check=False).returncode:
        pytest.skip("no bash here")
    ran = told(f"{shell}_source", "", root)
    assert ran.returncode == 0, ran.stderr
    assert "_HUMMOCK_COMPLETE" in ran.stdout


def test_commands_and_options_are_offered(root: Path) -> None:
    assert "plain,shape" in told("bash_complete", "hummock sh", root, COMP_CWORD="1").stdout
    options = told("bash_complete", "hummock setout --st", root, COMP_CWORD="2").stdout
    assert "plain,--stage" in options
