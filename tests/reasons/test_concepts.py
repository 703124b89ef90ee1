"""Own parts that are concepts: what they are worth, from when they pay, and their windows, against enumeration."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from random_cases import RandomCase, aims_of, cached_case, case_of, enumerated, few_quick, suite

from configopt.appraisal.vehicle import VehicleModel
from configopt.catalog.catalog import Catalog
from configopt.catalog.records import Hub, open_figures
from configopt.choice.audit import Candidates
from configopt.choice.choose import Settings
from configopt.cli.layout import Page
from configopt.cli.text_reasons_more import write_concepts
from configopt.errors import FindingsError
from configopt.files.validation import validate_items
from configopt.files.yaml_source import load_yaml
from configopt.fit.candidates import position_candidates
from configopt.quantities import Figure
from configopt.reasons import concepts as module
from configopt.reasons.asking import Answer, Asking
from configopt.reasons.concepts import concepts
from configopt.reasons.requirements import Turned, asked_about, settled, stated, turned
from configopt.reasons.tooling import order_costs, pays

QUICK, CASES = (3,), 12
TIE = 1e-9


@dataclass
class Own:
    """A case in which one part is only a concept, with the truth of both catalogs."""

    drawn: RandomCase
    catalog: Catalog
    part: tuple[str, int]
    without: float

    @property
    def record(self) -> Any:
        """The concept."""
        return self.catalog.family(self.part[0])[self.part[1]]

    def best_with(self, record: Any) -> float:
        """Least aim of all choices that use the part as a record has it, by enumeration."""
        active = record.model_copy(update={"status": "active"})
        made = self.candidates(self.catalog.with_parts({self.part[0]: {self.part[1]: active}}))
        if not made.count():
            return np.inf
        choices = enumerated(made)
        used = np.zeros(len(choices), dtype=bool)
        for of in made.part_rows(choices).values():
            used |= of.index[self.part[0]] == self.part[1]
        aims, met = made.appraise(choices)
        return float(aims[met & used].min()) if (met & used).any() else np.inf

    def candidates(self, catalog: Catalog) -> Candidates:
        """Candidates of the case's vehicle from a catalog."""
        return Candidates(self.drawn.candidates.model.vehicle, catalog, aims_of(self.drawn.candidates))


def own_part(number: int) -> Own | None:
    """A case whose first part with a substitute becomes a concept; its mass and price become ranges."""
    every = suite()
    drawn = cached_case(*every[(3 * number + 1) % len(every)])
    catalog = drawn.candidates.model.catalog
    for family in ("hubs", "rotors", "rims"):
        for index, record in enumerate(catalog.family(family)):
            mass = float(record.mass)
            update = {
                "status": "concept",
                "mass": Figure(mass, None, (0.9 * mass, 1.1 * mass)),
                "one_off_cost": Figure(400.0),
            }
            found = catalog.with_parts({family: {index: record.model_copy(update=update)}})
            made = Candidates(drawn.candidates.model.vehicle, found, aims_of(drawn.candidates))
            if made.count():
                aims, met = made.appraise(enumerated(made))
                if met.any():
                    return Own(drawn, found, (family, index), float(aims[met].min()))
    return None


@pytest.mark.parametrize("number", few_quick(range(CASES), QUICK))
def test_worth_and_windows_are_those_of_enumeration(number: int, monkeypatch: pytest.MonkeyPatch) -> None:
    own = own_part(number)
    if own is None:
        return
    if number in QUICK:
        monkeypatch.setattr(module, "sheet", _short_sheet)
    asking = Asking(own.candidates(own.catalog), Settings())
    search, proven = asking.first()
    assert proven
    assert search.best == pytest.approx(own.without, rel=1e-9)
    assert search.found is not None
    best = Answer(asking.candidates, search.best, search.found)
    (row,) = concepts(asking, best, aims_of(own.drawn.candidates))
    middle = own.best_with(own.record)
    cases = [(row, middle)]
    if not row["fits"]:
        assert row["at_ends"] is None
    else:
        cases += [
            (row["at_ends"][end], own.best_with(settled(own.record, at))) for at, end in enumerate(("low", "high"))
        ]
    for told, truth in cases:
        assert told["chosen"] == (truth <= own.without + TIE * max(abs(own.without), 1.0))
        if truth == np.inf:
            assert told["with_it"] is None
        else:
            assert told["with_it"]["aim"] == pytest.approx(truth, rel=1e-9)
            assert told["with_it"]["loss"] == pytest.approx(truth - own.without, abs=1e-7)
    if number in QUICK:
        assert any(window != {"low": None, "high": None} for line in row["sheet"] for window in line["windows"])
    ceiling = own.without + 2 * TIE * max(abs(own.without), 1.0)
    figures = {figure.wording: figure for figure in asked_about(own.part[0], own.record)}
    quantity = own.drawn.candidates.model.vehicle.quantity
    for line in row["sheet"]:
        figure = figures[line["figure"]]
        unit = line["stated"] / stated(own.record, figure, quantity)
        for window in line["windows"]:
            for end, way in ((window["low"], -1.0), (window["high"], 1.0)):
                if end is None:
                    continue
                factor = end / (unit * stated(own.record, figure, quantity))
                assert _at(own, figure, factor) <= ceiling
                assert _at(own, figure, factor + way * 1e-3 * max(factor, 0.05)) > ceiling
    page = Page(80)
    write_concepts(page, {"concepts": [row], "choice": None})
    assert row["part"] in str(page)


def _at(own: Own, figure: Turned, factor: float) -> float:
    return own.best_with(turned(own.record, figure, factor))


def _short_sheet(wanted: Any, original: Any, now: Any, near: Any) -> list[dict[str, Any]]:
    """The sheet with the mass and the unit price alone."""
    from configopt.reasons import requirements

    whole = requirements.SHEET
    try:
        requirements.SHEET = {**whole, wanted.part[0]: (requirements.MASS, requirements.COST)}
        return requirements.sheet(wanted, original, now, near)
    finally:
        requirements.SHEET = whole


@pytest.mark.parametrize("number", few_quick(range(6), (0, 3)))
def test_from_the_number_told_on_a_choice_is_no_dearer(number: int) -> None:
    drawn = cached_case(*suite()[3 * number])
    of = drawn.candidates
    rng = np.random.default_rng(number)
    for _ in range(8):
        one, other = (drawn.choices.take(np.array([int(rng.integers(len(drawn.choices)))])) for _ in range(2))
        found = pays((of, one), (of, other))
        vehicles = np.arange(1, 3_000)
        more = order_costs(of, one, vehicles) - order_costs(of, other, vehicles)
        good = np.flatnonzero(more <= 1e-9 * np.abs(order_costs(of, other, vehicles)))
        assert (found.first or 10**9) == (vehicles[good[0]] if good.size else found.first or 10**9)
        if found.from_ is not None and found.from_ < vehicles[-1]:
            assert np.isin(np.arange(found.from_, 3_000), vehicles[good]).all()
            assert found.from_ == 1 or found.from_ - 1 not in vehicles[good]
        quantity = int(rng.integers(1, 500))
        vehicle = of.model.vehicle.model_copy(update={"quantity": quantity})
        asked = of.variant(VehicleModel(vehicle, of.model.catalog))
        told = float(order_costs(of, one, np.array([quantity]))[0]) / quantity
        assert told == pytest.approx(float(asked.orders(one).cost[0]), rel=1e-12)


def test_concepts_of_the_catalogs_are_in_no_candidates_and_some_have_ranges() -> None:
    case = case_of("upland-wardens")
    found = [
        part
        for family in ("hubs", "rims", "rotors")
        for part in case.catalog.family(family)
        if part.status == "concept"
    ]
    assert len(found) == 3
    assert all(list(open_figures(part)) for part in found)
    names = {part.id for part in found}
    for position in ("front", "rear"):
        of = position_candidates(case.catalog, case.vehicle, position)
        used = {of.wheels.hub.parts[n].id for n in np.unique(of.wheels.hub.number)}
        used |= {of.wheels.rim.parts[n].id for n in np.unique(of.wheels.rim.number[of.wheels.rim.number >= 0])}
        used |= {of.brakes.rotor.parts[n].id for n in np.unique(of.brakes.rotor.number)}
        assert used
        assert not used & names


HUB = """family: hubs
currency: EUR
parts:
  - id: own-hub
    name: Own
    maker: Own
    supplier: Own
    status: concept
    lead_time: 60 days
    kind: studded
    position: front
    axle_diameter: 20 mm
    width: 110 mm
    mass: {mass}
    studs: 4x110
    maximum_torque: 600 to 700 N m
    prices:
      - quantity: 1
        unit_price: 70 to 90
    source: parts-estimate
"""


def test_figures_of_a_concept_may_be_ranges_with_the_unit_once_or_twice(tmp_path: Path) -> None:
    for written in ("500 g to 620 g", "500 to 620 g", "0.5 kg to 620 g"):
        path = tmp_path / "hubs.yaml"
        path.write_text(HUB.format(mass=written))
        (hub,) = validate_items(load_yaml(path), "parts", Hub)
        assert float(hub.mass) == pytest.approx(0.56)
        assert hub.mass.ends == (0.5, 0.62)
        assert float(settled(hub, 0).prices[0].unit_price) == 70.0
        assert float(settled(hub, 1).mass) == 0.62
        assert Hub.model_validate(hub.model_dump(mode="json")) == hub


@pytest.mark.parametrize(
    ("status", "mass", "message"),
    [
        ("active", "500 g to 620 g", 'write "560 g" or "560 g +- 60 g"'),
        ("concept", "620 g to 500 g", "write the low end first"),
        ("concept", "0 g to 500 g", "allowed is above 0 g"),
        ("concept", "500 g to 5 mm", "is a unit of length"),
        ("concept", "500 g to 600 g +- 5 g", "write either a range or an uncertainty"),
    ],
)
def test_a_range_that_is_wrong_or_out_of_place_is_found_with_its_line(
    tmp_path: Path, status: str, mass: str, message: str
) -> None:
    path = tmp_path / "hubs.yaml"
    path.write_text(HUB.format(mass=mass).replace("status: concept", f"status: {status}"))
    with pytest.raises(FindingsError) as caught:
        validate_items(load_yaml(path), "parts", Hub)
    (first, *_) = caught.value.findings
    assert first.line == 14
    assert message in str(first)
