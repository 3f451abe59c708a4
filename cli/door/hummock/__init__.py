"""Hummock under its own name, for `import hummock`: what `terrain` offers, and drawings on axes of one's own.

Opened by this door, the stages show themselves in a notebook and hand themselves on to xarray, pyvista and pandas.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from hummock.own import in_the_way

if TYPE_CHECKING:
    from terrain import *  # noqa: F403
    from viewer.plots import *  # noqa: F403

_IN_THE_WAY = in_the_way()
_ERRORS = ("HummockError", "InputError", "OutputError")  # who only catches them waits for no library


def __getattr__(name: str) -> object:
    """The public name that is asked for, or the version that is installed.

    Raises `ImportError` where a foreign package stands in the way of one of ours.
    """
    if name == "__version__":
        from importlib.metadata import version

        return version("hummock")
    if _IN_THE_WAY:
        raise ImportError(f"hummock: {_IN_THE_WAY}", name="hummock")
    if name == "__all__":
        return _offered()
    import terrain

    if name in dir(terrain):
        if name not in _ERRORS:
            from viewer.notebook import shown_in_notebooks

            shown_in_notebooks()
        return getattr(terrain, name)
    import viewer.plots

    if name in dir(viewer.plots):
        return getattr(viewer.plots, name)
    raise AttributeError(f"hummock has no attribute {name}", name=name)


def _offered() -> list[str]:
    import terrain
    import viewer.plots

    return sorted([*dir(terrain), *dir(viewer.plots)])


def __dir__() -> list[str]:
    """The public names, for completion in a notebook."""
    return [*_offered(), "__version__"]
