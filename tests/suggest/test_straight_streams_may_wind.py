"""For a stream that runs straight a line that winds is offered where it can be built: longer, less steep, as legal."""

from __future__ import annotations

import re
import tomllib
from dataclasses import replace

import numpy as np
import pytest
from random_streams import random_stream
from shapely.geometry import LineString

from terrain.ground import Ground, model_ground
from terrain.shape.berm import shape_berm
from terrain.site.model import Site
from terrain.site.read import build_site
from terrain.suggest.winding import winding_lines, winding_words


@pytest.fixture(scope="module")
def fields() -> dict:
    """A random mound with a stream straight down it."""
    found = random_stream(2)
    stream = {key: one for key, one in found["stream"][0].items() if key not in ("drops", "pools")}
    stream |= {"line": [stream["line"][0], stream["line"][-1]], "width": 0.3, "side_slope": 1.0}
    return {**found, "stream": [stream]}


@pytest.fixture(scope="module")
def yard(fields: dict) -> tuple[Site, Ground]:
    site = build_site(fields)
    return site, model_ground(site)


def test_it_winds_between_the_same_ends_is_longer_and_falls_less(yard: tuple[Site, Ground], fields: dict) -> None:
    site, ground = yard
    (one,) = winding_lines(site, ground, shape_berm(site, ground))
    assert (one.line[0], one.line[-1]) == (site.stream[0].line[0], site.stream[0].line[-1])
    line = LineString(one.line)
    assert line.is_simple
    assert 1.03 < line.length / LineString(site.stream[0].line).length < 1.35
    # Leopold and Wolman (1960): a double bend in about eleven widths of the bed; it swings to either side.
    start, end = np.array(one.line[0]), np.array(one.line[-1])
    square = np.array([start[1] - end[1], end[0] - start[0]]) / np.hypot(*(end - start))
    out = (np.array(one.line) - start) @ square
    assert out.max() > 0.1
    assert out.min() < -0.1
    slopes = [section.fall / section.length for section in (one.straight, one.section)]
    assert slopes[1] < slopes[0]
    # What is copied is built as it was offered.
    words = winding_words(one, "m")
    copied = re.search(r"line = \[\[.*\]\]", words)
    assert copied is not None
    again = build_site({**fields, "stream": [{**fields["stream"][0], **tomllib.loads(copied[0])}]})
    same = shape_berm(again, ground).streams[0].section
    assert same.length == pytest.approx(one.section.length, abs=0.05)


def test_a_stream_that_winds_is_left_alone(yard: tuple[Site, Ground]) -> None:
    site, ground = yard
    (one,) = winding_lines(site, ground, shape_berm(site, ground))
    wound = replace(site, stream=(replace(site.stream[0], line=one.line),))
    assert LineString(one.line).length / np.hypot(*(np.array(one.line[-1]) - np.array(one.line[0]))) > 1.1
    assert not list(winding_lines(wound, ground, shape_berm(wound, ground)))


def test_a_yard_without_a_stream_has_none(yard: tuple[Site, Ground]) -> None:
    dry = replace(yard[0], stream=())
    assert not list(winding_lines(dry, yard[1], shape_berm(dry, yard[1])))
