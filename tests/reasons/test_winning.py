"""The figure at which a part enters the best choice, or leaves it: just inside it does, just outside it does not."""

from __future__ import annotations

import numpy as np
import pytest
from random_cases import RandomCase, aims_of, few_quick
from truth import TIE, asked_of, case_number, ids_used, part_ids

from configopt.choice.alternates import Part, part_number
from configopt.choice.audit import Candidates
from configopt.reasons.losing import best_without
from configopt.reasons.winning import ASKED, COST, MASS, Turn, Turned, Winning, turned_part, with_part

NUMBERS = range(0, 60, 4)
#: How near the turn is looked at on both sides, as a share of it.
NEAR = 1e-3


def least_with(case: RandomCase, part: Part, used: np.ndarray, figure: Turned, factor: float) -> float:
    """By enumeration, the best aim of all choices with a part whose figure is multiplied."""
    catalog = case.candidates.model.catalog
    record = turned_part(catalog.family(part[0])[part[1]], figure, factor)
    other = Candidates(case.candidates.model.vehicle, with_part(catalog, part, record), aims_of(case.candidates))
    aims, met = other.appraise(case.choices)
    return float(aims[met & used].min(initial=np.inf))


def require_turn(case: RandomCase, part: Part, used: np.ndarray, turn: Turn, rest: float, inside: bool) -> None:
    """One turn against enumeration."""

    def good(factor: float) -> bool:
        return least_with(case, part, used, turn.figure, factor) <= rest + TIE * max(abs(rest), 1.0)

    if turn.why_not is not None:
        return
    assert good(1.0) == inside
    if turn.factor is None:
        # Nothing turns at the far end, nor on the way there.
        assert all(good(1.0 + share * (turn.tried - 1.0)) == inside for share in (0.25, 0.5, 0.75, 1.0))
        return
    outward = 1.0 + NEAR if (turn.factor > 1.0) else 1.0 - NEAR
    inward = 1.0 - NEAR if (turn.factor > 1.0) else 1.0 + NEAR
    assert good(turn.factor * outward) != inside
    nearer = turn.factor * inward
    if (nearer - 1.0) * (turn.factor - 1.0) > 0.0:
        assert good(nearer) == inside


def turns_of(number: int, families: tuple[str, ...]) -> int:
    """Check every part of some families of a case; how many turns were found."""
    case = case_number(number)
    asking, best = asked_of(case)
    used, catalog, count = [ids_used(named) for named in part_ids(case)], case.candidates.model.catalog, 0
    for family in families:
        for record in catalog.family(family)[:2]:
            part = part_number(catalog, record.id)
            mine = np.array([record.id in ids for ids in used])
            if not mine.any():
                continue
            rest = best_without(asking, best, part)
            if not rest.found:
                continue
            truth = float(case.aims[case.met & ~mine].min())
            assert rest.value == pytest.approx(truth, rel=1e-9)
            with_it = asking.best_with(part)
            inside = with_it.found and with_it.value <= rest.value + TIE * max(abs(rest.value), 1.0)
            for turn in Winning(asking, aims_of(case.candidates), part, rest).turns(with_it):
                require_turn(case, part, mine, turn, rest.value, bool(inside))
                count += turn.factor is not None
    return count


@pytest.mark.parametrize("number", few_quick(NUMBERS, (16,)))
def test_turns_of_tires_are_where_enumeration_turns(number: int) -> None:
    turns_of(number, ("tires",))


@pytest.mark.parametrize("number", few_quick(NUMBERS, (20,)))
def test_turns_of_other_parts_are_where_enumeration_turns(number: int) -> None:
    turns_of(number, ("rotors", "rims", "hubs", "pads"))


@pytest.mark.slow
def test_in_most_cases_something_turns() -> None:
    found = [turns_of(number, ("tires",)) for number in NUMBERS]
    assert sum(count > 0 for count in found) >= len(NUMBERS) / 2


def test_every_figure_that_is_asked_about_can_be_turned() -> None:
    catalog = case_number(16).candidates.model.catalog
    for family, figures in ASKED.items():
        for record in catalog.family(family)[:1]:
            for figure in figures:
                if getattr(record, figure.name, 0.0) is None:
                    continue
                for factor in (figure.least, figure.most):
                    other = turned_part(record, figure, factor)
                    assert type(other) is type(record)
                    assert other.id == record.id
                    assert other != record


def test_a_price_is_that_of_the_quantity_and_all_tiers_turn_together() -> None:
    catalog = case_number(16).candidates.model.catalog
    tire = catalog.tires[0]
    doubled = turned_part(tire, COST, 2.0)
    assert [float(tier.unit_price) for tier in doubled.prices] == [2.0 * float(t.unit_price) for t in tire.prices]
    assert float(turned_part(tire, MASS, 0.5).mass) == pytest.approx(0.5 * float(tire.mass))
