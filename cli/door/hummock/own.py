"""Whether the packages that Hummock is made of are its own: their names are short, and another may have one too."""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path

_MADE_OF = ("terrain", "viewer", "cli")
_HERE = Path(__file__).resolve().parent
# Installed they stand beside this folder; in a clone it is cli/door/hummock.
_HOME = _HERE.parents[2] if _HERE.parent.name == "door" else _HERE.parent


def in_the_way() -> str:
    """What stands in the way of a package of ours, and what to do about it, in one sentence; "": nothing does."""
    for name in _MADE_OF:
        spec = find_spec(name)
        if spec is None:
            return f'its own package "{name}" is missing from {_HOME}: install hummock again.'
        found = Path(spec.origin or next(iter(spec.submodule_search_locations or ()), "")).resolve()
        if not found.is_relative_to(_HOME / name):
            return (
                f'{found} is another package named "{name}" and stands in the way of the one in {_HOME}: '
                "start in another folder, or take that one off PYTHONPATH or out of this environment."
            )
    return ""
