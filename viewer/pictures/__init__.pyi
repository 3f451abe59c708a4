from .client_page import draw_client as draw_client
from .contact_sheet import draw_contact_sheet as draw_contact_sheet
from .eye_level import draw_eye_level as draw_eye_level, eye_pages as eye_pages
from .forms import Frame as Frame, tree_words as tree_words, unmet as unmet
from .hillshade import hillshade_page as hillshade_page, mound_interval as mound_interval
from .laid import boulders as boulders, level_sheets as level_sheets
from .named import draw_pictures as draw_pictures
from .overview import (
    LEAVES_SHOWN as LEAVES_SHOWN,
    Overview as Overview,
    view_direction as view_direction,
    view_sun as view_sun,
)
from .photograph import (
    BeforeAfter as BeforeAfter,
    PlacedPhoto as PlacedPhoto,
    draw_photograph as draw_photograph,
    mask_of as mask_of,
    photo_before_after as photo_before_after,
)
from .picture import draw_picture as draw_picture, show_window as show_window
from .sign_profiles import draw_sign_profiles as draw_sign_profiles, sign_page as sign_page
from .skyline import draw_skyline as draw_skyline, skyline_page as skyline_page
from .slope_map import draw_slope_map as draw_slope_map, slope_page as slope_page
from .tint import mound_tint as mound_tint
from .tree_forms import crown as crown, limbs as limbs, stem as stem
from .view import draw_view as draw_view, view_page as view_page
from .yard_stage import STAFF_RADIUS as STAFF_RADIUS, WALLS as WALLS, staff_size as staff_size
