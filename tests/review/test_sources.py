"""What a reader is shown names a source that can be opened, or says whom to ask: never a figure "from memory".

A value that could only be remembered keeps its mark in a comment or a docstring, for whoever works on the code.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

from terrain.site.root_zones import RULES

ROOT = Path(__file__).resolve().parents[2]
FILES = [path for package in ("terrain", "viewer", "cli") for path in sorted((ROOT / package).rglob("*.py"))]
SHOWN_FILES = [
    path
    for package in ("viewer", "cli", "examples")
    for kind in ("*.js", "*.html", "*.toml", "*.md")
    for path in sorted((ROOT / package).rglob(kind))
]
DOCUMENTED = (ast.Module, ast.ClassDef, ast.FunctionDef, ast.AsyncFunctionDef)
MARK = "memory"


def shown_texts(tree: ast.Module) -> Iterator[str]:
    """Every text of a file that can reach a reader: all but docstrings and texts that stand alone as remarks."""
    remarks = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in remarks:
            yield node.value


def test_a_docstring_is_no_text_that_is_shown_and_a_source_is() -> None:
    code = '"""From memory."""\nSOURCE = "a code (from memory)"\n'
    code += 'def f(a):\n    """From memory."""\n    return f"{a} from memory"\n'
    assert list(shown_texts(ast.parse(code))) == ["a code (from memory)", " from memory"]


def test_no_text_that_is_shown_rests_on_memory() -> None:
    codes = {str(path.relative_to(ROOT)): path.read_text(encoding="utf-8") for path in FILES}
    marked = {name: code for name, code in codes.items() if MARK in code.lower()}  # only these are taken apart
    assert len(marked) > 10
    shown = {
        name: [t for t in shown_texts(ast.parse(code)) if f"from {MARK}" in t.lower()] for name, code in marked.items()
    }
    assert not {name: texts for name, texts in shown.items() if texts}


def test_no_page_example_or_readme_rests_on_memory() -> None:
    assert SHOWN_FILES
    for path in (*SHOWN_FILES, ROOT / "README.md", *(ROOT / "examples").glob("**/*.md")):
        assert f"from {MARK}" not in path.read_text(encoding="utf-8").lower(), path


def test_every_root_zone_rule_names_a_source() -> None:
    sources = {name: rule.source for name, rule in RULES.items()}
    assert not {name: source for name, source in sources.items() if len(source) <= 15 or MARK in source}
