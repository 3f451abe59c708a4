from .areas import area_between as area_between
from .bracket import root_between as root_between
from .camera import PhotoCamera as PhotoCamera, Resection as Resection, resected as resected
from .clearance import fill_clearance as fill_clearance, nodes_in as nodes_in, polygon_clearance as polygon_clearance
from .constrained import Edge as Edge, edge_between as edge_between
from .covariance import Covariance as Covariance, correlation as correlation
from .depth_inside import deepest_inside as deepest_inside, distance_inside as distance_inside
from .disc import (
    TOUCH as TOUCH,
    DepthFacets as DepthFacets,
    FacetsAround as FacetsAround,
    Place as Place,
    cut_facets as cut_facets,
    deeper_than as deeper_than,
    depth_at as depth_at,
    disc_content as disc_content,
    facets_around as facets_around,
    fill_facets as fill_facets,
    nearest_facet as nearest_facet,
    polygon_area_in_disc as polygon_area_in_disc,
)
from .edge_lines import (
    LEAST_EDGE as LEAST_EDGE,
    disc_polygon as disc_polygon,
    edge_points as edge_points,
    evenly_along as evenly_along,
    linework as linework,
)
from .end_areas import end_area_volume as end_area_volume
from .envelope import limit_surface as limit_surface
from .even_spline import bicubic as bicubic
from .facets import Facets as Facets, facets_of as facets_of, facets_over as facets_over, keep_slope as keep_slope
from .fine_cells import FineCells as FineCells, Stored as Stored
from .flooding import Flood as Flood, ends as ends, flood as flood
from .formula import (
    Figure as Figure,
    Formula as Formula,
    Values as Values,
    along as along,
    either as either,
    least as least,
    most as most,
    quantile as quantile,
    root as root,
    share_below as share_below,
    size as size,
    whole as whole,
    written as written,
)
from .frame import StationFrame as StationFrame
from .ground_points import ground_points as ground_points
from .half_edges import directed_edges as directed_edges, with_reverse as with_reverse
from .kriging import (
    Kriging as Kriging,
    MeanAlike as MeanAlike,
    correlation_between as correlation_between,
    covariance_between as covariance_between,
    krige_with as krige_with,
    kriged as kriged,
    left_out_together as left_out_together,
    mean_alike as mean_alike,
    mean_and_deviation as mean_and_deviation,
    pulled as pulled,
    pulled_together as pulled_together,
    seen_from as seen_from,
    unheeded as unheeded,
    with_sill as with_sill,
)
from .likelihood import inverse_of_lower as inverse_of_lower, lower_factor as lower_factor
from .local_average import Easing as Easing, easing as easing
from .machine_code import compiled as compiled, compiling_told as compiling_told, loops_ready as loops_ready
from .mesh import YardMesh as YardMesh
from .near_parts import mended as mended, near_parts as near_parts
from .normal import CENTRAL_90 as CENTRAL_90
from .orientation import (
    Similarity as Similarity,
    laid_upon as laid_upon,
    layout_factor as layout_factor,
    left_out_misses as left_out_misses,
    stretch_deviation as stretch_deviation,
)
from .overlay import merged as merged, overlap as overlap, sound as sound, without as without
from .paths import longest_path as longest_path
from .polyline import heights_along as heights_along, stations_of as stations_of
from .prisms import prism_volume as prism_volume
from .rainfall import peak_runoff as peak_runoff, runoff_depth as runoff_depth
from .refining import refined as refined
from .reml import (
    ENOUGH_TO_FIT as ENOUGH_TO_FIT,
    JITTER as JITTER,
    LEAST_SILL as LEAST_SILL,
    SMOOTHNESS as SMOOTHNESS,
    ShotTable as ShotTable,
    fit_covariance as fit_covariance,
    length_bounds as length_bounds,
    shot_table as shot_table,
)
from .roundness import FittedCircle as FittedCircle, circle_through as circle_through
from .shared_error import (
    FEWEST_CONTROLS as FEWEST_CONTROLS,
    Controls as Controls,
    SetSurface as SetSurface,
    mean_left as mean_left,
    set_by as set_by,
)
from .shot_facets import (
    ShotTriangulation as ShotTriangulation,
    carried_on as carried_on,
    fit_triangulation as fit_triangulation,
    hull_area as hull_area,
    left_out_by_triangulation as left_out_by_triangulation,
    triangulated as triangulated,
)
from .smooth_grid import (
    COARSE as COARSE,
    FINE as FINE,
    Surface as Surface,
    evaluate as evaluate,
    lattice_of as lattice_of,
    splined as splined,
)
from .spilling import Spilled as Spilled, gathered as gathered, spill as spill
from .spread import held_to_slope as held_to_slope
from .thin_plate import (
    ThinPlate as ThinPlate,
    bending_kernel as bending_kernel,
    bent_plate as bent_plate,
    fit_thin_plate as fit_thin_plate,
)
from .threads import one_thread as one_thread
from .trend import plane_through as plane_through, trend_terms as trend_terms
from .triangulation import Triangulation as Triangulation, third_areas as third_areas, triangulate as triangulate
from .unit_area import grid_volume as grid_volume, unit_area_volume as unit_area_volume
from .zero_line import Slab as Slab, part_above as part_above, turned as turned
