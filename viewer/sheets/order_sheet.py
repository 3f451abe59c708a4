"""What the order sheet is drawn from, and the process that draws it: `hummock order` itself loads no drawing code."""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from terrain.field import told_first
from terrain.flow import Study
from terrain.site import Site
from terrain.soil import HeightRow, Order, Trim, top_height, what_if_words

CHILD = "viewer.sheets.order_child"


@dataclass(frozen=True)
class OrderSheet:
    """What the sheet shows.

    Parameters
    ----------
    site, order
        The yard and its order.
    heights, trim
        The same mound at other heights, and the one that saves the last truck.
    scale, top
        Factor on the wished heights of this order's mound, and its top over existing grade, metres.
    what_if
        What is different from the site file, in words.
    first
        What is said before the figures: that the ground is a guess, or may be upside down.
    """

    site: Site
    order: Order
    heights: tuple[HeightRow, ...]
    trim: Trim | None
    scale: float
    top: float
    what_if: str
    first: tuple[str, ...] = ()


def order_sheet(study: Study) -> OrderSheet:
    """The sheet of a study."""
    return OrderSheet(
        study.site,
        study.order,
        study.heights,
        study.trim,
        study.proposal.height_scale,
        top_height(study.proposal),
        what_if_words(study.site, study.proposal, study.asked),
        told_first(study),
    )


@contextmanager
def drawn_beside(study: Study, path: Path) -> Iterator[None]:
    """Draw the sheet to `path` in a process of its own while the caller does something else; done on the way out.

    Raises
    ------
    OSError
        Where the disk gave out under the drawing process.
    RuntimeError
        Where the drawing failed, with what the process said.
    """
    home = str(Path(__file__).resolve().parents[2])
    search = os.pathsep.join(filter(None, [home, os.environ.get("PYTHONPATH", "")]))
    process = subprocess.Popen(
        # -P: a folder of the user's that happens to be called "viewer" is not ours.
        [sys.executable, "-P", "-m", CHILD, str(path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": search},
    )
    try:
        handed = pickle.dumps(order_sheet(study))
        yield
        _, said = process.communicate(handed)
    except BaseException:
        process.kill()
        process.wait()
        raise
    if process.returncode == DISK:
        number = int(said.split()[-1])
        raise OSError(number, os.strerror(number))
    if process.returncode != 0:
        raise RuntimeError(f"the order sheet was not drawn:\n{said.decode(errors='replace')}")


DISK = 74  # exit status of the drawing process where the system refused to write; the error's number ends its words
