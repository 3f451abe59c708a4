"""No message of the crew's sheets and the phone's page is left in English, and every plural is right."""

from __future__ import annotations

import re
import shutil
import subprocess
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from babel.messages.pofile import read_po

from terrain.language import CATALOGUES, TONGUES, Language
from terrain.languages.renew import compiled, messages_in_code

FOREIGN = [tongue for tongue in TONGUES if tongue != "en"]


@pytest.fixture(scope="module")
def template() -> Any:
    return messages_in_code()


def path_of(tongue: str) -> Path:
    return CATALOGUES / tongue / "LC_MESSAGES" / "hummock.po"


def catalogue(tongue: str) -> Any:
    with path_of(tongue).open("rb") as file:
        return read_po(file, locale=tongue)


def keys(found: Any) -> set[tuple[object, object]]:
    return {(message.context, message.id) for message in found if message.id}


@pytest.mark.parametrize("tongue", FOREIGN)
def test_every_message_is_translated_and_none_too_many(tongue: str, template: Any) -> None:
    assert len(keys(template)) > 150
    found = catalogue(tongue)
    assert keys(found) == keys(template), "python -m terrain.languages.renew"
    for message in found:
        forms = message.string if isinstance(message.string, tuple) else (message.string,)
        assert all(forms), message.id
        assert not message.fuzzy
        assert len(forms) == (found.num_plurals if message.pluralizable else 1)


@pytest.mark.parametrize("tongue", FOREIGN)
def test_every_translation_has_the_blanks_of_its_message(tongue: str) -> None:
    for message in catalogue(tongue):
        if message.id:
            forms = message.string if message.pluralizable else (message.string,)
            wanted = Counter(re.findall(r"\{\w+\}", message.id[-1] if message.pluralizable else message.id))
            assert all(Counter(re.findall(r"\{\w+\}", form)) == wanted for form in forms), message.id


@pytest.mark.parametrize("tongue", FOREIGN)
def test_the_compiled_catalogue_is_that_of_the_text(tongue: str) -> None:
    assert path_of(tongue).with_suffix(".mo").read_bytes() == compiled(path_of(tongue))


@pytest.mark.parametrize("tongue", FOREIGN)
def test_another_checker_takes_the_catalogue(tongue: str) -> None:
    checker = shutil.which("msgfmt")
    if checker is None:
        pytest.skip("no msgfmt on this machine (Debian: apt-get install gettext)")
    command = [checker, "--check-format", "--check-domain", "-o", "/dev/null", str(path_of(tongue))]
    ran = subprocess.run(command, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stderr


@pytest.mark.parametrize(
    ("tongue", "told"),
    [
        ("en", {0: "0 barrows", 1: "1 barrow", 2: "2 barrows", 1000000: "1,000,000 barrows"}),
        ("es", {0: "0 carretillas", 1: "1 carretilla", 2: "2 carretillas", 1000000: "1,000,000 carretillas"}),
        # French takes none for one: 0 brouette (Unicode CLDR, plural rules).
        ("fr", {0: "0 brouette", 1: "1 brouette", 2: "2 brouettes", 1000000: "1 000 000 brouettes"}),
    ],
)
def test_plurals(tongue: Any, told: dict[int, str]) -> None:
    for number, words in told.items():
        assert Language(tongue).several("{n} barrow", "{n} barrows", number).replace("\u00a0", " ") == words


def test_measures_are_written_as_the_language_has_them() -> None:
    # Unicode CLDR: es_MX keeps a decimal point, ft and in; fr_CA has a comma, pi, po and vg³.
    assert Language("es").measure("31 ft 6 1/2 in") == "31 ft 6 1/2 in"
    assert Language("es").measure("14.5 cu yd loose") == "14.5 yd³ loose"
    assert Language("fr").measure("31 ft 6 1/2 in") == "31 pi 6 1/2 po"
    assert Language("fr").measure("14.5 cu yd") == "14,5 vg³"
    assert Language("fr").measure("657 sq ft") == "657 pi²"
    assert Language("fr").measure("12.50 m") == "12,50 m"
    assert Language("en").measure("14.5 cu yd") == "14.5 cu yd"
