from .search import Suggestion as Suggestion, suggest as suggest
