"""One self-contained page out of the parts in `assets`: modules joined into one script, styles, words and values."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Mapping, Sequence
from functools import cache
from html import escape
from importlib.resources import files
from string import Template

from viewer.page import palette

# `import { a, b } from "./c.js";` as these modules write it, on one line.
_IMPORT = re.compile(r'^import \{[^}]*\} from "\./([a-z]+\.js)";\n', re.MULTILINE)
_EXPORT = re.compile(r"^export (?=class |const |function |async |let )", re.MULTILINE)

_LIGHT = ".stage,.plan,.sheet,#section,.key"
_PAGE = Template(
    """<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
$policy<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="referrer" content="no-referrer">
<title>$title</title>
<style>$style</style>
</head>
<body>
$body
<script type="application/json" id="yard">$values</script>
<script type="module">$script</script>
</body>
</html>
"""
)


@cache
def asset(name: str) -> str:
    """The text of one of the page's parts."""
    return (files("viewer.web") / "assets" / name).read_text(encoding="utf-8")


@cache
def script(entry: str) -> str:
    """The module `entry` and all that it imports as one text, each after what it needs.

    Names at the top of a module must differ from those of every other; the browser refuses the page where they do not.
    """
    order: list[str] = []

    def visit(name: str) -> None:
        if name not in order:
            for needed in _IMPORT.findall(asset(name)):
                visit(needed)
            order.append(name)

    visit(entry)
    return "\n".join(_EXPORT.sub("", _IMPORT.sub("", asset(name))) for name in order)


def style(*names: str) -> str:
    """Style sheets with the drawings' own colours as their variables.

    Drawings name them again, so that a dark page leaves them as they are.
    """
    colours = {name.lower().replace("_", "-"): value for name, value in vars(palette).items() if _is_colour(value)}
    scales = {"fill": palette.FILL_STEPS, "cut": palette.CUT_STEPS}
    steps = {f"{name}-{k + 1}": value for name, scale in scales.items() for k, value in enumerate(scale)}
    names_of = "".join(f"--{name}:{value};" for name, value in {**colours, **steps}.items())
    return f":root,{_LIGHT}{{{names_of}}}" + "".join(asset(name) for name in names)


def _is_colour(value: object) -> bool:
    return isinstance(value, str) and re.fullmatch(r"#[0-9a-f]{6}", value) is not None


def body(name: str, words: Mapping[str, str]) -> str:
    """A part in HTML with its `$words` filled in; what is filled in must be HTML already."""
    return Template(asset(name)).substitute(words)


def policy(style_text: str, script_text: str, connect: str = "'none'") -> str:
    """A page's policy: nothing runs or loads but what stands in it, and it connects nowhere but to `connect`."""
    return (
        f"default-src 'none'; script-src '{_digest(script_text)}'; style-src '{_digest(style_text)}'; "
        f"img-src data:; connect-src {connect}; base-uri 'none'; form-action 'none'"
    )


def page(
    title: str, style_text: str, body_html: str, values: object, script_text: str, policy_text: str | None = None
) -> str:
    """The whole page.

    Parameters
    ----------
    title
        Plain text.
    style_text, script_text
        Trusted text of our own.
    body_html
        HTML with every foreign text escaped.
    values
        What the script reads, as JSON.
    policy_text
        The page's policy, where no server sends it as a header.
    """
    told = escape(policy_text or "", quote=True).replace("&#x27;", "'")
    meta = f'<meta http-equiv="Content-Security-Policy" content="{told}">\n' if policy_text else ""
    # "<" is written as an escape so that no text of a site can close the element that holds the values.
    plain = json.dumps(values, ensure_ascii=False, allow_nan=False, separators=(",", ":")).replace("<", "\\u003c")
    return _PAGE.substitute(
        policy=meta,
        title=escape(title),
        style=style_text,
        body=body_html,
        values=plain,
        script=script_text,
    )


def served_page(
    title: str, style_text: str, body_html: str, values: object, script_text: str, hosts: Sequence[str]
) -> tuple[str, str]:
    """A page that a server of this machine serves under these hosts, and its policy: parts as for `page`."""
    told = policy(style_text, script_text, " ".join(f"ws://{host}" for host in hosts))
    return page(title, style_text, body_html, values, script_text), f"{told}; frame-ancestors 'none'"


def _digest(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode("ascii")
