"""What fits: impossible pairs are left out with a reason, not computed."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

from configopt.catalog.catalog import load_catalog
from configopt.catalog.records import Hub
from configopt.fit.candidates import built_wheels
from configopt.fit.rules import spokes_in_wheel
from configopt.quantities import Figure
from configopt.scenario.case import load

ROOT = Path(__file__).parents[2]


def test_a_hub_whose_flange_is_as_large_as_the_rim_builds_no_wheel() -> None:
    case = load(ROOT / "scenarios" / "upland-wardens.yaml")
    catalog = load_catalog(ROOT / "catalogs")
    counts: Counter[str] = Counter()
    built = built_wheels(catalog, case.vehicle, "front", counts)
    first = built[0].hub
    rim = next(rim for rim in catalog.rims if rim.holes == first.holes)
    huge = Hub.model_construct(**{**dict(first), "flange_diameter_left": Figure(float(rim.effective_diameter))})
    changed = catalog.with_parts({"hubs": {catalog.hubs.index(first): huge}})
    removed: Counter[str] = Counter()
    left = built_wheels(changed, case.vehicle, "front", removed)
    assert removed["rims on hubs: flange as large as the rim"] > 0
    assert not counts["rims on hubs: flange as large as the rim"]
    assert all(float(wheel.rim.effective_diameter) > float(rim.effective_diameter)
               for wheel in left if wheel.hub.id == first.id and wheel.rim is not None)  # fmt: skip
    spokes = catalog.spokes[0]
    assert "does not lie within the rim" in str(spokes_in_wheel(spokes, rim, huge, 0))
