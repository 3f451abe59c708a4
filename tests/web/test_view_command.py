"""`hummock view` as a person types it."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from live_yards import copied_yard

from terrain.flow import Study, run_site
from terrain.site.read import read_site
from viewer.page.subject import Subject
from viewer.pictures.picture import draw_picture, has_screen, seen
from viewer.pictures.scene import build_scene


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Study:
    return run_site(read_site(copied_yard(tmp_path_factory.mktemp("yard"))))


def pixels(path: Path) -> np.ndarray:
    from PIL import Image

    with Image.open(path) as picture:
        return np.asarray(picture.convert("RGB")).astype(int)


def brown_share(path: Path) -> float:
    """Share of the picture in the deeper tints of fill."""
    red, _, blue = np.moveaxis(pixels(path), 2, 0)
    return float(((red > 100) & (red > 2.2 * blue)).mean())


def without_screen(**more: str) -> dict[str, str]:
    hidden = {key: value for key, value in os.environ.items() if key not in ("DISPLAY", "WAYLAND_DISPLAY")}
    return {**hidden, **more}


def test_one_page_is_written_and_the_summary_is_told(hummock: Callable[..., Any], tmp_path: Path) -> None:
    path = copied_yard(tmp_path)
    run = hummock("view", path, "--share", tmp_path / "send" / "berm.html", "--json")
    assert run.returncode == 0, run.stderr
    assert json.loads(run.stdout)["format"] == "hummock-summary/2"
    assert "one page that needs no network" in run.stderr
    assert (tmp_path / "send" / "berm.html").read_text().startswith("<!DOCTYPE html>")
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--live", "--json"], "--live goes with neither --share nor --json"),
        (["--live", "--share", "x.html"], "--live goes with neither --share nor --json"),
        (["--scale", "0"], "0.5<=x<=10"),
        (["--port", "80"], "1024<=x<=65535"),
    ],
)
def test_what_does_not_fit_together_is_refused(
    hummock: Callable[..., Any], tmp_path: Path, words: list[str], message: str
) -> None:
    run = hummock("view", copied_yard(tmp_path), *words)
    assert run.returncode == 2
    assert message in run.stderr
    assert run.stdout == ""


def test_no_other_program_is_told_the_key(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What starts the browser is given the path of a file: anybody may read the arguments of a program."""
    from click.testing import CliRunner

    from cli.view import view

    launched: list[str] = []
    monkeypatch.setattr("click.launch", lambda url, *_, **__: launched.append(url))
    monkeypatch.setattr("viewer.web.serve", lambda _session, _guard, _listener, opened: opened())
    told = CliRunner().invoke(view, [str(copied_yard(tmp_path)), "--live"])
    assert told.exit_code == 0, told.output
    key = told.output.partition("key=")[2].split()[0]
    assert len(key) >= 43
    (path,) = launched
    assert key not in path
    assert not Path(path).exists()


def test_a_missing_extra_is_named_with_its_cure(monkeypatch: pytest.MonkeyPatch) -> None:
    from terrain.errors import InputError
    from terrain.extras import how_to_install
    from viewer.web.live.server import need_extra

    monkeypatch.setitem(sys.modules, "starlette", None)
    with pytest.raises(InputError) as told:
        need_extra()
    assert how_to_install("live") in str(told.value)


def test_no_screen_is_one_clear_line(study: Study, monkeypatch: pytest.MonkeyPatch) -> None:
    from viewer.pictures.picture import show_window

    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.delenv("DISPLAY", raising=False)
    monkeypatch.delenv("WAYLAND_DISPLAY", raising=False)
    assert not has_screen()
    assert show_window(study) == "No window: this session has no screen. The picture shows the same."


@pytest.mark.slow
def test_before_and_after_are_painted_apart(study: Study, tmp_path: Path) -> None:
    shares = []
    for after in (True, False):
        drawn = draw_picture(study, tmp_path, after=after)
        assert drawn.path.name == "view3d.png"
        assert drawn.note == "" or "the view was painted without it" in drawn.note
        assert pixels(drawn.path).shape == (900, 1600, 3)
        shares.append(brown_share(drawn.path))
    assert shares[0] > 0.02
    assert shares[1] < 0.2 * shares[0]


@pytest.mark.parametrize("scale", [1.0, 2.5])
def test_heights_are_drawn_as_many_times_as_asked(study: Study, scale: float) -> None:
    subject = Subject(study.site, study.ground, study.proposal, study.work)
    true, drawn = build_scene(subject), seen(subject, after=True, scale=scale)
    assert np.abs(drawn.after - scale * true.after).max() < 1e-9
    for one, other in zip(true.solids, drawn.solids, strict=True):
        assert np.abs(other.corners[..., 2] - scale * one.corners[..., 2]).max() < 1e-9
        assert np.array_equal(one.corners[..., :2], other.corners[..., :2])
    spots, depth = drawn.camera.project(np.array(list(drawn.places.values())), (1600, 900))
    assert (depth > 0.0).all()
    assert (spots > 0.0).all()
    assert (spots < np.array([1600.0, 900.0])).all()


@pytest.mark.slow
def test_the_command_writes_its_picture_where_there_is_no_screen(tmp_path: Path, root: Path) -> None:
    import subprocess

    path = copied_yard(tmp_path)
    words = [sys.executable, "-m", "cli.main", "view", str(path), "--scale", "2", "--before"]
    environment = without_screen(PYTHONPATH=str(root))
    run = subprocess.run(words, capture_output=True, text=True, timeout=300, env=environment, check=False)
    assert run.returncode == 0, run.stderr
    assert "No window: this session has no screen." in run.stdout
    assert brown_share(tmp_path / "out" / "view3d.png") < 0.01


@pytest.mark.slow
def test_keys_of_the_window_change_what_it_shows(study: Study, tmp_path: Path) -> None:
    """Off screen: the same window, its keys called as the window calls them."""
    import subprocess

    from viewer.pictures.view3d import started_view

    subject = Subject(study.site, study.ground, study.proposal, study.work)
    keys = (
        "import sys, numpy as np\n"
        "from viewer.pictures.view3d_child import choose_window\n"
        "choose_window() or sys.exit(3)\n"
        "from viewer.pictures.window_child import Window\n"
        "w = Window(np.load(sys.argv[1]), off_screen=True, window_size=[800, 450])\n"
        "for name, key in (('after', None), ('before', w.swap), ('high', lambda: (w.swap(), w.lift(1), w.lift(1)))):\n"
        "    key and key()\n"
        "    w.plotter.screenshot(f'{sys.argv[2]}/{name}.png')\n"
    )
    with started_view(subject, scene=seen(subject, after=True, scale=1.0)) as view:
        scene = view.workshop / "scene.npz"
        run = subprocess.run(
            [sys.executable, "-c", keys, str(scene), str(tmp_path)],
            capture_output=True,
            text=True,
            timeout=120,
            env={**os.environ, "PYTHONPATH": str(Path(__file__).resolve().parents[2])},
            check=False,
        )
    if run.returncode in (3, -11):
        pytest.skip("no graphics library on this machine")
    assert run.returncode == 0, run.stderr
    after, before, high = (tmp_path / f"{name}.png" for name in ("after", "before", "high"))
    assert brown_share(after) > 0.02
    assert brown_share(before) < 0.005
    assert np.abs(pixels(high) - pixels(after)).mean() > 2.0
