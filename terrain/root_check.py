"""The root check of a site whose keep-offs leave no ground for a mound: that is its finding, and no refusal."""

from __future__ import annotations

from dataclasses import replace

from shapely.geometry import Point

from terrain.findings import Finding
from terrain.flow import Progress, Study, quietly, run_site
from terrain.review import in_order, review
from terrain.shape import NoGroundError
from terrain.site import Site, Tree, flare_radius, keep_off_radius, root_rule
from terrain.units import show_length


def run_roots(site: Site, *, progress: Progress = quietly) -> Study:
    """Work a site through; where keep-offs take the whole bed, with the soil that the site file asks for all the same.

    Then only the flares hold soil back, so that an arborist sees what the wish would lay on which roots, and a stop
    says which keep-off leaves no room for it.

    Raises
    ------
    InputError
        As `run_site`; where other ground than keep-offs takes the whole bed.
    """
    try:
        return run_site(site, progress=progress)
    except NoGroundError:
        bare = replace(site, tree=tuple(replace(tree, keep_off=flare_radius(tree)) for tree in site.tree))
        wished = run_site(bare, progress=progress)
    held = replace(wished.site, tree=site.tree)
    proposal = replace(wished.proposal, made_for=held.yard_print)
    work = replace(wished.work, made_for=held.layers_print)
    found = review(held, wished.ground, proposal, work)
    findings = in_order((*_swallowed(held), *found.findings))
    return replace(wished, site=held, proposal=proposal, work=work, review=replace(found, findings=findings))


def _swallowed(site: Site) -> tuple[Finding, ...]:
    """A stop for each tree whose keep-off reaches into the bed."""
    return tuple(
        _finding(site, tree)
        for tree in site.tree
        if Point(tree.at).distance(site.bed.outline) < keep_off_radius(tree, site.trees.rule)
    )


def _finding(site: Site, tree: Tree) -> Finding:
    radius = keep_off_radius(tree, site.trees.rule)
    shown, rule = show_length(radius, site.units, "distance"), root_rule(site.trees.rule)
    by = "the site file" if tree.keep_off is not None else f'the rule "{rule.name}", since no keep_off is stated'
    return Finding(
        "stop",
        "trees",
        f"{tree.name}: its keep-off of {shown}, by {by}, leaves no ground in the bed for soil. What is checked here is "
        "the soil that the site file asks for, with only the flares kept free. Move the bed, or have an arborist say "
        "how near soil may come.",
        radius,
        None,
        "the site file" if tree.keep_off is not None else rule.source,
        tree.at,
    )
