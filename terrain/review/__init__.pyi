from .answer import Review as Review
from .checking import Verdict as Verdict, count_words as count_words
from .first_season import steepest_on_day_one as steepest_on_day_one
from .model import DepthBand as DepthBand, Ring as Ring, TreeCheck as TreeCheck, TreeSoil as TreeSoil
from .proposal_review import in_order as in_order, review as review
from .slopes import facet_slopes as facet_slopes
from .species import harm_words as harm_words
from .stream_checks import stream_findings as stream_findings
from .tree_words import (
    MOST_BANDS as MOST_BANDS,
    OWN_WORDS as OWN_WORDS,
    RingTable as RingTable,
    band_name as band_name,
    circle_rows as circle_rows,
    findings_on as findings_on,
    limit_words as limit_words,
    ring_table as ring_table,
    work_rows as work_rows,
)
from .trees import BAND as BAND, soil_on_trees as soil_on_trees
from .water import Exit as Exit, Runoff as Runoff, StormWater as StormWater, Water as Water
from .words import listed as listed
