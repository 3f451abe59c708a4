from . import marks as marks, palette as palette, pens as pens
from .contours import (
    LEAST_FILL as LEAST_FILL,
    area_between as area_between,
    check_interval as check_interval,
    contour_interval as contour_interval,
    contour_lines as contour_lines,
    depth_step as depth_step,
    footprint as footprint,
    level_text as level_text,
    levels_between as levels_between,
    strong_every as strong_every,
)
from .labels import (
    Label as Label,
    PlacedLabel as PlacedLabel,
    Seat as Seat,
    label_box as label_box,
    place as place,
    seats_along as seats_along,
    seats_led as seats_led,
    seats_ring as seats_ring,
    seats_round as seats_round,
)
from .large_foot import (
    BLACK as BLACK,
    FIGURE as FIGURE,
    LARGE_FOOT as LARGE_FOOT,
    WORDS as WORDS,
    footed as footed,
)
from .lettering import (
    BODY as BODY,
    HEADING as HEADING,
    LEAST as LEAST,
    NUMBER as NUMBER,
    SMALL as SMALL,
    Type as Type,
    fit_size as fit_size,
    heading_lines as heading_lines,
    text_size as text_size,
    wrap as wrap,
)
from .match_lines import PartKey as PartKey, draw_matches as draw_matches, match_ground as match_ground
from .named_lines import (
    CAUTIONS as CAUTIONS,
    REVIEW_FILE as REVIEW_FILE,
    ROOT_ZONE as ROOT_ZONE,
    keep_off_entry as keep_off_entry,
    outline_entry as outline_entry,
    zone_entry as zone_entry,
)
from .page import (
    DOTS as DOTS,
    Page as Page,
    Pen as Pen,
    cut_gaps as cut_gaps,
    drawn_on as drawn_on,
    hatch as hatch,
    load_letters as load_letters,
    new_page as new_page,
    save_book as save_book,
    side_by_side as side_by_side,
)
from .palette import (
    BUILDING as BUILDING,
    CUT_STEPS as CUT_STEPS,
    EXISTING as EXISTING,
    FAINT as FAINT,
    FILL_STEPS as FILL_STEPS,
    INK as INK,
    KEEP_OFF as KEEP_OFF,
    OUTLINE as OUTLINE,
    PAPER as PAPER,
    PROPOSED as PROPOSED,
    SOFT_INK as SOFT_INK,
    SOIL as SOIL,
    TREE as TREE,
    UNSURE_STEPS as UNSURE_STEPS,
    WALK as WALK,
    WATER as WATER,
    WATER_EDGE as WATER_EDGE,
    channels as channels,
    ink_on as ink_on,
    spread as spread,
)
from .parts import in_parts as in_parts
from .pens import KEEP_OFF_PEN as KEEP_OFF_PEN, OUTLINE_PEN as OUTLINE_PEN
from .sheet import (
    FLOOR as FLOOR,
    FOOT_PANEL as FOOT_PANEL,
    MARGIN as MARGIN,
    PAPERS as PAPERS,
    Bounds as Bounds,
    Scale as Scale,
    Sheet as Sheet,
    lay_out as lay_out,
    page_of_words as page_of_words,
    paper_named as paper_named,
    papers as papers,
    scales as scales,
    turned as turned,
)
from .subject import (
    CHOSEN as CHOSEN,
    DrawingOptions as DrawingOptions,
    SectionLine as SectionLine,
    Subject as Subject,
    TreeCircles as TreeCircles,
    bed_sides as bed_sides,
    long_axis as long_axis,
    needed_ground as needed_ground,
    section_at as section_at,
    section_lines as section_lines,
    structures as structures,
    subject_of as subject_of,
    top_of_mound as top_of_mound,
    tree_circles as tree_circles,
    yard_bounds as yard_bounds,
)
from .title_block import (
    Stamp as Stamp,
    numbered as numbered,
    stamp as stamp,
    stamp_sheet as stamp_sheet,
    titled as titled,
)
from .tongue import spoken as spoken
