"""Tires: each side of each bound, and what the shipped tires leave of it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from laid import SHIPPED, lay

from configopt.catalog.catalog import Catalog, CatalogReading, load_catalog, read_catalog
from configopt.catalog.records import Tire
from configopt.guard import tire_rules
from configopt.guard.shelf import Shelf
from configopt.guard.tire_rules import DIAMETER_BAND, WIDTH_BAND, least_mass, most_mass
from configopt.physics.loads import GRAVITY
from configopt.physics.tire import deflection, deflection_work, load_at_deflection, patch_length
from configopt.quantities import Figure
from configopt.sizes import parse_tire_size


@pytest.fixture(scope="module")
def catalog() -> Catalog:
    """The shipped catalogs."""
    return load_catalog(SHIPPED)


def _broken(tire: Tire, **changes: Any) -> set[str]:
    changed = tire.model_copy(update=changes)
    judges = (tire_rules._dimensions, tire_rules._rims, tire_rules._pressures, tire_rules._mass)

    def found() -> Iterator[str]:
        for judge in judges:
            yield from (rule.id for rule, *_ in judge(changed))

    return set(found())


@pytest.mark.parametrize(
    ("name", "band", "rule"), [("width", WIDTH_BAND, "SIZE-WIDTH"), ("diameter", DIAMETER_BAND, "SIZE-DIAMETER")]
)
def test_a_measured_dimension_is_wrong_just_outside_its_band(
    catalog: Catalog, name: str, band: tuple[float, float], rule: str
) -> None:
    for tire in catalog.tires[::9]:
        size = parse_tire_size(tire.size)
        nominal = size.section_width if name == "width" else size.overall_diameter
        for factor, wrong in ((band[0] * 0.999, True), (band[0] * 1.001, False), (band[1] * 0.999, False)):
            assert (rule in _broken(tire, **{name: Figure(nominal * factor)})) is wrong
        assert rule in _broken(tire, **{name: Figure(nominal * band[1] * 1.001)})


def test_the_mass_of_every_shipped_tire_lies_between_its_bounds_with_room_on_both_sides(catalog: Catalog) -> None:
    share = [(least_mass(tire) / tire.mass, tire.mass / most_mass(tire)) for tire in catalog.tires]
    assert np.max(share) < 0.9
    for tire in catalog.tires[::9]:
        assert "TIRE-MASS" in _broken(tire, mass=Figure(0.99 * least_mass(tire)))
        assert "TIRE-MASS" not in _broken(tire, mass=Figure(1.01 * least_mass(tire)))
        assert "TIRE-MASS" in _broken(tire, mass=Figure(1.01 * most_mass(tire)))


def test_the_least_mass_of_a_tire_by_hand(catalog: Catalog) -> None:
    tire = catalog.part("tires", "adder-57-507")
    # Lugs 4.2 mm deep on 45 % of half of 57 mm, around 621 mm; walls 2.2 mm over 2 x 57 mm around 507 + 57 mm.
    lugs = math.pi * 0.621 * 0.0285 * 0.0042 * 0.45
    walls = math.pi * 0.564 * 0.114 * 0.0022
    assert least_mass(tire) == pytest.approx(900 * (lugs + walls), rel=1e-9)


def test_a_rim_range_may_reach_one_code_beyond_the_table_and_no_further(catalog: Catalog) -> None:
    tire = catalog.part("tires", "heron-moor-80-100-21")  # usual: 1.60 and 1.85 in
    for code, unusual in ((1.40, False), (1.20, True)):
        assert ("RIM-PRACTICE" in _broken(tire, rim_width_min=Figure(code * 0.0254))) is unusual
    for code, unusual in ((2.15, False), (2.50, True)):
        assert ("RIM-PRACTICE" in _broken(tire, rim_width_max=Figure(code * 0.0254))) is unusual


def test_quads_have_no_table_of_rims(catalog: Catalog) -> None:
    tire = next(tire for tire in catalog.tires if tire.kind == "quad")
    assert "RIM-PRACTICE" not in _broken(tire, rim_width_max=Figure(0.4))


@cache
def _read() -> CatalogReading:
    return read_catalog(SHIPPED)


def _under(catalog: Catalog, tire: Tire) -> list[str]:
    reading = _read()
    place = catalog.tires.index(catalog.part("tires", tire.id))
    changed = replace(reading, catalog=reading.catalog.with_parts({"tires": {place: tire}}))
    return [finding.rule for entry, finding in tire_rules._under_load(Shelf(changed)) if entry.part.id == tire.id]


def test_the_rated_load_is_judged_by_the_law_of_deflection(catalog: Catalog) -> None:
    tire = catalog.part("tires", "adder-57-507")  # 57 mm high, casing 2.2 mm: 52.6 mm give way
    law = {"pressure": 250e3, "carcass_pressure": 8500.0, "width": 0.057, "diameter": 0.621}
    for deep, rules in ((0.34 * 0.057, []), (0.36 * 0.057, ["TIRE-DEFLECTION"]), (0.0527, ["TIRE-LOAD"])):
        load = float(load_at_deflection(deep, **law)) / GRAVITY
        assert _under(catalog, tire.model_copy(update={"maximum_load": Figure(load)})) == rules


def test_a_rolling_tire_loses_no_more_than_the_work_over_its_patch(catalog: Catalog) -> None:
    tire = catalog.part("tires", "adder-57-507")
    law = {"pressure": 250e3, "carcass_pressure": 8500.0, "width": 0.057, "diameter": 0.621}
    deep = float(deflection(88 * GRAVITY, **law))
    most = float(deflection_work(deep, **law) / (88 * GRAVITY * patch_length(deep, diameter=0.621)))
    assert most > 1.5 * tire.rolling_coefficient
    for factor, wrong in ((0.999, False), (1.001, True)):
        found = _under(catalog, tire.model_copy(update={"rolling_coefficient": Figure(factor * most)}))
        assert ("ROLLING-LIMIT" in found) is wrong


def test_no_mass_is_told_from_a_diameter_that_cannot_be(tmp_path: Path) -> None:
    for diameter in ("348 mm", "520 mm"):
        assert [found.rule for found in lay(tmp_path, "tires", {"diameter": diameter}).findings()] == ["SIZE-DIAMETER"]


def test_a_waived_diameter_that_leaves_no_room_is_impossible_all_the_same(tmp_path: Path) -> None:
    waiver = {"rule": "SIZE-DIAMETER", "reason": "measured on the worn tire"}
    (found,) = lay(tmp_path, "tires", {"diameter": "348 mm", "waivers": [waiver]}).here("TIRE-MASS")
    assert found.message == "mass 2.58 kg, but its dimensions leave no room for any tire"
