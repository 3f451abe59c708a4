"""Lets these tests build the same yards as the earthwork tests."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.append(str(Path(__file__).resolve().parent.parent / "earthwork"))
