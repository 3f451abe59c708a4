"""One yard in each system of units with every format of it, and the builders of the earthwork tests and the laws."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from terrain.files.job import Job

TESTS = Path(__file__).resolve().parent.parent
sys.path += [str(TESTS / "earthwork"), str(TESTS / "laws")]


@pytest.fixture(scope="session", params=["m", pytest.param("ft", marks=pytest.mark.slow)])
def job(request: pytest.FixtureRequest) -> Job:
    """A shipped example with a breakline and stones, ready to be written."""
    from exchanged import SITES, with_lines
    from shipped import study_of

    from terrain.files.delivered import delivered_mesh
    from terrain.files.job import Job
    from viewer.pictures.hillshade import mound_interval

    study = study_of(Path(SITES[request.param]).parent.name)
    site = study.site
    lined = with_lines(site)
    interval = mound_interval(study.proposal, site.units)
    findings = tuple(study.review.findings)
    return Job(lined, study.ground, study.proposal, findings, delivered_mesh(lined, study.proposal), interval)


@pytest.fixture(scope="session")
def folder(job: Job, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Every format of that yard but the meshes."""
    from terrain.files.formats import FORMATS

    place = tmp_path_factory.mktemp(f"exchange-{job.site.units}")
    for name in ("dxf", "landxml", "geotiff", "geojson", "csv"):
        assert FORMATS[name].write(job, place)
    return place
