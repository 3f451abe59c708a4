"""Messages out of the code into the catalogues, and the compiled catalogues that the library reads. Wants Babel.

`python -m terrain.languages.renew` adds what is new to each hummock.po (empty, to be translated), takes away what is
gone, and compiles every catalogue; `tests/test_languages.py` fails while a message is not translated. What stands in
sheets.po is written by hand: `terrain.languages.retold` says why.
"""

from __future__ import annotations

import io
import re
from datetime import datetime
from pathlib import Path
from typing import Any

from terrain.language import CATALOGUES, DOMAIN

ROOT = CATALOGUES.parent.parent
KEYWORDS: dict[str, Any] = {"say": None, "several": (1, 2), "word": ((1, "c"), 2)}
# Header lines that name people, dates and tools: nobody reads them, and they would change at every renewal.
_PLACEHOLDERS = re.compile(r'^"(?:Project|Report|POT|PO|Last|Language-Team|Generated)[^\n]*\n', re.MULTILINE)
_NO_DATE = datetime(2000, 1, 1)
SPEAKS = "from terrain.language import"  # only what imports the languages has messages
OPTIONS: dict[str, Any] = {"parse_template_string": "True"}


def messages_in_code() -> Any:
    """A catalogue without translations: every message of the crew's sheets and the phone's page."""
    from babel.messages.catalog import Catalog
    from babel.messages.extract import extract_from_file

    template = Catalog(charset="utf-8", fuzzy=False)
    for path in _speaking():
        how = "javascript" if path.suffix == ".js" else "python"
        for _, message, _, context in extract_from_file(how, path, KEYWORDS, options=OPTIONS):
            template.add(message, context=context)
    return template


def _speaking() -> list[Path]:
    """The files that have messages."""
    python = [path for package in ("terrain", "viewer", "cli") for path in (ROOT / package).rglob("*.py")]
    spoken = [path for path in python if SPEAKS in path.read_text(encoding="utf-8")]
    return [*sorted(spoken), *sorted((ROOT / "viewer/web/assets").glob("field*.js"))]


def compiled(path: Path) -> bytes:
    """A catalogue as the library reads it."""
    from babel.messages.mofile import write_mo
    from babel.messages.pofile import read_po

    out = io.BytesIO()
    with path.open("rb") as file:
        catalogue = read_po(file, locale=path.parent.parent.name)
    catalogue.creation_date = catalogue.revision_date = _NO_DATE  # else every renewal would be another file
    write_mo(out, catalogue)
    return out.getvalue()


def renew() -> None:
    """Write every catalogue anew."""
    template = messages_in_code()
    for path in sorted(CATALOGUES.glob("*/LC_MESSAGES/*.po")):
        path.write_text(_in_order(path, template if path.stem == DOMAIN else None), encoding="utf-8")
        path.with_suffix(".mo").write_bytes(compiled(path))


def _in_order(path: Path, template: Any) -> str:
    """A catalogue as text, its messages in order; those of a template where there is one."""
    from babel.messages.pofile import read_po, write_po

    with path.open("rb") as file:
        catalogue = read_po(file, locale=path.parent.parent.name)
    if template is not None:
        catalogue.update(template, no_fuzzy_matching=True)
        catalogue.obsolete.clear()
    written = io.BytesIO()
    write_po(written, catalogue, width=120, no_location=True, sort_output=True, ignore_obsolete=True)
    return _PLACEHOLDERS.sub("", written.getvalue().decode("utf-8"))


if __name__ == "__main__":
    renew()
