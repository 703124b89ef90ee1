"""How long a check of many parts takes."""

from __future__ import annotations

import sys
import time
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "bench"))
import generator

from configopt.catalog.catalog import read_catalog
from configopt.guard.checking import catalog_findings
from configopt.guard.shelf import Shelf


@pytest.mark.slow
def test_five_thousand_parts_are_judged_in_two_seconds(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(generator.SIZES, "5,000", (3_000, 800, 500, 500, 20, 80, 20, 20, 20, 8))
    generator.write(generator.generate("5,000", 1), tmp_path)
    begun = time.process_time()
    reading = read_catalog(tmp_path)
    read = time.process_time() - begun
    begun = time.process_time()
    findings = catalog_findings(Shelf(reading))
    judged = time.process_time() - begun
    parts = len(reading.catalog.places)
    print(f"{parts} parts: read in {read:.1f} s, judged in {judged:.1f} s, {len(findings)} findings")
    assert parts >= 4_900
    assert judged < 2.0
    # Generated parts are plausible: what is found in them is a matter of chance or of their one estimated source.
    wrong = [finding for finding in findings if finding.severity == "error"]
    assert not wrong, wrong[:3]
