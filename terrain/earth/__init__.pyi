from .laid import (
    MapFix as MapFix,
    check_there as check_there,
    laid_by_bearing as laid_by_bearing,
    laid_by_points as laid_by_points,
    named_system as named_system,
)
from .located import SURVEY_FOOT as SURVEY_FOOT, Located as Located
from .proj import (
    EARTH as EARTH,
    between as between,
    code_of as code_of,
    cost as cost,
    system_of as system_of,
    unit_of as unit_of,
)
