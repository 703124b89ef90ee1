"""Choosing again after changes: every answer is that of enumeration under the changed limits, prices and bans."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from random_cases import POSITIONS, RandomCase, as_set, cached_case, few_quick, stated, suite

from configopt.appraisal.vehicle import VehicleModel
from configopt.choice import live
from configopt.choice.alternates import part_number, without
from configopt.choice.audit import Candidates, Choices
from configopt.choice.choose import TIE, Settings, run_search
from configopt.choice.live import Change, LiveChoice, Rechosen, repriced
from configopt.errors import UsageError
from configopt.scenario.limits import LIMITS
from configopt.scenario.records import LimitRecord

#: Changes in a row, and sequences of them: some of the first are on the quick line, the others on the slow line.
CHANGES, QUICK, SLOW = 4, 10, 200


def moved(records: list[LimitRecord], rng: np.random.Generator) -> list[LimitRecord]:
    """The stated limits with one moved by up to some percent, or left out."""
    number = int(rng.integers(len(records)))
    record = records[number]
    value = LIMITS[record.limit].parse(record.bound) * (1.0 + rng.choice([-0.05, -0.01, 0.01, 0.05]))
    others = records[:number] + records[number + 1 :]
    if rng.random() < 0.15:
        return others
    return [*others, LimitRecord.model_construct(**stated(record.limit, value, record.terrain, record.position))]


def change_of(drawn: RandomCase, rng: np.random.Generator) -> Change:
    """A change of some of: limits, prices, what is out."""
    catalog, vehicle = drawn.candidates.model.catalog, drawn.candidates.model.vehicle
    limits = moved(list(vehicle.limits), rng) if vehicle.limits and rng.random() < 0.8 else None
    used = [part.id for family in ("tires", "rims", "hubs", "rotors") for part in catalog.family(family)]
    prices = {str(rng.choice(used)): float(rng.choice([0.5, 0.9, 1.2]))} if rng.random() < 0.4 else None
    out = (str(rng.choice(used)),) if rng.random() < 0.4 else ()
    return Change(limits, prices, out)


def one_part_less(drawn: RandomCase, change: Change, rng: np.random.Generator) -> Change:
    """The same change, and one more part is out."""
    catalog = drawn.candidates.model.catalog
    left = [part.id for part in (*catalog.tires, *catalog.rims, *catalog.rotors) if part.id not in change.out]
    return replace(change, out=(*change.out, str(rng.choice(left))))


def changed_candidates(drawn: RandomCase, change: Change) -> Candidates:
    """Candidates made anew under a change."""
    of = drawn.candidates
    vehicle, catalog = of.model.vehicle, repriced(of.model.catalog, change.prices or {})
    if change.limits is not None:
        vehicle = vehicle.model_copy(update={"limits": list(change.limits)})
    parts = frozenset(part_number(catalog, identifier) for identifier in change.out)
    return of.variant(VehicleModel(vehicle, catalog), open_to=without(of, parts) if parts else {})


def enumerated(candidates: Candidates) -> tuple[float, set[tuple[int, ...]]]:
    """Least aim and all choices that reach it, from every choice."""
    every = candidates.opened(Choices.join(list(candidates.every_choice())))
    aim, met = candidates.appraise(every)
    if not met.any():
        return np.inf, set()
    best = float(aim[met].min())
    return best, as_set(every.take(np.flatnonzero(met & (aim <= best + TIE * max(abs(best), 1e-9)))))


def require_enumerated(drawn: RandomCase, change: Change, answer: Rechosen) -> None:
    """The answer to a change is that of enumeration."""
    best, ties = enumerated(changed_candidates(drawn, change))
    assert answer.proven
    assert answer.aim == pytest.approx(best, rel=1e-9)
    assert (as_set(answer.ties) if answer.ties is not None else set()) == ties


def run_sequence(number: int) -> tuple[int, int]:
    """One sequence of changes; how many there were, and how many were answered from the last answer."""
    every = suite()
    drawn = cached_case(*every[number % len(every)])
    rng = np.random.default_rng(1000 + number)
    asked, kept = LiveChoice(drawn.candidates.variant()), 0
    change = Change()
    for step in range(CHANGES):
        # The last change takes one more part away; where the best choice does not have it, that one stays.
        change = change_of(drawn, rng) if step < CHANGES - 1 else one_part_less(drawn, change, rng)
        kept += asked._still(asked._changed(change), change) is not None
        require_enumerated(drawn, change, asked.choose(change, Settings(solve=False)))
    return CHANGES, kept


def run_sequences(count: int) -> None:
    """So many sequences of changes."""
    for number in range(count):
        run_sequence(number)


@pytest.mark.parametrize("number", few_quick(range(QUICK), (0, 3, 6, 8)))
def test_changes_in_a_row_are_answered_as_by_enumeration(number: int) -> None:
    run_sequence(number)


@pytest.mark.slow
@pytest.mark.parametrize("first", range(QUICK, QUICK + SLOW, SLOW // 8))
def test_two_hundred_sequences_are_answered_as_by_enumeration(first: int) -> None:
    done = [run_sequence(number) for number in range(first, first + SLOW // 8)]
    assert sum(count for count, _ in done) == SLOW // 8 * CHANGES
    assert sum(kept for _, kept in done) > 0


def test_a_first_search_says_the_same() -> None:
    drawn = cached_case(*suite()[3])
    rng = np.random.default_rng(7)
    asked = LiveChoice(drawn.candidates.variant())
    for _ in range(3):
        change = change_of(drawn, rng)
        search, proven = run_search(changed_candidates(drawn, change), Settings())
        answer = asked.choose(change)
        assert proven
        assert answer.proven
        assert answer.aim == pytest.approx(search.best, rel=1e-12)


def test_a_stricter_limit_that_the_best_meets_keeps_the_answer_without_a_search() -> None:
    drawn = cached_case(*suite()[0])
    asked = LiveChoice(drawn.candidates.variant())
    first = asked.choose(Change())
    assert first.choice is not None
    again = asked.choose(Change(limits=list(drawn.candidates.model.vehicle.limits)))
    assert again.choice == first.choice
    assert first.ties is not None
    assert again.appraised == len(first.ties)


def test_limits_kept_from_before_a_change_are_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    plain = LiveChoice._changed
    monkeypatch.setattr(LiveChoice, "_changed", lambda self, change: plain(self, replace(change, limits=None)))
    with pytest.raises(AssertionError):
        run_sequences(QUICK)


def test_the_kept_bounds_take_the_prices_of_a_change_and_take_them_back() -> None:
    drawn = cached_case(*next(one for one in suite() if one[2] == "price tier"))
    asked = LiveChoice(drawn.candidates.variant())
    tire = drawn.candidates.model.catalog.tires[0].id
    plain, cheap = Change(), Change(prices={tire: 0.02})

    def cost_of_footings(change: Change) -> dict[str, Any]:
        around = asked._around(asked._changed(change))
        return {position: around.costs[position].footing.low.copy() for position in POSITIONS}

    before, during, after = (cost_of_footings(change) for change in (plain, cheap, plain))
    assert any((during[position] < before[position]).any() for position in POSITIONS)
    for position in POSITIONS:
        assert (during[position] <= before[position]).all()
        assert np.array_equal(before[position], after[position])


def test_what_is_out_stays_out_when_few_choices_are_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(live, "KEPT", 3)
    # A case in which nothing is left without this pad, so that what came close before has to be mended in vain.
    drawn = cached_case(10, "upland-wardens", "range")
    asked = LiveChoice(drawn.candidates.variant())
    asked.choose(Change(), Settings(solve=False))
    change = Change(out=("pelloran-grit-shield",))
    require_enumerated(drawn, change, asked.choose(change, Settings(solve=False)))


def test_an_answer_within_a_wide_gap_is_not_taken_for_the_best() -> None:
    drawn = cached_case(*suite()[0])
    asked = LiveChoice(drawn.candidates.variant())
    asked.choose(Change(), Settings(solve=False, gap=0.05))
    require_enumerated(drawn, Change(), asked.choose(Change(), Settings(solve=False)))


def test_limits_are_compared_by_their_direction() -> None:
    drawn = cached_case(*suite()[0])
    model = VehicleModel(drawn.candidates.model.vehicle, drawn.candidates.model.catalog)
    looser = VehicleModel(
        drawn.candidates.model.vehicle.model_copy(update={"limits": []}), drawn.candidates.model.catalog
    )
    assert live.stricter(model, model)
    assert live.stricter(looser, model) == (not drawn.candidates.model.vehicle.limits)


@pytest.mark.parametrize("factor", [0.0, -1.0, float("nan")])
def test_a_price_that_would_not_be_one_is_refused(factor: float) -> None:
    drawn = cached_case(*suite()[0])
    tire = drawn.candidates.model.catalog.tires[0].id
    with pytest.raises(UsageError, match=f"price of {tire}"):
        LiveChoice(drawn.candidates.variant()).choose(Change(prices={tire: factor}))


def test_an_unknown_part_is_refused() -> None:
    drawn = cached_case(*suite()[0])
    with pytest.raises(UsageError, match="no part"):
        LiveChoice(drawn.candidates.variant()).choose(Change(out=("no-such-part",)))
