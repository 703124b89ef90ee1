"""Vehicles chosen together: the family equals the best of all combinations of enumerated choices."""

from __future__ import annotations

import itertools
import json
from collections import Counter
from dataclasses import replace
from functools import cache

import jsonschema
import numpy as np
import pytest
from random_cases import aims_of, cached_case, case_of, few_quick, suite

from configopt.choice import family
from configopt.choice.audit import Candidates
from configopt.choice.choose import Settings, run_search
from configopt.choice.family import FamilySearch, Member, Sharing, find_family
from configopt.choice.result import Choice, choose
from configopt.choice.weights import Weights
from configopt.errors import ExitCode
from configopt.quantities import Figure
from configopt.scenario.case import Case
from configopt.scenario.records import Aims, SharingRecord
from configopt.schemas import schema

#: Of the quick line: two vehicles, and two without a family within the limits.
QUICK = (4, 8)
#: Cases whose combinations are few enough for every one to be looked at.
COUNTED = (2, 4, 6, 14, 20, 22, 24, 26, 8, 15, 18)
#: Most combinations looked at.
COMBINATIONS = 400_000
SHARED = ("tires", "rims", "hubs", "rotors", "disc-wheels", "pads")


@cache
def drawn(seed: int) -> tuple[tuple[Candidates, ...], Sharing]:
    """Two or three vehicles of other loads and numbers on one small catalog, with limits on what they may differ in."""
    rng = np.random.default_rng(seed)
    case = cached_case(*suite()[seed % len(suite())])
    vehicle, catalog = case.candidates.model.vehicle, case.candidates.model.catalog
    rates = {"mass": 1.0, "rolling_loss": 0.3, "cost": float(rng.choice([0.0, 0.02, 0.1]))}
    found = []
    for number in range(2 + seed % 2):
        changed = {
            "name": f"vehicle-{number}",
            "quantity": int(rng.integers(5, 300)),
            "rider_mass": Figure(float(vehicle.rider_mass) * float(rng.uniform(0.6, 1.15))),
            "chassis_mass": Figure(float(vehicle.chassis_mass) * float(rng.uniform(0.85, 1.05))),
        }
        plain = Candidates(vehicle.model_copy(update=changed), catalog, aims_of(case.candidates))
        found.append(plain.variant(weights=Weights.of(rates)))
    at_most = {name: int(rng.integers(1, 3)) for name in SHARED if rng.random() < 0.5}
    spares = {name: int(rng.integers(1, 20)) for name in ("tires", "rotors") if rng.random() < 0.4}
    return tuple(found), Sharing(at_most, spares)


def listed(candidates: tuple[Candidates, ...], sharing: Sharing) -> FamilySearch:
    """Every choice of every vehicle that meets its limits, by the parts it uses."""
    built = sum(one.model.vehicle.quantity for one in candidates)
    rate = candidates[0].rates["cost"]
    members = [Member(one, k, one.model.vehicle.quantity / built, rate) for k, one in enumerate(candidates)]
    search = FamilySearch(members, sharing, rate, Settings())
    for member in members:
        for batch in member.candidates.every_choice():
            values, met = member.candidates.quantities(batch)
            search.enter(member, batch.take(np.flatnonzero(met)), values[met])
    return search


def by_combinations(candidates: tuple[Candidates, ...], sharing: Sharing) -> float | None:
    """The least aim of all combinations; ``None`` where those are too many."""
    search = listed(candidates, sharing)
    own = [[one.column for one in search.by_parts.values() if one.column.vehicle == k] for k in range(len(candidates))]
    if np.prod([float(len(columns)) for columns in own]) > COMBINATIONS:
        return None
    best = np.inf
    for combination in itertools.product(*own):
        used = {part for column in combination for _, part in column.uses}
        count = Counter(name for name, _ in used)
        if all(count[name] <= most for name, most in sharing.at_most.items()):
            best = min(best, sum(column.value for column in combination) + search.total_cost(combination))
    return float(best)


@cache
def truth_of(seed: int) -> float | None:
    """The best of all combinations of a drawn family."""
    return by_combinations(*drawn(seed))


@cache
def searched(seed: int) -> FamilySearch:
    """The search of a drawn family, as commands search."""
    return find_family(*drawn(seed), Settings())


def require_the_best_of_all_combinations(seed: int, search: FamilySearch) -> None:
    """Compare a search with the enumerated truth."""
    truth = truth_of(seed)
    assert search.proven
    if truth is not None:
        assert search.best == pytest.approx(truth, rel=1e-9)
        if np.isfinite(truth):
            assert search.bound == pytest.approx(truth, rel=1e-6)
        else:
            assert search.found is None


@pytest.mark.parametrize("seed", few_quick(range(44), QUICK))
def test_the_family_is_the_best_of_all_combinations(seed: int) -> None:
    require_the_best_of_all_combinations(seed, searched(seed))


@pytest.mark.parametrize("seed", few_quick([4, 20, 26], (4,)))
def test_short_lists_split_the_question_and_give_the_same_family(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(family, "LISTED_AT_MOST", 0)
    monkeypatch.setattr(family, "ENTERED", 1)
    require_the_best_of_all_combinations(seed, find_family(*drawn(seed), Settings()))


@pytest.mark.parametrize("seeds", [QUICK, pytest.param(COUNTED, marks=pytest.mark.slow)], ids=["quick", "counted"])
def test_sharing_decides_in_most_of_the_cases(seeds: tuple[int, ...]) -> None:
    decided = 0
    for seed in seeds:
        candidates, sharing = drawn(seed)
        bound, free = truth_of(seed), by_combinations(candidates, Sharing(spares=sharing.spares))
        assert bound is not None
        assert free is not None
        decided += bound > free * (1.0 + 1e-9) or candidates[0].rates["cost"] > 0.0
    assert decided >= len(seeds) / 2


def test_prices_that_ignore_the_tiers_of_the_family_are_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    def alone(self: FamilySearch, part: tuple[str, int]) -> family.PartPrice:
        made = price(self, part)
        return replace(made, tiers=made.tiers[:1])

    price, truth = FamilySearch.price, truth_of(26)
    monkeypatch.setattr(FamilySearch, "price", alone)
    search = find_family(*drawn(26), Settings())
    gap = abs(search.best - search.bound)
    assert gap > 1e-6 * abs(search.best) or search.best != pytest.approx(truth, rel=1e-9)


@pytest.mark.parametrize("seed", few_quick([4, 20, 22, 26], (4,)))
def test_the_bound_never_exceeds_the_best(seed: int) -> None:
    search = searched(seed)
    assert search.bound <= search.best * (1.0 + 1e-9)


@pytest.mark.parametrize("seed", few_quick([4, 22, 24], (4,)))
def test_one_vehicle_with_room_for_every_part_gets_what_it_gets_alone(seed: int) -> None:
    candidates, _ = drawn(seed)
    one = candidates[0].variant(weights=Weights.of({"mass": 1.0, "rolling_loss": 0.3, "cost": 0.05}))
    alone, proven = run_search(one, Settings())
    assert proven
    family_of_one = find_family((one,), Sharing({"tires": 48}), Settings())
    assert family_of_one.best == pytest.approx(alone.best, rel=1e-9)


def test_the_same_parts_in_other_numbers_are_listed_beside_each_other() -> None:
    """One rim lock or two of a kind: lighter on the aim without prices is not better with them."""
    candidates, sharing = drawn(4)
    search = listed(candidates, sharing)
    one = next(iter(search.by_parts.values()))
    more = replace(one.column, value=one.column.value - 1.0, pieces=tuple((p, 2 * n) for p, n in one.column.pieces))
    search.by_parts[more.vehicle, more.uses, more.pieces] = replace(one, column=more)
    own = [listed_one.column for listed_one in search.columns(family.Branch())]
    assert one.column in own
    assert more in own


def test_a_stop_keeps_the_bound_below_the_best() -> None:
    candidates, sharing = drawn(26)
    search = find_family(candidates, sharing, Settings(time_limit=0.0))
    assert not search.proven
    assert search.found is None


def small_family(sharing: SharingRecord | None, *, cost: float = 0.02) -> Case:
    """Two vehicles of a random case as a whole scenario."""
    candidates, _ = drawn(4)
    shipped = case_of("upland-wardens")
    rates = {"mass": Figure(1.0), "rolling_loss": Figure(0.3), "cost": Figure(cost)}
    aims = Aims.model_construct(**{name: rates.get(name) for name in Aims.model_fields})
    changed = {"vehicles": [one.model.vehicle for one in candidates[:2]], "aims": aims, "sharing": sharing}
    return Case(shipped.path, shipped.scenario.model_copy(update=changed), candidates[0].model.catalog)


@cache
def sharing_family() -> tuple[Case, Choice]:
    """The small family with something shared and spared, and its answer."""
    case = small_family(SharingRecord(at_most={"pads": 2, "rims": 2}, spares={"tires": 3}))
    return case, choose(case)


def test_the_answer_for_a_family_adds_up_and_follows_its_schema() -> None:
    case, found = sharing_family()
    payload = json.loads(json.dumps(found.to_json(), allow_nan=False))
    jsonschema.validate(payload, schema("choice"))
    assert found.status == "optimal"
    assert found.audit.agrees
    assert found.exit_code is ExitCode.DONE
    shared = payload["family"]
    assert shared["vehicles_built"] == sum(vehicle.quantity for vehicle in case.scenario.vehicles)
    terms = payload["aim"]["terms"]
    assert sum(term["value"] * term["rate"] for term in terms.values()) == pytest.approx(payload["aim"]["value"])
    assert all(row["bought"] >= row["pieces"] + row["spares"] for row in shared["parts"])
    assert {row["spares"] for row in shared["parts"] if row["family"] == "tires"} == {3}
    used = Counter(row["family"] for row in shared["parts"])
    assert dict(used) == shared["together"]["different_parts"]
    assert used["pads"] <= 2
    assert used["rims"] <= 2
    drives = {option.id: float(option.cost) for option in case.vehicle.drive.final_drives}
    paid = sum(row["cost"] for row in shared["parts"])
    for vehicle, entry in zip(case.scenario.vehicles, payload["vehicles"], strict=True):
        paid += vehicle.quantity * drives[entry["final_drive"]]
    assert paid == pytest.approx(shared["together"]["cost"])
    assert shared["apart"]["cost"] >= 0.0


@pytest.mark.slow
def test_without_sharing_limits_and_cost_every_vehicle_gets_its_own_best() -> None:
    case = small_family(None, cost=0.0)
    found = choose(case)
    for vehicle, entry in zip(case.scenario.vehicles, found.vehicles, strict=True):
        alone = choose(case.only(vehicle.name))
        assert entry["mass_kg"] == alone.vehicles[0]["mass_kg"]
        assert entry["rolling_loss_wh_per_km"] == alone.vehicles[0]["rolling_loss_wh_per_km"]
    assert found.family is not None
    assert all(row["same_as_alone"] for row in found.family["vehicles"])


@pytest.mark.slow
def test_the_order_of_the_catalogs_does_not_change_the_family() -> None:
    case, first = sharing_family()
    turned = replace(case.catalog, tires=case.catalog.tires[::-1], pads=case.catalog.pads[::-1])
    second = choose(replace(case, catalog=turned))
    assert first.records == second.records
    assert first.value == pytest.approx(second.value)


def test_a_family_that_cannot_share_so_much_is_told_why() -> None:
    candidates, _ = drawn(8)
    shipped = case_of("upland-wardens")
    changed = {
        "vehicles": [one.model.vehicle for one in candidates],
        "aims": aims_of(candidates[0]),
        "sharing": SharingRecord(at_most={"tires": 1, "rims": 1}),
    }
    case = Case(shipped.path, shipped.scenario.model_copy(update=changed), candidates[0].model.catalog)
    found = choose(case)
    assert found.status == "infeasible"
    assert found.exit_code is ExitCode.NOTHING_MEETS_THE_LIMITS
    assert any("no family meets every limit" in text or "not even alone" in text for text in found.remarks)
    jsonschema.validate(json.loads(json.dumps(found.to_json(), allow_nan=False)), schema("choice"))
