"""How wheel and sdist are built: by setuptools, from no stale folder, and the sdist holds all that stands here."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from setuptools import build_meta
from setuptools.build_meta import (  # what is built as ever
    build_editable as build_editable,
    get_requires_for_build_editable as get_requires_for_build_editable,
    get_requires_for_build_sdist as get_requires_for_build_sdist,
    get_requires_for_build_wheel as get_requires_for_build_wheel,
    prepare_metadata_for_build_editable as prepare_metadata_for_build_editable,
    prepare_metadata_for_build_wheel as prepare_metadata_for_build_wheel,
)
from setuptools.command.egg_info import manifest_maker

Settings = Mapping[str, object] | None

# The list of what goes into the sdist beside the packages stands here, where the top level stays as it is.
manifest_maker.template = ".ci/sdist.in"


@contextmanager
def _fresh_folder() -> Iterator[None]:
    """Build in an empty folder: setuptools puts into a wheel whatever an earlier build left in build/."""
    before = os.environ.get("DIST_EXTRA_CONFIG")
    with tempfile.TemporaryDirectory() as folder:
        settings = Path(folder, "build.cfg")
        settings.write_text(f"[build]\nbuild_base = {Path(folder, 'build')}\n", encoding="utf-8")
        os.environ["DIST_EXTRA_CONFIG"] = str(settings)
        try:
            yield
        finally:
            os.environ.pop("DIST_EXTRA_CONFIG")
            if before is not None:
                os.environ["DIST_EXTRA_CONFIG"] = before


def build_wheel(wheel_directory: str, config_settings: Settings = None, metadata_directory: str | None = None) -> str:
    """The wheel, of what stands in the packages now and nothing else."""
    with _fresh_folder():
        return build_meta.build_wheel(wheel_directory, config_settings, metadata_directory)


def build_sdist(sdist_directory: str, config_settings: Settings = None) -> str:
    """The sdist, with tests, examples, lock file and set-up: both commands of the README work from it."""
    return build_meta.build_sdist(sdist_directory, config_settings)
