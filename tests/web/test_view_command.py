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
from viewer.page.contours import LEAST_FILL
from viewer.page.subject import Subject, subject_of
from viewer.pictures.overview import SIZE, Overview
from viewer.pictures.picture import _lettered, draw_picture, has_screen, save_scene
from viewer.still.surfaces import GROUND


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Study:
    return run_site(read_site(copied_yard(tmp_path_factory.mktemp("yard"))))


def pixels(path: Path) -> np.ndarray:
    from PIL import Image

    with Image.open(path) as picture:
        return np.asarray(picture.convert("RGB")).astype(int)


def brown_share(path: Path) -> float:
    """Share of the picture in the colours of lit mulch: warm where lawn is green, lighter than bark."""
    red, green, blue = np.moveaxis(pixels(path), 2, 0)
    return float(((red > 130) & (red > 1.12 * green) & (red > 1.4 * blue)).mean())


def without_screen(**more: str) -> dict[str, str]:
    hidden = {key: value for key, value in os.environ.items() if key not in ("DISPLAY", "WAYLAND_DISPLAY")}
    return {**hidden, **more}


@pytest.mark.slow
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
        assert drawn.name == "view3d.png"
        assert pixels(drawn).shape == (900, 1600, 3)
        shares.append(brown_share(drawn))
    assert shares[0] > 0.02
    assert shares[1] < 0.2 * shares[0]


def test_depths_are_coloured_only_where_it_is_asked_for_and_then_with_a_key(study: Study) -> None:
    subject = subject_of(study)
    plain, tinted = Overview(subject), Overview(subject, tinted=True)
    ground, by_depth = tinted.bodies(True)[:2]
    (whole,) = [body for body in plain.bodies(True) if body.kind == GROUND]
    assert len(ground.triangles) + len(by_depth.triangles) == len(whole.triangles)
    depth = study.proposal.mesh.fill[by_depth.triangles].mean(axis=1)
    assert np.abs(depth).min() >= LEAST_FILL
    light = np.asarray(by_depth.colours).mean(axis=1)
    assert light[depth > 0.9 * depth.max()].mean() < light[(depth > 0.0) & (depth < 0.2 * depth.max())].mean() - 40.0
    assert len(tinted.bodies(False)) == len(plain.bodies(False)), "before the work nothing is filled or dug"
    keyed, bare = ({text.get_text() for text in _lettered(seen, after=True).axes.texts} for seen in (tinted, plain))
    (added,) = keyed - bare
    assert added.startswith("fill, to ")


@pytest.mark.parametrize("scale", [1.0, 2.5])
def test_heights_are_drawn_as_many_times_as_asked(study: Study, scale: float) -> None:
    subject = Subject(study.site, study.ground, study.proposal, study.work)
    true, drawn = Overview(subject), Overview(subject, scale)
    for one, other in zip(true.bodies(True), drawn.bodies(True), strict=True):
        assert np.abs(other.points[:, 2] - scale * one.points[:, 2]).max() < 1e-9
        assert np.array_equal(one.points[:, :2], other.points[:, :2])
    spots, depth = drawn.camera.project(np.array(list(drawn.places.values())))
    assert (depth > 0.0).all()
    assert (spots > 0.0).all()
    assert (spots < np.array(SIZE)).all()


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


def test_a_window_without_its_library_says_how_to_get_it(study: Study, monkeypatch: pytest.MonkeyPatch) -> None:
    from terrain.extras import how_to_install
    from viewer.pictures import picture

    monkeypatch.setattr(picture, "has_screen", lambda: True)
    monkeypatch.setattr("terrain.extras.find_spec", lambda name: None)
    told = picture.show_window(study)
    assert told.startswith("No window: it needs the library pyvista, which is not installed. Install it")
    assert how_to_install("window") in told


@pytest.mark.slow
def test_keys_of_the_window_change_what_it_shows(study: Study, tmp_path: Path) -> None:
    """Off screen: the same window, its keys called as the window calls them."""
    import subprocess

    keys = (
        "import sys, numpy as np\n"
        "from offscreen import choose_window\n"
        "choose_window() or sys.exit(3)\n"
        "from viewer.pictures.window_child import Window\n"
        "w = Window(np.load(sys.argv[1]), off_screen=True, window_size=[800, 450])\n"
        "for name, key in (('after', None), ('before', w.swap), ('high', lambda: (w.swap(), w.lift(1), w.lift(1)))):\n"
        "    key and key()\n"
        "    w.plotter.screenshot(f'{sys.argv[2]}/{name}.png')\n"
    )
    save_scene(Overview(Subject(study.site, study.ground, study.proposal, study.work)), tmp_path / "scene.npz")
    root = Path(__file__).resolve().parents[2]
    run = subprocess.run(
        [sys.executable, "-c", keys, str(tmp_path / "scene.npz"), str(tmp_path)],
        capture_output=True,
        text=True,
        timeout=120,
        env={**os.environ, "PYTHONPATH": os.pathsep.join([str(root), str(root / "tests" / "viewer")])},
        check=False,
    )
    if run.returncode in (3, -11):
        pytest.skip("no graphics library on this machine")
    assert run.returncode == 0, run.stderr
    after, before, high = (tmp_path / f"{name}.png" for name in ("after", "before", "high"))
    assert brown_share(after) > 0.02
    assert brown_share(before) < 0.005
    assert np.abs(pixels(high) - pixels(after)).mean() > 2.0
