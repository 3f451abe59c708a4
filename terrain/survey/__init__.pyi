from .coded import (
    CODES as CODES,
    Coded as Coded,
    collect_codes as collect_codes,
    is_ground as is_ground,
    with_coded as with_coded,
    with_elevations as with_elevations,
)
from .codes import marks_of as marks_of, slips_of as slips_of
from .files import (
    LARGEST_SITE as LARGEST_SITE,
    Folder as Folder,
    NoFileError as NoFileError,
    check_there as check_there,
    named_by as named_by,
    read_bytes as read_bytes,
    read_table_text as read_table_text,
    read_text as read_text,
)
from .geojson import Feature as Feature, features_of as features_of, is_geojson as is_geojson, parse_json as parse_json
from .headings import POINT as POINT, SHOTS as SHOTS, Columns as Columns
from .level_book import (
    FLOOR as FLOOR,
    LEVELS as LEVELS,
    LevelBook as LevelBook,
    LevelRules as LevelRules,
    read_level_book as read_level_book,
)
from .levels import CLASSES as CLASSES
from .lines import read_line as read_line
from .maps import (
    MAPS as MAPS,
    in_plane as in_plane,
    is_map as is_map,
    map_features as map_features,
    read_map as read_map,
)
from .measured import (
    Hints as Hints,
    Measured as Measured,
    ReadOptions as ReadOptions,
    ScanWay as ScanWay,
)
from .nested import plain_values as plain_values
from .offsets import OFFSETS as OFFSETS, Offset as Offset, read_offsets as read_offsets
from .orthophotos import Orthophoto as Orthophoto, read_orthophoto as read_orthophoto
from .photographs import Photograph as Photograph, read_photograph as read_photograph
from .placing import Measures as Measures, place_all as place_all
from .plan.drawn import DrawnPlan as DrawnPlan, in_metres as in_metres, read_plan as read_plan
from .plan.heights import PlanHeights as PlanHeights, heights_of as heights_of
from .plan.layers import (
    PlanUses as PlanUses,
    check_grades as check_grades,
    not_clear as not_clear,
    parse_layers as parse_layers,
    uses_of as uses_of,
)
from .plan.name_words import (
    BOUNDARY as BOUNDARY,
    BUILDING as BUILDING,
    EXISTING as EXISTING,
    GRADES as GRADES,
    OUTLINE as OUTLINE,
    PROPOSED as PROPOSED,
    TREES as TREES,
)
from .plan.tree_symbols import PlanTree as PlanTree, trees_of as trees_of
from .points import Place as Place, PlacedPoint as PlacedPoint, nearest_name as nearest_name, point_key as point_key
from .readers.apart import LARGEST_FILE as LARGEST_FILE, RESULTS as RESULTS, read_parts_apart as read_parts_apart
from .readers.landxml import surfaces_of as surfaces_of
from .readers.read import read_measured as read_measured
from .scans import (
    ScanFit as ScanFit,
    ScanRead as ScanRead,
    lay_scan as lay_scan,
    read_scan as read_scan,
    read_scan_marks as read_scan_marks,
)
from .shots import settled_survey as settled_survey
from .table import Table as Table, column_lengths as column_lengths, read_table as read_table
from .tapes import side_of as side_of, two_tapes as two_tapes
from .ties import TIE_BOUND as TIE_BOUND, TIES as TIES, Tie as Tie, read_ties as read_ties
from .workbook import WORKBOOKS as WORKBOOKS, Tab as Tab, cell_name as cell_name, read_workbook as read_workbook
