"""Variants of small scenarios against enumeration: the same best choice, the same least worst regret, all switches."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from random_cases import few_quick
from small_cases import Truth, address, base_of, run_of, truth_of, variant

from configopt.scenario.records import VehicleChoiceRecord
from configopt.scenario.variants import Grid, Planned, Setting
from configopt.sweep.answers import Kept, answer
from configopt.sweep.changing import Base, changed
from configopt.sweep.least_regret import least_regret
from configopt.sweep.run import Solved
from configopt.sweep.switches import Sweep

#: Cases of the suite of random small cases, and those of them that are looked at every time.
CASES = range(44)
QUICK = (5, 38)
#: Every case is looked at whole on the slow line, and one quickly with a few variants or at a few values.
FEW, SOME, ALL = 3, 3, 20


def variants_of(base: Base, seed: int) -> list[Planned]:
    """The scenario as it stands and variants of each kind."""
    rng = np.random.default_rng(seed)
    truth = truth_of(base, variant("as-it-stands", {}))
    met = np.flatnonzero(np.isfinite(truth.aims))
    costs = np.sort(truth.candidates.outcome(truth.choices.take(met)).cost)
    first = truth.first()
    assert first is not None
    aim, rate = next(iter(base.data["aims"].items()))
    found: dict[str, dict[str, Any]] = {
        "as-it-stands": {},
        "budget": {address(base, "limits", "cost"): float(costs[int(rng.uniform(0.1, 0.6) * len(costs))]) + 0.005},
        "tire-gone": {f"withdrawn.{first.front.tire}": True},
        "rotor-gone": {f"withdrawn.{first.rear.rotor}": True},
        "dear": {f"prices.{first.front.tire}": 1.7, f"prices.{first.rear.rim or first.rear.disc_wheel}": 0.6},
        "other-rate": {f"aims.{aim}": 3.0 * rate if isinstance(rate, float) else f"2.5 {rate.split(' ', 1)[1]}"},
        "loaded": {address(base, "cargo_mass"): "20 kg"},
        "longer": {address(base, "wheelbase"): f"{1.03 * float(base.case.vehicle.wheelbase):.4f} m"},
        "heavier-tire": {f"parts.{first.front.tire}.mass": "6 kg"},
    }
    return [variant(name, settings) for name, settings in found.items()]


def solved_of(base: Base, plans: list[Planned]) -> list[Solved]:
    found = []
    for number, one in enumerate(plans):
        made, record = answer(changed(base, one))
        found.append(Solved(number, one, made, record))
    return found


def require_enumerated(base: Base, plans: list[Planned]) -> int:
    """Every variant's answer, and what keeping the first one's costs, are those of enumeration; how many differ."""
    today = truth_of(base, plans[0]).first()
    assert today is not None
    kept = Kept("today", (today,))
    different = 0
    for one in plans:
        truth = truth_of(base, one)
        made, record = answer(changed(base, one), (kept,))
        if truth.best == np.inf:
            assert made["status"] == "nothing meets the limits", one.name
            assert record is None
            continue
        assert made["status"] == "optimal"
        assert made["aim"] == pytest.approx(truth.best, rel=1e-9), one.name
        assert record is not None
        assert record[0].model_dump() == truth.first().model_dump(), one.name  # type: ignore[union-attr]
        different += record[0].model_dump() != today.model_dump()
        mine = truth.by_parts().get(str(today.model_dump(mode="json")), np.inf)
        row = made["kept"][0]
        if mine == np.inf:
            assert row["regret"] is None, one.name
            assert row["gone"] or row["misses"], one.name
        else:
            assert row["regret"] == pytest.approx(mine - truth.best, abs=1e-8 * abs(truth.best)), one.name
    return different


def quickly(number: int, some: int) -> list[Any]:
    """Parameters of a test over every case as a whole, and over one with some variants or values on the quick line."""
    return few_quick([(number, some), *((one, ALL) for one in CASES)], [(number, some)])


@pytest.mark.parametrize(("number", "count"), quickly(QUICK[0], FEW))
def test_variants_are_answered_as_by_enumeration(number: int, count: int) -> None:
    base = base_of(number)
    different = require_enumerated(base, variants_of(base, 1000 + number)[:count])
    assert different > 0 or number not in QUICK


# The least worst regret


def brute_regret(base: Base, solved: list[Solved]) -> tuple[float, dict[str, float]]:
    """The least worst regret of all choices over the variants that have a best one, and each choice's worst."""
    worst: dict[str, float] = {}
    truths = [truth_of(base, one.planned) for one in solved if one.optimal]
    for number, truth in enumerate(truths):
        regrets = {key: aim - truth.best for key, aim in truth.by_parts().items() if np.isfinite(aim)}
        worst = regrets if number == 0 else {k: max(v, regrets[k]) for k, v in worst.items() if k in regrets}
    return min(worst.values(), default=np.inf), worst


def require_least(base: Base, plans: list[Planned], **settings: Any) -> dict[str, Any]:
    solved = solved_of(base, plans)
    found = least_regret(run_of(base), solved)
    least, _ = brute_regret(base, solved)
    scale = max(abs(one.answer["aim"]) for one in solved if one.optimal)
    assert found["left_out"] == [one.planned.name for one in solved if not one.optimal]
    if least == np.inf:
        assert found["status"] == "none"
        return found
    assert found["status"] == "proven"
    assert found["worst_regret"] == pytest.approx(least, abs=3e-8 * scale)
    assert found["at_least"] <= found["worst_regret"]
    assert found["at_least"] == pytest.approx(least, abs=3e-8 * scale)
    assert max(row["regret"] for row in found["by_variant"]) == found["worst_regret"]
    return found


@pytest.mark.parametrize(("number", "count"), quickly(QUICK[1], FEW))
def test_the_least_worst_regret_is_that_of_all_choices(number: int, count: int) -> None:
    base = base_of(number)
    plans = [one for one in variants_of(base, 1000 + number) if not one.name.endswith("gone") and one.name != "budget"]
    found = require_least(base, plans[:count])
    assert number not in QUICK or (found["worst_regret"] > 0.0 and found["listed"] > 0)


@pytest.mark.slow
@pytest.mark.parametrize("number", QUICK[1:])
def test_variants_that_differ_in_limits_are_merged_and_give_the_same(number: int) -> None:
    base = base_of(number)
    plans = [one for one in variants_of(base, number) if one.name not in ("loaded", "longer", "heavier-tire", "dear")]
    require_least(base, plans)


@pytest.mark.slow
def test_nothing_that_meets_the_limits_of_all_variants_is_proven_to_be_none() -> None:
    base = base_of(3)
    truth = truth_of(base, variant("a", {}))
    met = np.flatnonzero(np.isfinite(truth.aims))
    costs = truth.candidates.outcome(truth.choices.take(met)).cost
    ranges = truth.candidates.outcome(truth.choices.take(met), values=True)
    reach = float(base.case.vehicle.battery_energy) / ranges.energy
    cheap, far = costs <= np.quantile(costs, 0.1), reach >= reach.max() * (1.0 - 1e-6)
    assert not (cheap & far).any()
    plans = [
        variant("cheap", {address(base, "limits", "cost"): float(costs[cheap].max()) + 0.005}),
        variant("far", {address(base, "limits", "range"): f"{float(reach[far].min()) * (1 - 1e-9) / 1000:.12g} km"}),
    ]
    found = require_least(base, plans)
    assert found["status"] == "none"
    assert found["text"].startswith("proven")


@pytest.mark.slow
@pytest.mark.parametrize("number", CASES)
def test_the_least_worst_regret_is_that_of_all_choices_where_parts_are_gone_and_money_is_short(number: int) -> None:
    base = base_of(number)
    require_least(base, variants_of(base, 1000 + number))


# Switches


def grid_of(field: str, values: list[Any]) -> Grid:
    return Grid.model_validate({"name": "along", "vary": [{"field": field, "values": values}]})


def sweep_of(base: Base, field: str, values: list[Any], resolution: float = 0.01) -> dict[str, Any]:
    """Switches along a grid."""
    plans = [
        Planned(f"along-{n}", settings=(Setting(field, value),), grid="along", values=((field, value),))
        for n, value in enumerate(values, start=1)
    ]
    return Sweep(run_of(base), grid_of(field, values), solved_of(base, plans), resolution).to_json()


#: Parts of a package after the spokes.
_REST = ("disc_wheel", "hub", "rotor", "pad")


def names_of(vehicles: list[dict[str, Any]]) -> tuple[Any, ...] | None:
    """What tells a choice of the JSON from another."""
    if not vehicles:
        return None
    keys = ("tire", "rim_lock", "rim_locks", "rim", "spokes", *_REST)
    rows = [tuple(package[key] for key in keys) for package in vehicles[0]["packages"]]
    pressures = [round(package["pressure_kpa"], 6) for package in vehicles[0]["packages"]]
    return (vehicles[0]["final_drive"], *rows, *pressures)


def names(record: VehicleChoiceRecord | None) -> tuple[Any, ...] | None:
    """The same of a record."""
    if record is None:
        return None
    ends = [
        tuple(getattr(one, key) for key in ("tire", "rim_lock", "rim_locks", "rim", "spokes", *_REST))
        for one in (record.front, record.rear)
    ]
    pressures = [round(float(one.pressure) / 1e3, 6) for one in (record.front, record.rear)]
    return (record.final_drive, *ends, *pressures)


def require_pieces(base: Base, field: str, unit: str, found: dict[str, Any], count: int) -> None:
    """Between the switches stands what enumeration finds, at many values."""
    low, high = found["from"], found["to"]
    switches = found["switches"]
    for at in np.linspace(low, high, count + 2)[1:-1] + 1e-7 * (high - low):
        value = f"{at:.12g} {unit}" if unit else float(at)
        truth: Truth = truth_of(base, variant("a", {field: value}))
        passed = [one for one in switches if one["at"] < at]
        here = names_of(passed[-1]["after"]) if passed else names_of(switches[0]["before"]) if switches else None
        if switches:
            assert here == names(truth.first()), (at, [one["at"] for one in switches])


def require_lines(number: int, aim: str, unit: str, count: int = ALL) -> int:
    """Switches along the exchange rate of an aim, against mass, are those of enumeration; how many there are."""
    base = base_of(number)
    base = Base(base.case, {**base.data, "aims": {"mass": "1 per kg"}}, base.variants_path)
    field = f"aims.{aim}"
    values = [f"{rate} {unit}" if unit else rate for rate in (0.002, 0.05, 0.3)]
    found = sweep_of(base, field, values)
    assert found["exact"]
    require_pieces(base, field, unit, found, count)
    return len(found["switches"])


@pytest.mark.parametrize(("number", "count"), quickly(QUICK[1], SOME))
def test_switches_along_an_exchange_rate_are_where_lines_cross(number: int, count: int) -> None:
    found = require_lines(number, "cost", "", count)
    assert found > 0 or number not in QUICK


@pytest.mark.slow
@pytest.mark.parametrize("number", CASES)
def test_switches_along_the_rate_of_rolling_loss_are_where_lines_cross(number: int) -> None:
    require_lines(number, "rolling_loss", "per Wh/km")


@pytest.mark.parametrize(("number", "count"), quickly(QUICK[0], SOME))
def test_switches_along_a_budget_are_where_the_best_choice_costs_as_much(number: int, count: int) -> None:
    base = base_of(number)
    truth = truth_of(base, variant("a", {}))
    costs = truth.candidates.outcome(truth.choices.take(np.flatnonzero(np.isfinite(truth.aims)))).cost
    first = truth.first()
    assert first is not None
    field = address(base, "limits", "cost")
    low, high = float(costs.min()) - 1.0, float(costs.max()) + 1.0
    found = sweep_of(base, field, [low, 0.5 * (low + high), high])
    assert found["exact"]
    assert found["switches"][0]["before"] == []
    assert found["switches"][0]["at"] == pytest.approx(float(costs.min()), rel=1e-8)
    require_pieces(base, field, "", found, count)


def test_a_bound_that_has_to_be_halved_is_not_called_exact(monkeypatch: pytest.MonkeyPatch) -> None:
    base = base_of(QUICK[0])
    truth = truth_of(base, variant("a", {}))
    costs = truth.candidates.outcome(truth.choices.take(np.flatnonzero(np.isfinite(truth.aims)))).cost
    monkeypatch.setattr(Sweep, "_reached", lambda *rest: None)
    ends = [float(costs.min()) - 1.0, float(costs.max()) + 1.0]
    found = sweep_of(base, address(base, "limits", "cost"), ends, resolution=0.5)
    assert found["switches"]
    assert not found["exact"]
    assert found["resolution"] == pytest.approx(ends[1] - ends[0])
    assert "further switches" in found["text"]


@pytest.mark.slow
def test_switches_along_a_price_are_found_where_cost_counts_and_is_not_limited() -> None:
    base = base_of(38)
    vehicle = {**base.data["vehicles"][0]}
    vehicle["limits"] = [one for one in vehicle["limits"] if one["limit"] not in ("cost", "running_cost")]
    base = Base(base.case, {**base.data, "aims": {"mass": "1 per kg", "cost": 0.05}, "vehicles": [vehicle]}, "x")
    first = truth_of(base, variant("a", {})).first()
    assert first is not None
    field = f"prices.{first.front.tire}"
    found = sweep_of(base, field, [0.2, 1.0, 8.0])
    assert found["exact"]
    require_pieces(base, field, "", found, ALL)


def test_other_fields_are_halved_and_say_how_closely() -> None:
    base = base_of(10)
    field = address(base, "cargo_mass")
    found = sweep_of(base, field, ["0 kg", "15 kg", "30 kg"], resolution=0.1)
    assert not found["exact"]
    assert found["resolution"] == 15.0
    assert "resolution 15 kg" in found["text"]
    for one in found["switches"]:
        assert one["at"] is None
        low, high = one["between"]
        assert high - low <= 3.0
        for at, side in ((low, "before"), (high, "after")):
            assert names_of(one[side]) == names(truth_of(base, variant("a", {field: f"{at!r} kg"})).first())
