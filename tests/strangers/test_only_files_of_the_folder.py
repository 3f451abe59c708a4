"""A site folder that comes by mail: which files it may name, and what is never opened."""

from __future__ import annotations

import os
import re
import socket
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from invented_yard import BED, SHOTS, SITE

from cli.main import COMMANDS, main
from terrain.errors import InputError
from terrain.site.read import read_site
from terrain.survey.files import LARGEST_SITE, LARGEST_TEXT, Folder, NoFileError

SECRET = "root:x:0:0:somebody:/root:/bin/sh"
KEYS = {  # every key of a site file that names a file, and the way it does
    "shots": ('shots    = "shots.csv"', 'shots = "{}"'),
    "outline": ('outline  = "bed.csv"', 'outline = "{}"'),
    "breaklines": ('shots    = "shots.csv"', 'shots = "shots.csv"\nbreaklines = "{}"'),
    "level_book": ('shots    = "shots.csv"', 'shots = "shots.csv"\nlevel_book = "{}"'),
    "ties": ('shots    = "shots.csv"', 'shots = "shots.csv"\npoints = {{ A = [0, 0], B = [50, 0] }}\nties = "{}"'),
    "offsets": ('shots    = "shots.csv"', 'shots = "shots.csv"\nbaseline = [[0, 0], [50, 0]]\noffsets = "{}"'),
}
ENDINGS = ("", ".csv", ".geojson", ".dxf", ".las", ".laz", ".tif")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A whole yard, and a file outside it that is nobody's business."""
    yard = tmp_path / "yard"
    yard.mkdir()
    (yard / "site.toml").write_text(SITE, encoding="utf-8")
    (yard / "shots.csv").write_text(SHOTS, encoding="utf-8")
    (yard / "bed.csv").write_text(BED, encoding="utf-8")
    (tmp_path / "secret").write_text(f"{SECRET}\n" * 3, encoding="utf-8")
    return yard


def naming(folder: Path, key: str, named: object) -> Path:
    """The site file with another file at a key."""
    old, new = KEYS[key]
    assert old in SITE
    path = folder / "site.toml"
    path.write_text(SITE.replace(old, new.format(named)), encoding="utf-8")
    return path


def refused(path: Path) -> str:
    """The words of the refusal, which come at once and hold nothing of the file that was named."""
    start = time.monotonic()
    with pytest.raises(InputError) as fault:
        read_site(path)
    assert time.monotonic() - start < 5.0
    assert "somebody" not in str(fault.value)
    return str(fault.value)


@pytest.mark.parametrize("key", KEYS)
@pytest.mark.parametrize("way", ["up", "whole", "link", "link of a folder"])
def test_a_file_outside_the_folder_is_not_read(folder: Path, key: str, way: str) -> None:
    secret = folder.parent / "secret"
    (folder / "inner").symlink_to(secret)
    (folder / "there").symlink_to(folder.parent)
    named = {"up": "../secret", "whole": secret, "link": "inner", "link of a folder": "there/secret"}[way]
    message = refused(naming(folder, key, named))
    assert "lies outside the folder of the site file" in message
    assert "--allow-outside" in message
    assert key in message


@pytest.mark.parametrize("ending", ENDINGS)
def test_no_format_reads_outside_the_folder(folder: Path, ending: str) -> None:
    (folder.parent / f"secret{ending}").write_text(SECRET, encoding="utf-8")
    assert "lies outside" in refused(naming(folder, "shots", f"../secret{ending}"))


@pytest.mark.parametrize("allowed", ["shared", "shared/shots.csv"], ids=["its folder", "the file"])
def test_what_the_user_allows_is_read(folder: Path, allowed: str) -> None:
    shared = folder.parent / "shared"
    shared.mkdir()
    (folder / "shots.csv").rename(shared / "shots.csv")
    (folder / "shots.csv").symlink_to(shared / "shots.csv")
    path = naming(folder, "shots", "shots.csv")
    assert "lies outside" in refused(path)
    assert len(read_site(path, outside=(folder.parent / allowed,)).survey.shots) == 5
    assert "lies outside" in refused(naming(folder, "shots", "../secret"))


def test_links_and_folders_inside_the_folder_are_followed(folder: Path) -> None:
    (folder / "in").mkdir()
    (folder / "shots.csv").rename(folder / "in" / "s.txt")
    (folder / "shots.csv").symlink_to("in/s.txt")
    assert len(read_site(naming(folder, "shots", "in/../shots.csv")).survey.shots) == 5


def test_a_folder_that_is_reached_by_a_link_is_one_folder(folder: Path) -> None:
    (folder.parent / "way").symlink_to(folder)
    naming(folder, "shots", folder / "shots.csv")
    assert len(read_site(folder.parent / "way" / "site.toml").survey.shots) == 5


def test_a_ring_of_links_is_refused(folder: Path) -> None:
    (folder / "a").symlink_to(folder / "b")
    (folder / "b").symlink_to(folder / "a")
    assert "cannot be read" in refused(naming(folder, "shots", "a"))


def put_pipe(path: Path) -> None:
    os.mkfifo(path)


def put_socket(path: Path) -> None:
    here = os.open(".", os.O_RDONLY)
    os.chdir(path.parent)  # a socket's whole name must be short
    try:
        with socket.socket(socket.AF_UNIX) as made:
            made.bind(path.name)
    finally:
        os.fchdir(here)
        os.close(here)


def put_folder(path: Path) -> None:
    path.mkdir()


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no pipes with names")
@pytest.mark.parametrize("put", [put_pipe, put_socket, put_folder])
@pytest.mark.parametrize("name", ["site.toml", *(f"x{ending}" for ending in ENDINGS)])
def test_what_is_no_regular_file_is_refused_at_once(folder: Path, put: Callable[[Path], None], name: str) -> None:
    path = folder / "site.toml" if name == "site.toml" else naming(folder, "shots", name)
    (folder / name).unlink(missing_ok=True)
    put(folder / name)
    kind = put.__name__.removeprefix("put_")
    assert re.search(f"is a {kind}, not a file", refused(path))


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="this system has no such devices")
@pytest.mark.parametrize("device", ["/dev/zero", "/dev/tty"])
def test_a_device_is_never_opened(folder: Path, device: str) -> None:
    path = naming(folder, "shots", device)
    start = time.monotonic()
    with pytest.raises(InputError, match="is a device, not a file"):
        read_site(path, outside=(Path("/dev"),))
    with pytest.raises(InputError, match="is a device, not a file"):
        read_site(Path(device))
    assert time.monotonic() - start < 5.0


@pytest.mark.parametrize("name", ["site.toml", "shots.csv", "bed.csv"])
def test_a_file_beyond_the_stated_size_is_refused_unread(folder: Path, name: str) -> None:
    most = LARGEST_SITE if name == "site.toml" else LARGEST_TEXT
    with (folder / name).open("ab") as file:
        file.truncate(most + 1)  # a hole, which takes no room on the disk
    assert f"more than {most // 2**20} MiB" in refused(folder / "site.toml")


def test_a_name_on_another_machine_is_refused_before_any_link_is_followed(tmp_path: Path) -> None:
    followed: list[Path] = []

    class Watched(type(tmp_path)):  # type: ignore[misc]
        def resolve(self, strict: bool = False) -> Path:
            followed.append(Path(str(self)))
            return super().resolve(strict)  # type: ignore[no-any-return]

    with pytest.raises(NoFileError):
        Folder(Watched(tmp_path)).file("/net/elsewhere/shots.csv")
    assert Path("/net/elsewhere/shots.csv") not in followed


def refusal_of(capsys: pytest.CaptureFixture[str], *words: object) -> str:
    with pytest.raises(SystemExit) as end:
        main([str(word) for word in words])
    assert end.value.code == 2
    message = capsys.readouterr().err
    assert message.count("\n") == 1
    return message


@pytest.mark.parametrize("command", [name for name in COMMANDS if name != "new"])
def test_every_command_refuses_what_lies_outside(
    folder: Path, command: str, capsys: pytest.CaptureFixture[str]
) -> None:
    shared = folder.parent / "shared.csv"
    (folder / "shots.csv").rename(shared)
    site = naming(folder, "shots", "../shared.csv")
    seen = ["--picture", shared, "--marks", shared]
    more = {"asbuilt": ["--shots", shared], "export": ["--to", "ply"], "photo": seen}.get(command, [])
    assert f'--allow-outside "{shared}"' in refusal_of(capsys, command, site, *more)
    # Allowed, the file is read, and the next fault is met: no crest.
    site.write_text(re.sub("(?m)^crest .*$", "crest = []", site.read_text(encoding="utf-8")), encoding="utf-8")
    assert "there is no crest point" in refusal_of(capsys, command, site, *more, "--allow-outside", shared)
