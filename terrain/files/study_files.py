"""What a study looks like as files: existing grade, proposed grade and fill as meshes, and the summary."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from terrain.errors import InputError
from terrain.expect import expect
from terrain.files.bodies import Tint
from terrain.files.delivered import delivered_mesh
from terrain.files.keep_off_proof import KeepOffProof, prove_keep_offs
from terrain.files.meshes import write_meshes
from terrain.files.sets import staged
from terrain.files.summary import as_json, summary_of
from terrain.flow import Study, quietly


def write_files(study: Study, folder: str | Path) -> tuple[Path, ...]:
    """Write a study into a folder, which is made where it is missing: all of its files or none.

    Parameters
    ----------
    study
        One yard worked through.
    folder
        Where `summary.json` goes, and `existing`, `proposed` and `fill`, each as `.glb`, `.stl` and `.ply`. Files of
        these names are replaced; others stay.

    Returns
    -------
    tuple of Path
        The files, sorted by name.

    Raises
    ------
    InputError
        Where `folder` is no folder.
    OutputError
        Where a file cannot be replaced, or does not hold what was meant when it is read back.
    OSError
        Where the system does not let a file be written.
    """
    expect("write_files", study=(study, Study), folder=(folder, (str, Path)))
    out = Path(folder)
    if out.exists() and not out.is_dir():
        raise InputError(f"write_files: {out}", "this is a file.", "Accepted: a folder, or a name for a new one.")
    out.mkdir(parents=True, exist_ok=True)
    with staged(out, None) as aside:
        write_models(study, aside)
        names = sorted(path.name for path in aside.iterdir())
    return tuple(out / name for name in names)


def write_models(
    study: Study, folder: Path, tint: Tint | None = None, progress: Callable[[str], None] = quietly
) -> dict[str, object]:
    """Write meshes and summary of a study into a folder that is there; the summary as written is the answer.

    `tint` gives the GLB its colours. Raises `OutputError` where a file does not hold what was meant.
    """
    progress("writing meshes")
    thin = delivered_mesh(study.site, study.proposal)
    meshes = write_meshes(folder, thin.mesh, study.site.bed.sod, tint=tint)
    progress("proving the keep-offs on the files")
    proof = prove_keep_offs(folder, meshes.names, meshes.offset, study.review.trees)
    summary = summary_of(study, meshes.offset)
    summary |= {
        "mesh_tolerance_m": thin.tolerance,
        "mesh_strays_m": thin.strays,
        "mesh_triangles": len(thin.mesh.triangles),
    }
    summary |= keep_offs_proved(proof)
    (folder / "summary.json").write_text(as_json(summary), encoding="utf-8")
    return summary


def keep_offs_proved(proof: KeepOffProof) -> dict[str, object]:
    """The key of the summary that says on which files no soil was found inside any keep-off."""
    return {
        "keep_offs_proved": {
            "files": list(proof.files),
            "trees": list(proof.trees),
            "tolerance_m": proof.tolerance,
        }
    }
