"""A yard with everything in it: its findings are few and short, and read alike on terminal, JSON, plan and page."""

from __future__ import annotations

import html
import json
import re
import shutil
from collections.abc import Sequence
from pathlib import Path

import pytest

from cli.outputs import Outputs
from cli.report import finding_lines, lines
from cli.tree_report import caution_lines
from terrain.files.summary import as_json, summary_of
from terrain.findings import Finding
from terrain.flow import Study, run_site
from terrain.site.read import read_site
from viewer.page.subject import Subject
from viewer.sheets.plan import plan_page
from viewer.sheets.tree_page import tree_pages
from viewer.web.words import findings_html

BLOCKS = re.compile(r"(?:^# \[\[\w+\]\].*\n)(?:^# +\w+ *=.*\n)+", re.MULTILINE)
LONGEST = 260  # letters of a finding: two or three sentences that read aloud in a quarter of a minute
MOST = 24


@pytest.fixture(scope="module", params=[pytest.param("feet", marks=pytest.mark.slow), "metres"])
def study(request: pytest.FixtureRequest, root: Path, tmp_path_factory: pytest.TempPathFactory) -> Study:
    """The starter with every block of it alive: digs, streams, terraces, stones, walks and heaps."""
    yard = tmp_path_factory.mktemp("yard") / request.param
    shutil.copytree(root / "cli/starter" / request.param, yard)
    text = (yard / "site.toml").read_text(encoding="utf-8")
    assert len(BLOCKS.findall(text)) >= 6
    alive = BLOCKS.sub(lambda block: re.sub(r"^# ", "", block.group(), flags=re.MULTILINE), text)
    (yard / "site.toml").write_text(alive.replace("# boundary", "boundary"), encoding="utf-8")
    return run_site(read_site(yard / "site.toml"))


def plain(text: str) -> str:
    return " ".join(text.split())


def test_everything_at_once_is_few_findings_and_each_is_short(study: Study) -> None:
    findings = study.review.findings
    assert 10 <= len(findings) <= MOST
    assert max(len(finding.text) for finding in findings) <= LONGEST
    assert len({finding.text for finding in findings}) == len(findings)
    assert sum(finding.level != "note" for finding in findings) <= 14


def test_the_swale_of_the_starter_has_a_way_out(study: Study) -> None:
    assert study.site.channel
    assert not [finding.text for finding in study.review.findings if "no way out" in finding.text]


def test_every_finding_says_where_its_bound_comes_from(study: Study) -> None:
    for finding in study.review.findings:
        assert finding.source, finding.text
        assert finding.text.endswith((".", "?"))


def test_json_holds_every_text_with_value_bound_source_and_place(study: Study) -> None:
    told = json.loads(as_json(summary_of(study, (0.0, 0.0, 0.0))))["findings"]
    assert [one["text"] for one in told] == [finding.text for finding in study.review.findings]
    assert all(set(one) == {"level", "topic", "text", "value", "bound", "source", "at"} for one in told)


def acted_on(findings: Sequence[Finding]) -> list[str]:
    return [finding.text for finding in findings if finding.level != "note"]


def test_the_terminal_tells_every_stop_and_caution_in_the_same_words(study: Study) -> None:
    printed = [text.plain for label, text in finding_lines(study) if label in ("Stop", "Caution")]
    assert printed == acted_on(study.review.findings)
    assert all(text in [t.plain for _, t in lines(study, Outputs({}, ()), Path("out"))] for text in printed)


def test_the_trees_command_tells_every_finding_on_trees_in_the_same_words(study: Study) -> None:
    printed = [text.plain for _, text in caution_lines(study.review.findings)]
    assert printed == [f.text for f in study.review.findings if f.topic == "trees" or f.level == "stop"]


def test_the_plan_tells_them_in_the_same_words_and_counts_what_has_no_room(study: Study) -> None:
    subject = Subject(study.site, study.ground, study.proposal, study.work)
    page = plan_page(subject, study.review.findings)
    said = plain(" ".join(item.get_text() for item in page.axes.texts if item.get_text() not in ("", "!", "stop")))
    wanted = acted_on(study.review.findings)
    shown = [text for text in wanted if plain(text) in said]
    assert shown == wanted[: len(shown)]
    left = len(wanted) - len(shown)
    assert left == 0 or f"{left} more in review.pdf" in said
    assert shown


def test_the_live_page_tells_all_of_them_in_the_same_words(study: Study) -> None:
    page = html.unescape(re.sub(r"<[^>]*>", " ", findings_html(study.review.findings, (0.0, 0.0))))
    for finding in study.review.findings:
        assert plain(finding.text) in plain(page)
        assert plain(finding.source) in plain(page)


def test_the_pages_of_the_trees_tell_every_finding_on_trees_in_the_same_words(study: Study) -> None:
    subject = Subject(study.site, study.ground, study.proposal, study.work)
    pages = [page for check in study.review.trees for page in tree_pages(subject, check, study.review.findings)]
    said = plain(" ".join(item.get_text() for page in pages for item in page.axes.texts))
    for finding in study.review.findings:
        if finding.topic == "trees":
            assert plain(finding.text) in said
