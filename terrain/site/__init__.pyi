from .checks import check_bed as check_bed, check_site as check_site
from .factors import (
    LOST_MOST as LOST_MOST,
    factors_source as factors_source,
    job_factors as job_factors,
    shrink_range as shrink_range,
)
from .features import (
    Basin as Basin,
    Channel as Channel,
    RetainedEdge as RetainedEdge,
    Terrace as Terrace,
    basin_outline as basin_outline,
)
from .model import (
    Allowed as Allowed,
    Bed as Bed,
    Berm as Berm,
    Building as Building,
    Compass as Compass,
    CrestPoint as CrestPoint,
    KeepClear as KeepClear,
    Site as Site,
    Soil as Soil,
    Tree as Tree,
    ViewFrom as ViewFrom,
)
from .north import North as North, north_of as north_of
from .outline import read_outline as read_outline
from .planned import (
    PlanDesign as PlanDesign,
    PlanOptions as PlanOptions,
    corners_of as corners_of,
    read_design as read_design,
    spread_over as spread_over,
)
from .prices import Prices as Prices, with_short as with_short
from .read import build_site as build_site, read_site as read_site
from .root_zones import (
    anchorage_radius as anchorage_radius,
    check_rule as check_rule,
    flare_radius as flare_radius,
    keep_off_radius as keep_off_radius,
    root_rule as root_rule,
    root_zone_radius as root_zone_radius,
    structural_root_zone as structural_root_zone,
)
from .sheet_fields import workbook_as_text as workbook_as_text
from .sheet_form import BOOK_TABS as BOOK_TABS, Asked as Asked, SheetTab as SheetTab
from .soil_states import (
    Factors as Factors,
    day_one_factor as day_one_factor,
    ground_factors as ground_factors,
    loose_to_order as loose_to_order,
    placed_to_loose as placed_to_loose,
)
from .soils import row_of as row_of, soil_factors as soil_factors, soil_word as soil_word
from .spreads import sod_deviation as sod_deviation, soil_spreads as soil_spreads
from .standing import (
    HOUSE_HEIGHT as HOUSE_HEIGHT,
    WIDEST_AT as WIDEST_AT,
    TreeForm as TreeForm,
    tree_form as tree_form,
    trunk_radii as trunk_radii,
)
from .storm import HOUR as HOUR, INTAKE_SOURCE as INTAKE_SOURCE, RAIN_SOURCE as RAIN_SOURCE, DesignStorm as DesignStorm
from .streams import (
    LOOKS as LOOKS,
    PipeKind as PipeKind,
    Places as Places,
    Pool as Pool,
    PoolReach as PoolReach,
    Stream as Stream,
    StreamWater as StreamWater,
    led_along as led_along,
    moved_along as moved_along,
    pool_reaches as pool_reaches,
)
from .survey import (
    FLAT as FLAT,
    LeftOut as LeftOut,
    PictureFile as PictureFile,
    ScanTrunk as ScanTrunk,
    Survey as Survey,
    as_points as as_points,
)
from .things import (
    KINDS as KINDS,
    Heap as Heap,
    Kind as Kind,
    Thing as Thing,
    Walk as Walk,
)
from .unmeasured import expect_measured as expect_measured
from .written import entry_words as entry_words
