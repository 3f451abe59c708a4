"""What a notebook asks of a stage: a short line, a small plan with figures, equality, other libraries' forms."""

from __future__ import annotations

import pickle
import re
import sys
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from xml.etree import ElementTree

import hummock
import numpy as np
import pytest
from shipped import study_of

import viewer.plots
from terrain.errors import InputError
from terrain.field.asbuilt.model import BuiltShots
from terrain.flow import Study, run_site

STAGES = ("site", "ground", "proposal", "work", "order", "review")
WIDE = 0.3  # metres: cells are wide enough for what is asked here


@pytest.fixture(scope="module")
def study() -> Study:
    assert hummock.run_site is run_site  # which opens the door
    return study_of("larkspur-rise", WIDE)


@pytest.fixture(scope="module")
def again(study: Study) -> Study:
    """The same yard, read and worked once more from its text."""
    return run_site(pickle.loads(pickle.dumps(study.site)), resolution=WIDE)


@pytest.mark.parametrize("stage", [*STAGES, "whole"])
def test_a_stage_worked_twice_is_the_same_value(stage: str, study: Study, again: Study) -> None:
    one, other = (at if stage == "whole" else getattr(at, stage) for at in (study, again))
    assert one is not other
    assert one == other
    assert hash(one) == hash(other)
    assert len({one, other}) == 1
    assert one != object()


def test_a_stage_that_differs_in_one_cell_is_another(study: Study) -> None:
    elevation = study.ground.elevation.copy()
    elevation[3, 4] += 1e-12
    assert replace(study.ground, elevation=elevation) != study.ground
    assert replace(study.site, name="another") != study.site
    assert replace(study.order, quantity=study.order.quantity + 1.0) != study.order
    assert replace(study.site, path=None) == study.site, "where a folder lies is no part of the yard"


@pytest.mark.parametrize("stage", STAGES)
def test_a_stage_says_in_a_line_what_it_is(stage: str, study: Study) -> None:
    told = repr(getattr(study, stage))
    assert re.fullmatch(r"<[A-Z]\w+[ :].{20,160}>", told)
    assert "array" not in told


def test_what_is_said_is_what_is_so(study: Study) -> None:
    assert f"{study.order.quantity:.1f} m3 loose to buy" in repr(study.order)
    assert f"{len(study.site.survey.shots)} shots" in repr(study.site)
    assert f"{study.proposal.steepest:.3f}" in repr(study.proposal)
    cautions = [finding for finding in study.review if finding.level == "caution"]
    assert f"{len(cautions)} cautions" in repr(study.review)


@pytest.mark.parametrize("stage", ["site", "ground", "proposal", "order", "review", "whole"])
def test_a_notebook_shows_a_small_plan_and_figures(stage: str, study: Study) -> None:
    page = (study if stage == "whole" else getattr(study, stage))._repr_html_()
    root = ElementTree.fromstring(page)  # every tag is closed
    assert root.find(".//svg") is not None
    assert len(root.findall(".//tr")) >= 4
    assert "nan" not in page
    for part in root.iter("path"):
        numbers = [float(word) for word in re.findall(r"-?\d+\.?\d*", part.attrib["d"])]
        assert all(-12.0 <= number <= 340.0 for number in numbers), "all of it lies in the picture"


def test_names_of_a_site_file_cannot_become_tags(study: Study) -> None:
    name = "<script>alert(1)</script>"
    trees = tuple(replace(tree, name=name) for tree in study.site.tree)
    page = replace(study.site, name=name, tree=trees)._repr_html_()
    assert "<script" not in page
    assert ElementTree.fromstring(page) is not None


def test_a_ground_and_a_proposal_are_datasets_with_units(study: Study) -> None:
    ground, proposal = study.ground.to_xarray(), study.proposal.to_xarray()
    assert np.array_equal(ground["elevation"].values, study.ground.elevation)
    assert dict(ground.sizes) == {"y": study.ground.grid.ny, "x": study.ground.grid.nx}
    x, y = study.ground.grid.x[5], study.ground.grid.y[7]
    assert float(proposal["fill"].sel(x=x, y=y)) == study.proposal.fill[7, 5]
    assert {layer.attrs.get("units") for layer in (proposal["fill"], ground["deviation"], ground["x"])} == {"m"}


def test_a_proposal_is_a_body_of_the_same_area_and_heights(study: Study) -> None:
    body = study.proposal.to_pyvista()
    mesh = study.proposal.mesh
    corners = np.column_stack([mesh.points, mesh.proposed])[mesh.triangles]
    sides = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    assert body.area == pytest.approx(0.5 * np.linalg.norm(sides, axis=1).sum(), rel=1e-6)
    assert body.point_data["fill"].max() == pytest.approx(mesh.fill.max())
    assert body.cell_data["bed"].sum() == mesh.inside.sum()


def test_findings_stakes_and_ledger_are_tables(study: Study) -> None:
    findings = study.review.to_frame()
    assert list(findings["text"]) == [finding.text for finding in study.review]
    assert findings["x"].dtype == float
    stakes = hummock.set_out(study)
    table = stakes.to_frame()
    assert len(table) == len(stakes.stakes)
    assert np.allclose(table["day_one"] - table["existing"], table["build"])
    apart = [np.hypot(one.at[0] - one.tapes.start.at[0], one.at[1] - one.tapes.start.at[1]) for one in stakes.stakes]
    assert np.allclose(table["from_start"], apart)
    ledger = study.order.to_frame()
    assert ledger["placed"].sum() == pytest.approx(sum(line.placed for line in study.order.ledger))


@pytest.mark.parametrize(
    ("library", "ask"),
    [
        ("xarray", lambda study: study.ground.to_xarray()),
        ("xarray", lambda study: study.proposal.to_xarray()),
        ("pyvista", lambda study: study.proposal.to_pyvista()),
        ("pandas", lambda study: study.review.to_frame()),
        ("pandas", lambda study: study.order.to_frame()),
    ],
)
def test_a_missing_library_is_named_with_what_installs_it(
    library: str, ask: Callable, study: Study, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, library, None)
    with pytest.raises(InputError, match=rf"needs the library {library}.*notebook\]"):
        ask(study)


ELSEWHERE = {"plot_scan", "plot_stream", "plot_as_built"}  # which ask for more than this yard has
PLOTS = sorted(set(dir(viewer.plots)) - ELSEWHERE)
SLOW = {
    *("plot_eye_view", "plot_view", "plot_ground", "plot_sureness"),  # stills, and where to shoot next
    *("plot_cutfill", "plot_hillshade", "plot_skyline"),
    "plot_order",  # the yard at six other heights
}


def stands_on_the_right(draw: Callable[..., object]) -> None:
    """A drawing stands on the axes that are given and on nothing else, as wide as it is high, its letters with it."""
    from matplotlib import pyplot
    from matplotlib.figure import Figure

    before = pyplot.get_fignums()
    figure = Figure(figsize=(8.0, 4.0))
    left, right = figure.subplots(1, 2)
    untouched = len(left.get_children()), left.get_xlim(), left.get_ylim()
    assert draw(ax=right) is right
    assert pyplot.get_fignums() == before
    assert figure.axes == [left, right]
    assert len(right.get_children()) > 20
    assert (len(left.get_children()), left.get_xlim(), left.get_ylim()) == untouched
    assert right.get_aspect() == 1.0
    (west, wide), (south, high) = right.get_xlim(), right.get_ylim()
    assert (west, south) == (0.0, 0.0)
    points = np.vstack([path.vertices for one in right.collections for path in one.get_paths() if len(path.vertices)])
    assert ((points > -1.0) & (points < (wide + 1.0, high + 1.0))).all(), "nothing is drawn past the edge"
    assert (np.ptp(points, axis=0) > 0.5 * np.array([wide, high])).all(), "and it fills them"
    share = min(right.get_window_extent().width / wide, right.get_window_extent().height / high) * 72.0 / figure.dpi
    letters = {text.get_fontsize() for text in right.texts if text.get_text()}
    assert max(letters) < 45.0 * share, "letters shrink with the page, whose largest are 40 points"


@pytest.mark.parametrize("name", [pytest.param(n, marks=pytest.mark.slow) if n in SLOW else n for n in PLOTS])
def test_a_drawing_stands_on_axes_that_are_given(name: str, study: Study) -> None:
    stands_on_the_right(partial(getattr(hummock, name), study))


def test_the_long_section_of_a_stream_stands_on_axes_that_are_given() -> None:
    study = study_of("tansy-hollow", WIDE)
    stands_on_the_right(partial(hummock.plot_stream, study, stream="run"))
    with pytest.raises(InputError, match=r'plot: stream: "rill" is not there. Accepted: run'):
        hummock.plot_stream(study, stream="rill")


def test_what_was_built_stands_on_axes_that_are_given(study: Study) -> None:
    bed = np.array(study.site.bed.outline.representative_point().coords)
    at = bed + np.random.default_rng(5).uniform(-1.0, 1.0, (20, 2))
    built = BuiltShots(
        np.column_stack([at, study.proposal.grid.sample(study.proposal.elevation, at)]),
        tuple(f"B{k}" for k in range(20)),
        ("",) * 20,
        "built.csv",
    )
    stands_on_the_right(partial(hummock.plot_as_built, study, hummock.check_as_built(study, built, "day one")))


def test_what_the_yard_has_not_is_said_with_what_it_has(study: Study) -> None:
    with pytest.raises(InputError, match=r'plot: tree: "elm" is not there. Accepted: river birch, sugar maple'):
        hummock.plot_tree(study, tree="elm")
    with pytest.raises(InputError, match=r"plot: stream: .* The site file names none"):
        hummock.plot_stream(study)
    with pytest.raises(InputError, match=r"plot: scan: the survey has none"):
        hummock.plot_scan(study)
    two = [hummock.plot_tree(study, tree=name).texts for name in ("river birch", "sugar maple")]
    assert {text.get_text() for text in two[0]} != {text.get_text() for text in two[1]}
    from matplotlib import pyplot

    pyplot.close("all")


def test_axes_of_its_own_are_those_of_a_new_figure(study: Study) -> None:
    from matplotlib import pyplot

    ax = hummock.plot_plan(study)
    assert ax.figure.number in pyplot.get_fignums()
    pyplot.close(ax.figure)


@pytest.mark.parametrize("given", [("study", None), (None, "axes")])
def test_something_else_is_refused_by_its_name(given: tuple, study: Study) -> None:
    first, second = given
    with pytest.raises(InputError, match=r"plot"):
        hummock.plot_plan(study if first is None else first, ax=second)
