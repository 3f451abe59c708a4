"""What the guide shows of field measurements is read as it says, and no key of [survey] goes without a word there."""

from __future__ import annotations

import re
from dataclasses import fields
from pathlib import Path

import numpy as np
import pytest
from invented_yard import FOOT, SITE, yard

from terrain.site.survey_keys import SurveyKeys
from terrain.survey.codes import marks_of

GUIDE = (Path(__file__).resolve().parents[2] / "examples/guide/site-file.md").read_text(encoding="utf-8")
MEASURED = GUIDE[GUIDE.index("## What was measured") :]


@pytest.mark.parametrize("key", [field.name for field in fields(SurveyKeys)])
def test_every_key_of_the_survey_is_explained(key: str) -> None:
    assert f"`{key}`" in GUIDE


def test_tapes_offsets_and_level_book_of_the_guide_make_a_survey(tmp_path: Path) -> None:
    (survey,) = re.findall(r"```toml\n(.*?)```", MEASURED, re.DOTALL)
    files = dict(re.findall(r"^`(\w+\.csv)`:.*?```csv\n(.*?)```", MEASURED, re.MULTILINE | re.DOTALL))
    assert sorted(files) == ["levels.csv", "offsets.csv", "ties.csv"]
    old = SITE[SITE.index("[survey]") : SITE.index("[bed]")]
    bed = "x,y\n14,4\n32,4\n32,20\n16,20\n"
    site = SITE.replace(old, survey + "\n").replace("[[18, 20", "[[20, 10").replace("[26, 24", "[24, 14")
    site = re.sub(r"\[\[(?:tree|keep_clear|building)\]\].*?(?=\n\[(?:\[|trees|berm))", "", site, flags=re.DOTALL)
    read = yard(tmp_path, site.replace("[37, 21", "[28, 12"), {**files, "bed.csv": bed}).survey
    assert sorted(read.names) == ["1", "2", "3", "4", "5", "6"]
    feet = dict(zip(read.names, (read.shots / FOOT).tolist(), strict=True))
    # By hand: 1 by the two tapes, 4 to 6 along and off the baseline; the +0.01 ft of the loop goes half to each set-up,
    # and half of that to what is sighted in between.
    assert feet["1"] == pytest.approx([18.0, 24.0, 99.8175], abs=1e-6)
    assert feet["4"] == pytest.approx([12.5, 14.0, 100.4225], abs=1e-6)
    assert feet["5"] == pytest.approx([31.0, 22.0, 100.1125], abs=1e-6)
    assert feet["6"] == pytest.approx([40.0, -5.5, 100.6425], abs=1e-6)
    assert np.hypot(*feet["3"][:2]) == pytest.approx(40.0, abs=0.05)
    assert "closes at +0.010 ft, within the 0.020 ft allowed" in read.notes[0]


def test_every_code_of_the_readme_marks_something() -> None:
    rows = re.findall(r"^\| (`[^|]+`) \| (?!what)", MEASURED, re.MULTILINE)
    codes = [code for row in rows for code in re.findall(r"`([^`]+)`", row)]
    assert len(codes) == 8
    assert all(marks_of(code) for code in codes)
