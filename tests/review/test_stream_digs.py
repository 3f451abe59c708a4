"""A stream's bed and the trench of its pipe are digs where they run through old ground: a root zone counts them."""

from __future__ import annotations

from typing import Any

import pytest
import shapely
from random_streams import random_stream

from terrain.flow import Study, run_site
from terrain.review.trenches import PIPE_DEEP, pipe_trench
from terrain.site.read import build_site


@pytest.fixture(scope="module")
def study() -> Study:
    fields: dict[str, Any] = random_stream(1)
    line = fields["stream"][0]["line"]
    (ax, ay), (bx, by) = line[-2], line[-1]
    middle = ((ax + bx) / 2.0 - (by - ay) * 0.9, (ay + by) / 2.0 + (bx - ax) * 0.9)
    tree = {"name": "elm", "at": list(middle), "trunk": 0.3, "flare": 0.35, "keep_off": 0.6}
    water = {"flow": "90 L/min", "pipe": {"length": 9.0, "size": "5 cm"}}
    return run_site(build_site({**fields, "tree": [tree], "water": water}))


def test_the_trench_of_the_pipe_lies_in_old_ground_beside_the_bed_and_away_from_the_tree(study: Study) -> None:
    (bed,), (stream,) = study.proposal.streams, study.site.stream
    trench = pipe_trench(study.site, stream, study.proposal)
    assert trench.depth == pytest.approx(0.3048)  # a foot: common practice, no published source
    assert trench.depth == PIPE_DEEP
    assert trench.outline.area > 0.05
    assert trench.outline.intersection(study.proposal.worked).area < 1e-9
    assert trench.outline.intersection(bed.dig.rim).area < 1e-9
    elm = shapely.Point(study.site.tree[0].at)
    assert trench.outline.distance(elm) > shapely.LineString(stream.line).distance(elm)


def test_the_tree_check_names_the_bed_and_the_pipe(study: Study) -> None:
    (check,) = study.review.trees
    names = [met.name for met in check.digs]
    assert "run" in names
    assert "the trench of the pipe of run" in names
