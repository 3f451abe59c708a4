"""What `from terrain import ...` promises, in whatever order things are imported."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

import terrain

STEPS = "read_site, model_ground, shape_berm, measure_earthwork, review, natural_look, interpolate, Grid"
RUN = """
site = read_site("examples/larkspur-rise/site.toml")
ground = model_ground(site)
proposal = shape_berm(site, ground)
work = measure_earthwork(site, ground, proposal)
findings = review(site, ground, proposal, work)
assert findings and all(finding.level in ("note", "caution", "stop") for finding in findings)
"""


@pytest.mark.parametrize("name", terrain.__all__)
def test_every_public_name_is_there(name: str) -> None:
    assert callable(getattr(terrain, name))
    assert name in dir(terrain)


def test_a_wrong_name_is_an_attribute_error() -> None:
    with pytest.raises(AttributeError, match="no attribute 'shape_bern'"):
        terrain.shape_bern  # noqa: B018


@pytest.mark.parametrize("before", ["", "import terrain.review.words", "from terrain.review.review import review"])
def test_the_steps_run_whatever_was_imported_before(before: str, root: Path) -> None:
    """The folder `terrain.review` and the function of that name must not hide each other."""
    program = f"{before}\nfrom terrain import {STEPS}\n{RUN}"
    ended = subprocess.run(
        [sys.executable, "-c", program], cwd=root, capture_output=True, text=True, timeout=120, check=False
    )
    assert ended.returncode == 0, ended.stderr


def test_the_face_alone_loads_no_heavy_package(root: Path) -> None:
    program = "import sys, terrain; print([name for name in ('numpy', 'shapely', 'scipy') if name in sys.modules])"
    ended = subprocess.run(
        [sys.executable, "-c", program], cwd=root, capture_output=True, text=True, timeout=60, check=False
    )
    assert ended.stdout.strip() == "[]"
