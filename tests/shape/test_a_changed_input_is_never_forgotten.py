"""Two shapes in one process: whatever is changed in a site, its layout is that of a fresh process."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from typing import Any

import pytest
import shapely
import shapely.affinity
from random_sites import ground_on, site_with
from shapely.geometry import box
from shapely.geometry.base import BaseGeometry

from terrain.errors import InputError
from terrain.fingerprint import alike, fingerprint
from terrain.grid import Grid
from terrain.ground.model import Ground
from terrain.shape import layout
from terrain.shape.layout import Layout, lay_out
from terrain.site.features import Basin, Channel, Drop, RetainedEdge, Terrace
from terrain.site.model import Building, KeepClear, Site, Tree

GRID = Grid(0.0, 0.0, 0.8, 26, 20)
GROUND = ground_on(GRID, 50.0 + 0.03 * GRID.x[None, :] + 0.02 * GRID.y[:, None])


def yard() -> Site:
    site = site_with(box(3.0, 2.0, 15.0, 9.0), [(7.0, 5.0, 0.4)], 0.25, [Tree("oak", (13.0, 7.0), 0.4, 0.4, 0.8)])
    return replace(
        site,
        berm=replace(site.berm, toe=0.8),
        keep_clear=(KeepClear("lid", box(4.0, 7.5, 4.6, 8.1)),),
        building=(Building("shed", box(16.0, 10.0, 18.0, 12.0), 50.5),),
        basin=(Basin("pond", 0.3, center=(10.0, 11.5), size=(1.0, 1.0), side_slope=1.0),),
        channel=(Channel("rill", ((3.0, 11.0), (8.0, 11.0)), 0.3, 0.2, 1.0, (Drop(5.0, 11.0, 0.1),)),),
        terrace=(Terrace("seat", box(8.0, 3.0, 9.0, 4.0), height=0.2),),
        retained_edge=(RetainedEdge("stones", ((5.0, 2.6), (11.0, 2.6)), 0.3),),
        boundary=box(0.0, 0.0, 20.0, 15.0),
    )


def others(value: Any) -> Iterator[Any]:
    """Values near a value, each with one thing in it changed."""
    if is_dataclass(value) and not isinstance(value, type):
        for part in fields(value):
            for other in others(getattr(value, part.name)):
                yield (value, part.name, other)
    elif isinstance(value, tuple):
        for k, item in enumerate(value):
            for other in others(item):
                yield (*value[:k], changed(other), *value[k + 1 :])
    elif value is not None:
        yield near(value)


def near(value: Any) -> Any:
    """A plain value changed a little."""
    if isinstance(value, bool):
        return not value
    if isinstance(value, str):
        return f"{value}x"
    if isinstance(value, BaseGeometry):
        return shapely.affinity.translate(value, 0.05)
    return value * 1.05 + 0.01


def changed(made: Any) -> Any:
    """What `others` wrote down as a dataclass, a field and its new value, put together; anything else as it is."""
    if isinstance(made, tuple) and len(made) == 3 and is_dataclass(made[0]) and isinstance(made[1], str):
        return replace(made[0], **{made[1]: changed(made[2])})
    return made


def printed(one: Layout) -> str:
    """All of a layout but the surfaces of its digs, which are functions: of those the values at the rims."""
    digs = [(dig.name, dig.floor, dig.rim, dig.steps, dig.bottom(shapely.get_coordinates(dig.rim))) for dig in one.digs]
    return fingerprint(replace(one, digs=()), digs)


def answer(site: Site, ground: Ground) -> str:
    try:
        return printed(lay_out(site, ground))
    except InputError as refused:
        return str(refused)


def variants() -> list[tuple[str, Site]]:
    site, found = yard(), []
    for part in fields(Site):
        # The survey has made the ground and makes no layout; what a value refuses by itself is no input.
        if part.name == "survey":
            continue
        for number, other in enumerate(others(getattr(site, part.name))):
            try:
                found.append((f"{part.name} {number}", replace(site, **{part.name: changed(other)})))
            except (InputError, ValueError):
                continue
    return found


@pytest.mark.parametrize("name", sorted({name.split()[0] for name, _ in variants()}))
def test_a_site_changed_in_one_field_is_laid_out_as_in_a_fresh_process(name: str) -> None:
    site, fresh = yard(), {}
    changed = {which: other for which, other in variants() if which.split()[0] == name}
    for which, other in changed.items():
        layout._laid_out.cache_clear()
        fresh[which] = answer(other, GROUND)
    layout._laid_out.cache_clear()
    for which, other in changed.items():
        answer(site, GROUND)  # the one remembered last
        assert answer(other, GROUND) == fresh[which], which


def test_a_renamed_edge_keeps_its_new_name() -> None:
    site = yard()
    lay_out(site, GROUND)
    renamed = replace(site, retained_edge=(replace(site.retained_edge[0], name="kerb"),))
    assert [edge.name for edge in lay_out(renamed, GROUND).retained] == ["kerb"]


def test_one_request_is_laid_out_once() -> None:
    layout._laid_out.cache_clear()
    lay_out(yard(), GROUND)
    lay_out(yard(), GROUND)
    assert layout._laid_out.cache_info().hits == 1


def test_two_sites_are_alike_where_they_have_one_fingerprint() -> None:
    site = yard()
    assert alike(site, yard())
    assert alike(site, replace(site, tree=tuple(replace(tree) for tree in site.tree)))
    told = {which: (alike(site, other), fingerprint(site) == fingerprint(other)) for which, other in variants()}
    assert told
    assert {which: found for which, found in told.items() if found[0] != found[1]} == {}
    assert not all(found for found, _ in told.values())
