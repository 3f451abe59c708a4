from .search import Suggestion as Suggestion, suggest as suggest
from .sight import Sight as Sight, hidden_share as hidden_share, sight_of as sight_of
