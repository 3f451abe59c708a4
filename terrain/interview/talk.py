"""A talk about a yard, line by line: where it stands, what is asked next, and what a line that is typed makes of it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

from terrain.errors import InputError
from terrain.interview.answers import Answers
from terrain.interview.questions import FOLLOW_UPS, LEAST_SHOTS, QUESTIONS, Question, enough
from terrain.interview.reading import dropped, is_unknown
from terrain.interview.signs import AskAnewError
from terrain.interview.written import site_of_answers
from terrain.plain import plain
from terrain.units import Units

COUNT = len(QUESTIONS) - len(FOLLOW_UPS)


@dataclass(frozen=True)
class Talk:
    """Where a talk stands: the answers so far, and the number of the question that is asked now."""

    answers: Answers = field(default_factory=Answers)
    at: int = 0

    @property
    def done(self) -> bool:
        """Whether every question has been asked."""
        return self.at >= len(QUESTIONS)

    @property
    def question(self) -> Question:
        """The question that is asked now."""
        return QUESTIONS[self.at]

    @property
    def number(self) -> int:
        """Its number among those that everybody is asked."""
        return sum(one.key not in FOLLOW_UPS for one in QUESTIONS[: self.at + 1])


def talk_begun(units: Units = "ft") -> Talk:
    """A talk before its first question; the units are those that are taken where nobody says."""
    return Talk(Answers(units))


def prompt(talk: Talk) -> str:
    """What is asked now, with what is taken where nobody knows."""
    question, so_far = talk.question, talk.answers
    if question.rows is not None and question.rows(so_far):
        return f"   row {len(question.rows(so_far)) + 1}: "
    return f"{talk.number}/{COUNT}  {question.ask(so_far)} [{question.taken(so_far)}]\n   "


def heard(talk: Talk, line: str) -> tuple[Talk, str]:
    """The talk after one line that was typed, and what to say about it.

    A line that cannot be read changes nothing: what is said then is what would be accepted.
    """
    text = plain(line).strip()
    try:
        return _ended(talk) if is_unknown(text) else _answered(talk, text)
    except AskAnewError as anew:
        at = next(number for number, one in enumerate(QUESTIONS) if one.key == anew.key)
        return Talk(anew.so_far, at), "from the first shot once more"
    except InputError as error:
        return talk, error.without_where


def _ended(talk: Talk) -> tuple[Talk, str]:
    """An empty line, or nobody knows: the end of the rows, or what is taken for granted."""
    question, so_far = talk.question, talk.answers
    if question.rows is not None and question.rows(so_far):
        enough(question.key, so_far)
        return _next(talk, so_far, f"{len(question.rows(so_far))} taken")
    after = question.unknown(so_far)
    return _next(talk, after, question.taken(so_far))


def _answered(talk: Talk, text: str) -> tuple[Talk, str]:
    """A line that says something."""
    question, so_far = talk.question, talk.answers
    if question.rows is None:
        after = question.read(text, so_far)
        return _next(talk, after, question.told(after))
    if text.casefold() == "none":
        return _next(talk, question.unknown(so_far), question.taken(question.unknown(so_far)))
    fewer = dropped(question.rows(so_far), text)
    if fewer is not None:
        left: dict[str, Any] = {question.key: fewer}  # a question of rows is called like the answer that holds them
        return replace(talk, answers=replace(so_far, **left)), f"{len(fewer)} left"
    after = question.read(text, so_far)
    if question.key == "bed" and len(after.bed) == 4 and not so_far.bed:  # length by width: there are no more rows
        return _next(talk, after, question.told(after))
    if question.key == "trees":
        site_of_answers(after)
    return replace(talk, answers=after), question.told(after)


def _next(talk: Talk, after: Answers, told: str) -> tuple[Talk, str]:
    """The next question that is asked, once the yard so far has been found to read."""
    if talk.question.key == "bed":
        enough("bed", after)
    site_of_answers(after if len(after.shots) >= LEAST_SHOTS else replace(after, shots=(), measured="no"))
    at = talk.at + 1
    while at < len(QUESTIONS) and not QUESTIONS[at].asked(after):
        at += 1
    return Talk(after, at), told
