"""The summary: every figure that a person acts on, as plain values under the keys that others rely on."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict

import numpy as np

from terrain.study import Study

FORMAT = "hummock-summary/1"
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
        Keys of `hummock-summary/1`; lengths in metres, areas in m2, volumes in m3, slopes as rise/run,
        shares as fractions. `low` and `high` bound the central 90 % range. A figure that does not exist is
        None.
    """
    summary = {
        "format": FORMAT,
        "site": study.site.name,
        "units": study.site.units,
        "ground": _ground(study),
        "berm": _berm(study),
        "earthwork": _earthwork(study),
        "trees": _trees(study),
        "look": _look(study),
        "findings": [asdict(finding) for finding in study.review.findings],
        "offset_m": offset,
    }
    plain = _plain(summary)
    assert isinstance(plain, dict)
    return plain


def _ground(study: Study) -> Plain:
    ground, site = study.ground, study.site
    outline = site.bed.outline
    return {
        "shots": ground.check.shots,
        "doubtful": [shot.name for shot in ground.check.doubtful],
        "method": ground.check.method,
        "check_rms_m": ground.check.rms,
        "errors_m": dict(ground.check.errors),
        "cell_m": ground.grid.cell,
        "nodes": ground.grid.nx * ground.grid.ny,
        "bed_mean_deviation_m": ground.mean_deviation,
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
        "height_scale": proposal.height_scale,
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
        "sod_m3": work.sod,
        "mulch_m3": work.mulch,
        "import_loose_m3": work.import_loose,
        "import_loose_low_m3": work.import_loose_low,
        "import_loose_high_m3": work.import_loose_high,
        "export_loose_m3": work.export_loose,
        "day_one_factor": work.day_one_factor,
        "trucks": work.trucks,
        "barrows": work.barrows,
        "cost": work.cost,
        "checks_m3": asdict(work.checks),
        "range_parts_m3": {
            "fill_placed": [asdict(share) for share in work.fill_shares],
            "import_loose": [asdict(share) for share in work.import_shares],
        },
    }


def _trees(study: Study) -> list[Plain]:
    return [
        {
            "name": tree.name,
            "at": tree.at,
            "keep_off_m": tree.keep_off,
            "root_zone_m": tree.root_zone,
            "root_zone_rule": tree.rule,
            "fill_in_keep_off_m3": tree.fill_in_keep_off,
            "cut_in_keep_off_m3": tree.cut_in_keep_off,
            "deepest_fill_in_root_zone_m": tree.deepest_fill_in_root_zone,
            "share_of_root_zone_covered": tree.share_of_root_zone_covered,
            "share_of_root_zone_disturbed": tree.share_of_root_zone_disturbed,
            "nearest_fill_m": tree.nearest_fill,
        }
        for tree in study.review.trees
    ]


def _look(study: Study) -> Plain:
    look = study.review.look
    return {
        "reads_natural": look.reads_natural,
        "signs": [
            {
                "sign": sign.sign,
                "value": sign.value,
                "bound": sign.bound,
                "present": sign.present,
                "at": sign.at,
            }
            for sign in look.signs
        ],
    }


def _plain(value: object) -> object:
    """The same value in JSON's own kinds; a figure that is not finite becomes None."""
    if isinstance(value, bool | np.bool_):
        return bool(value)
    if isinstance(value, int | np.integer):
        return int(value)
    if isinstance(value, float | np.floating):
        return float(value) if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {str(key): _plain(item) for key, item in value.items()}
    if isinstance(value, np.ndarray):
        return _plain(value.tolist())
    if isinstance(value, Sequence) and not isinstance(value, str):
        return [_plain(item) for item in value]
    return value
