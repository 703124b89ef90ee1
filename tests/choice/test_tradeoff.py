"""The trade-off equals enumeration through the full model: the same points, the same ties, and nothing left out."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import jsonschema
import numpy as np
import pytest
from numpy.typing import NDArray
from random_cases import RandomCase, as_set, cached_case, case_of, stated, suite, vehicle_with

from configopt.catalog.records import FAMILIES
from configopt.choice import tradeoff as module
from configopt.choice.audit import AIMS, Candidates
from configopt.choice.choose import Settings
from configopt.choice.frontier import EQUAL, Pool, equal, find_frontier, unbeaten
from configopt.choice.tradeoff import Tradeoff, tradeoff
from configopt.choice.weights import Weights
from configopt.choice.zones import Zones
from configopt.errors import ExitCode, UsageError
from configopt.quantities import Figure
from configopt.scenario.case import Case, load
from configopt.scenario.records import Aims
from configopt.schemas import schema

Array = NDArray[np.float64]
TWO, THREE = ("mass", "rolling_loss"), ("mass", "rolling_loss", "cost")
#: Cases of the suite that take a second or two each; the others are marked slow.
QUICK = {(11, TWO), (11, THREE), (19, TWO), (65, THREE)}
#: With three aims the search of this case, with 289 points, takes minutes.
TWO_ONLY = {36}


def pairs() -> Iterator[tuple[int, tuple[str, ...]]]:
    """Number and aims of every case."""
    for number in range(len(suite())):
        yield number, TWO
        if number not in TWO_ONLY:
            yield number, THREE


CASES = [
    pytest.param(number, aims, id=f"{number}-{len(aims)}", marks=[] if (number, aims) in QUICK else pytest.mark.slow)
    for number, aims in pairs()
]


def truth(case: RandomCase, aims: tuple[str, ...]) -> list[tuple[Array, set[tuple[int, ...]]]]:
    """Points and the choices that reach them, by comparing every choice with every other."""
    quantities, met = case.candidates.quantities(case.choices)
    rows = np.flatnonzero(met)
    values = quantities[:, [AIMS.index(name) for name in aims]][rows]
    points = []
    for value in np.unique(values, axis=0):
        below = (values <= value * (1.0 + EQUAL)).all(axis=1)
        if equal(values[below], value).all() and not any(equal(value[None, :], point)[0] for point, _ in points):
            points.append((value, as_set(case.choices.take(rows[equal(values, value)]))))
    return points


def zoned(case: RandomCase, aims: tuple[str, ...]) -> Any:
    """The trade-off by the search of zones."""
    return find_frontier(case.candidates, aims, Settings(enumerate_at_most=0))


def whole(case: RandomCase) -> Case:
    """A random case as a scenario with its catalogs, with rates for mass and rolling loss."""
    shipped = case_of(case.scenario)
    aims = Aims.model_construct(mass=Figure(1.0), rolling_loss=Figure(0.2), energy=None, cost=None)
    changed = {"vehicles": [case.candidates.model.vehicle], "aims": aims}
    return Case(shipped.path, shipped.scenario.model_copy(update=changed), case.candidates.model.catalog)


@pytest.fixture
def by_zones(monkeypatch: pytest.MonkeyPatch) -> list[Settings]:
    """Trade-offs search zones instead of appraising every choice; gives the settings that were used."""
    used: list[Settings] = []

    def settings(**options: Any) -> Settings:
        used.append(Settings(**options, enumerate_at_most=0))
        return used[-1]

    monkeypatch.setattr(module, "Settings", settings)
    return used


@pytest.mark.parametrize(("number", "aims"), CASES)
def test_the_search_finds_the_points_and_ties_that_enumeration_finds(number: int, aims: tuple[str, ...]) -> None:
    case = cached_case(*suite()[number])
    expected = truth(case, aims)
    search = zoned(case, aims)
    assert search.complete
    assert len(search.points) == len(expected)
    for point, (value, choices) in zip(search.points, expected, strict=True):
        np.testing.assert_allclose(point.values, value, rtol=EQUAL)
        assert as_set(point.choices) == choices


def test_few_choices_are_all_appraised_with_the_same_points() -> None:
    case = cached_case(*suite()[29])
    search = find_frontier(case.candidates, THREE, Settings())
    expected = truth(case, THREE)
    assert search.complete
    assert search.appraised == len(case.choices)
    assert len(search.points) == len(expected) > 100
    assert [as_set(point.choices) for point in search.points] == [choices for _, choices in expected]


@pytest.mark.parametrize("count", [2, 3])
def test_every_unbeaten_point_is_found_below_an_open_corner_and_then_none_is_open(count: int) -> None:
    rng = np.random.default_rng(count)
    # Whole numbers, so that many points share a coordinate.
    values = np.unique(rng.integers(1, 12, size=(300, count)).astype(float), axis=0)
    front = {tuple(row) for row in values[unbeaten(values)].tolist()}
    zones, found = Zones(count), set()
    while zones.corners:
        corner = zones.corners[int(rng.integers(len(zones.corners)))]
        below = values[(values < corner).all(axis=1)]
        if not len(below):
            zones.close(corner)
            continue
        # Any of those that nothing beats will do.
        free = below[unbeaten(below)]
        point = free[int(rng.integers(len(free)))]
        assert tuple(point.tolist()) not in found
        found.add(tuple(point.tolist()))
        zones.add(point)
    assert found == front


@pytest.mark.parametrize("count", [2, 3])
def test_the_zones_hold_exactly_what_no_added_point_covers(count: int) -> None:
    rng = np.random.default_rng(10 + count)
    zones, added = Zones(count), rng.random((25, count))
    for point in added:
        zones.add(point)
    for probe in rng.random((400, count)):
        covered = any((point <= probe).all() for point in added)
        assert any((probe < corner).all() for corner in zones.corners) != covered
    corners = np.array(zones.corners)
    inside = (corners[:, None, :] <= corners[None, :, :]).all(axis=2)
    assert inside.sum() == len(corners), "a corner lies in the zone of another"


def test_equal_rows_are_all_unbeaten_and_beaten_ones_are_not() -> None:
    values = np.array([[2.0, 2.0], [1.0, 3.0], [1.0, 3.0 * (1 + 1e-10)], [2.0, 3.0], [1.0, 3.0], [3.0, 2.0]])
    assert unbeaten(values).tolist() == [0, 1, 2, 4]
    assert unbeaten(np.zeros((0, 2))).tolist() == []


def test_a_pool_keeps_each_choice_once_and_drops_the_beaten() -> None:
    case = cached_case(*suite()[29])
    quantities, met = case.candidates.quantities(case.choices)
    rows = np.flatnonzero(met)
    pool = Pool([AIMS.index(name) for name in TWO])
    for part in (rows[::2], rows[1::2], rows):
        pool.add(case.choices.take(part), quantities[part])
    points = pool.points(np.full(2, np.inf))
    assert len(pool.choices) == len(as_set(pool.choices))
    assert as_set(pool.choices) == set().union(*(choices for _, choices in truth(case, TWO)))
    assert sum(len(point.choices) for point in points) == len(pool.choices)
    assert pool.inside(np.zeros(2)) is None


@pytest.fixture(scope="module")
def found() -> Tradeoff:
    """The whole trade-off of one case with the cost, by the search of zones."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(module, "Settings", lambda **options: Settings(**options, enumerate_at_most=0))
        return tradeoff(whole(cached_case(*suite()[11])), extra=["cost"])


def test_an_answer_follows_its_schema_and_has_its_points_in_order(found: Tradeoff) -> None:
    assert (found.status, found.exit_code) == ("complete", ExitCode.DONE)
    assert found.audit.agrees
    payload = json.loads(json.dumps(found.to_json(), allow_nan=False))
    jsonschema.validate(payload, schema("tradeoff"))
    assert payload["counts"]["points"] == len(payload["points"]) == 4
    assert [point["number"] for point in payload["points"]] == [1, 2, 3, 4]
    first = payload["aims"][0]["name"]
    values = [point["values"][first] for point in payload["points"]]
    assert values == sorted(values)
    assert sum(point["ties"] for point in payload["points"]) == payload["counts"]["choices"]


def test_the_point_marked_as_best_has_the_least_weighted_sum_of_all_choices() -> None:
    case = cached_case(*suite()[29])
    quantities, met = case.candidates.quantities(case.choices)
    found = tradeoff(whole(case))
    marked = [point for point in found.points if point.best_by_rates]
    assert len(found.points) == 20
    assert len(marked) == 1
    weighed = quantities[met] @ [{"mass": 1.0, "rolling_loss": 0.2}.get(name, 0.0) for name in AIMS]
    assert marked[0].aim == pytest.approx(weighed.min(), rel=1e-9)
    rates = {aim["name"]: aim["rate"] for aim in found.aims}
    for point in found.points:
        assert sum(rates[name] * value for name, value in point.values.items()) == pytest.approx(point.aim, rel=1e-9)


def test_a_search_stopped_after_its_first_point_is_partial(by_zones: list[Settings], found: Tradeoff) -> None:
    def stop(text: str) -> None:
        # The searches inside a zone speak as well, before they have found anything.
        by_zones[-1].stop.asked |= "still open" in text

    case = cached_case(*suite()[11])
    partial = tradeoff(whole(case), extra=["cost"], progress=stop)
    assert (partial.status, partial.exit_code) == ("partial", ExitCode.STOPPED_EARLY)
    assert 1 <= len(partial.points) < 4
    jsonschema.validate(partial.to_json(), schema("tradeoff"))
    assert {tuple(point.values.values()) for point in partial.points} <= {
        tuple(point.values.values()) for point in found.points
    }


def test_no_time_at_all_is_unknown(by_zones: list[Settings]) -> None:
    found = tradeoff(whole(cached_case(*suite()[11])), time_limit=1e-6)
    assert (found.status, found.exit_code, found.points) == ("unknown", ExitCode.STOPPED_EARLY, ())
    jsonschema.validate(found.to_json(), schema("tradeoff"))


@pytest.mark.parametrize("searched", [True, False])
def test_limits_that_nothing_meets_are_infeasible(searched: bool, request: pytest.FixtureRequest) -> None:
    if searched:
        request.getfixturevalue("by_zones")
    case = whole(cached_case(*suite()[11]))
    vehicle = vehicle_with(case.vehicle, [stated("cost", 1.0)])
    case = replace(case, scenario=case.scenario.model_copy(update={"vehicles": [vehicle]}))
    found = tradeoff(case)
    assert (found.status, found.exit_code) == ("infeasible", ExitCode.NOTHING_MEETS_THE_LIMITS)
    assert found.points == ()
    jsonschema.validate(found.to_json(), schema("tradeoff"))


def plain(found: Tradeoff) -> dict[str, Any]:
    """An answer without what one run differs in from the next."""
    payload = found.to_json()
    del payload["made_with"], payload["audit"]["rounds"]
    return payload


def turned(case: Case) -> Case:
    """The case with all parts in the other order."""
    parts = {family: case.catalog.family(family) for family in FAMILIES}
    assert sum(len(each) > 1 for each in parts.values()) >= 3
    changed = {name.replace("-", "_"): tuple(reversed(each)) for name, each in parts.items()}
    return replace(case, catalog=replace(case.catalog, **changed))


def test_the_order_of_the_catalog_changes_nothing(by_zones: list[Settings], found: Tradeoff) -> None:
    case = turned(whole(cached_case(*suite()[11])))
    assert plain(tradeoff(case, extra=["cost"])) == plain(found)


@pytest.mark.slow
def test_the_order_of_the_catalog_changes_nothing_in_another_case(by_zones: list[Settings]) -> None:
    case = whole(cached_case(*suite()[26]))
    assert plain(tradeoff(turned(case))) == plain(tradeoff(case))


def candidates_with(**rates: float) -> Candidates:
    """A small case's candidates with other rates."""
    made = cached_case(*suite()[11]).candidates
    return made.variant(made.model, Weights.of({name: rates.get(name, 0.0) for name in AIMS}))


def test_aims_stand_in_their_fixed_order_each_once() -> None:
    assert module.aims_of(candidates_with(mass=1.0, cost=2.0), ["energy", "mass"]) == ("mass", "energy", "cost")


def test_an_unknown_aim_is_refused_with_those_there_are() -> None:
    with pytest.raises(UsageError, match='there is no aim "weight"; there are mass, rolling_loss, energy, cost'):
        module.aims_of(candidates_with(mass=1.0), ["weight"])


def test_one_aim_alone_is_refused_with_those_to_add() -> None:
    with pytest.raises(UsageError, match="needs two aims and the scenario has only mass: add one of rolling_loss"):
        module.aims_of(candidates_with(mass=1.0), ["mass"])


def test_a_scenario_with_several_vehicles_is_refused_with_their_names() -> None:
    family = load(case_of("upland-wardens").path.with_name("wardens-family.yaml"))
    with pytest.raises(UsageError) as refused:
        tradeoff(family)
    assert all(vehicle.name in str(refused.value) for vehicle in family.scenario.vehicles)
    assert "--vehicle" in str(refused.value)
