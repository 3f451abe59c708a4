from .build import lacks as lacks, stream_materials as stream_materials, stream_needs as stream_needs
from .lining import LinerSheet as LinerSheet
from .needs import Materials as Materials, StreamNeeds as StreamNeeds
from .pump import WATER as WATER
from .reaches import Reach as Reach, Sill as Sill
from .rocks import WEIGHT_SPREAD as WEIGHT_SPREAD, key_stone as key_stone
from .transit import Wet as Wet
from .words import (
    laid_rows as laid_rows,
    least_words as least_words,
    sheet_words as sheet_words,
    sill_words as sill_words,
    tolerance_words as tolerance_words,
    water_rows as water_rows,
)
