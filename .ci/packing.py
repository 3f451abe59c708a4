"""How wheel and sdist are built: by setuptools, from no stale folder, and the sdist holds all that stands here.

What a registry shows of the package is the README without what only stands in the repository: it takes pictures by a
whole address alone, which ours have not, and throws those away that are written into the text.
"""

from __future__ import annotations

import os
import re
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

from distutils.dist import DistributionMetadata  # isort: skip  # which setuptools brings

Settings = Mapping[str, object] | None

# The list of what goes into the sdist beside the packages stands here, where the top level stays as it is.
manifest_maker.template = ".ci/sdist.in"

_PICTURE = re.compile(r"^!\[[^\]]*\]\((?!https://)[^)]*\)\n+", re.MULTILINE)
_LINK = re.compile(r"\[([^\]]*)\]\((?!https://)([^)#]*)[^)]*\)")
_read = DistributionMetadata.get_long_description


def description(metadata: DistributionMetadata) -> str:
    """The README as a registry can show it: no picture by a place in the repository, and such links as words."""
    text: str = _read(metadata)
    return _LINK.sub(r"\1 (`\2`)", _PICTURE.sub("", text))


DistributionMetadata.get_long_description = description


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
