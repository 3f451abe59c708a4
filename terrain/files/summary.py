"""The summary: every figure that a person acts on, as plain values under the keys that others rely on."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict

import numpy as np

from terrain.field import order_after_survey
from terrain.files.order_plain import ledger_plain, order_plain
from terrain.flow import Study
from terrain.ground import lie_of
from terrain.review import DepthBand, Ring, Runoff, StormWater, TreeCheck, Verdict, harm_words, limit_words
from terrain.site import HOUR

FORMAT = "hummock-summary/2"
Plain = dict[str, object]


def summary_of(study: Study, offset: tuple[float, float, float]) -> Plain:
    """Return the summary of one study, SI units, ready for strict JSON.

    Parameters
    ----------
    study
        One yard worked through.
    offset
        What was taken off the survey coordinates in the mesh files, metres.

    Returns
    -------
    dict
        Keys of `hummock-summary/2`; lengths in metres, areas in m2, volumes in m3, slopes as rise/run,
        shares as fractions. `low` and `high` bound the central 90 % range. `earthwork` holds volumes alone; what is
        bought and hauled stands under `order`, every soil of the job under `soil`. What does not exist is None.
    """
    summary = {
        "format": FORMAT,
        "site": study.site.name,
        "units": study.site.units,
        "ground": _ground(study),
        "berm": _berm(study),
        "earthwork": _earthwork(study),
        "soil": ledger_plain(study.order),
        "order": order_plain(study),
        "trees": _trees(study),
        "water": _water(study),
        "look": _look(study),
        "findings": [asdict(finding) for finding in study.review.findings],
        "checks": [_check(verdict) for verdict in study.review.checks],
        "offset_m": offset,
    }
    plain = _plain(summary)
    assert isinstance(plain, dict)
    return plain


def _ground(study: Study) -> Plain:
    ground, site = study.ground, study.site
    lie = lie_of(site, ground)
    outline = site.bed.outline
    return {
        "shots": ground.check.shots,
        "falls": {"slope": lie.slope, "toward": lie.toward, "text": lie.text},
        "doubtful": [shot.name for shot in ground.check.doubtful],
        "method": ground.check.method,
        "check_rms_m": ground.check.rms,
        "errors_m": dict(ground.check.errors),
        "cell_m": ground.grid.cell,
        "nodes": ground.grid.nx * ground.grid.ny,
        "bed_mean_deviation_m": ground.mean_deviation,
        "order_after_20_shots_loose_m3": order_after_survey(study),
        "bed_share_surveyed": outline.intersection(ground.hull).area / outline.area,
    }


def _berm(study: Study) -> Plain:
    proposal, site = study.proposal, study.site
    return {
        "height_m": max(proposal.fill.max(), proposal.mesh.fill.max()),
        "limit": site.berm.max_slope,
        "steepest": proposal.steepest,
        "existing_steepest": proposal.existing_steepest,
        "area_m2": site.bed.outline.area,
        "worked_area_m2": proposal.worked.area,
        "toe_m": proposal.toe,
        "side_slope_limit_run_to_rise": 1.0 / site.berm.max_slope,
        "side_slope_steepest_run_to_rise": 1.0 / proposal.steepest if proposal.steepest > 0.0 else None,
        "width_to_height": study.review.look.width_to_height,
        "height_scale": proposal.height_scale,
        "day_one_factor": study.work.day_one_factor,
        "crest": [
            {"at": point.at, "wished_m": point.wished, "built_m": point.built, "held_by": point.held_by}
            for point in proposal.crest
        ],
    }


def _earthwork(study: Study) -> Plain:
    work = study.work
    return {
        "fill_placed_m3": work.fill_placed,
        "fill_placed_low_m3": work.fill_placed_low,
        "fill_placed_high_m3": work.fill_placed_high,
        "cut_bank_m3": work.cut_bank,
        "cut_bank_low_m3": work.cut_bank_low,
        "cut_bank_high_m3": work.cut_bank_high,
        "trench_bank_m3": work.trench,
        "sod_m3": work.sod,
        "sod_on_digs_m3": work.sod_on_digs,
        "mulch_m3": work.mulch,
        "checks_m3": asdict(work.checks),
        "range_parts_m3": {
            "fill_placed": [asdict(share) for share in work.fill_shares],
            "cut_bank": [asdict(share) for share in work.cut_shares],
        },
    }


def _trees(study: Study) -> list[Plain]:
    """The figures of every tree; distances in trunk diameters are plain numbers."""
    return [
        {
            "name": tree.name,
            "at": tree.at,
            "trunk_m": tree.trunk,
            "keep_off_m": tree.keep_off,
            "root_zone_m": tree.root_zone,
            "root_zone_rule": tree.rule,
            "flare_m": tree.flare,
            "raised_grade": harm_words(tree.kind),
            "flare_measured": not tree.flare_assumed,
            "structural_root_zone_m": tree.structural,
            "holding_roots_m": tree.holding_roots,
            "dripline_m": tree.dripline,
            "fill_in_keep_off_m3": tree.fill_in_keep_off,
            "cut_in_keep_off_m3": tree.cut_in_keep_off,
            "mulched_in_keep_off_m2": tree.mulched_in_keep_off,
            "heaped_in_keep_off_m2": tree.heaped_in_keep_off,
            "deepest_fill_in_root_zone_m": tree.deepest_fill_in_root_zone,
            "deepest_at": tree.deepest_at,
            "deepest_on_day_one_m": tree.deepest_on_day_one,
            "fill_in_root_zone_m3": tree.fill_in_root_zone,
            **_shares(tree),
            **_reach(tree),
            "kept": limit_words(tree, study.site.units)[0],
            "digs": [{"name": dig.name, "distance_m": dig.distance, "depth_m": dig.depth} for dig in tree.digs],
            "allowed": None if tree.allowed is None else asdict(tree.allowed),
            "rings": [_ring(ring) for ring in tree.rings],
            "bands": _bands(tree.bands),
        }
        for tree in study.review.trees
    ]


def _shares(tree: TreeCheck) -> Plain:
    """Shares of a root zone, and the ground under the crown beyond it."""
    return {
        "share_of_root_zone_covered": tree.share_of_root_zone_covered,
        "share_of_root_zone_stripped": tree.share_of_root_zone_stripped,
        "share_of_root_zone_dug": tree.share_of_root_zone_dug,
        "share_of_root_zone_heaped": tree.share_of_root_zone_heaped,
        "share_of_root_zone_stones": tree.share_of_root_zone_stones,
        "share_of_root_zone_disturbed": tree.share_of_root_zone_disturbed,
        "changed_in_dripline_m2": tree.changed_in_dripline,
    }


def _reach(tree: TreeCheck) -> Plain:
    """How near soil and cuts come to a trunk."""
    return {
        "deepest_cut_in_root_zone_m": tree.deepest_cut_in_root_zone,
        "nearest_fill_m": tree.nearest_fill,
        "nearest_fill_in_diameters": tree.nearest_fill_in_diameters,
        "nearest_fill_at": tree.nearest_fill_at,
        "nearest_cut_m": tree.nearest_cut,
        "nearest_cut_in_diameters": tree.nearest_cut_in_diameters,
        "nearest_cut_at": tree.nearest_cut_at,
    }


def _ring(ring: Ring) -> Plain:
    return {
        "inner_m": ring.inner,
        "outer_m": ring.outer,
        "area_m2": ring.area,
        "covered_m2": ring.covered,
        "fill_m3": ring.volume,
        "deepest_m": ring.deepest,
        "bands": _bands(ring.bands),
    }


def _bands(bands: Sequence[DepthBand]) -> list[Plain]:
    return [{"from_m": band.shallow, "to_m": band.deep, "area_m2": band.area} for band in bands]


def _water(study: Study) -> Plain:
    """Ponds that the work makes, and where water leaves, before and after."""
    water = study.review.water
    return {
        "ponds": [
            {"at": pond.at, "depth_m": pond.depth, "volume_m3": pond.volume, "area_m2": pond.area}
            for pond in water.ponds
        ],
        "exits": [
            {
                "side": one.side,
                "at": one.at,
                "before_m2": one.before,
                "after_m2": one.after,
                "over_lot_line": one.over_lot_line,
            }
            for one in water.exits
        ],
        "storm": _storm(water.storm),
    }


def _storm(found: StormWater) -> Plain:
    """One storm: what falls is what soaks in, stands and leaves; roofs are left out."""
    return {
        "rain_m": found.storm.rain,
        "hours": found.storm.lasts / HOUR,
        "intake_m_s": found.storm.intake,
        "assumed": found.storm.assumed,
        "peak_runoff_m_s": found.peak,
        "before": _runoff(found.before),
        "after": _runoff(found.after),
        "leaving": [
            {
                "side": one.side,
                "at": one.at,
                "before_m3": one.before,
                "after_m3": one.after,
                "width_before_m": one.width_before,
                "width_after_m": one.width_after,
            }
            for one in found.leaving
        ],
        "basins": [
            {
                "name": basin.name,
                "catchment_m2": basin.catchment,
                "comes_m3": basin.comes,
                "room_m3": basin.room,
                "spills_m3": basin.spills,
                "spills_at": basin.to,
                "dry_after_h": basin.dry_after,
            }
            for basin in found.basins
        ],
    }


def _runoff(one: Runoff) -> Plain:
    return {
        "rain_m3": one.fell,
        "soaked_m3": one.soaked,
        "stored_m3": one.stored,
        "left_m3": one.left,
        "dry_after_h": one.dry_after,
    }


def _check(verdict: Verdict) -> Plain:
    """One check: its verdict, what it lacked, who has the last word, and the texts of its findings."""
    return {
        "check": verdict.check.name,
        "topic": verdict.check.topic,
        "verdict": verdict.word,
        "holds": verdict.check.holds,
        "for_lack_of": verdict.lack,
        "decides": verdict.check.decides,
        "findings": [finding.text for finding in verdict.findings],
    }


def _look(study: Study) -> Plain:
    look = study.review.look
    return {
        "reads_natural": look.reads_natural,
        "verdict": look.verdict,
        "signs": [
            {
                "sign": sign.sign,
                "value": sign.value,
                "bound": sign.bound,
                "far": sign.far,
                "present": sign.present,
                "rarity": sign.rarity,
                "at": sign.at,
                "sentence": sign.sentence,
                "suggestion": sign.suggestion,
            }
            for sign in look.signs
        ],
    }


def _plain(value: object) -> object:
    """The same value in JSON's own kinds; a figure that is not finite becomes None."""
    if isinstance(value, np.ndarray | np.generic):
        return _plain(value.tolist())
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {str(key): _plain(item) for key, item in value.items()}
    if isinstance(value, Sequence) and not isinstance(value, str):
        return [_plain(item) for item in value]
    return value


def as_json(summary: dict[str, object], *, plain: bool = False) -> str:
    """The summary as strict JSON text, with no letter beyond ASCII where it is to be `plain`.

    A figure that is no number raises here and never reaches a file.
    """
    return json.dumps(summary, indent=2, ensure_ascii=plain, allow_nan=False) + "\n"
