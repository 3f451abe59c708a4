"""Hummock under its own name: what `terrain` offers, for `import hummock`."""

from __future__ import annotations

from typing import TYPE_CHECKING

from hummock.own import in_the_way

if TYPE_CHECKING:
    from terrain import *  # noqa: F403

_IN_THE_WAY = in_the_way()


def __getattr__(name: str) -> object:
    """The public name of `terrain` that is asked for, or the version that is installed.

    Raises `ImportError` where a foreign package stands in the way of one of ours.
    """
    if name == "__version__":
        from importlib.metadata import version

        return version("hummock")
    if _IN_THE_WAY:
        raise ImportError(f"hummock: {_IN_THE_WAY}", name="hummock")
    import terrain

    return dir(terrain) if name == "__all__" else getattr(terrain, name)


def __dir__() -> list[str]:
    """The public names, for completion in a notebook."""
    import terrain

    return sorted({*dir(terrain), "__version__"})
