from . import words as words
from .among import JOBS as JOBS, SCORES as SCORES
from .bill import MONEY as MONEY, CostLine as CostLine
from .chain import (
    DOUBTS as DOUBTS,
    LINES as LINES,
    MOUND as MOUND,
    OWN_SOIL as OWN_SOIL,
    SETTLEMENT_LAW as SETTLEMENT_LAW,
    evaluated as evaluated,
    loads as loads,
    rounded as rounded,
)
from .covers import MULCH_BACK as MULCH_BACK, mulch_ground as mulch_ground
from .doubts import ASK as ASK, CUT_PLUGS as CUT_PLUGS, Doubt as Doubt, doubts_of as doubts_of
from .draw import MANY as MANY, bought_of as bought_of, order_range as order_range, surer as surer
from .given import Given as Given, soil_given as soil_given, volumes_given as volumes_given
from .haul import Haul as Haul, whole_loads as whole_loads
from .heights import (
    HeightRow as HeightRow,
    height_rows as height_rows,
    scales_beside as scales_beside,
    top_height as top_height,
)
from .ledger import (
    ENTRIES as ENTRIES,
    PLANTING_SOIL as PLANTING_SOIL,
    Entry as Entry,
    per_placed as per_placed,
    sums as sums,
)
from .ledger_table import ledger_rows as ledger_rows
from .measure import measure_earthwork as measure_earthwork
from .measured import measured_of as measured_of
from .model import (
    Earthwork as Earthwork,
    LedgerLine as LedgerLine,
    Share as Share,
    Volumes as Volumes,
    check_work as check_work,
)
from .offer import Offer as Offer, listed as listed, offer_of as offer_of
from .order import Item as Item, Order as Order, order_soil as order_soil
from .ranges import ENDS as ENDS, GROUND as GROUND, central_range as central_range
from .solid import round_offset as round_offset, solid_between as solid_between
from .stone import (
    ONE_PERSON as ONE_PERSON,
    ROCK as ROCK,
    VOIDS as VOIDS,
    Course as Course,
    Wall as Wall,
    boulder_weight as boulder_weight,
    bulk_weight as bulk_weight,
    trenches as trenches,
    walls as walls,
)
from .trim import Trim as Trim, trim_of as trim_of
from .what_if import (
    NOTHING_ASKED as NOTHING_ASKED,
    WhatIf as WhatIf,
    shaped_as_asked as shaped_as_asked,
    site_as_asked as site_as_asked,
    what_if_words as what_if_words,
)
from .words import (
    CONVENTION as CONVENTION,
    MACHINE_WORDS as MACHINE_WORDS,
    Fact as Fact,
    buy_words as buy_words,
    given_in_units as given_in_units,
    left_out_words as left_out_words,
    left_words as left_words,
    money as money,
    rate_in_units as rate_in_units,
    soils_on_the_job as soils_on_the_job,
    stone_cautions as stone_cautions,
    sure_words as sure_words,
    ton_unit as ton_unit,
    truck_words as truck_words,
    working_label as working_label,
    working_words as working_words,
)
