"""Saving a site file, a draft or a page: whole or not at all, one saver at a time, and never through a planted link."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

import pytest
from small_yard import small_yard

from terrain.errors import OutputError
from terrain.files.saving import held_for_saving, save
from viewer.web.live.draft import draft_held, draft_path, read_draft, write_draft
from viewer.web.live.save import save_wish, site_of
from viewer.web.live.wish import wish_of_site

if not hasattr(os, "fork"):
    pytest.skip("kills processes that it forks", allow_module_level=True)


def hidden(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir() if path.name.startswith("."))


def in_a_child(work: Callable[[], object]) -> int:
    """Run `work` in a process of its own; answers its number."""
    pid = os.fork()
    if pid == 0:
        status = 3
        try:
            work()
            status = 0
        except OutputError:
            status = 2
        finally:
            os._exit(status)
    return pid


def test_of_two_savers_one_is_told(tmp_path: Path) -> None:
    """Ten rounds of two that opened the same text and save at once: one saves, the other hears of it."""
    path = small_yard(tmp_path)
    for turn in range(10):
        site, text = site_of(path)
        before = wish_of_site(site)
        slopes = [1.0 / (4.0 + 0.1 * turn + 0.05 * k + 0.01) for k in (0, 1)]
        wishes = [replace(before, max_slope=slope) for slope in slopes]
        pids = [in_a_child(lambda wish=wish: save_wish(path, text, before, wish, "m")) for wish in wishes]  # noqa: B023
        statuses = [os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]) for pid in pids]
        assert sorted(statuses) == [0, 2]
        saved = wish_of_site(site_of(path)[0]).max_slope
        assert saved == pytest.approx(slopes[statuses.index(0)], rel=1e-4)
    assert hidden(tmp_path) == []


def test_a_site_file_that_is_a_link_stays_one_and_what_it_leads_to_is_written(tmp_path: Path) -> None:
    path = small_yard(tmp_path / "yard")
    kept = tmp_path / "kept"
    kept.mkdir()
    path.rename(kept / "front.toml")
    path.symlink_to(kept / "front.toml")
    site, text = site_of(path)
    before = wish_of_site(site)
    new = save_wish(path, text, before, replace(before, max_slope=0.2), "m")
    assert path.is_symlink()
    assert (kept / "front.toml").read_text(encoding="utf-8") == new != text


@pytest.mark.parametrize("name", [".site.unsaved.json.part", ".site.unsaved.json.lock", "site.unsaved.json"])
def test_a_planted_link_is_never_written_through(tmp_path: Path, name: str) -> None:
    path = small_yard(tmp_path / "yard")
    mine = tmp_path / "mine.txt"
    mine.write_text("mine", encoding="utf-8")
    (path.parent / name).symlink_to(mine)
    wish = wish_of_site(site_of(path)[0])
    with suppress(OSError):  # where the lock cannot be had
        write_draft(path, replace(wish, max_slope=0.2), None)
    assert mine.read_text(encoding="utf-8") == "mine"


def test_the_mode_of_a_file_stays_and_a_read_only_one_is_not_touched(tmp_path: Path) -> None:
    path = small_yard(tmp_path)
    path.chmod(0o640)
    site, text = site_of(path)
    before = wish_of_site(site)
    text = save_wish(path, text, before, replace(before, max_slope=0.2), "m")
    assert path.stat().st_mode & 0o777 == 0o640
    path.chmod(0o440)
    with pytest.raises(OutputError, match=r"site\.toml: this file is read-only"):
        save_wish(path, text, replace(before, max_slope=0.2), before, "m")
    assert path.read_text(encoding="utf-8") == text
    assert hidden(tmp_path) == []


@pytest.mark.parametrize("kills", [pytest.param(50, marks=pytest.mark.slow), pytest.param(200, marks=pytest.mark.fuzz)])
def test_killed_at_any_moment_a_file_is_the_old_or_the_new_one(kills: int, tmp_path: Path) -> None:
    """Kills of a saver that saves on and on, after delays that grow in even steps from 2 to 22 milliseconds."""
    target = tmp_path / "site.unsaved.json"
    texts = [letter.encode() * 20_000 for letter in "abc"]
    save(target, texts[0])

    def saver() -> None:
        while True:
            for text in texts:
                save(target, text)

    for kill in range(kills):
        pid = in_a_child(saver)
        signal.sigtimedwait([], 0.002 + 0.02 * kill / kills)
        os.kill(pid, signal.SIGKILL)
        os.waitpid(pid, 0)
        assert target.read_bytes() in texts
    save(target, texts[1])
    assert target.read_bytes() == texts[1]
    assert [path.name for path in tmp_path.iterdir()] == [target.name]


def test_a_second_saver_waits_for_the_first(tmp_path: Path) -> None:
    target = tmp_path / "page.html"
    with held_for_saving(target):
        pid = in_a_child(lambda: save(target, b"second"))
        signal.sigtimedwait([], 0.2)
        assert not target.exists()
    assert os.waitpid(pid, 0)[1] == 0
    assert target.read_bytes() == b"second"
    assert hidden(tmp_path) == []


def test_an_old_draft_reads_back(tmp_path: Path) -> None:
    path = small_yard(tmp_path)
    site, _ = site_of(path)
    wish = replace(wish_of_site(site), max_slope=0.2)
    write_draft(path, wish, None)
    assert read_draft(path, site) == (wish, None)
    assert hidden(tmp_path) == []
    assert draft_path(path).stat().st_mode & 0o111 == 0


def test_unsaved_work_is_kept_for_one_page_at_a_time(tmp_path: Path) -> None:
    path = small_yard(tmp_path)
    wish = wish_of_site(site_of(path)[0])
    with draft_held(path):
        with pytest.raises(OutputError, match="a live page is open on it already"), draft_held(path):
            raise AssertionError("two pages would write over each other's work")
        write_draft(path, wish, None)  # the first one goes on saving
    with draft_held(path):
        pass
    assert hidden(path.parent) == []
    # A page that was killed holds nothing up.
    pid = in_a_child(lambda: draft_held(path).__enter__())
    os.waitpid(pid, 0)
    with draft_held(path):
        pass
    assert hidden(path.parent) == []
