"""Every file that `ground` writes into a folder."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path

from terrain.field import NextPlace, before_shooting, ground_part
from terrain.files import TREES_FILE, as_json, scan_plain, summary_of, trees_text
from terrain.flow import Study
from terrain.ground import ReadAgain
from terrain.soil import round_offset
from viewer.desk import Desk
from viewer.sheets import GroundSubject, draw_ground


def summary_with_ground(study: Study, wanted: Sequence[NextPlace]) -> dict[str, object]:
    """The keys of the summary, and under "survey" what only this command works out."""
    summary = summary_of(study, round_offset(study.proposal.mesh, study.site.bed.sod))
    survey = study.site.survey
    return {
        **summary,
        "survey": {
            "left_out": [asdict(shot) for shot in survey.left_out],
            "doubtful": [asdict(shot) for shot in study.ground.check.doubtful],
            "read_again": [_again(shot, study.site.bed.outline.area) for shot in study.ground.check.again],
            "widest_gap": None if study.ground.gap is None else asdict(study.ground.gap),
            "breaklines": len(survey.breaklines),
            "notes": list(study.ground.notes),
            "scan": scan_plain(study.site),
            "ground_part_of_order_m3": ground_part(study.order.shares),
            "before_shooting": [
                {"do": one.do, "part": one.part, "low_loose_m3": one.order[0], "high_loose_m3": one.order[1]}
                for one in before_shooting(study)
            ],
            "next_shots": [_wanted(one) for one in wanted],
        },
    }


def _again(shot: ReadAgain, bed_area: float) -> dict[str, object]:
    """A shot to read again; without it the placed fill changes by `fill_placed_change_m3`."""
    return {
        "name": shot.name,
        "at": list(shot.at),
        "residual_m": shot.residual,
        "odds": shot.odds,
        "fill_placed_change_m3": -shot.change * bed_area if shot.heeded else 0.0,
        "heeded": shot.heeded,
    }


def _wanted(one: NextPlace) -> dict[str, object]:
    """A place to shoot; ranges are the central 90 % once it and those before it are shot."""
    tapes = one.tapes
    return {
        "name": one.name,
        "at": list(one.at),
        "tapes": None
        if tapes is None
        else {
            "start": tapes.start.name,
            "end": tapes.end.name,
            "from_start_m": tapes.from_start,
            "from_end_m": tapes.from_end,
            "side": "left" if tapes.left else "right",
        },
        "bed_mean_deviation_m": one.mean_deviation,
        "ground_part_of_order_m3": one.ground,
        "fill_placed_low_m3": one.fill[0],
        "fill_placed_high_m3": one.fill[1],
        "low_loose_m3": one.order[0],
        "high_loose_m3": one.order[1],
    }


def write_ground(
    study: Study, wanted: Sequence[NextPlace], summary: dict[str, object], folder: Path, desk: Desk
) -> tuple[str, ...]:
    """Write ground.pdf, its pages as pictures, ground.json and a scan's trunks into a folder; answers their names."""
    with desk.doing(draw_ground, GroundSubject(study, wanted), folder):
        (folder / "ground.json").write_text(as_json(summary), encoding="utf-8")
        if trees := trees_text(study.site):
            (folder / TREES_FILE).write_text(trees, encoding="utf-8")
    return tuple(sorted(path.name for path in folder.iterdir()))
