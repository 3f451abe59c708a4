"""What the tree check finds: exact figures on plates of soil, and how loudly each of them is told."""

import dataclasses
import math

import numpy as np
import pytest
import review_yards as yards
from hypothesis import given, strategies as st
from shapely.geometry import Point, box

from terrain.limits import FOOT, INCH
from terrain.numerics.disc import deeper_than, disc_content, fill_facets
from terrain.review.trees import check_trees, holding_radius
from terrain.site.model import Allowed, Soil, Tree, TreeRule
from terrain.site.read import read_site

HERE, FAR = (10.0, 10.0), box(-100.0, -100.0, 120.0, 120.0)


def checked(mesh, *trees, units="m", rule="BS 5837:2012", sod=0.0, worked=None, day_one=1.0, soil=None):
    """Checks and findings for a mesh of plates."""
    ground = yards.make_ground(yards.make_grid())
    proposal = yards.make_proposal(ground, 0.0, FAR, mesh, **({} if worked is None else {"worked": worked}))
    values = {"tree": trees, "trees": TreeRule(rule)} | ({} if soil is None else {"soil": soil})
    site = yards.make_site(FAR, units, sod=sod, **values)
    checks = check_trees(site, proposal, yards.make_work(day_one))
    return checks, yards.tree_findings(site, checks)


def oak(trunk=0.6, keep_off=1.5, flare=0.6, at=HERE, name="bur oak"):
    return Tree(name, at, trunk, flare, keep_off)


def outside(radius):
    """Ground that keeps clear of a circle about the tree, so that nothing but the root zone is told of."""
    return FAR.difference(Point(HERE).buffer(radius + 0.1))


def half_plane(depth, apart):
    """Soil on the far side of a straight bed edge that passes `apart` metres from the trunk."""
    return yards.plates((box(HERE[0] + apart, -100.0, 100.0, 100.0), depth))


def plate(depth, apart):
    """A strip of soil 0.4 m wide and 4 m long whose near side passes `apart` metres from the trunk."""
    return yards.plates((box(HERE[0] + apart, HERE[1] - 2.0, HERE[0] + apart + 0.4, HERE[1] + 2.0), depth))


def level_of(findings, word=""):
    return [f.level for f in findings if word in f.text]


@pytest.mark.parametrize(("apart", "share"), [(6, 3.980), (5, 9.660), (4, 16.547), (3.6, 19.550)])
def test_straight_bed_edge_covers_the_share_of_the_closed_formula(apart, share):
    # A = R^2 acos(d/R) - d sqrt(R^2 - d^2) on a zone of 7.2 m (0.6 m trunk, 12 x): geometry.
    (check,), _ = checked(half_plane(0.3, apart), oak())
    assert check.root_zone == pytest.approx(7.2, abs=1e-12)
    assert 100 * check.share_of_root_zone_covered == pytest.approx(share, abs=6e-4)
    assert check.fill_in_root_zone == pytest.approx(0.3 * share / 100 * math.pi * 7.2**2, rel=1e-4)
    assert check.nearest_fill == pytest.approx(apart, abs=1e-12)
    assert check.nearest_fill_in_diameters == pytest.approx(apart / 0.6, abs=1e-9)
    assert check.fill_in_keep_off == 0.0


def test_minor_and_major_encroachment_are_told_apart_at_a_tenth():
    # AS 4970-2009 cl. 3.3.2 and 3.3.3: up to 10 % minor, more is major. Thin soil, so that depth does not speak.
    _, minor = checked(half_plane(0.04, 5.0), oak(), worked=outside(1.5))
    _, major = checked(half_plane(0.04, 4.0), oak(), worked=outside(1.5))
    assert minor[0].bound == pytest.approx(2 * INCH)
    assert (major[0].bound, major[0].value) == (0.10, pytest.approx(0.16547, abs=1e-5))
    assert "AS 4970-2009" in major[0].source


def test_ring_of_soil_that_begins_at_a_radius_is_counted_by_ring_and_by_depth():
    plate = yards.plates((box(0.0, 0.0, 20.0, 20.0), lambda x, y: 0.05 + 0.02 * y))
    (check,), _ = checked(plate, oak())
    whole = math.pi * 7.2**2
    assert check.share_of_root_zone_covered == pytest.approx(1.0, abs=1e-12)
    assert check.deepest_fill_in_root_zone == pytest.approx(0.05 + 0.02 * 17.2, abs=1e-9)
    assert check.deepest_at == pytest.approx((10.0, 17.2), abs=1e-6)
    assert check.rings[0].inner == 0.6
    assert check.rings[-1].outer == pytest.approx(7.2)
    assert all(ring.covered == pytest.approx(ring.area, rel=1e-9) for ring in check.rings)
    flare_disc = math.pi * 0.6**2
    assert sum(ring.volume for ring in check.rings) == pytest.approx(0.25 * (whole - flare_disc), rel=1e-9)
    assert sum(band.area for band in check.bands) == pytest.approx(whole, rel=1e-9)
    # Depth 0.1 m lies on y = 2.5, 7.5 m south of the trunk and so outside the zone; 0.2 m lies on y = 7.5.
    assert check.bands[0].area == pytest.approx(0.0, abs=1e-9)
    cut_off = 7.2**2 * math.acos(2.5 / 7.2) - 2.5 * math.sqrt(7.2**2 - 2.5**2)
    assert check.bands[1].area == pytest.approx(cut_off, rel=1e-9)


@given(st.floats(-3, 3), st.floats(-3, 3), st.floats(0, 2 * math.pi), st.floats(0.1, 0.9))
def test_a_mound_moved_and_turned_with_its_tree_gives_the_same_figures(east, north, angle, trunk):
    turn = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    plain = yards.plates((box(12.0, 8.0, 15.0, 14.0), lambda x, y: 0.3 + 0.05 * (x - 13)))
    moved = dataclasses.replace(plain, points=(plain.points - HERE) @ turn.T + HERE + (east, north))
    (first,), _ = checked(plain, oak(trunk))
    (second,), _ = checked(moved, oak(trunk, at=(HERE[0] + east, HERE[1] + north)))
    assert second.fill_in_root_zone == pytest.approx(first.fill_in_root_zone, abs=1e-9)
    assert second.share_of_root_zone_covered == pytest.approx(first.share_of_root_zone_covered, abs=1e-9)
    assert second.deepest_fill_in_root_zone == pytest.approx(first.deepest_fill_in_root_zone, abs=1e-9)
    assert second.nearest_fill == pytest.approx(first.nearest_fill, abs=1e-9)


@pytest.mark.parametrize(("depth", "level"), [(0.010, "caution"), (0.020, "stop")])
def test_soil_in_the_keep_off_stops_above_the_noise_of_a_survey(depth, level):
    # Planning default of half an inch (common practice): 1 cm is within it, 2 cm is not.
    (check,), findings = checked(half_plane(depth, 1.0), oak(), worked=outside(1.5))
    assert check.deepest_in_keep_off == pytest.approx(depth)
    assert check.fill_in_keep_off > 0.0
    (inside,) = [f for f in findings if "inside its keep-off" in f.text]
    assert (inside.level, inside.bound, inside.source) == (level, 0.0, "the site file")


def test_soil_up_to_the_circle_leaves_exactly_nothing_inside():
    (check,), findings = checked(half_plane(0.5, 1.5), oak(), worked=box(11.5, 0, 20, 20))
    assert (check.fill_in_keep_off, check.mulched_in_keep_off, check.deepest_in_keep_off) == (0.0, 0.0, 0.0)
    assert level_of(findings, "No soil, no heap and no mulch") == ["note"]


def test_mulch_and_stripping_count_inside_the_keep_off_without_any_soil():
    (check,), findings = checked(half_plane(0.5, 3.0), oak(), worked=box(11.0, 0.0, 20.0, 20.0), sod=0.05)
    area = 1.5**2 * math.acos(1 / 1.5) - math.sqrt(1.5**2 - 1)
    assert check.mulched_in_keep_off == pytest.approx(area, rel=1e-9)
    assert level_of(findings, "stripped and mulched") == ["caution"]
    assert not level_of(findings, "No soil, no heap and no mulch")


def test_stripped_ground_counts_as_disturbed_even_where_no_soil_comes():
    (bare,), _ = checked(half_plane(0.3, 6.0), oak(), worked=box(14.0, -99, 99, 99))
    (stripped,), _ = checked(half_plane(0.3, 6.0), oak(), worked=box(14.0, -99, 99, 99), sod=0.05)
    assert 100 * bare.share_of_root_zone_disturbed == pytest.approx(3.980, abs=6e-4)
    assert 100 * stripped.share_of_root_zone_disturbed == pytest.approx(16.547, abs=6e-4)
    assert stripped.share_of_root_zone_covered == bare.share_of_root_zone_covered


def test_deep_soil_on_the_root_zone_is_a_caution_that_asks_for_an_arborist_in_writing():
    _, findings = checked(half_plane(0.3, 5.0), oak(), worked=outside(1.5))
    (deep,) = [f for f in findings if "covers" in f.text]
    assert deep.level == "caution"
    assert (deep.value, deep.bound) == (pytest.approx(0.3), pytest.approx(2 * INCH))
    assert "arborist's written advice" in deep.text
    assert "30 cm" in deep.text
    assert "10 %" in deep.text


def test_more_than_a_quarter_of_the_zone_speaks_before_depth():
    _, findings = checked(half_plane(0.3, 2.0), oak(), worked=outside(1.5))
    (wide,) = [f for f in findings if "covers" in f.text]
    assert (wide.level, wide.bound) == ("stop", 0.25)
    assert wide.value > 0.25
    assert "Minnesota" in wide.source


def test_clay_is_held_to_one_inch_and_other_soil_to_two():
    # U. Maryland Extension (clay over 1 in), U. Delaware Extension (2 in).
    for kind, bound in (("clay loam", 1 * INCH), ("sandy loam", 2 * INCH)):
        _, findings = checked(half_plane(0.04, 5.5), oak(), soil=Soil(kind), worked=outside(1.5))
        (found,) = [f for f in findings if "covers" in f.text]
        assert found.bound == pytest.approx(bound)
        assert ("written" in found.text) == (kind == "clay loam")


def test_depth_before_settling_governs():
    _, settled = checked(half_plane(0.048, 5.5), oak(), worked=outside(1.5))
    (check,), loose = checked(half_plane(0.048, 5.5), oak(), day_one=1.1, worked=outside(1.5))
    assert check.deepest_on_day_one == pytest.approx(0.0528)
    assert "written" not in settled[0].text
    assert "written" in loose[0].text


def test_soil_near_the_trunk_but_outside_the_stated_keep_off_is_said():
    # 0.6 m trunk: three diameters are 1.8 m, the structural root zone is 2.67 m.
    assert holding_radius(0.6) == pytest.approx(2.670, abs=0.002)
    _, findings = checked(half_plane(0.1, 2.1), oak(), worked=outside(1.5))
    (near,) = [f for f in findings if "covers" in f.text]
    assert near.bound == 0.25  # a stop, by its share; how near it comes is said too
    assert "at 2.10 m it is over the roots that hold it up (to 2.67 m)" in near.text


@pytest.mark.parametrize(
    ("apart", "level", "words"),
    [(1.0, "stop", "dug away inside its keep-off"), (2.0, "stop", "hold the tree up"), (5.0, "caution", "cut roots")],
)
def test_digging_near_a_tree_is_graded_by_what_the_roots_do(apart, level, words):
    # Smiley, willow oak: anchorage within 3 trunk diameters; AS 4970-2009: structural root zone.
    (check,), findings = checked(half_plane(-0.3, apart), oak(), worked=outside(1.5))
    assert level_of(findings, words) == [level]
    assert check.nearest_cut == pytest.approx(apart)
    assert check.share_of_root_zone_covered == 0.0
    assert check.share_of_root_zone_disturbed > 0.05


@pytest.mark.parametrize(("apart", "source"), [(1.7, "Smiley"), (1.9, "AS 4970-2009 (replaced in 2025) cl. 3.3.5")])
def test_a_dig_among_the_holding_roots_names_the_rule_that_it_breaks(apart, source):
    # A trunk of 0.6 m: three diameters are 1.8 m, the structural root zone 2.67 m.
    _, findings = checked(half_plane(-0.3, apart), oak(), worked=outside(1.5))
    (found,) = [f for f in findings if "hold the tree up" in f.text]
    assert found.source.startswith(source)
    assert found.bound == pytest.approx(2.670, abs=0.002)


# AS 4970-2009 cl. 3.3.5: soil over the roots that hold the tree up is a stop, however thin; further out a question.
@pytest.mark.parametrize(("apart", "words", "level"), [(2.0, "hold it up", "stop"), (4.0, "thin soil", "caution")])
def test_thin_soil_is_graded_by_how_near_it_comes(apart, words, level):
    (check,), findings = checked(plate(0.03, apart), oak(), worked=outside(1.5))
    (found,) = [f for f in findings if "covers" in f.text]
    assert check.share_of_root_zone_disturbed < 0.10
    assert words in found.text
    assert found.level == level


@pytest.mark.parametrize(
    ("apart", "words"), [(7.2 + 1.0, "ends 1.00 m outside"), (7.195, "just reaches"), (7.2 + 1.6, "")]
)
def test_work_beside_a_root_zone_is_a_note(apart, words):
    _, findings = checked(half_plane(0.012, apart), oak(), worked=outside(1.5))
    beside = [f for f in findings if "root protection zone" in f.text]
    assert [f.level for f in beside] == (["note"] if words else [])
    assert all(words in f.text for f in beside)


def test_texts_speak_the_units_of_the_site():
    tree = Tree("bur oak", HERE, 26 * INCH, 2.1 * FOOT, 5 * FOOT)
    (check,), findings = checked(half_plane(22 * INCH, 6 * FOOT), tree, units="ft", rule="1 ft per inch")
    assert check.root_zone / FOOT == pytest.approx(26.0)
    text = " ".join(f.text for f in findings)
    assert "22 in deep" in text
    assert " m " not in text


def test_every_tree_has_its_check_in_the_order_of_the_file():
    trees = (oak(name="a"), oak(name="b", at=(40.0, 40.0)), oak(name="c", keep_off=None))
    checks, _ = checked(half_plane(0.2, 5.0), *trees)
    assert [check.name for check in checks] == ["a", "b", "c"]
    assert checks[2].keep_off == checks[2].root_zone


def test_no_soil_is_no_finding():
    checks, findings = checked(half_plane(0.0, 5.0), oak(), worked=outside(1.5))
    assert checks[0].nearest_fill == math.inf
    assert checks[0].rings[0].deepest == 0.0
    assert checks[0].bands == ()
    assert findings == ()


def test_far_from_the_origin_the_figures_hold():
    plate = yards.plates((box(12.0, 8.0, 15.0, 14.0), 0.3))
    far = dataclasses.replace(plate, points=plate.points + 1e6)
    (here,), _ = checked(plate, oak())
    (there,), _ = checked(far, oak(at=(HERE[0] + 1e6, HERE[1] + 1e6)))
    assert there.fill_in_root_zone == pytest.approx(here.fill_in_root_zone, rel=1e-8)


@pytest.mark.parametrize("name", yards.EXAMPLES)
def test_shaped_berm_leaves_exactly_nothing_in_any_keep_off(name, request):
    from terrain.shape.berm import shape_berm

    site = read_site(request.config.rootpath / "examples" / name / "site.toml")
    proposal = shape_berm(site, yards.plane_under(site))
    checks = check_trees(site, proposal, yards.make_work())
    assert len(checks) == len(site.tree) > 0
    for check in checks:
        assert check.fill_in_keep_off == 0.0
        assert check.mulched_in_keep_off == 0.0
        assert check.nearest_fill >= check.keep_off
    assert proposal.fill.max() > 0.2


# What an arborist has allowed, the crown, the digs by name, many trees.


def limited(depth, apart, **allowed):
    """The finding on soil over the zone of the oak, with what an arborist has allowed there."""
    mesh = half_plane(depth, apart)
    proposal = yards.make_proposal(yards.make_ground(yards.make_grid()), 0.0, FAR, mesh, worked=outside(1.5))
    given = Allowed("A. Person", "12-3", "2026-05-04", **allowed) if allowed else None
    tree = dataclasses.replace(oak(), allowed=given)
    site = yards.make_site(FAR, tree=(tree,), trees=TreeRule("BS 5837:2012"))
    checks = check_trees(site, proposal, yards.make_work(1.1))
    return next(f for f in yards.tree_findings(site, checks) if "covers" in f.text)


@pytest.mark.parametrize(
    ("depth", "limits", "level"),
    [
        (0.10, {"fill": 0.111}, "caution"),  # 11 cm on day one
        (0.10, {"fill": 0.109}, "stop"),
        (0.10, {"share": 0.10}, "caution"),  # depth is still nobody's leave
        (0.10, {"share": 0.09}, "stop"),
        (0.10, {}, "caution"),
        (0.10, {"fill": 0.12, "share": 0.10}, "caution"),
    ],
)
def test_what_an_arborist_has_allowed_is_the_bound(depth, limits, level):
    found = limited(depth, 5.0, **limits)  # 9.66 % of the zone
    assert found.level == level
    if level == "stop":
        assert found.value > found.bound
        assert found.bound in limits.values()
        assert "arborist" in found.source


def test_share_that_nobody_allowed_still_asks():
    assert limited(0.10, 4.0, fill=0.2).level == "caution"
    assert limited(0.10, 4.0, fill=0.2).bound == 0.10


def crowned(dripline, apart, rule="BS 5837:2012"):
    tree = dataclasses.replace(oak(), dripline=dripline)
    (check,), findings = checked(half_plane(0.3, apart), tree, rule=rule, worked=outside(1.5))
    return check, [f for f in findings if "crown" in f.text]


def test_grade_under_a_crown_that_reaches_past_the_zone_is_told():
    check, (found,) = crowned(9.0, 8.0)
    cut_off = 81 * math.acos(8 / 9) - 8 * math.sqrt(17)  # a straight edge across the crown's circle: geometry
    assert check.changed_in_dripline == pytest.approx(cut_off, rel=1e-9)
    assert (found.level, found.bound) == ("caution", 0.0)
    assert found.value == pytest.approx(cut_off, rel=1e-9)
    assert crowned(9.0, 9.1)[1] == []
    assert crowned(7.0, 5.0)[1] == []
    # Where the rule goes by the crown, the zone reaches to it and there is nothing past it.
    check, found = crowned(9.0, 8.0, "dripline")
    assert (check.root_zone, found) == (9.0, [])


def test_digs_that_meet_roots_are_named_with_their_distance_in_diameters():
    from terrain.site.features import Basin, Channel

    mesh = yards.plates((box(13.0, 9.0, 14.0, 11.0), -0.4), (box(5.0, 15.0, 6.0, 19.0), -0.2))
    pool = Basin("pool", 0.4, outline=box(13.2, 9.2, 13.8, 10.8))
    swale = Channel("swale", ((5.5, 19.0), (5.5, 15.0)), 0.4, 0.2)
    site = dataclasses.replace(
        yards.make_site(FAR, tree=(oak(),), trees=TreeRule("BS 5837")), basin=(pool,), channel=(swale,)
    )
    proposal = yards.make_proposal(yards.make_ground(yards.make_grid()), 0.0, FAR, mesh, worked=outside(1.5))
    (check,) = checks = check_trees(site, proposal, yards.make_work())
    assert [(dig.name, dig.distance) for dig in check.digs] == [
        ("pool", pytest.approx(3.0, abs=1e-12)),
        ("swale", pytest.approx(math.hypot(4.0, 5.0), abs=1e-12)),
    ]
    assert check.nearest_cut_in_diameters == pytest.approx(5.0)
    assert check.nearest_cut_at == pytest.approx((13.0, 10.0))
    (told,) = [f for f in yards.tree_findings(site, checks) if "dig" in f.text.lower()]
    assert "pool and swale meet its root protection zone 3.00 m from the trunk's centre, 5.0 trunk" in told.text


def test_rings_hold_their_soil_by_depth_and_bands_are_round_in_either_system():
    for units, band in (("m", 0.10), ("ft", 4 * INCH)):
        plate = yards.plates((box(0.0, 0.0, 20.0, 20.0), lambda x, y: 0.02 * y))
        (check,), _ = checked(plate, oak(), units=units)
        assert [b.deep for b in check.bands] == pytest.approx([band * (k + 1) for k in range(len(check.bands))])
        for ring in check.rings:
            assert sum(b.area for b in ring.bands) == pytest.approx(ring.covered, abs=1e-9)
            assert len(ring.bands) == len(check.bands)
        for k, whole in enumerate(check.bands):
            inner = disc_content(deeper_than(fill_facets(plate), 0.001 if k == 0 else whole.shallow), HERE, 0.6).area
            inner -= disc_content(deeper_than(fill_facets(plate), whole.deep), HERE, 0.6).area
            assert sum(ring.bands[k].area for ring in check.rings) + inner == pytest.approx(whole.area, abs=1e-9)


def test_many_trees_are_told_briefly_and_no_stop_is_hidden():
    trees = [oak(name=f"tree {k}", at=(10.0 + 0.1 * k, 10.0)) for k in range(7)]
    _, findings = checked(half_plane(0.2, 4.0), *trees, worked=outside(3.0))
    over_roots = [f for f in findings if "oil up to" in f.text]
    assert len(over_roots) == 4
    # The trees nearest to the soil stand alone, the others share one.
    assert [f.text.partition(":")[0] for f in over_roots[:3]] == ["tree 6", "tree 5", "tree 4"]
    assert "tree 3, tree 2, tree 1 and tree 0" in over_roots[-1].text
    _, stops = checked(half_plane(0.2, 1.0), *trees, worked=outside(3.0))
    assert len([f for f in stops if f.level == "stop" and "inside its keep-off" in f.text]) == 7


def test_how_kinds_take_soil_is_told_once_for_all_trees():
    trees = (oak(), dataclasses.replace(oak(name="by the gate"), species="beech"), oak(name="red maple"))
    _, findings = checked(half_plane(0.2, 4.0), *trees, worked=outside(3.0))
    (told,) = [f for f in findings if "one list" in f.text]
    assert told.level == "note"
    assert told.text.startswith("By one list raised grade harms bur oak and by the gate most. How raised grade harms")
    assert told.text.endswith("red maple is not known here.")


@pytest.mark.parametrize(("apart", "share"), [(6, 3.980), (4, 16.547)])
def test_digging_covers_the_share_of_the_closed_formula_too(apart, share):
    # A = R^2 acos(d/R) - d sqrt(R^2 - d^2) on a zone of 7.2 m: geometry, as for soil above.
    (check,), _ = checked(half_plane(-0.3, apart), oak())
    assert 100.0 * check.share_of_root_zone_dug == pytest.approx(share, abs=0.001)
    assert check.share_of_root_zone_covered == 0.0


def test_rings_are_a_metre_wide_from_the_flare_and_end_with_the_zone():
    # From a flare of 0.6 m to a zone of 7.2 m: six whole rings and one of 0.6 m; together pi (7.2^2 - 0.6^2).
    (check,), _ = checked(half_plane(0.3, 4.0), oak())
    assert [ring.inner for ring in check.rings] == pytest.approx([0.6 + k for k in range(7)])
    assert [ring.outer for ring in check.rings] == pytest.approx([1.6, 2.6, 3.6, 4.6, 5.6, 6.6, 7.2])
    assert sum(ring.area for ring in check.rings) == pytest.approx(math.pi * (7.2**2 - 0.6**2))
