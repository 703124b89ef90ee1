"""Small random cases of the choice, for explanations that are checked against enumeration."""

from __future__ import annotations

import sys
from pathlib import Path

# Test files are imported by path, so modules beside them are not found by themselves.
sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1] / "choice")]
