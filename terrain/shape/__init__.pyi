from .berm import (
    build as build,
    limit_on_grid as limit_on_grid,
    loose_needed as loose_needed,
    proposed_vertices as proposed_vertices,
    raised_fill as raised_fill,
    scale_for_soil as scale_for_soil,
    shape_berm as shape_berm,
)
from .carve import check_streams as check_streams
from .courses import BATTER as BATTER, wall_build as wall_build
from .crest import with_heights as with_heights
from .daylight import LEAST_STEP as LEAST_STEP, OPEN_END as OPEN_END, SideStep as SideStep
from .digs import Dig as Dig, channel_bed as channel_bed
from .given import GivenGrade as GivenGrade, given_proposal as given_proposal
from .layout import NoGroundError as NoGroundError, lay_out as lay_out
from .long_section import BedDrop as BedDrop, LongSection as LongSection, PoolBed as PoolBed
from .prepared import Prepared as Prepared, prepare as prepare
from .proposal import BuiltCrest as BuiltCrest, Proposal as Proposal, check_proposal as check_proposal
from .retained import Retained as Retained, retained_edges as retained_edges
from .soil_on_hand import CLOSE as CLOSE, MOST as MOST, scale_for as scale_for
from .spine import Spine as Spine, spine_of as spine_of
from .streams import StreamBed as StreamBed, proposed_drops as proposed_drops
from .terraces import terrace_level as terrace_level
from .wish import edge_hold as edge_hold, ridge_hold as ridge_hold
from .worked import holds_of as holds_of
