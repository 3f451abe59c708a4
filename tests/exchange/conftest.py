"""Lets these tests build the same yards as the earthwork tests and the laws."""

from __future__ import annotations

import sys
from pathlib import Path

TESTS = Path(__file__).resolve().parent.parent
sys.path += [str(TESTS / "earthwork"), str(TESTS / "laws")]
