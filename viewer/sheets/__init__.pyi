from . import features as features, layers as layers
from .air import picture_in as picture_in
from .asbuilt_map import as_built_map as as_built_map, draw_as_built as draw_as_built
from .cautions_page import draw_review as draw_review
from .crew_page import draw_crew as draw_crew
from .crew_squares import draw_squares as draw_squares
from .cutfill import bands as bands, cutfill_page as cutfill_page, draw_cutfill as draw_cutfill
from .deviation_map import deviation_page as deviation_page
from .features import dug as dug
from .form_page import draw_form as draw_form
from .ground_page import draw_ground as draw_ground, ground_page as ground_page
from .ground_subject import GroundSubject as GroundSubject
from .layers import walk_hatch as walk_hatch
from .order_blocks import PairsBlock as PairsBlock
from .order_curve import soil_curve as soil_curve
from .order_page import draw_order as draw_order
from .order_sheet import order_sheet as order_sheet
from .plain_plan import FOOT as FOOT, draw_plain_plan as draw_plain_plan, plain_sheet as plain_sheet
from .plan import (
    draw_plan as draw_plan,
    plan_page as plan_page,
    sheet_of as sheet_of,
)
from .plan_set import draw_plan_set as draw_plan_set
from .plan_words import width_fact as width_fact
from .profile import Profile as Profile, profile_of as profile_of
from .scan_page import scan_map as scan_map
from .sections import draw_sections as draw_sections, sections_page as sections_page
from .setout_page import draw_set_out as draw_set_out, stakes_map as stakes_map
from .sheet_language import in_language as in_language
from .stream_page import draw_streams as draw_streams, long_section as long_section
from .tree_page import draw_trees as draw_trees, roots_map as roots_map
from .water_map import draw_water as draw_water, water_page as water_page
