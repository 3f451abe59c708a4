"""Hummock under its own name: what `terrain` offers, for `import hummock`."""

from __future__ import annotations

import terrain

__all__ = dir(terrain)


def __getattr__(name: str) -> object:
    """The public name of `terrain` that is asked for, or the version that is installed."""
    if name == "__version__":
        from importlib.metadata import version

        return version("hummock")
    return getattr(terrain, name)


def __dir__() -> list[str]:
    """The public names, for completion in a notebook."""
    return sorted({*dir(terrain), "__version__"})
