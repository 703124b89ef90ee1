"""The shortlist against enumeration: the best choice with every tire, those that differ most, labels and rides."""

from __future__ import annotations

import json
import signal
from dataclasses import replace
from itertools import combinations
from typing import Any

import jsonschema
import numpy as np
import pytest
from numpy.typing import NDArray
from random_cases import POSITIONS, RandomCase, as_set, cached_case, case_of, few_quick, random_packages, suite

from configopt.choice.audit import Candidates, Choices
from configopt.choice.choose import TIE, Settings
from configopt.choice.ride_plan import LEAST_CHANCE, MOST_ROWS, distance, distances, labels, pick, ride_plan
from configopt.choice.shortlist import Shortlist, shortlist, tire_pool
from configopt.choice.ties import packages_of
from configopt.errors import ExitCode, UsageError
from configopt.quantities import Figure
from configopt.scenario.case import Case
from configopt.scenario.records import Aims
from configopt.schemas import schema

#: Cases of the suite with several tires, of a second or two each.
NUMBERS = (0, 7, 11, 16, 22, 29, 40, 51)
QUICK = (0, 29, 51)


def tires(case: RandomCase, position: str) -> NDArray[np.int64]:
    """Number of the tire of every choice at a position."""
    of = case.candidates.of[position]  # type: ignore[index]
    known = [tire.id for tire in case.candidates.model.catalog.tires]
    per_mount = np.array([known.index(mount.tire.id) for mount in of.mounts])
    return np.asarray(per_mount[of.footing_mount[getattr(case.choices, position)[:, 0]]])


def truth(case: RandomCase, within: float) -> dict[tuple[str, int], tuple[float, set[tuple[int, ...]]]]:
    """For every tire at either end the least aim with it, within a loss of the best, and the choices that reach it."""
    found: dict[tuple[str, int], tuple[float, set[tuple[int, ...]]]] = {}
    cutoff = case.best + within * abs(case.best)
    for position in POSITIONS:
        numbers = tires(case, position)
        for tire in np.unique(numbers).tolist():
            rows = np.flatnonzero(case.met & (numbers == tire))
            least = float(case.aims[rows].min(initial=np.inf))
            if least <= cutoff:
                ties = rows[case.aims[rows] <= least + TIE * max(abs(least), 1.0)]
                found[position, tire] = (least, as_set(case.choices.take(ties)))
    return found


def whole(case: RandomCase) -> Case:
    """A random case as a scenario with its catalogs, with rates for mass and rolling loss."""
    shipped = case_of(case.scenario)
    aims = Aims.model_construct(mass=Figure(1.0), rolling_loss=Figure(0.2), energy=None, cost=None)
    changed = {"vehicles": [case.candidates.model.vehicle], "aims": aims}
    return Case(shipped.path, shipped.scenario.model_copy(update=changed), case.candidates.model.catalog)


@pytest.fixture(scope="module")
def answer() -> Shortlist:
    """A shortlist of a small case with a wide loss."""
    return shortlist(whole(cached_case(*suite()[29])), count=3, within=0.5)


@pytest.mark.parametrize("within", [0.02, 0.3])
@pytest.mark.parametrize("number", few_quick(NUMBERS, QUICK))
def test_the_pool_holds_for_every_tire_the_best_choice_that_enumeration_finds(number: int, within: float) -> None:
    case = cached_case(*suite()[number])
    pool = tire_pool(case.candidates, Settings(), within)
    expected = truth(case, within)
    assert pool.complete
    assert pool.found == bool(expected)
    rows = as_set(pool.choices)
    assert len(rows) == len(pool.choices), "a choice stands twice"
    for (position, tire), (_, ties) in expected.items():
        assert rows & ties, f"the best choice with {position} tire {tire} is missing"
    allowed = set().union(*(ties for _, ties in expected.values()))
    assert rows <= allowed, "a choice is the best with neither of its tires"
    if expected:
        assert pool.aims[0] == pytest.approx(case.best, rel=TIE)
        assert (np.diff(pool.aims) >= 0.0).all()


@pytest.mark.parametrize("numbers", [QUICK, pytest.param(NUMBERS, marks=pytest.mark.slow)], ids=["quick", "all"])
def test_some_cases_have_several_tires_near_the_best(numbers: tuple[int, ...]) -> None:
    assert sum(len(truth(cached_case(*suite()[number]), 0.3)) > 2 for number in numbers) >= 2


def drawn(count: int, seed: int) -> list[Any]:
    """Packages of both ends of a shipped scenario, drawn at random."""
    case = case_of("upland-wardens")
    candidates = Candidates(case.vehicle, case.catalog, case.scenario.aims)
    rng = np.random.default_rng(seed)
    choices = Choices(
        random_packages(candidates.of["front"], count, rng),
        random_packages(candidates.of["rear"], count, rng),
        np.zeros(count, dtype=np.int64),
    )
    return [packages_of(candidates, choices, row) for row in range(count)]


def test_the_distance_is_a_metric() -> None:
    apart = distances(drawn(40, 3))
    assert (apart == apart.T).all()
    assert (np.diag(apart) == 0.0).all()
    through = (apart[:, :, None] + apart[None, :, :]).min(axis=1)
    assert (apart <= through + 1e-12).all()


def test_another_tire_counts_more_than_another_size_and_that_more_than_another_rim() -> None:
    found = drawn(400, 5)
    base = found[0]
    tire = base["front"].mount.tire

    def with_tire(**changes: Any) -> Any:
        other = tire.model_copy(update={"id": "another", **changes})
        front = base["front"]
        return {**base, "front": replaced(front, mount=replaced(front.mount, tire=other))}

    rim = base["front"].wheel.rim
    assert rim is not None
    wheel = replaced(base["front"].wheel, rim=rim.model_copy(update={"id": "another"}))
    other_rim = {**base, "front": replaced(base["front"], wheel=wheel)}
    softer = {**base, "front": replaced(base["front"], pressure=0.9 * base["front"].pressure)}
    sister, stranger = distance(base, with_tire()), distance(base, with_tire(maker="another"))
    assert distance(base, softer) == pytest.approx(0.1, rel=1e-12)
    assert 0.0 < distance(base, other_rim) < sister < stranger
    tread = next(kind for kind in ("open", "closed") if kind != tire.tread)
    assert distance(base, with_tire(tread=tread)) > stranger


def replaced(record: Any, **changes: Any) -> Any:
    """A frozen dataclass with some fields changed."""
    return replace(record, **changes)


@pytest.mark.parametrize("seed", range(5))
def test_three_are_picked_so_that_no_other_three_with_the_best_are_farther_apart(seed: int) -> None:
    apart = distances(drawn(14, seed))
    aims = np.sort(np.random.default_rng(seed).random(14))
    picked, exact = pick(apart, aims, 3)

    def least(rows: tuple[int, ...]) -> float:
        return round(min(float(apart[i, j]) for i, j in combinations(rows, 2)), 9)

    every = [(0, *others) for others in combinations(range(1, 14), 2)]
    widest = max(least(rows) for rows in every)
    smallest = min(float(aims[list(rows)].sum()) for rows in every if least(rows) == widest)
    assert exact
    assert picked[0] == 0
    assert picked == sorted(picked)
    assert least(tuple(picked)) == widest
    assert float(aims[picked].sum()) == pytest.approx(smallest, rel=1e-12)


def test_where_the_sets_are_too_many_the_least_distance_is_at_least_half_of_the_best(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    apart, aims = distances(drawn(14, 9)), np.arange(14.0)
    best, _ = pick(apart, aims, 4)
    monkeypatch.setattr("configopt.choice.ride_plan.SETS_AT_MOST", 1)
    picked, exact = pick(apart, aims, 4)
    assert not exact
    assert len(set(picked)) == 4
    assert picked[0] == 0
    least = [min(apart[i, j] for i, j in combinations(rows, 2)) for rows in (picked, best)]
    assert 0.5 * least[1] <= least[0] <= least[1]


def margin(chance: float, value: float = 1.0, **more: Any) -> dict[str, Any]:
    """A margin of a climb with a chance of a miss."""
    where = {"limit": "climb_grade", "terrain": "bank", "position": None, "required": 20.0, "unit": "%"}
    matters = [{"figure": "cohesion of peat", "moves": 1.0}]
    return {**where, "value": value, "ratio": value, "chance_missed": chance, "matters_most": matters, **more}


def vehicle(mass: float, chance: float, energy: float, ratio: float = 1.5) -> dict[str, Any]:
    """What labels and rides look at."""
    return {
        "mass_kg": mass,
        "rolling_loss_wh_per_km": 20.0,
        "energy_wh_per_km": energy,
        "cost": 100.0 - mass,
        "margins": [margin(chance, ratio)],
        "terrains": [{"name": "bank", "energy_wh_per_km": energy}],
    }


def test_a_label_stands_only_where_one_is_strictly_the_best() -> None:
    found = labels([1.0, 2.0, 3.0], [vehicle(5.0, 0.1, 30.0), vehicle(4.0, 0.1, 30.0), vehicle(4.0, 0.2, 40.0, 2.0)])
    assert found == [["best by the aims", "cheapest"], [], ["most reserve in climbing"]]


def test_rides_take_the_pair_that_differs_most_and_the_widest_doubt_first() -> None:
    vehicles = [vehicle(5.0, 0.0, 30.0), vehicle(4.0, 0.6, 33.0), vehicle(4.0, 0.3, 40.0)]
    rows = ride_plan(vehicles)
    assert [(row["about"], row["first"], row["second"]) for row in rows] == [("limit", 1, 2), ("energy", 1, 3)]
    assert [row["separates"] for row in rows] == pytest.approx([0.6, 0.25], rel=1e-12)
    assert "cohesion of peat" in rows[0]["why"]
    assert rows[1]["values"] == [30.0, 40.0]


def test_a_small_difference_of_risk_is_no_doubt_and_one_choice_needs_no_ride() -> None:
    close = [vehicle(5.0, 0.10, 30.0), vehicle(4.0, 0.10 + 0.9 * LEAST_CHANCE, 30.0)]
    assert ride_plan(close) == []
    assert ride_plan(close[:1]) == []


def test_a_plan_is_cut_to_the_rows_that_separate_most() -> None:
    vehicles = [vehicle(5.0, 0.0, 30.0), vehicle(4.0, 0.0, 30.0)]
    for number in range(MOST_ROWS + 3):
        for one, chance in zip(vehicles, (0.0, 0.1 + 0.05 * number), strict=True):
            one["margins"].append(margin(chance, terrain=f"bank-{number}"))
    rows = ride_plan(vehicles)
    assert len(rows) == MOST_ROWS
    assert [row["place"] for row in rows] == [f"bank-{number}" for number in range(MOST_ROWS + 2, 2, -1)]


def test_an_answer_follows_its_schema(answer: Shortlist) -> None:
    assert (answer.status, answer.exit_code) == ("complete", ExitCode.DONE)
    assert answer.audit.agrees
    payload = json.loads(json.dumps(answer.to_json(), allow_nan=False))
    jsonschema.validate(payload, schema("shortlist"))
    candidates = payload["candidates"]
    assert len(candidates) == min(3, payload["counts"]["choices_to_pick_from"]) > 1
    assert [one["number"] for one in candidates] == list(range(1, len(candidates) + 1))
    losses = [one["loss_percent"] for one in candidates]
    assert losses[0] == 0.0
    assert losses == sorted(losses)
    assert losses[-1] <= payload["within_percent"] * (1.0 + 1e-9)
    assert all(1 <= row["first"] < row["second"] <= len(candidates) for row in payload["plan"])


def test_tires_of_the_baseline_are_ridden(answer: Shortlist) -> None:
    baseline = cached_case(*suite()[29]).candidates.model.vehicle.baseline
    assert baseline is not None
    known = {baseline.front.tire, baseline.rear.tire}
    for entry in answer.candidates:
        assert entry.ridden == {"front": entry.record.front.tire in known, "rear": entry.record.rear.tire in known}


def test_a_search_stopped_at_the_first_tire_is_partial_and_keeps_the_best(answer: Shortlist) -> None:
    case = whole(cached_case(*suite()[29]))
    said: list[str] = []

    def watch(text: str) -> None:
        # A second Ctrl-C would end the program; the first asks the search to end.
        if " tire " in text and not any(" tire " in line for line in said):
            signal.raise_signal(signal.SIGINT)
        said.append(text)

    found = shortlist(case, count=3, within=0.5, progress=watch)
    assert (found.status, found.exit_code) == ("partial", ExitCode.STOPPED_EARLY)
    assert found.candidates[0].record == answer.candidates[0].record
    jsonschema.validate(json.loads(json.dumps(found.to_json())), schema("shortlist"))


def test_without_time_nothing_is_found_and_nothing_proven() -> None:
    found = shortlist(whole(cached_case(*suite()[29])), time_limit=1e-9)
    assert (found.status, found.exit_code, found.candidates) == ("unknown", ExitCode.STOPPED_EARLY, ())
    jsonschema.validate(json.loads(json.dumps(found.to_json())), schema("shortlist"))


@pytest.mark.parametrize("options", [{"count": 1}, {"count": 21}, {"within": -0.1}, {"within": float("nan")}])
def test_what_makes_no_shortlist_is_refused(options: dict[str, Any]) -> None:
    with pytest.raises(UsageError):
        shortlist(case_of("upland-wardens"), **options)
