"""Files that people hand in, with one clear message for each thing that can be wrong with them."""

from __future__ import annotations

import os
import re
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import BinaryIO

from terrain.earth import Located
from terrain.errors import InputError
from terrain.plain import plain

FIX = "Give its path from the folder of the site file."
MEBIBYTE = 2**20
LARGEST_SITE = 1 * MEBIBYTE  # a site file of a hundred trees has a hundredth of this
LARGEST_TEXT = 16 * MEBIBYTE  # a table of 300,000 shots has half of this
# No waiting for the other end of a pipe, no terminal taken over, no descriptor left to other programs; as systems know.
_HOW = os.O_RDONLY | sum(getattr(os, name, 0) for name in ("O_NONBLOCK", "O_NOCTTY", "O_CLOEXEC", "O_BINARY"))
_NO_LINK = getattr(os, "O_NOFOLLOW", 0)
_KINDS = (
    (stat.S_ISDIR, "a folder"),
    (stat.S_ISFIFO, "a pipe"),
    (stat.S_ISSOCK, "a socket"),
    (stat.S_ISCHR, "a device"),
    (stat.S_ISBLK, "a device"),
)
_TWO_BYTES = b"\xff\xfe", b"\xfe\xff"  # marks of UTF-16, which spreadsheets call Unicode text
_LINE_END = b"\n"
_CONTROL = re.compile(rb"[\x00-\x08\x0e-\x1f]")  # of no text
_UNUSED = re.compile(rb"[\x81\x8d\x8f\x90\x9d]")  # of no letter in Windows-1252
_KNOWN_AS = {
    "cp1252": "Windows-1252 (Latin-1)",
    "latin-1": "Latin-1",
    "utf-16-le": "UTF-16",
    "utf-16-be": "UTF-16",
}
_SIGNATURES = {b"PK": "a spreadsheet workbook or an archive", b"%PDF": "a PDF", b"\xff\xd8\xff": "a picture"}


class NoFileError(InputError):
    """There is nothing to read under a name: no file, a folder, or a file that may not be read.

    The message is about the file itself; `of_key` gives the same fault to the key of the site file that names it.
    """

    def __init__(self, label: str, here: str, named: str, accepted: str) -> None:
        self.named = named
        super().__init__(label, here, accepted)

    def of_key(self, where: str) -> InputError:
        """The same fault at a key."""
        return InputError(where, self.named, self.accepted)


@dataclass(frozen=True)
class Folder:
    """Where the paths of a site file start, which files they may name, and where on earth what they hold belongs.

    Parameters
    ----------
    path
        The folder of the site file: what lies in it may be named.
    outside
        Files, and folders with all they hold, that the user allows besides.
    located
        Where on earth the site's plane lies, for files in longitude and latitude; None where nobody said.
    said
        What was found in files that answer no notes of their own, in sentences; whoever reads the site takes them up.
    """

    path: Path
    outside: tuple[Path, ...] = ()
    located: Located | None = None
    said: list[str] = field(default_factory=list, compare=False)

    def file(self, named: str) -> Path:
        """The path of a file that the site file names.

        Raises
        ------
        NoFileError
            Where it lies outside, as written or once links are followed: a site folder that comes by mail must not
            choose which other files of the machine are read.
        """
        path = self.path / named
        try:
            # As written first: to follow a link on another machine is to call that machine.
            allowed = self._allows(Path(os.path.abspath(path))) and self._allows(path.resolve())
        except (OSError, RuntimeError, ValueError):  # a ring of links, a name that no file can have
            allowed = True  # what cannot be followed cannot be opened either, and says why
        if not allowed:
            fault = "lies outside the folder of the site file"
            raise NoFileError(
                named,
                f"this {fault}.",
                f'"{named}" {fault}.',
                f'Copy it there, or allow it: --allow-outside "{os.path.abspath(path)}".',
            )
        return path

    def _allows(self, path: Path) -> bool:
        known = (self.path, *self.outside)
        return any(
            path.is_relative_to(root) for place in known for root in (Path(os.path.abspath(place)), place.resolve())
        )


@contextmanager
def named_by(where: str) -> Iterator[None]:
    """Give a file that is not there to the key of the site file that names it."""
    try:
        yield
    except NoFileError as fault:
        raise fault.of_key(where) from None


def check_there(path: Path, label: str, fix: str = FIX, most: int = LARGEST_TEXT) -> None:
    """Refuse a name under which there is no file to read: `NoFileError`, where `fix` says what would be accepted.

    `most` is the largest file that is read, in bytes.
    """
    with opened(path, label, fix, most) as stream:
        stream.read(1)


@contextmanager
def opened(
    path: Path, label: str, fix: str = FIX, most: int = LARGEST_TEXT, *, follow: bool = True
) -> Iterator[BinaryIO]:
    """Open a file that a person names: every file of a site is opened here.

    Only a regular file of at most `most` bytes is: a pipe, a socket or a device would wait, flow without end or do
    something when opened, so that its kind is looked at before, and again on what was opened. A file that this program
    alone writes is opened with `follow` false: a link under its name was planted.

    Raises
    ------
    InputError
        For a file that is too large; `NoFileError` for anything else that is no file to read.
    """
    try:
        _refuse_kind(os.stat(path, follow_symlinks=follow).st_mode, path, label, fix)
        with os.fdopen(os.open(path, _HOW if follow else _HOW | _NO_LINK), "rb") as stream:
            found = os.fstat(stream.fileno())
            _refuse_kind(found.st_mode, path, label, fix)
            if found.st_size > most:
                raise _too_large(label, found.st_size, most)
            yield stream
    except FileNotFoundError:
        looked = f'(looked for "{path}").'
        raise NoFileError(
            label, f"there is no such file {looked}", f'there is no file "{label}" {looked}', fix
        ) from None
    except (OSError, ValueError) as error:  # ValueError: a NUL in the name
        reason = f"cannot be read: {getattr(error, 'strerror', None) or error}."
        raise NoFileError(label, f"the file {reason}", f'the file "{label}" {reason}', fix) from None


def _refuse_kind(mode: int, path: Path, label: str, fix: str) -> None:
    """Refuse all but a regular file."""
    if stat.S_ISREG(mode):
        return
    inside = ""
    if stat.S_ISDIR(mode):
        inside = next((f' Did you mean "{p}"?' for p in sorted(path.glob("*.toml"))), "")
    kind = next((word for test, word in _KINDS if test(mode)), "something else")
    fault = f"{kind}, not a file.{inside}"
    raise NoFileError(label, f"this is {fault}", f'"{label}" is {fault}', fix)


def _too_large(label: str, size: int, most: int) -> InputError:
    return InputError(
        label,
        f"the file holds {size / MEBIBYTE:,.0f} MiB, more than {most / MEBIBYTE:,.0f} MiB.",
        "Accepted: a smaller file; keep what lies about the bed.",
    )


def read_bytes(path: Path, label: str, fix: str = FIX, most: int = LARGEST_TEXT, *, follow: bool = True) -> bytes:
    """The bytes of a file, refused as in `opened`; of a file that grows while it is read, no more than `most`."""
    with opened(path, label, fix, most, follow=follow) as stream:
        data = stream.read(most + 1)
    if len(data) > most:
        raise _too_large(label, len(data), most)
    return data


def read_text(path: Path, label: str, fix: str = FIX, most: int = LARGEST_TEXT) -> str:
    """Return the text of a UTF-8 file, with or without a byte-order mark, or of a UTF-16 file with one, in plain signs.

    Parameters
    ----------
    path
        The file.
    label
        The file's name as the person wrote it; opens the message.
    fix
        What would be accepted where the file is not there.
    most
        The largest file that is read, in bytes.

    Raises
    ------
    InputError
        Where it is not such text; `NoFileError` where there is no such file, it is a folder or it may not be read.
    """
    return plain(_decoded(read_bytes(path, label, fix, most), label), kept="\t\n\r")


def read_table_text(path: Path, label: str, encoding: str = "") -> tuple[str, str]:
    """The text of a table, and a note on its encoding where that had to be guessed.

    Parameters
    ----------
    path, label
        As in `read_text`.
    encoding
        As Python names it; "": UTF-8 or UTF-16 where the file is either, else Windows-1252, of which Latin-1 is a part.

    Raises
    ------
    InputError
        As `read_text`; where the file is not in the encoding that is stated.
    """
    data = read_bytes(path, label)
    name = encoding or _found_encoding(data)
    try:
        text = data.decode(name) if name else _decoded(data, label)
    except UnicodeDecodeError as error:
        raise InputError(
            f"{label} row {data.count(_LINE_END, 0, error.start) + 1}",
            f"the byte 0x{data[error.start]:02x} is not {name} text.",
            "State the right encoding under [survey], or leave it out.",
        ) from None
    note = "" if encoding or not name else f"{label}: the file is not UTF-8, and was read as {_KNOWN_AS[name]}; "
    note += "if letters come out wrong, state its encoding under [survey]." if note else ""
    return plain(text.removeprefix("\ufeff"), kept="\t\n\r"), note


def _found_encoding(data: bytes) -> str:
    """The encoding that a file seems to be in; "" where it is for `_decoded` to read or to refuse."""
    if data.startswith(_TWO_BYTES) or any(data.startswith(start) for start in _SIGNATURES):
        return ""
    if b"\0" in data:
        # Latin letters in two bytes: every other one is zero.
        every_other = {"utf-16-le": data[1::2], "utf-16-be": data[::2]}
        return next((name for name, half in every_other.items() if half.count(0) > 0.9 * len(half)), "")
    try:
        data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return "" if _CONTROL.search(data) else ("latin-1" if _UNUSED.search(data) else "cp1252")
    return ""


def _decoded(data: bytes, label: str) -> str:
    kind = next((name for start, name in _SIGNATURES.items() if data.startswith(start)), "")
    if kind:
        raise InputError(label, f"this is {kind}, not a text file.", "Accepted: plain text, UTF-8.")
    try:
        text = data.decode("utf-16" if data.startswith(_TWO_BYTES) else "utf-8-sig")
    except UnicodeDecodeError as error:
        row = data.count(b"\n", 0, error.start) + 1
        raise InputError(
            f"{label} row {row}",
            f"the byte 0x{data[error.start]:02x} is not UTF-8 text.",
            "Save the file again as UTF-8 text.",
        ) from None
    if "\0" in text:
        raise InputError(label, "the file holds NUL characters, so it is not UTF-8 text.", "Save it as UTF-8.")
    return text
