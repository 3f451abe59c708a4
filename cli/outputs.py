"""Everything that `shape` writes into a folder, and what there is to say about it."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from terrain.files.delivered import delivered_mesh
from terrain.files.keep_off_proof import KeepOffProof, prove_keep_offs
from terrain.files.meshes import write_meshes
from terrain.files.summary import summary_of
from terrain.flow import Study
from terrain.units import Units, parse_length
from viewer.draw import draw_all
from viewer.page.contours import check_interval
from viewer.page.sheet import paper_named
from viewer.page.subject import CHOSEN, Asked, Subject
from viewer.pictures.tint import mound_tint
from viewer.sheets.water_map import draw_water


@dataclass(frozen=True)
class Outputs:
    """The summary as written, the names of the files, and remarks on how they were made."""

    summary: dict[str, object]
    names: tuple[str, ...]
    remarks: tuple[str, ...]


def asked_of(units: Units, contours: str | None, paper: str | None) -> Asked:
    """What --contours and --paper ask of the drawings; `InputError` where they cannot be read."""
    interval = None if contours is None else parse_length(contours, units, "--contours")
    return Asked(interval, None if paper is None else paper_named(paper))


def check_asked(study: Study, asked: Asked) -> None:
    """Refuse a contour interval that this yard cannot be drawn with."""
    if asked.interval is not None:
        check_interval(asked.interval, study.ground.elevation, study.site.units)


def write_outputs(
    study: Study,
    folder: Path,
    progress: Callable[[str], None],
    asked: Asked = CHOSEN,
    *,
    plan_set: bool = False,
) -> Outputs:
    """Write summary, drawings and meshes of one study into an existing folder, and the plan set where it is wanted."""
    progress("writing meshes")
    thin = delivered_mesh(study.site, study.proposal)
    meshes = write_meshes(folder, thin.mesh, study.site.bed.sod, tint=mound_tint(study.proposal))
    progress("proving the keep-offs on the files")
    proof = prove_keep_offs(folder, meshes.names, meshes.offset, study.review.trees)
    progress("drawing")
    stages = (study.site, study.ground, study.proposal, study.work)
    _, remarks = draw_all(*stages, study.review, folder, progress, asked=asked)
    if plan_set:
        from viewer.sheets.plan_set import draw_plan_set

        draw_plan_set(study, folder, asked, progress)
    progress("drawing where water goes")
    subject = Subject(study.site, study.ground, study.proposal, study.work)
    draw_water(subject, study.review.water, study.review.findings, folder)
    summary = summary_of(study, meshes.offset)
    summary |= {
        "mesh_tolerance_m": thin.tolerance,
        "mesh_strays_m": thin.strays,
        "mesh_triangles": len(thin.mesh.triangles),
    }
    summary |= keep_offs_proved(proof)
    (folder / "summary.json").write_text(as_json(summary), encoding="utf-8")
    return Outputs(summary, tuple(sorted(path.name for path in folder.iterdir())), tuple(remarks))


def keep_offs_proved(proof: KeepOffProof) -> dict[str, object]:
    """The key of the summary that says on which files no soil was found inside any keep-off."""
    return {
        "keep_offs_proved": {
            "files": list(proof.files),
            "trees": list(proof.trees),
            "tolerance_m": proof.tolerance,
        }
    }


def as_json(summary: dict[str, object], *, plain: bool = False) -> str:
    """The summary as strict JSON text, with no letter beyond ASCII where it is to be `plain`.

    A figure that is no number raises here and never reaches a file.
    """
    return json.dumps(summary, indent=2, ensure_ascii=plain, allow_nan=False) + "\n"
