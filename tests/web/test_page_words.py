"""The page stands alone, says every foreign text as text, and can be read by everybody."""

from __future__ import annotations

import base64
import hashlib
import json
import math
import re
from collections import Counter
from dataclasses import replace
from html import escape
from itertools import product
from pathlib import Path

import numpy as np
import pytest
from live_yards import ROOT, copied_yard
from shapely.geometry import LineString, Point

from terrain.errors import OutputError
from terrain.flow import Study, run_site
from terrain.look import Look
from terrain.site.read import read_site
from viewer.page import palette
from viewer.page.palette import channels
from viewer.web.assemble import asset, page, policy, script, style
from viewer.web.share import share_page, write_share
from viewer.web.words import look_html

EVIL = "</script><img src=x onerror=alert(1)>&'\""
ASSETS = ROOT / "viewer" / "web" / "assets"


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Study:
    site = read_site(copied_yard(tmp_path_factory.mktemp("yard")))
    tree = replace(site.tree[0], name=EVIL)
    clear = replace(site.keep_clear[0], name=EVIL)
    return run_site(replace(site, name=EVIL, tree=(tree,), keep_clear=(clear, *site.keep_clear[1:])))


@pytest.fixture(scope="module")
def html(study: Study) -> str:
    return share_page(study)


def test_a_name_is_never_taken_for_markup(html: str) -> None:
    assert "<img" not in html
    assert html.count("</script>") == 2
    values = html.partition('id="yard">')[2].partition("</script>")[0]
    assert json.loads(values)["name"] == EVIL


def test_the_page_names_no_other_address_and_forbids_all(html: str) -> None:
    links = set(re.findall(r"""(?:https?:)?//[\w.-]+\.[a-z]+""", html))
    assert links <= {"http://www.w3.org"}, links  # the name of the SVG namespace, which nothing fetches
    assert not re.search(r"<[a-z]+\b[^<>]*\b(?:src|href)=", html)
    policy = html.partition('http-equiv="Content-Security-Policy" content="')[2].partition('"')[0]
    assert policy.startswith("default-src 'none'")
    assert "connect-src 'none'" in policy
    assert "unsafe" not in policy


def test_the_shipped_example_is_far_smaller_than_three_megabytes(html: str) -> None:
    assert len(html.encode()) < 500_000


@pytest.mark.parametrize("entry", ["share.js", "live.js", "newyard.js"])
def test_modules_join_into_one_script_without_clashing_names(entry: str) -> None:
    text = script(entry)
    # A constant of a shader has its type before its name, and lives in a string.
    names = re.findall(r"^(?:async )?(?:const|let|class|function) (\w+)\b(?! \w+ =)", text, re.MULTILINE)
    assert [name for name, count in Counter(names).items() if count > 1] == []
    assert not re.search(r"^(?:import|export)\b", text, re.MULTILINE)


@pytest.mark.parametrize("path", sorted(ASSETS.iterdir()), ids=lambda path: path.name)
def test_parts_of_the_page_are_short_and_their_lines_too(path: Path) -> None:
    lines = path.read_text(encoding="utf-8").splitlines()
    assert len(lines) <= 400
    assert max(map(len, lines)) <= (160 if path.suffix == ".css" else 140)
    if path.suffix == ".js":
        assert lines[0].startswith("// ")


def test_a_page_that_cannot_be_written_is_one_message(study: Study, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(OutputError, match="cannot be written"):
        write_share(study, tmp_path / "file" / "page.html")
    write_share(study, tmp_path / "new" / "page.html")
    assert [item.name for item in (tmp_path / "new").iterdir()] == ["page.html"]


def luminance(colour: str) -> float:
    """Relative luminance of a colour: WCAG 2.2, definition of relative luminance."""
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels(colour)]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio: WCAG 2.2, definition of contrast ratio."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def variables(scheme: str = "light") -> dict[str, str]:
    """The page's colours; a dark page names some of them again."""
    light, _, rest = style("base.css", "live.css").partition("@media screen and (prefers-color-scheme:dark)")
    texts = [light, rest.partition("}")[0]] if scheme == "dark" else [light]
    return dict(pair for text in texts for pair in re.findall(r"--([\w-]+):(#[0-9a-f]{6})", text))


TEXTS = ("ink", "soft-ink", "keep-off", "proposed", "tree", "good")
GROUNDS = ("paper", "warm")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(
    ("text", "ground"), [*product(TEXTS, GROUNDS), ("paper", "pressed"), *product(("ink", "soft-ink"), ("field",))]
)
def test_every_text_stands_out_from_its_ground(text: str, ground: str, scheme: str) -> None:
    """WCAG 2.2, success criterion 1.4.3 (level AA): at least 4.5:1 for text."""
    colours = variables(scheme)
    assert contrast(colours[text], colours[ground]) >= 4.5


@pytest.mark.parametrize("text", ["ink", "tree", "keep-off"])
def test_words_on_the_picture_stand_out_from_the_ground_in_it(text: str) -> None:
    assert contrast(variables()[text], palette.MEADOW) >= 4.5


@pytest.mark.parametrize(
    ("line", "ground"),
    [("#8b8172", palette.PAPER), ("#0b5a55", palette.PAPER), ("#0b5a55", palette.MEADOW),
     (palette.OUTLINE, palette.MEADOW), (palette.PROPOSED, palette.PAPER), (palette.KEEP_OFF, palette.MEADOW)],
)  # fmt: skip
def test_every_edge_of_a_control_and_every_mark_stands_out(line: str, ground: str) -> None:
    """WCAG 2.2, success criterion 1.4.11 (level AA): at least 3:1 for parts of controls and drawings."""
    assert contrast(line, ground) >= 3.0


def test_colours_of_the_style_are_those_that_are_tested() -> None:
    named = variables()
    assert named["line"] == "#8b8172"
    assert "#0b5a55" in asset("base.css")
    assert set(TEXTS) | {"paper", "warm", "pressed"} <= set(named)


def test_every_control_of_the_live_page_has_a_name() -> None:
    text = asset("live.html")
    for control in re.findall(r"<(?:input|select)[^>]*>", text):
        kind, name = re.search(r'type="(\w+)"', control), re.search(r'id="([\w-]+)"', control)
        if (kind and kind[1] in ("radio", "checkbox")) or name is None:
            continue  # these stand inside their label
        assert f'for="{name[1]}"' in text, control
    for kind in ("radio", "checkbox"):
        assert all(
            text.rfind("<label", 0, place.start()) > text.rfind("</label>", 0, place.start())
            for place in re.finditer(f'type="{kind}"', text)
        )


def test_motion_is_asked_for_before_anything_moves() -> None:
    assert "prefers-reduced-motion" in asset("stage.js")
    assert re.findall(r"transition|animation", asset("base.css")) == ["transition"]
    assert "@media (prefers-reduced-motion:no-preference)" in asset("base.css")
    assert not re.search(r"transition|animation", asset("live.css") + asset("share.css") + asset("newyard.css"))


def test_the_policy_holds_the_digest_of_what_runs() -> None:
    told = policy("p{}", "run()", "ws://127.0.0.1:1")
    assert "connect-src ws://127.0.0.1:1;" in told
    for text in ("p{}", "run()"):
        assert f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'" in told
    assert f'content="{told}"' in page("t", "p{}", "<p>", {"a": 1}, "run()", told)
    assert "Content-Security-Policy" not in page("t", "p{}", "<p>", {"a": 1}, "run()")


def test_the_page_never_calls_a_tree_kept_whose_root_zone_is_past_its_bound(study: Study) -> None:
    from viewer.web.words import limit_rows

    (check,) = study.review.trees
    for share, kept in ((0.24, True), (0.64, False)):
        past = replace(check, share_of_root_zone_disturbed=share)
        *_, (told, words) = limit_rows(study.site, study.proposal, (past,))
        assert told == kept
        assert ("64 %" in words) == (not kept)


def test_a_drag_calls_no_tree_kept_because_only_its_keep_off_was_looked_at(study: Study) -> None:
    from terrain.review.model import TreeSoil
    from viewer.web.words import limit_rows, limits_html

    (check,) = study.review.trees
    zone = math.pi * check.root_zone**2
    for soil, share, told in ((0.0, 0.02, None), (0.0, 0.64, None), (0.3, 0.02, False)):
        quick = TreeSoil(check.name, check.keep_off, check.root_zone, soil, 0.3, check.at, share * zone)
        assert [kept for kept, _ in limit_rows(study.site, study.proposal, (quick,))][1] is told
        assert limits_html(study.site, study.proposal, (quick,)).count("kept") == 2  # the slope: its class and its word


def test_every_sign_on_the_pages_has_its_name_rarity_help_place_and_section(study: Study) -> None:
    """A mound with every sign, each at a place of its own; corner at (3 m, 4 m)."""
    look = study.review.look
    at = [(31.0 + k, 20.0 + 0.5 * k) for k in range(len(look.signs))]
    signs = tuple(replace(sign, present=True, rarity=0.98, at=at[k]) for k, sign in enumerate(look.signs))
    told = look_html(Look("made", signs), study.site, study.proposal, (3.0, 4.0))
    lines = re.findall(
        r'<li class="care shows" data-x="(\S+)" data-y="(\S+)" data-cut="(.*?)"><b>▲ (.*?)</b>(.*?)</li>', told
    )
    assert [name for *_, name, _ in lines] == [sign.name for sign in signs]
    for (x, y, cut, _, words), sign, (east, north) in zip(lines, signs, at, strict=True):
        assert (float(x), float(y)) == pytest.approx((east - 3.0, north - 4.0), abs=1e-3)
        ends = np.array(cut.split(), dtype=float).reshape(2, 2)
        assert LineString(ends).distance(Point(float(x), float(y))) < 2e-3
        assert "Show where" in words
        assert escape(sign.suggestion) in re.sub("<.*?>", "", words)
        assert "rarer than 98 % of real hills" in re.sub("<.*?>", "", words)
