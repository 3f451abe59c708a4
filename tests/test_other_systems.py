"""What only one system has stands in the few files that guard it, and what they do without it is tried here.

This cannot be run on Windows or macOS here: the rule is held on the text, and their ways by simulation.
"""

from __future__ import annotations

import ast
import errno
import importlib.util
import os
import re
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType, SimpleNamespace
from typing import ClassVar

import pytest
from test_architecture import ROOT, SOURCES, nodes_of

# Modules of one system, and the files that may ask for them: each does without where there is none.
OF_ONE_SYSTEM = {
    *("fcntl", "msvcrt", "resource", "termios", "tty", "pty", "pwd", "grp", "posix", "nt", "winreg", "winsound"),
    *("curses", "readline", "syslog", "spwd", "crypt", "_winapi", "ctypes"),
}
GUARDS = {
    ("terrain.files.locking", "fcntl"),
    ("terrain.files.locking", "msvcrt"),
    ("terrain.files.targets", "fcntl"),
    ("terrain.survey.readers.child", "resource"),
    ("viewer.pictures.window_child", "resource"),
    # ctypes is everywhere; what these call is of Linux, and they go on where it is not there.
    ("viewer.beside", "ctypes"),
}
# Names of `os` and `signal` that Windows lacks. A file that says one asks first: hasattr(os, "fork").
OF_UNIX = {
    *("fork", "forkpty", "setsid", "setpgid", "getpgid", "killpg", "getuid", "geteuid", "getgid", "getlogin", "nice"),
    *("sched_getaffinity", "sched_setaffinity", "uname", "mkfifo", "chown", "fchown", "lchown", "fchmod", "statvfs"),
    *("pread", "pwrite", "sync", "wait", "wait3", "wait4", "WNOHANG", "getloadavg", "posix_spawn", "ctermid"),
    *("O_NOFOLLOW", "O_NONBLOCK", "O_NOCTTY", "O_CLOEXEC", "O_DIRECTORY", "O_SYNC", "O_BINARY"),
    *("SIGHUP", "SIGKILL", "SIGALRM", "SIGUSR1", "SIGUSR2", "SIGCHLD", "SIGPIPE", "alarm", "setitimer", "pause"),
}
FORKS = {"viewer.beside"}  # says signals of Unix, in a fork alone
TEXT_CALLS = {"read_text", "write_text"}
# Places of one system, and fonts that only one has; a style sheet names such fonts and ends with a general one.
PLACES = re.compile(r"^(?:/(?:tmp|dev|proc|usr|etc|var|home|bin)(?:/|$)|[A-Za-z]:\\)")


def where(name: str, node: ast.AST) -> str:
    return f"{name} line {getattr(node, 'lineno', '?')}"


def asked_for(name: str) -> set[str]:
    """Names that a file asks for before it says them: hasattr(os, "fork"), getattr(os, "O_NOFOLLOW", 0)."""
    asks = [node for node in nodes_of(name) if isinstance(node, ast.Call) and getattr(node.func, "id", "") in ASKING]
    return {str(part.value) for node in asks for part in node.args if isinstance(part, ast.Constant)}


ASKING = ("hasattr", "getattr")


def imported(name: str) -> Iterator[tuple[str, ast.AST]]:
    for node in nodes_of(name):
        if isinstance(node, ast.Import):
            yield from ((part.name.split(".")[0], node) for part in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            yield node.module.split(".")[0], node


def test_modules_of_one_system_stand_in_the_files_that_guard_them() -> None:
    found = {(name, what) for name in SOURCES for what, _ in imported(name) if what in OF_ONE_SYSTEM}
    assert found - GUARDS == set()
    assert GUARDS - found == set(), "a guard that guards nothing"


def test_a_guard_does_without_what_it_guards() -> None:
    """The import stands under a condition on the system, or in a try that goes on without it."""
    for name, what in [one for one in GUARDS if one[1] != "ctypes"]:
        kept = [
            node
            for node in nodes_of(name)
            if isinstance(node, ast.If | ast.Try) and any(what in ast.unparse(part) for part in ast.walk(node))
        ]
        assert any(
            ("sys.platform" in ast.unparse(node.test))
            if isinstance(node, ast.If)
            else any("ImportError" in ast.unparse(one) for one in node.handlers)
            for node in kept
        ), f"{name} {what}"


def test_names_that_windows_lacks_are_asked_for_first() -> None:
    faults = [
        f"{where(name, node)}: {node.value.id}.{node.attr}"
        for name in SOURCES
        for node in nodes_of(name)
        if isinstance(node, ast.Attribute)
        and isinstance(node.value, ast.Name)
        and node.value.id in ("os", "signal")
        and node.attr in OF_UNIX
        and node.attr not in asked_for(name)
        and not (name in FORKS and node.value.id == "signal" and "fork" in asked_for(name))
    ]
    assert not faults


def test_a_file_is_put_in_place_of_another_on_every_system() -> None:
    """os.rename and Path.rename do not replace a file on Windows; os.replace does on all."""
    faults = [
        where(name, node)
        for name in SOURCES
        for node in nodes_of(name)
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Attribute)
        and node.func.attr in ("rename", "renames")
        and (len(node.args) == 1 or ast.unparse(node.func.value) == "os")  # of two names anything else renames no file
    ]
    assert not faults


def test_every_text_that_is_read_or_written_names_its_encoding() -> None:
    faults = [
        where(name, node) for name in SOURCES for node in nodes_of(name) if isinstance(node, ast.Call) and bare(node)
    ]
    assert not faults


def bare(call: ast.Call) -> bool:
    """Whether a call reads or writes text in whatever encoding the system has."""
    named = {key.arg for key in call.keywords}
    called = call.func.attr if isinstance(call.func, ast.Attribute) else getattr(call.func, "id", "")
    if called in TEXT_CALLS:
        return "encoding" not in named and not call.args[1:] and not (called == "read_text" and call.args)
    if called in ("Popen", "run", "check_output"):
        return bool(named & {"text", "universal_newlines"}) and "encoding" not in named
    owner = ast.unparse(call.func.value) if isinstance(call.func, ast.Attribute) else ""
    if called in ("open", "fdopen", "NamedTemporaryFile") and owner in ("", "os", "path", "tempfile"):
        mode = [
            part.value for part in (*call.args, *(k.value for k in call.keywords)) if isinstance(part, ast.Constant)
        ]
        opens_a_handle = owner == "os" and called == "open"
        return not opens_a_handle and "encoding" not in named and not any("b" in str(one) for one in mode)
    return False


def test_no_place_and_no_date_of_one_system_is_written_down() -> None:
    faults = [
        f"{where(name, node)}: {node.value}"
        for name in SOURCES
        for node in nodes_of(name)
        if isinstance(node, ast.Constant)
        and isinstance(node.value, str)
        and (PLACES.match(node.value) or re.fullmatch(r".*%-[a-zA-Z].*", node.value))
    ]
    assert not faults


def test_no_process_is_started_in_a_way_that_one_system_has() -> None:
    ways = {"preexec_fn", "start_new_session", "process_group", "close_fds", "pass_fds", "creationflags", "startupinfo"}
    faults = [
        where(name, node)
        for name in SOURCES
        for node in nodes_of(name)
        if isinstance(node, ast.Call) and ({key.arg for key in node.keywords} & {*ways, "shell"})
    ]
    assert not faults


def test_every_style_ends_with_a_font_that_each_system_has() -> None:
    general = re.compile(r"(?:serif|sans-serif|monospace|system-ui|inherit)$")
    sheets = sorted((ROOT / "viewer/web/assets").glob("*.css"))
    faults = [
        f"{sheet.name}: {fonts}"
        for sheet in sheets
        for fonts in re.findall(r"\bfont(?:-family)?:([^;}]+)", sheet.read_text(encoding="utf-8"))
        if not general.search(fonts.strip())
    ]
    assert len(sheets) >= 2
    assert not faults


def simulated(path: str, monkeypatch: pytest.MonkeyPatch, **modules: object) -> ModuleType:
    """A module of ours as it is loaded on Windows, with other modules in place of what only that has."""
    monkeypatch.setattr(sys, "platform", "win32")
    for name, module in modules.items():
        monkeypatch.setitem(sys.modules, name, module)
    spec = importlib.util.spec_from_file_location("simulated", ROOT / path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_lock_of_windows_keeps_a_second_writer_waiting(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    held: set[tuple[int, int]] = set()

    def locking(handle: int, mode: int, count: int) -> None:
        """One byte of a file, as msvcrt has it: held by whoever asks first, until that handle is closed."""
        place = os.fstat(handle).st_ino, count
        if place in held:
            raise OSError(errno.EACCES, "held")
        held.add(place)

    windows = simulated("terrain/files/locking.py", monkeypatch, msvcrt=SimpleNamespace(LK_NBLCK=2, locking=locking))
    path = tmp_path / ".lock"
    with windows.locked(path, "busy"):
        assert windows.is_held(path)
        with pytest.raises(windows.BusyError, match="busy"), windows.locked(path, "busy", patience=0.0):
            pass
    assert not path.exists()
    held.clear()
    with windows.locked(path, "busy", patience=0.0):
        assert path.exists()


def test_files_to_be_replaced_are_looked_at_without_locks_of_unix(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    windows = simulated("terrain/files/targets.py", monkeypatch)
    (tmp_path / "free.pdf").write_bytes(b"1")
    windows.refuse_held(tmp_path, ["free.pdf", "none.pdf"])
    (tmp_path / "held.pdf").write_bytes(b"1")
    open_as_ever = os.open

    def opened(path: Path, *rest: int) -> int:
        """As Windows answers for a file that a viewer holds open."""
        if Path(path).name == "held.pdf":
            raise PermissionError(errno.EACCES, "Permission denied", str(path))
        return open_as_ever(path, *rest)

    monkeypatch.setattr(os, "open", opened)
    with pytest.raises(Exception, match=r"held\.pdf: this file cannot be replaced .*another program may hold it"):
        windows.refuse_held(tmp_path, ["free.pdf", "held.pdf"])


def test_what_is_done_beside_is_done_after_where_nothing_forks(monkeypatch: pytest.MonkeyPatch) -> None:
    from viewer.beside import done_beside

    monkeypatch.delattr(os, "fork", raising=False)
    told: list[str] = []
    with done_beside(lambda: told.append("beside")):
        told.append("block")
    assert told == ["block", "beside"]


def test_a_reader_without_bounds_of_the_system_goes_on(monkeypatch: pytest.MonkeyPatch) -> None:
    from terrain.survey.readers.child import bound

    monkeypatch.setitem(sys.modules, "resource", None)  # an import of it fails, as on Windows
    bound(1 << 30, 8)
    asked: list[int] = []

    def setrlimit(which: int, to: tuple[int, int]) -> None:
        """As macOS answers for the address space."""
        asked.append(which)
        if which == 3:
            raise ValueError("current limit exceeds maximum limit")

    names = {f"RLIMIT_{name}": number for number, name in enumerate(("CORE", "FSIZE", "CPU", "AS"))}
    monkeypatch.setitem(sys.modules, "resource", SimpleNamespace(setrlimit=setrlimit, **names))
    bound(1 << 30, 8)
    assert sorted(asked) == [0, 1, 2, 3]


def test_a_folder_is_not_opened_where_the_system_opens_none(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from terrain.files import saving

    def opened(path: Path, *rest: int) -> int:
        raise PermissionError(errno.EACCES, "Permission denied", str(path))

    monkeypatch.setattr(saving, "os", SimpleNamespace(name="nt", open=opened))
    saving.sync(tmp_path)


def test_signals_that_a_system_lacks_are_not_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    from cli import signals

    class Few:
        """`signal` with the signals of Windows: no hang-up."""

        def __getattr__(self, name: str) -> object:
            return getattr(__import__("signal"), name)

        class Signals:
            __members__: ClassVar = {"SIGTERM": 15}

            def __class_getitem__(cls, name: str) -> int:
                return 15

    monkeypatch.setattr(signals, "signal", Few())
    with signals.signals_end_cleanly():
        assert signals._known() == [15]
