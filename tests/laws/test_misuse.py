"""Misuse of the library: every public function refuses nonsense in words, and no figure comes of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from shapely.geometry import Polygon, box
from shipped import study_of

import terrain
from terrain import Grid, InputError, Study
from terrain.fingerprint import fingerprint
from terrain.site.model import Bed, Berm, CrestPoint, GridSpec, Soil, Tree
from terrain.site.read import build_site
from terrain.site.survey import Survey

FOOT = 0.3048


@pytest.fixture(scope="module")
def study(root: Any) -> Study:
    return study_of("larkspur-rise")


@pytest.fixture(scope="module")
def other(root: Any) -> Study:
    return study_of("alder-bend")


def with_value(values: np.ndarray, value: float) -> np.ndarray:
    spoiled = np.array(values)
    spoiled[spoiled.shape[0] // 2, spoiled.shape[1] // 2] = value
    return spoiled


@pytest.mark.parametrize("value", [np.nan, np.inf, -np.inf])
@pytest.mark.parametrize("name", ["elevation", "deviation"])
def test_a_number_that_is_not_finite_makes_no_ground(study: Study, name: str, value: float) -> None:
    with pytest.raises(InputError, match=f"ground {name}: 1 of its .* values are not finite"):
        replace(study.ground, **{name: with_value(getattr(study.ground, name), value)})


@pytest.mark.parametrize("name", ["elevation", "fill", "cut", "limit"])
def test_a_number_that_is_not_finite_makes_no_proposal(study: Study, name: str) -> None:
    with pytest.raises(InputError, match=f"proposal {name}: 1 of its .* values are not finite"):
        replace(study.proposal, **{name: with_value(getattr(study.proposal, name), np.nan)})


@pytest.mark.parametrize(
    "spoil",
    [lambda grade: grade[:-1], lambda grade: grade.ravel(), lambda grade: grade.T, lambda grade: grade.tolist()],
)
def test_an_array_of_another_shape_or_type_makes_no_value(study: Study, spoil: Callable[[Any], Any]) -> None:
    with pytest.raises(InputError, match=r"ground elevation: (it has the shape|a list arrived)"):
        replace(study.ground, elevation=spoil(study.ground.elevation))
    with pytest.raises(InputError, match=r"proposal fill: (it has the shape|a list arrived)"):
        replace(study.proposal, fill=spoil(study.proposal.fill))


def test_depths_below_zero_make_no_proposal(study: Study) -> None:
    with pytest.raises(InputError, match="proposal fill: its least value is -"):
        replace(study.proposal, fill=study.proposal.fill - 0.1)


SQUARE = box(0.0, 0.0, 8.0, 8.0)
PARTS: dict[str, tuple[Callable[[], object], str]] = {
    "slope as run over rise": (lambda: Berm(4.0, (CrestPoint(1.0, 1.0, 0.5),)), "berm max_slope: 4 is out of range"),
    "no slope": (lambda: Berm(0.0, (CrestPoint(1.0, 1.0, 0.5),)), "berm max_slope: 0 is out of range"),
    "slope as a text": (lambda: Berm("4:1", ()), "berm max_slope: '4:1' is not a finite number"),
    "crest in inches": (lambda: CrestPoint(1.0, 1.0, 22.0), "crestpoint height: 22 is out of range"),
    "crest nowhere": (lambda: CrestPoint(np.nan, 1.0, 0.5), "crestpoint x: nan is not a finite number"),
    "sod in inches": (lambda: Bed(SQUARE, sod=2.0), "bed sod: 2 is out of range"),
    "list for an outline": (lambda: Bed([(0, 0), (1, 0), (1, 1)]), "bed outline: a list arrived"),
    "crossing outline": (lambda: Bed(Polygon([(0, 0), (4, 4), (4, 0), (0, 4)])), "bed outline: it crosses itself"),
    "empty outline": (lambda: Bed(Polygon()), "bed outline: it encloses no ground"),
    "trunk in inches": (lambda: Tree("oak", (1.0, 1.0), 26.0), "tree trunk: 26 is out of range"),
    "tree nowhere": (lambda: Tree("oak", (1.0, np.inf), 0.6), "tree at: inf is not a finite number"),
    "shrink in percent": (lambda: Soil(shrink=10.0), "soil shrink: 10 is out of range"),
    "swell in percent": (lambda: Soil(swell=25.0), "soil swell: 25 is out of range"),
    "truck below nothing": (lambda: Soil(truck=-5.0), "soil truck: -5 is out of range"),
    "chance in percent": (lambda: Soil(chance=80.0), "soil chance: 80 is out of range"),
    "shots in plan only": (lambda: Survey(np.zeros((4, 2)), ("1",) * 4, ("",) * 4), "survey shots: it has the shape"),
    "names for other shots": (lambda: Survey(np.zeros((4, 3)), ("1",), ("",) * 4), "survey names: there are 1 for 4"),
    "shots as a list": (lambda: Survey([[0, 0, 0]], ("1",), ("",)), "survey shots: a list arrived"),
    "cell below nothing": (lambda: GridSpec(-0.1), "gridspec cell: -0.1 is out of range"),
    "no size for a cell": (lambda: GridSpec(np.nan), "gridspec cell: nan is not a finite number"),
    "no cell": (lambda: Grid(0.0, 0.0, 0.0, 10, 10), "grid cell: 0 is no distance"),
    "grid nowhere": (lambda: Grid(np.nan, 0.0, 0.1, 10, 10), "grid: x0 nan"),
    "nodes in part": (lambda: Grid(0.0, 0.0, 0.1, 10.5, 10), "grid nx: 10.5 is no count"),
    "one node": (lambda: Grid(0.0, 0.0, 0.1, 1, 10), "grid nx: 1 is no count"),
}


@pytest.mark.parametrize(("make", "words"), PARTS.values(), ids=PARTS)
def test_a_part_of_a_site_checks_itself(make: Callable[[], object], words: str) -> None:
    with pytest.raises(InputError, match=words):
        make()


def test_a_site_takes_no_other_parts(study: Study) -> None:
    with pytest.raises(InputError, match="site bed: a Berm arrived"):
        replace(study.site, bed=study.site.berm)
    with pytest.raises(InputError, match="site units: 'feet' arrived"):
        replace(study.site, units="feet")


STAGES: dict[str, Callable[[Study, Study], object]] = {
    "shape_berm": lambda one, two: terrain.shape_berm(two.site, one.ground),
    "measure_earthwork, ground": lambda one, two: terrain.measure_earthwork(one.site, two.ground, one.proposal),
    "measure_earthwork, proposal": lambda one, two: terrain.measure_earthwork(one.site, one.ground, two.proposal),
    "measure_earthwork, site": lambda one, two: terrain.measure_earthwork(two.site, one.ground, one.proposal),
    "order_soil, work": lambda one, two: terrain.order_soil(one.site, two.work),
    "suggest, ground": lambda one, two: terrain.suggest(one.site, two.ground),
    "review, ground": lambda one, two: terrain.review(one.site, two.ground, one.proposal, one.work),
    "review, proposal": lambda one, two: terrain.review(one.site, one.ground, two.proposal, one.work),
    "review, work": lambda one, two: terrain.review(one.site, one.ground, one.proposal, two.work),
    "review, site": lambda one, two: terrain.review(two.site, one.ground, one.proposal, one.work),
}


@pytest.mark.parametrize("call", STAGES.values(), ids=STAGES)
def test_what_belongs_to_another_site_is_refused(
    study: Study, other: Study, call: Callable[[Study, Study], object]
) -> None:
    for one, two in ((study, other), (other, study)):
        with pytest.raises(InputError, match="it was made for another site"):
            call(one, two)


SWAPPED: dict[str, Callable[[Study], object]] = {
    "model_ground": lambda one: terrain.model_ground(one.ground),
    "model_ground of a path": lambda one: terrain.model_ground("site.toml"),
    "shape_berm": lambda one: terrain.shape_berm(one.ground, one.site),
    "measure_earthwork": lambda one: terrain.measure_earthwork(one.site, one.proposal, one.ground),
    "review": lambda one: terrain.review(one.site, one.proposal, one.ground, one.work),
    "order_soil": lambda one: terrain.order_soil(one.work, one.site),
    "suggest": lambda one: terrain.suggest(one.ground, one.site),
    "run_site": lambda one: terrain.run_site("site.toml"),
    "set_out": lambda one: terrain.set_out(one.site),
    "check_as_built": lambda one: terrain.check_as_built(one.site, one),
    "check_as_built of bare shots": lambda one: terrain.check_as_built(one, one.site.survey.shots),
    "where_next": lambda one: terrain.where_next(one.site),
    "write_files": lambda one: terrain.write_files("out", one),
    "read_site": lambda one: terrain.read_site(one.site),
    "natural_look": lambda one: terrain.natural_look(one.ground.elevation, one.ground.grid, one.ground, one.site),
    "review of nothing": lambda one: terrain.review(one.site, one.ground, one.proposal, None),
}


@pytest.mark.parametrize("call", SWAPPED.values(), ids=SWAPPED)
def test_swapped_arguments_are_refused_by_name(study: Study, call: Callable[[Study], object]) -> None:
    with pytest.raises(InputError, match=r"[a-z_]+: [a-z]+: a [A-Za-z]+ arrived\. Accepted: a "):
        call(study)


def test_a_ground_in_feet_is_refused(study: Study) -> None:
    feet = replace(study.ground, elevation=study.ground.elevation / FOOT)
    with pytest.raises(InputError, match="half of the shots lie more than"):
        terrain.shape_berm(study.site, feet)


def test_a_look_at_arrays_that_do_not_fit_is_refused(study: Study) -> None:
    grid, existing, proposed = study.ground.grid, study.ground.elevation, study.proposal.elevation
    with pytest.raises(InputError, match="existing grade: has shape"):
        terrain.natural_look(grid, existing[:-1], proposed, study.site.bed.outline)
    with pytest.raises(InputError, match=r"1 of .* nodes hold no number"):
        terrain.natural_look(grid, with_value(existing, np.nan), proposed, study.site.bed.outline)


def test_targets_in_feet_among_shots_in_metres_are_refused() -> None:
    random = np.random.default_rng(4)
    shots = random.uniform([500.0, 800.0, 30.0], [520.0, 815.0, 31.0], (30, 3))
    targets = random.uniform([505.0, 804.0], [515.0, 812.0], (9, 2))
    for wrong, factor in ((targets / FOOT, 0.3048), (targets * FOOT, 3.281)):
        with pytest.raises(InputError, match=f"times {factor} all lie among them: feet and metres look mixed"):
            terrain.interpolate(shots, wrong)
    beyond, _ = terrain.interpolate(shots, targets + 40.0)
    assert np.isfinite(beyond).all()
    for spoiled in (shots[:, :2], shots[:2], np.where(shots == shots[3, 2], np.nan, shots), shots.ravel()):
        with pytest.raises(InputError):
            terrain.interpolate(spoiled, targets)


def test_a_proposal_off_its_ground_is_refused(study: Study) -> None:
    raised = replace(study.proposal, elevation=study.proposal.elevation + 0.05)
    with pytest.raises(InputError, match=r"its elevation is up to 0\.05 m off the ground"):
        terrain.measure_earthwork(study.site, study.ground, raised)


def test_shots_far_from_the_bed_are_refused(other: Study) -> None:
    far = other.site.survey.shots + np.array([3000.0, 0.0, 0.0])
    site = replace(other.site, survey=replace(other.site.survey, shots=far))
    with pytest.raises(InputError, match="the bed lies wholly off the surveyed ground"):
        terrain.model_ground(site)


def test_a_what_if_is_no_other_site(study: Study) -> None:
    """Heights, soil and prices may change on the way: the ground and the mound stay what they are."""
    berm = study.site.berm
    lower = replace(berm, crest=tuple(replace(point, height=0.8 * point.height) for point in berm.crest), soil=None)
    site = replace(study.site, berm=lower, soil=replace(study.site.soil, price=99.0, swell=0.3))
    work = terrain.measure_earthwork(site, study.ground, terrain.shape_berm(site, study.ground))
    assert 0.0 < work.fill_placed < study.work.fill_placed
    moved = replace(berm, crest=tuple(replace(point, x=point.x + 0.2) for point in berm.crest))
    assert terrain.shape_berm(replace(study.site, berm=moved), study.ground).made_for != study.proposal.made_for
    with pytest.raises(InputError, match="it was made for another site"):
        terrain.measure_earthwork(replace(study.site, berm=moved), study.ground, study.proposal)


def test_a_fingerprint_stands_for_every_part() -> None:
    apart = [
        (1.0, 2.0),
        ((1.0, 2.0),),
        (1, 2),
        ("1.0", "2.0"),
        ("1.02.0",),
        (np.array([1.0, 2.0]),),
        (np.array([1.0, 2.0], dtype=np.float32),),
        (np.array([[1.0], [2.0]]),),
        ({1.0: 2.0},),
        (box(0, 0, 1, 2),),
        (CrestPoint(1.0, 2.0, 0.0),),
        (CrestPoint(1.0, 2.0, np.nextafter(0.0, 1.0)),),
        (None, 1.0, 2.0),
    ]
    assert len({fingerprint(*values) for values in apart}) == len(apart)
    assert fingerprint(CrestPoint(1.0, 2.0, 0.3), box(0, 0, 1, 2)) == fingerprint(
        CrestPoint(1.0, 2.0, 0.3), box(0, 0, 1, 2)
    )


NO_TABLES: tuple[object, ...] = (
    "abc",
    ["a", "b"],
    [[0.0, 1.0, 2.0], [1.0]],
    object(),
    None,
    {},
    [[0, 0, 1j]] * 5,
    [[0.0, 1.0, None]] * 4,
    b"",
)


@pytest.mark.parametrize("value", NO_TABLES, ids=[type(value).__name__ for value in NO_TABLES])
def test_what_is_no_number_or_table_of_numbers_is_refused_everywhere(study: Study, value: Any) -> None:
    site, grid, grade = study.site, study.ground.grid, study.proposal.elevation
    shots = np.random.default_rng(0).random((10, 3))
    calls: dict[str, Callable[[], object]] = {
        "points": lambda: terrain.interpolate(value, shots[:, :2]),
        "targets": lambda: terrain.interpolate(shots, value),
        "accuracy": lambda: terrain.interpolate(shots, shots[:, :2], accuracy=value),
        "method": lambda: terrain.interpolate(shots, shots[:, :2], method=value),
        "existing": lambda: terrain.natural_look(grid, value, grade, site.bed.outline),
        "cell": lambda: Grid(0.0, 0.0, value, 5, 5),
        "fields": lambda: build_site(value),
        "tree at": lambda: replace(site.tree[0], at=value),
        "tree trunk": lambda: replace(site.tree[0], trunk=value),
        "outline": lambda: replace(site.bed, outline=value),
        "trees": lambda: replace(site, tree=value),
        "heaps": lambda: replace(site, heap=(site.tree[0], value)),
        "shots": lambda: replace(site.survey, shots=value),
    }
    if value is not None:
        calls["resolution"] = lambda: terrain.run_site(site, resolution=value)
    accepted = []
    for name, call in calls.items():
        try:
            call()
        except InputError:
            continue
        accepted.append(name)
    assert not accepted
