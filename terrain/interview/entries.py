"""What is typed on a form: a text for each question, or one a row, in any order and changed at will.

The texts are read by the questions themselves, one after the other as in a talk, so that the same lines make the same
answers. Nothing but texts is kept: who chooses another unit has them read in that one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from terrain.errors import InputError
from terrain.interview.answers import Answers
from terrain.interview.questions import QUESTIONS, Question, enough
from terrain.interview.reading import is_unknown
from terrain.interview.signs import AskAnewError
from terrain.interview.written import site_of_answers
from terrain.plain import plain
from terrain.units import Units, as_written, unit_length

Entries = Mapping[str, tuple[str, ...]]
BY_KEY = {one.key: one for one in QUESTIONS}
MOST_ROWS, MOST_LETTERS = 500, 200  # of a question and of a text: a form that a hand fills in
_OTHER = {"rod": "elevations", "elevations": "rod"}  # ways whose readings are typed alike
# What was settled about readings is settled no more once one of these is given otherwise.
_SETTLES = {"keep": ("units", "measured", "shots", "again"), "sign": ("units", "measured", "high")}


@dataclass(frozen=True)
class Heard:
    """How one question stands.

    Parameters
    ----------
    key
        The answer that it fills.
    ask, taken
        What is asked, and what is taken while nobody has said, in words.
    texts, told
        What was typed and what was understood, of each row.
    """

    key: str
    ask: str
    taken: str
    texts: tuple[str, ...]
    told: tuple[str, ...]


@dataclass(frozen=True)
class Filled:
    """A form read through.

    Parameters
    ----------
    answers
        What the texts say.
    heard
        Every question that is asked of this yard, in order.
    waits
        Questions that have to be settled before there is a yard, each with what is wrong or asked.
    """

    answers: Answers
    heard: tuple[Heard, ...]
    waits: tuple[tuple[str, str], ...]


class EntryError(InputError):
    """A text that cannot be read: the question and the row, from 1 on, that it stands in."""

    def __init__(self, key: str, row: int, error: InputError) -> None:
        super().__init__(f"{key} {row}", error.problem, error.accepted)
        self.key, self.row = key, row


def read_entries(entries: Entries, units: Units) -> Filled:
    """Every text read in the order of the questions; `units` are taken where nobody says.

    A bed of too few corners, shots that cannot carry a surface and readings that contradict each other are no errors
    of a form that is being filled in: they wait.

    Raises
    ------
    EntryError
        For a text that cannot be read.
    """
    so_far, heard, waits = Answers(units), list[Heard](), list[tuple[str, str]]()
    for question in QUESTIONS:
        if not question.asked(so_far):
            continue
        ask, taken, texts = question.ask(so_far), question.taken(so_far), entries.get(question.key, ())
        so_far, told = _read(question, texts, so_far)
        heard.append(Heard(question.key, ask, taken, texts, told))
        if question.key in _SETTLES and not texts:
            waits.append((question.key, ask))
        elif not texts:
            so_far = question.unknown(so_far)
        else:
            waits += _not_enough(question.key, so_far)
    return Filled(so_far, tuple(heard), tuple(waits) or _no_yard(so_far))


def _read(question: Question, texts: tuple[str, ...], so_far: Answers) -> tuple[Answers, tuple[str, ...]]:
    """The answers after every row of a question, and what was understood of each."""
    told = []
    for row, text in enumerate(texts, start=1):
        try:
            so_far = question.read(text, so_far)
        except AskAnewError as error:
            anew = InputError("", f"{as_written(text)} is no answer that can be kept.")
            raise EntryError(question.key, row, anew) from error
        except InputError as error:
            raise EntryError(question.key, row, error) from error
        told.append(question.told(so_far))
    return so_far, tuple(told)


def _not_enough(key: str, so_far: Answers) -> list[tuple[str, str]]:
    try:
        enough(key, so_far)
    except InputError as error:
        return [(key, error.without_where)]
    return []


def _no_yard(answers: Answers) -> tuple[tuple[str, str], ...]:
    """What keeps the answers from being a yard, if anything does."""
    try:
        site_of_answers(answers)
    except InputError as error:
        return (("shots" if error.where.startswith("shots") else "", error.without_where),)
    return ()


def entries_of(value: object) -> Entries:
    """Entries out of JSON values. `InputError` where they are none: another shape, unknown questions, too much."""
    if not isinstance(value, Mapping):
        raise InputError("", "there are no entries.")
    return {key: _texts_of(key, texts) for key, texts in value.items()}


def _texts_of(key: object, texts: object) -> tuple[str, ...]:
    """The texts of one question, as many as it takes, each as a hand would have left it."""
    question = BY_KEY.get(key) if isinstance(key, str) else None
    most = 0 if question is None else 1 if question.rows is None else MOST_ROWS
    if question is None or not isinstance(texts, list) or not 0 < len(texts) <= most:
        raise InputError("", f"{ascii(key)[:40]} holds no entries that can be.")
    if not all(isinstance(text, str) and _checked(question.key, text) == text for text in texts):
        raise InputError("", f"{ascii(key)[:40]} holds no text of a hand.")
    return tuple(texts)


def with_text(entries: Entries, key: str, text: str) -> Entries:
    """With the one text of a question in place of what stood there; one that says nothing takes it out.

    What settles readings changes what it is about: "anew" takes all readings out, "slip" takes back which side is high,
    and "other" the way of measuring, where its readings can be read so.
    """
    text = _checked(key, text)
    if is_unknown(text):
        return _settled(_without(entries, key), key)
    if key in _SETTLES and text.casefold() == "anew":
        return _without(entries, "shots", "again", "keep", "sign")
    if (key, text.casefold()) == ("sign", "slip"):
        return _settled(_without(entries, "high"), "high")
    other = _OTHER.get("".join(entries.get("measured", ())))
    if (key, text.casefold()) == ("sign", "other") and other:
        return _settled({**entries, "measured": (other,)}, "measured")
    return _settled({**entries, key: (text,)}, key)


def with_row(entries: Entries, key: str, row: int, text: str, units: Units) -> Entries:
    """With a row in the place of another, from 1 on; row 0: with one more at the end.

    One more corner of a bed that was typed by its length and width is the first of another bed.

    Raises
    ------
    InputError
        Where there is no such row, or there are too many.
    """
    text, rows = _checked(key, text), _rows(entries, key, units)
    if row == 0 and len(rows) >= MOST_ROWS:
        raise InputError("", f"there are {MOST_ROWS} rows already.", "Take some out first.")
    if row:
        _check_row(rows, row)
    if rows != entries.get(key, ()) and row == 0:
        rows = ()
    found = [*rows, text] if row == 0 else [*rows[: row - 1], text, *rows[row:]]
    return _settled({**entries, key: tuple(found)}, key)


def without_row(entries: Entries, key: str, row: int, units: Units) -> Entries:
    """Without a row, from 1 on; row 0: without any. `InputError` where there is no such row."""
    _checked(key, "")
    rows = _rows(entries, key, units)
    if row:
        _check_row(rows, row)
    left = (*rows[: row - 1], *rows[row:]) if row else ()
    return _settled({**_without(entries, key), **({key: left} if left else {})}, key)


def _checked(key: str, text: str) -> str:
    """A text as it is kept: plain, and no longer than a line."""
    if key not in BY_KEY:
        raise InputError("", f"there is no question {ascii(key)[:40]}.")
    if len(text) > MOST_LETTERS:
        raise InputError("", f"this text has {len(text)} letters.", f"Accepted: {MOST_LETTERS} at most.")
    return plain(text).strip()


def _check_row(rows: tuple[str, ...], row: int) -> None:
    if not 1 <= row <= len(rows):
        raise InputError("", f"there is no row {row}.", f"Accepted: 1 to {len(rows)}." if rows else "There is none.")


def _rows(entries: Entries, key: str, units: Units) -> tuple[str, ...]:
    """The rows of a question; a bed by its length and width has its four corners for rows."""
    rows = entries.get(key, ())
    if key == "bed" and len(rows) == 1:
        answers = read_entries({name: entries[name] for name in ("units", "bed") if name in entries}, units).answers
        if len(answers.bed) == 4:
            unit = unit_length(answers.units)
            return tuple(f"{round(x / unit, 4):g}, {round(y / unit, 4):g}" for x, y in answers.bed)
    return rows


def _without(entries: Entries, *keys: str) -> Entries:
    return {key: texts for key, texts in entries.items() if key not in keys}


def _settled(entries: Entries, changed: str) -> Entries:
    """Without what was settled about readings that are no longer the same."""
    return _without(entries, *(key for key, causes in _SETTLES.items() if changed in causes))
