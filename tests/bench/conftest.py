"""Lets the tests of this folder share the generator and the cases beside them."""

from __future__ import annotations

import sys
from pathlib import Path

# Test files are imported by path, so a module beside them is not found by itself.
sys.path.insert(0, str(Path(__file__).parent))
