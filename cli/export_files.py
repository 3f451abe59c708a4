"""What `export` was asked for, and every file that it writes."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

import numpy as np

from cli.setout_files import write_stakes
from terrain.earth import Located
from terrain.errors import InputError
from terrain.extras import how_to_install
from terrain.field import SetOut, set_out
from terrain.files import (
    FORMATS,
    Grade,
    Job,
    KeepOffProof,
    ThinnedMesh,
    delivered_mesh,
    graded,
    is_writable,
    keep_offs_proved,
    need_libraries,
    need_place,
    prove_keep_offs,
    summary_of,
)
from terrain.flow import Study
from terrain.soil import round_offset
from terrain.units import Units, parse_length, show_length
from viewer.page import KEEP_OFF, WALK, DrawingOptions, channels, subject_of
from viewer.pictures import mound_interval, mound_tint

DRAWN = ("png", "svg")
KNOWN = (*FORMATS, *DRAWN)
OF_EARTH = tuple(name for name, known in FORMATS.items() if known.of_earth)
STAKED = ("csv", "geojson", *OF_EARTH)
MODELS = ("stl", "3mf")
MESHES = ("glb", "obj", "ply", "dxf", "landxml", *MODELS)
_RATIO = re.compile(r"1\s*:\s*(\d+(?:\.\d+)?)")
_FEET_TO_INCH = re.compile(r"1\s*in\s*=\s*(\d+(?:\.\d+)?)\s*ft")  # as the drawings write their scale
_SMALLEST, _LARGEST = 1.0, 10_000.0  # metres of yard in one metre of model
_THINNEST, _THICKEST = 0.0005, 0.1  # metres: what holds together, and what is a plate still
_COARSEST = 0.3  # metres of height: more is no mound any longer
_COLOURS = {
    "bark": "#6b5a45",
    "leaves": "#7f9a6a",
    "buildings": "#d9d3c7",
    "walks": WALK,
    "kept-clear": WALK,
    "keep-offs": KEEP_OFF,
    "root-zones": "#2f4a2b",
}


@dataclass(frozen=True)
class ExportOptions:
    """Formats in the order of the help, and how to write them.

    `scale` and `base` are those of the table model: metres of yard in one of model, and metres of model; `tolerance` is
    that of the meshes, metres; `grade` is what is written. `left_out` are formats of "all" whose library
    is not installed.
    """

    formats: tuple[str, ...]
    scale: float
    base: float
    tolerance: float
    grade: Grade
    left_out: tuple[str, ...] = ()


@dataclass(frozen=True)
class ExportedFiles:
    """Names of the files, remarks on them, the mesh that they hold (None where they hold none), what was proved,
    and the grade that they hold.
    """

    names: tuple[str, ...]
    remarks: tuple[str, ...]
    thin: ThinnedMesh | None
    proof: KeepOffProof
    grade: Grade


def wanted(
    formats: str,
    scale: str,
    base: str,
    tolerance: str,
    units: Units,
    grade: Grade = "finished",
    located: Located | None = None,
) -> ExportOptions:
    """The options as values; a bare number of a thickness or tolerance is in the site's units,
    and `located` says where on earth it lies.

    Raises
    ------
    InputError
        For an unknown format, a scale that is none, a length out of range, a library that is not installed, and a
        format of the earth for a site that does not say where on it the yard lies.
    """
    asked, everything = _formats(formats)
    here = [name for name in asked if not (everything and located is None and name in OF_EARTH)]
    names = tuple(name for name in here if not everything or is_writable(name))
    found = ExportOptions(
        names,
        _scale(scale),
        _between(base, units, "--base", _THINNEST, _THICKEST),
        _between(tolerance, units, "--tolerance", 0.0, _COARSEST),
        grade,
        tuple(name for name in here if name not in names),
    )
    need_libraries(names)
    need_place(names, located)
    return found


def _formats(text: str) -> tuple[tuple[str, ...], bool]:
    """The formats by name in the order of the help, and whether all were asked for."""
    words = [word.strip().lower().lstrip(".") for word in text.split(",") if word.strip()]
    known = ", ".join(KNOWN)
    if not words:
        raise InputError("--to", "no format is named.", f"Known: {known}, or all.")
    for word in words:
        if word not in (*KNOWN, "all"):
            near = get_close_matches(word, KNOWN, n=1)
            hint = f" Did you mean {near[0]}?" if near else ""
            raise InputError("--to", f'"{word}" is not a known format.{hint}', f"Known: {known}, or all.")
    everything = "all" in words
    return tuple(name for name in KNOWN if everything or name in words), everything


def _scale(text: str) -> float:
    ratio, feet = _RATIO.fullmatch(text.strip()), _FEET_TO_INCH.fullmatch(text.strip())
    value = float(ratio[1]) if ratio else 12.0 * float(feet[1]) if feet else 0.0
    if not _SMALLEST <= value <= _LARGEST:
        accepted = f'Accepted: 1:1 to 1:{_LARGEST:.0f}, such as 1:100, or "1 in = 8 ft".'
        raise InputError("--scale", f'"{text}" is not a scale.', accepted)
    return value


def _between(text: str, units: Units, where: str, low: float, high: float) -> float:
    value = parse_length(text, units, where)
    if not low <= value <= high:
        ends = f"{1000.0 * low:g} mm to {1000.0 * high:g} mm"
        raise InputError(where, f'"{text}" is out of range.', f"Accepted: {ends}.")
    return value


def write_formats(
    study: Study, asked: ExportOptions, drawings: DrawingOptions, folder: Path, progress: Callable[[str], None]
) -> ExportedFiles:
    """Write every format that was asked for into an existing folder; `drawings` says how the drawings are wanted."""
    job = _job(study, asked, drawings.interval)
    names: list[str] = []
    for name in asked.formats:
        progress(f"writing {name}")
        names += (
            FORMATS[name].write(job, folder)
            if name in FORMATS
            else _drawn(study, (name, asked.grade), drawings, folder, progress)
        )
        if name == "csv" and job.stakes is not None:
            names += write_stakes(job.stakes, study.site.units, folder, "stakes")
    progress("proving the keep-offs on the files")
    proof = prove_keep_offs(folder, names, round_offset(job.thin.mesh, study.site.bed.sod), study.review.trees)
    thin = job.thin if set(asked.formats) & set(MESHES) else None
    remarks = [*_remarks(job, asked, thin), *_proved(proof)]
    return ExportedFiles(tuple(names), tuple(remarks), thin, proof, asked.grade)


def _job(study: Study, asked: ExportOptions, interval: float | None) -> Job:
    site, proposal = study.site, graded(study, asked.grade)
    return Job(
        site,
        study.ground,
        proposal,
        tuple(study.review.findings),
        delivered_mesh(site, proposal, asked.tolerance),
        mound_interval(proposal, site.units) if interval is None else interval,
        mound_tint(proposal),
        {name: np.array(channels(colour)) for name, colour in _COLOURS.items()},
        asked.scale,
        asked.base,
        asked.grade,
        _stakes(study, asked),
    )


def _stakes(study: Study, asked: ExportOptions) -> SetOut | None:
    """The set-out, for the formats that show it; a map is written without stakes where none can be set."""
    if not set(asked.formats) & set(STAKED):
        return None
    try:
        return set_out(study, stage=asked.grade)
    except InputError:
        if "csv" in asked.formats:
            raise
        return None


def _drawn(
    study: Study, what: tuple[str, Grade], drawings: DrawingOptions, folder: Path, progress: Callable[[str], None]
) -> list[str]:
    """The drawings in one kind of file, of one grade."""
    from viewer.pictures import draw_pictures

    kind, grade = what
    return draw_pictures(subject_of(study, drawings, grade), study.review.findings, kind, folder, progress)


def _remarks(job: Job, asked: ExportOptions, thin: ThinnedMesh | None) -> list[str]:
    remarks = [f"Grade: {asked.grade}."]
    if asked.left_out:
        missing = sorted({FORMATS[name].library for name in asked.left_out})
        needed = f"which need {', '.join(missing)}. {how_to_install('exchange')}"
        remarks.append(f"Left out: {', '.join(asked.left_out)}, {needed}")
    if thin is not None:
        fine, left = len(job.proposal.mesh.triangles), len(thin.mesh.triangles)
        remarks.append(
            f"Meshes: {left:,} of {fine:,} triangles, within {1000.0 * thin.strays:.1f} mm of the shaped surface."
        )
        remarks += [thin.note] if thin.note else []
    if set(asked.formats) & set(MODELS):
        mesh = job.thin.mesh
        east, north = np.ptp(mesh.points, axis=0) * 1000.0 / job.scale
        high = np.ptp(mesh.proposed) * 1000.0 / job.scale + job.base * 1000.0
        size = f"{east:.0f} x {north:.0f} x {high:.0f} mm"
        remarks.append(f"Table model at 1:{job.scale:g}: {size}, plate {job.base * 1000.0:g} mm.")
    if {"dxf", "geojson"} & set(asked.formats):
        step = show_length(job.interval, job.site.units, "elevation")
        remarks.append(f"Contours every {step}; coordinates as surveyed, in {job.site.units}.")
    return [*remarks, *_placed(job, asked)]


def _placed(job: Job, asked: ExportOptions) -> list[str]:
    """Where on earth the files lie, or that they lie nowhere."""
    located, remarks = job.site.survey.located, []
    if located is not None:
        remarks.append(f"On earth by {located.name}.")
    elif "geojson" in asked.formats:
        remarks.append("On no map: the site does not say where on earth it lies (crs or place under [survey]).")
    if located is not None and set(asked.formats) & {"geojson", *OF_EARTH} and job.stakes is None:
        remarks.append("No stakes on the maps: none can be set out from what the site holds.")
    return remarks


def _proved(proof: KeepOffProof) -> list[str]:
    """What was proved on the files, where any of them holds soil beside a tree."""
    if not proof.files:
        return []
    return [f"Keep-offs: read back from {', '.join(proof.files)}; no soil lies inside any."]


def summary_with_files(study: Study, written: ExportedFiles) -> dict[str, object]:
    """The keys of the summary, and what was written under "export"."""
    mesh = study.proposal.mesh if written.thin is None else written.thin.mesh
    thin = written.thin
    files: dict[str, object] = {"files": list(written.names), "stage": written.grade, "remarks": list(written.remarks)}
    if thin is not None:
        files |= {
            "mesh_tolerance_m": thin.tolerance,
            "mesh_strays_m": thin.strays,
            "mesh_triangles": len(thin.mesh.triangles),
        }
    summary = summary_of(study, round_offset(mesh, study.site.bed.sod))
    return {**summary, **keep_offs_proved(written.proof), "export": files}
