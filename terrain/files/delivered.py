"""The mesh that goes into files: every measured line an edge of it, and no more triangles than its tolerance asks."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from terrain.files.breaklines import with_lines
from terrain.files.thinning import TOLERANCE, ThinnedMesh, thinned
from terrain.shape import Proposal
from terrain.site import Site


def delivered_mesh(site: Site, proposal: Proposal, tolerance: float = TOLERANCE) -> ThinnedMesh:
    """The proposal's mesh with breaklines and retained edges for edges, thinned.

    Parameters
    ----------
    site
        Its breaklines and retained edges become edges of the mesh; outline, keep-off circles and the edges of digs are.
    tolerance
        Largest vertical distance from the shaped surfaces, metres; 0.0 leaves every triangle.

    Notes
    -----
    Where a coarser mesh cannot keep tolerance, slope limit and volume with much fewer points, the fine one is answered,
    with `strays` 0.0.
    """
    lines = [*site.survey.breaklines, *(np.asarray(edge.line, dtype=float) for edge in site.retained_edge)]
    try:
        mesh, on_line = with_lines(proposal.mesh, lines)
    except ArithmeticError:
        # The surface is right without them; only which of its triangles meet along the lines is not.
        plain = thinned(proposal.mesh, proposal.grid, site.berm.max_slope, tolerance)
        return replace(plain, note="The mesh could not be made to follow every breakline; heights are not affected.")
    return thinned(mesh, proposal.grid, site.berm.max_slope, tolerance, on_line)
