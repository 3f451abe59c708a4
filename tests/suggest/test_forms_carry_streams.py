"""A suggested form carries the stream of the site, or is not offered."""

from __future__ import annotations

from dataclasses import replace

import pytest
from random_streams import random_stream

from terrain.flow import run_site
from terrain.ground import Ground, model_ground
from terrain.site.model import Site
from terrain.site.read import build_site
from terrain.suggest.search import Suggestion, carrying_streams


@pytest.fixture(scope="module")
def yard() -> tuple[Site, Ground]:
    site = build_site(random_stream(2))
    return site, model_ground(site)


def form(site: Site, ground: Ground) -> Suggestion:
    return Suggestion("as drawn", "As drawn.", run_site(replace(site, stream=()), ground=ground), 1.0, 1.0)


def test_the_stream_is_cut_into_the_form_and_stands_in_its_site(yard: tuple[Site, Ground]) -> None:
    site, ground = yard
    (found,) = carrying_streams(site.stream, (form(site, ground),), ground)
    assert found.site.stream == site.stream
    assert found.proposal.streams[0].section.name == "run"
    assert found.proposal.fill.sum() < form(site, ground).proposal.fill.sum()


def test_a_form_down_which_the_stream_cannot_run_is_not_offered(yard: tuple[Site, Ground]) -> None:
    site, ground = yard
    uphill = replace(site.stream[0], line=site.stream[0].line[::-1], drops=None, pools=(), basin="")
    assert not list(carrying_streams((uphill,), (form(site, ground),), ground))
