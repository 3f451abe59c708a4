"""How commands end: the status tells what happened, one sentence says it, and every name prints everywhere."""

from __future__ import annotations

import io
import json
import os
import re
import stat
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from small_yard import small_yard

from cli.main import main

# A fault put in the way of a command, which runs as a process of its own: what a person meets.
FAULTY = """
import os, signal, tempfile
signal.signal(signal.SIGHUP, signal.SIG_DFL)  # which a run without a terminal leaves alone
import terrain.site
import terrain.site.read as reading
def boom(path, *more, **others):
    {fault}
terrain.site.read_site = reading.read_site = boom
tempfile.tempdir = os.environ["TMPDIR"] = {temporary!r}
"""
# What a compiler does that is interrupted: it makes an error of its own of whatever was raised within it.
TURNED = """import os, signal, time
    try:
        os.kill(os.getpid(), signal.SIGTERM); time.sleep(5)
    except BaseException as end:
        raise SystemError("of a compiler") from end"""
CODE_PAGES = ["ascii", "latin-1", "cp1252", "cp437", "cp932", "utf-8"]
NAMES = ["Łąka pod dębem: żółw", "築山の庭 №3", "Ærø – Straße “east” ½", "ｂｅｄ 🌳\u2028x", "מדשאה"]


def around(root: Path, **more: str) -> dict[str, str]:
    return {**os.environ, "PYTHONPATH": str(root), "COLUMNS": "80", **more}


@pytest.mark.parametrize(
    "fault",
    [
        "raise ValueError('no\\nline of ours')",
        pytest.param("raise OSError(5, 'odd')", marks=pytest.mark.slow),
        pytest.param("raise RecursionError", marks=pytest.mark.slow),
        pytest.param("raise MemoryError", marks=pytest.mark.slow),
        "raise type('Panic', (BaseException,), {})('of a compiled library')",
        pytest.param("assert False", marks=pytest.mark.slow),
    ],
)
def test_a_fault_of_ours_is_one_sentence_and_a_file_that_only_this_user_reads(
    hummock: Callable, tmp_path: Path, fault: str
) -> None:
    first = FAULTY.format(fault=fault, temporary=str(tmp_path))
    run = hummock("order", "site.toml", "--out", tmp_path / "out", first=first)
    assert run.returncode == 3
    assert run.stdout == ""
    assert run.stderr.count("\n") == 1
    assert "Traceback" not in run.stderr
    found = re.search(r"the file (\S+),", run.stderr)
    assert found, run.stderr
    kept = Path(found[1])
    assert kept.parent == tmp_path
    assert stat.S_IMODE(kept.stat().st_mode) == 0o600
    assert "Traceback" in kept.read_text(encoding="utf-8")
    assert "hummock order site.toml" in kept.read_text(encoding="utf-8")
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("fault", "status", "words"),
    [
        ("raise KeyboardInterrupt", 130, "stopped"),
        ("import os, signal; os.kill(os.getpid(), signal.SIGTERM); import time; time.sleep(5)", 143, "SIGTERM"),
        ("import os, signal; os.kill(os.getpid(), signal.SIGHUP); import time; time.sleep(5)", 129, "SIGHUP"),
        (TURNED, 143, "SIGTERM"),
        ("from terrain.errors import InputError; raise InputError('a', 'b.')", 2, "a: b."),
    ],
)
def test_every_other_end_has_its_status_and_its_words(
    hummock: Callable, tmp_path: Path, fault: str, status: int, words: str
) -> None:
    first = FAULTY.format(fault=fault, temporary=str(tmp_path))
    run = hummock("shape", "site.toml", "--out", tmp_path / "out", first=first)
    assert run.returncode == status
    assert words in run.stderr
    assert run.stderr.count("\n") == 1
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("page", CODE_PAGES)
def test_every_name_prints_on_every_code_page(page: str) -> None:
    """The streams alone, so that every pair is quick; whole commands follow."""
    script = (
        "import sys, click\nfrom cli.speech import any_name_prints\nwith any_name_prints():\n"
        " for name in sys.argv[1:]: click.echo(name + '\\n==='); click.echo(name + '\\n===', err=True)\n"
    )
    run = subprocess.run(
        [sys.executable, "-c", script, *NAMES],
        capture_output=True,
        env={**os.environ, "PYTHONIOENCODING": page},
        timeout=60,
        check=False,
    )
    assert run.returncode == 0, run.stderr
    coded = "utf-8" if page == "ascii" else page  # the library that prints takes ascii for a system without a setting
    for stream in (run.stdout, run.stderr):
        told = [one.strip("\r\n") for one in stream.decode(coded).split("===")[:-1]]
        assert len(told) == len(NAMES)
        assert all(len(said) >= len(name) / 2 for said, name in zip(told, NAMES, strict=True))
        if coded == "utf-8":
            assert told == NAMES


@pytest.mark.parametrize(
    ("command", "as_json"),
    [
        *(pytest.param(*one, marks=pytest.mark.slow) for one in (("order", True), ("trees", False))),
        *(pytest.param(*one, marks=pytest.mark.fuzz) for one in (("order", False), ("trees", True))),
        *(
            pytest.param(command, way, marks=pytest.mark.fuzz)
            for command in ("ground", "setout")
            for way in (False, True)
        ),
    ],
)
def test_commands_say_any_name_on_an_old_code_page(
    tmp_path: Path, command: str, as_json: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    site = small_yard(tmp_path / "yard", name="Łąka 築山")
    said = io.TextIOWrapper(io.BytesIO(), encoding="cp1252")
    monkeypatch.setattr(sys, "stdout", said)
    with pytest.raises(SystemExit) as end:
        main([command, str(site), *(["--json"] if as_json else [])])
    assert end.value.code in (0, 1)
    said.flush()
    told = said.buffer.getvalue().decode("cp1252")  # type: ignore[attr-defined]
    if as_json:
        assert json.loads(told)["site"] == "Łąka 築山"  # JSON loses no letter
    else:
        assert "Laka ??" in told


@pytest.mark.slow
def test_a_whole_command_runs_in_the_plain_locale(root: Path, tmp_path: Path) -> None:
    site = small_yard(tmp_path / "築山", name="Łąka 築山")
    plain = {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}
    command = [sys.executable, "-m", "cli.main", "order", str(site)]
    run = subprocess.run(command, capture_output=True, env=around(root, **plain), timeout=200, check=False)
    assert run.returncode in (0, 1), run.stderr
    assert run.stderr == b""


@pytest.mark.slow
def test_a_reader_that_goes_away_changes_nothing(root: Path, tmp_path: Path) -> None:
    site = small_yard(tmp_path / "yard")
    reading, writing = os.pipe()
    os.close(reading)
    command = [sys.executable, "-m", "cli.main", "order", str(site), "--json"]
    run = subprocess.run(command, stdout=writing, stderr=subprocess.PIPE, env=around(root), timeout=120, check=False)
    os.close(writing)
    assert run.returncode == 0
    assert run.stderr == b""
    assert (site.parent / "out/order.json").is_file()


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a file that is always full")
def test_a_full_standard_output_is_said(hummock: Callable, tmp_path: Path) -> None:
    site = small_yard(tmp_path / "yard")
    run = hummock("setout", site, "--json", first="import os\nos.dup2(os.open('/dev/full', os.O_WRONLY), 1)\n")
    assert run.returncode == 2
    assert "standard output cannot be written (No space left on device)" in run.stderr
