"""The camera of an invented photograph of the shipped example: found, judged, and refused where it cannot be known."""

from __future__ import annotations

import math
from collections.abc import Iterable
from pathlib import Path

import numpy as np
import pytest
from shapely.geometry import Point
from shipped import study_of

from terrain.errors import InputError
from terrain.field.setout.set_out import set_out
from terrain.flow import Study
from terrain.numerics import PhotoCamera
from terrain.photograph import PhotoFit, fit_photo, photo_plain, read_marks
from terrain.photograph.marks import PLUMB, PictureMark, marked_places
from terrain.survey import Photograph

SIZE = (4032, 3024)
FOOT = 0.3048
# From the street, eye height, looking over the bed to the house: what is in the picture, near and far.
CAMERA = PhotoCamera(
    np.array([42.0 * FOOT, -34.0 * FOOT, 99.2 * FOOT + 1.6]),
    (math.radians(-1.0), math.radians(-4.0), math.radians(0.7)),
    3028.7,
    np.array(SIZE) / 2.0,
)
HOUSE = ("house SE", "house SW", "house SE|8 ft", "house SW|8 ft")
EVERY = (*HOUSE, "bur oak", "51", "54", "55", "3", "2", "front walk NE", "22", "26", "30", "34", "34|6 ft", "40", "44")


@pytest.fixture(scope="module")
def study() -> Study:
    return study_of("alder-bend", 0.15)


def marks_file(folder: Path, study: Study, names: Iterable[str], error: float = 0.0, seed: int = 0) -> Path:
    """A table of marks as somebody would write it who clicks with an error of so many pixels."""
    places, rng = marked_places(study.site, study.ground), np.random.default_rng(seed)
    lines = ["point,u,v,up"]
    for name in names:
        point, _, up = name.partition("|")
        _, place, _ = places[point.lower()]
        height = float(up.split()[0]) * FOOT if up else 0.0
        seen, depth = CAMERA.seen((place + np.array([0.0, 0.0, height]))[None])
        assert depth[0] > 0.0
        u, v = seen[0] + rng.normal(0.0, error, 2)
        lines.append(f"{point},{u:.1f},{v:.1f},{up}")
    path = folder / "marks.csv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def fitted(folder: Path, study: Study, names: Iterable[str], film: float | None = None, **how: float) -> PhotoFit:
    path = marks_file(folder, study, names, **how)  # type: ignore[arg-type]
    marks = read_marks(path, path.name, study.site, study.ground)
    return fit_photo(study.site, study.ground, study.proposal, marks, SIZE, film, path.name)


def test_marks_of_the_survey_find_the_camera(study: Study, tmp_path: Path) -> None:
    fit = fitted(tmp_path, study, EVERY, error=1.5)
    assert fit.camera.at == pytest.approx(CAMERA.at, abs=0.15)
    assert fit.camera.focal == pytest.approx(CAMERA.focal, rel=0.02)
    assert not fit.sketch
    off = fit.camera.seen(fit.top[None])[0] - CAMERA.seen(fit.top[None])[0]
    assert float(np.hypot(*off[0])) <= fit.top_error
    assert fit.top_error_length < 0.05
    told = photo_plain(fit, Photograph(np.zeros((3, 4, 3), np.uint8), SIZE, None, ""))
    assert set(told) >= {"camera", "residual_px", "error_at_mound_m"}
    assert set(told["camera"]) >= {"at", "turn", "focal_px"}  # type: ignore[call-overload]


def test_five_marks_give_a_sketch_and_three_nothing(study: Study, tmp_path: Path) -> None:
    five = ("house SE", "house SW|8 ft", "51", "55", "3")
    sketch = fitted(tmp_path, study, five, film=26.0, error=1.0)
    assert sketch.sketch
    assert "none to check it by" in sketch.doubts[0]
    with pytest.raises(InputError, match=r"marks\.csv: 3 marks do not tell where a camera stood"):
        fitted(tmp_path, study, five[:3])


def test_two_names_that_are_swapped_are_told_by_the_one_that_fits_least(study: Study, tmp_path: Path) -> None:
    path = marks_file(tmp_path, study, EVERY, error=1.0)
    text = path.read_text(encoding="utf-8").replace("\n54,", "\nX,").replace("\n3,", "\n54,").replace("\nX,", "\n3,")
    path.write_text(text, encoding="utf-8")
    marks = read_marks(path, path.name, study.site, study.ground)
    with pytest.raises(InputError, match=r"marks\.csv row \d+: no camera sees the marks like this.*swapped"):
        fit_photo(study.site, study.ground, study.proposal, marks, SIZE, None, path.name)


def test_marks_far_from_the_bed_do_not_hold_it(study: Study, tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"(may stand|reaches) \d+ pixels|how far away"):
        fitted(tmp_path, study, HOUSE, film=26.0, error=1.0)


@pytest.mark.parametrize(
    ("row", "told"),
    [
        ("nowhere,10,10,", 'row 2: "nowhere" is no point of the survey. Accepted: '),
        ("51,ten,10,", 'row 2 u: "ten" is no pixel'),
        ("51,nan,10,", 'row 2 u: "nan" is no pixel'),
        ("51,10,10,high", "row 2 up"),
    ],
)
def test_a_mark_that_cannot_be_read_is_refused_by_its_row(study: Study, tmp_path: Path, row: str, told: str) -> None:
    (tmp_path / "marks.csv").write_text(f"point,u,v,up\n{row}\n", encoding="utf-8")
    with pytest.raises(InputError) as refused:
        read_marks(tmp_path / "marks.csv", "marks.csv", study.site, study.ground)
    assert told in str(refused.value)


FEW = ("house SE", "house SW|8 ft", "51", "55", "34", "34|6 ft", "22", "44")
# What is done by whom: somebody clicks twice as well as he is taken to and the survey is exact, or both as stated.
HANDS = {"exact": (1.5, 0.0), "as stated": (3.0, 1.0)}


def photographed(study: Study, names: Iterable[str], hand: tuple[float, float], seed: int) -> tuple[bool, float] | None:
    """Whether the mound's top is where it is said to be in a photograph from about there, and how far that reaches.

    None where the marks are refused, since the top could then stand too far off.

    A camera drawn at random sees the points where they are, off the survey by a share of the stated error, and they are
    pointed at with an error in pixels.
    """
    click, share = hand
    rng, places, marks = np.random.default_rng(seed), marked_places(study.site, study.ground), []
    at, turn = rng.normal(CAMERA.at, (1.0, 1.5, 0.15)), rng.normal(CAMERA.turn, (0.02, 0.02, 0.01))
    true = PhotoCamera(at, tuple(turn.tolist()), CAMERA.focal * math.exp(rng.normal(0.0, 0.02)), CAMERA.middle)
    for name in names:
        point, _, up = name.partition("|")
        _, place, error = places[point.lower()]
        height = float(up.split()[0]) * FOOT if up else 0.0
        place, error = place + np.array([0.0, 0.0, height]), math.hypot(error, PLUMB * height)
        pixel = true.seen(rng.normal(place, share * error)[None])[0][0] + rng.normal(0.0, click, 2)
        if 0.0 <= pixel[0] <= SIZE[0] and 0.0 <= pixel[1] <= SIZE[1]:
            marks.append(PictureMark(name, name, place, error, pixel))
    try:
        fit = fit_photo(study.site, study.ground, study.proposal, marks, SIZE, 26.0, "marks")
    except InputError as refused:
        if "pixels off in the picture" not in str(refused):
            raise
        return None
    off = float(np.hypot(*(fit.camera.seen(fit.top[None])[0] - true.seen(fit.top[None])[0])[0]))
    return off <= fit.top_error, fit.top_error / max(off, 1e-9)


def said_and_so(study: Study, names: Iterable[str], hand: tuple[float, float], runs: int) -> tuple[float, float]:
    """Share of so many photographs in which the top is where it is said to be, and what is said over what is so."""
    told = [one for seed in range(runs) if (one := photographed(study, names, hand, seed)) is not None]
    assert len(told) >= 0.9 * runs
    held, wider = zip(*told, strict=True)
    return float(np.mean(held)), float(np.median(wider))


@pytest.mark.slow
def test_the_mound_stands_where_it_is_said_to_in_95_of_100_pictures(study: Study) -> None:
    """Two hundred photographs, with marks few and many, set well and less well: neither missed nor said too wide."""
    found = [said_and_so(study, names, hand, 50) for names in (FEW, EVERY) for hand in HANDS.values()]
    assert 0.9 <= np.mean([held for held, _ in found]) <= 0.98
    # Of normal errors in a plane half are under 1.18 deviations and 95 of 100 under 2.45; along a line 0.67 and 1.96.
    assert all(2.0 <= wider <= 3.9 for _, wider in found)


@pytest.mark.fuzz
@pytest.mark.parametrize("hand", HANDS)
@pytest.mark.parametrize("names", [FEW, EVERY], ids=["few marks", "many marks"])
def test_the_mound_stands_where_it_is_said_to_however_marks_are_set(
    study: Study, names: tuple[str, ...], hand: str
) -> None:
    held, _ = said_and_so(study, names, HANDS[hand], 200)
    assert 0.9 <= held <= 0.98


@pytest.mark.slow
def test_the_stakes_of_the_outline_fall_where_they_are_seen_within_the_stated_error(
    study: Study, tmp_path: Path
) -> None:
    """Every stake of the set-out by the fitted camera, beside where the true one has it: 95 of 100 within the error."""
    stakes = set_out(study).stakes
    edge = study.site.bed.outline.exterior
    feet = np.array([[*one.at, one.existing] for one in stakes if edge.distance(Point(one.at)) < 0.05])
    assert len(feet) > 8
    held = []
    for seed in range(16):  # what errs in one photograph errs at all its stakes
        fit = fitted(tmp_path, study, EVERY, error=1.5, seed=seed)
        off = fit.camera.seen(feet)[0] - CAMERA.seen(feet)[0]
        held.append(float(np.mean(np.hypot(*off.T) <= fit.resection.within(feet, 0.95))))
    assert np.mean(held) >= 0.9
