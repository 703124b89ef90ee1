"""Lets the tests of this folder share their modules, and the one that makes random cases for the search."""

from __future__ import annotations

import sys
from pathlib import Path

# Test files are imported by path, so a module beside them is not found by itself.
sys.path.insert(0, str(Path(__file__).parents[1] / "choice"))
sys.path.insert(0, str(Path(__file__).parent))
