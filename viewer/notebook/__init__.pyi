from .at_home import shown_in_notebooks as shown_in_notebooks
from .plots import (
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
