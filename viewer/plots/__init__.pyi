from .of_books import (
    plot_as_built as plot_as_built,
    plot_crew_squares as plot_crew_squares,
    plot_order as plot_order,
    plot_scan as plot_scan,
    plot_set_out as plot_set_out,
    plot_stream as plot_stream,
    plot_tree as plot_tree,
)
from .whole_pages import (
    plot_cutfill as plot_cutfill,
    plot_eye_view as plot_eye_view,
    plot_ground as plot_ground,
    plot_hillshade as plot_hillshade,
    plot_plan as plot_plan,
    plot_sections as plot_sections,
    plot_signs as plot_signs,
    plot_skyline as plot_skyline,
    plot_slopes as plot_slopes,
    plot_sureness as plot_sureness,
    plot_view as plot_view,
    plot_water as plot_water,
)
