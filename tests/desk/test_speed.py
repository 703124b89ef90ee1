"""How quick the page is on the catalog of the benchmarks, in processor time of the program and of the page together."""

from __future__ import annotations

import statistics
import time
from pathlib import Path

import pytest
from large_project import large_project
from served import NAME, VEHICLE, served

#: Seconds from a moved slider to the parts of the page, the median of all moves, and to the first page.
MOVED, FIRST = 0.3, 0.5
#: Factors by which each limit is moved, one after the other.
MOVES = (0.99, 0.98, 0.99, 1.01, 1.005)


@pytest.mark.slow
def test_a_moved_limit_is_answered_soon_on_a_large_catalog(tmp_path: Path) -> None:
    with served(large_project(tmp_path, "M")) as page:
        began = time.process_time()
        page.get(f"/s/{NAME}?vehicle={VEHICLE}")
        first = time.process_time() - began
        page.settled(f"/s/{NAME}?vehicle={VEHICLE}")
        opened = page.gate.desk.project.open(NAME)
        limits = [one for one in opened.movable(VEHICLE).limits.values() if not one.by_default and one.stated]
        spent = []
        for limit in limits:
            for factor in MOVES:
                began = time.process_time()
                value = f"{limit.stated * factor:.6g}"
                found = page.part(f"/s/{NAME}/answer?vehicle={VEHICLE}&limit.{limit.address}={value}", tab="one")
                spent.append(time.process_time() - began)
                assert "Proven" in found.text
        assert first <= FIRST
        assert statistics.median(spent) <= MOVED
        print(
            f"first {first:.3f} s; moved {statistics.median(spent):.3f} s, slowest {max(spent):.3f} s of {len(spent)}"
        )
