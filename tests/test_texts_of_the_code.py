"""Every text of a finding, a check and the set-out that the code can say has its message in Spanish and French.

The texts are read out of the code, so that no yard need bring one about.
"""

from __future__ import annotations

import re
import sys
from functools import cache
from pathlib import Path

import pytest

from terrain.language import TONGUES, Language
from terrain.languages.retold import Retold

sys.path.append(str(Path(__file__).parent / "laws"))
from sentences_in_code import NAME, Code, filled

# Readings that no run of the code can say: halves of choices that go together, pieces that stand in no text.
NEVER = re.compile(
    "|".join(
        [
            r"\bare as good as level, and rain stands on it",
            r"\bis as good as level, and rain stands on them",
            r"stand over the lot line: it is",
            r"stands over the lot line: they are",
            r"^ZedZed",
            r"^Zed(?:\(Zed\))? Neither",
            r"^ZedHow",
            r"harms Zed Zed",
            r"(?:^|: )(?:note|caution|stop)$",
            r"held by \.",
            r"^ ",
            r"(?:of|beside) :",
            r"plants\.The",
            r"\. roofs",
            r"gone after (?:Zed|no time|);",
            r"Zed 7: from",
            r"(?:after|Zed)\. Zed$",
            r"row Zed",
            r"Rod readings in Zed",
            r"(?:near|no|an?) (?:loam|smooth|text|7|Zed)?s?(?: comes|$)",
            r"Shot Zed stands Zed",
            r"level\.Zed",
            r"the bed Zed",
            r"apart\. (?:Zed|1|keep)",
            r"(?:sq ft|of it) (?:Zed|1|keep|$|The|Shot| Lower)",
        ]
    )
)
KEYS = {0: "name", 2: "holds", 4: "lacks", 5: "decides"}


@pytest.fixture(scope="module")
def texts(root: Path) -> set[str]:
    paths = [path for path in sorted((root / "terrain").rglob("*.py"))]
    code = Code([path for path in paths if not {"suggest", "asbuilt", "files"} & set(path.parts)])
    found = [*code.handed("Finding", 2, "text")]
    for place, key in KEYS.items():
        found += code.handed("Check", place, key)
    found += [one for name in ("reading_notes", "reached_words") for one in code.answers(name)]
    said = {text for made in found for text in code.texts(made)}
    signs = {text for made in code.constants["SENTENCES"] for text in code.texts(made)}
    said |= {f"{text.rstrip('.')}, rarer than 99 % of real hills." for text in signs}
    said |= signs | {text for made in code.constants["SUGGESTIONS"] for text in code.texts(made)}
    return {text for text in said if re.search(r"[A-Za-z]{3}", text) and not NEVER.search(next(filled(text)))}


@pytest.mark.parametrize("tongue", [tongue for tongue in TONGUES if tongue != "en"])
def test_every_text_that_the_code_can_say_has_its_message(texts: set[str], tongue: str) -> None:
    assert len(texts) > 250
    retold = Retold(Language(tongue), frozenset({NAME}))  # type: ignore[arg-type]
    english = sorted(text for text in texts if not any(_told(retold, one) for one in filled(text)))
    assert not english, "\n".join(english).replace("\0", "...")


@cache
def _told(retold: Retold, text: str) -> bool:
    """Whether nothing of a text is left in English; asked once each, since what is said again is kept."""
    retold.left.clear()
    retold.told(text)
    return not retold.left


WALLS = [
    f"{what} lie{s} against house and {does}"
    for what, s in (("Soil 3 in deep", "s"), ("Mulch 2 in deep", "s"), ("Soil 3 in deep and mulch 2 in deep", ""))
    for does in (
        f"hold{s} damp to the wall. Leave a bare strip of 4 in, or ask whoever answers for the wall.",
        f"come{s} within 4 in of its siding. Draw the bed back: 6 in stays clear below it.",
        f"rise{s} over its floor. Leave the mulch off there: 6 in stays clear below it.",
    )
]
STORMS = [
    f"Of 2 in of rain in 6 h{assumed}, 3.5 cu yd run off, 3.0 cu yd before{most}; 1.2 cu yd soak in at 0.50 in an hour."
    f" {then}"
    for assumed in ("", " (assumed: intake)")
    for most in ("", ", most over the south side, 12 ft wide")
    for then in ("Roofs are not counted.", "What stands is gone after 5 h; roofs are not counted.")
]
KINDS = [
    "By one list raised grade harms oak and beech most, elm least. How raised grade harms gum is not known here.",
    "Runoff to the root protection zone of oak falls: from 12 sq ft of ground before, 3 sq ft after, likewise for elm. "
    "It may go dry: ask an arborist.",
]


@pytest.mark.parametrize("tongue", [tongue for tongue in TONGUES if tongue != "en"])
def test_and_every_text_that_is_put_together_piece_by_piece(tongue: str) -> None:
    retold = Retold(Language(tongue), frozenset({"house", "oak", "beech", "elm", "gum", "intake"}))  # type: ignore[arg-type]
    assert [text for text in (*WALLS, *STORMS, *KINDS) if not _told(retold, text)] == []
