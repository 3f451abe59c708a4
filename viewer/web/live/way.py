"""The way from the command to the browser: a file that only its owner can read leads to the link.

An argument of a program can be read by everybody on the machine; the path of a file tells nobody the token.
"""

from __future__ import annotations

import shutil
import tempfile
from functools import cached_property
from html import escape
from pathlib import Path


class Way:
    """A file that leads a browser to a link; written when it is first asked for."""

    def __init__(self, link: str) -> None:
        self.link = link

    @cached_property
    def path(self) -> Path:
        """The file, in a folder of its own that is closed to others."""
        path = Path(tempfile.mkdtemp(prefix="hummock-")) / "open.html"
        path.touch(mode=0o600)
        path.write_text(
            '<!DOCTYPE html><meta charset="utf-8"><meta name="referrer" content="no-referrer">'
            f'<title>Hummock</title><meta http-equiv="refresh" content="0; url={escape(self.link, quote=True)}">',
            encoding="utf-8",
        )
        return path

    def close(self) -> None:
        """Take the file away."""
        if "path" in vars(self):
            shutil.rmtree(self.path.parent, ignore_errors=True)
