"""The odd yards are odd: every feature, both units and every kind of bed among the first sixty, and few are refused."""

from __future__ import annotations

from odd_yards import KINDS, SHAPED, odd_sites, odd_yard

FEATURES = (
    "tree",
    "keep_clear",
    "walk",
    "heap",
    "building",
    "basin",
    "channel",
    "terrace",
    "retained_edge",
    "view_from",
    "thing",
)


def test_sixty_odd_yards_hold_every_feature_and_are_read() -> None:
    found = list(odd_sites(range(60)))
    assert len(found) >= SHAPED * 60
    sites = [site for _, site in found]
    for feature in FEATURES:
        assert sum(bool(getattr(site, feature)) for site in sites) >= 10, feature
    assert {yard.kind for yard, _ in found} == set(KINDS)
    assert {site.units for site in sites} == {"ft", "m"}
    assert any(site.bed.outline.interiors for site in sites), "beds with holes"
    assert any(site.boundary is not None for site in sites), "a lot line"
    assert any(site.survey.breaklines for site in sites)
    assert min(len(site.survey.shots) for site in sites) <= 5
    assert max(point.height for site in sites for point in site.berm.crest) > 1.4, "crests far over the limit"


def test_the_yard_of_a_seed_is_the_same_every_time() -> None:
    first = odd_yard(7).files
    odd_yard.cache_clear()
    assert odd_yard(7).files == first
