from .first_crests import first_crest as first_crest, site_of_outline as site_of_outline, taken_words as taken_words
from .laying import Wishes as Wishes
from .reasons import bare_words as bare_words
from .search import Suggestion as Suggestion, suggest as suggest
from .sight import Sight as Sight, hidden_share as hidden_share, sight_of as sight_of
from .winding import WindingLine as WindingLine, winding_lines as winding_lines, winding_words as winding_words
