"""Alternates within a stated loss: equal to enumeration, and what is said about them."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest
from random_cases import (
    POSITIONS,
    RandomCase,
    as_set,
    cached_case,
    case_of,
    few_quick,
    package_parts,
    stopping_at,
    suite,
)

from configopt.choice import alternates
from configopt.choice.alternates import Part, WithAlternates, best_without, search_with_alternates, without
from configopt.choice.audit import Candidates, Choices
from configopt.choice.choose import Search, Settings, run_search
from configopt.choice.result import choose
from configopt.choice.shortlist import shortlist
from configopt.choice.tradeoff import tradeoff
from configopt.cli.layout import Page
from configopt.cli.text_choice import write_choice
from configopt.errors import ExitCode, FindingsError, UsageError
from configopt.quantities import Figure
from configopt.scenario.case import PACKAGE_PARTS, Case, load
from configopt.scenario.records import LimitRecord, SharingRecord
from configopt.schemas import schema

ROOT = Path(__file__).parents[2]
TIE = 1e-9
#: Few choices at once, so that boxes are split and the model is solved again and again.
SMALL = Settings(appraise_at_most=150, first_footings=4)
Named = tuple[str, str]


@dataclass(frozen=True)
class Supplied:
    """A random case with losses, and its truth by enumeration."""

    case: RandomCase
    losses: Mapping[str, float]
    left: Mapping[Named, float]
    """Least aim of all choices without a part, by family and id."""
    ends: set[tuple[int, ...]]
    """Every best choice that qualifies."""
    value: float

    @property
    def changed(self) -> bool:
        """Whether the best choice without the rule does not qualify."""
        return not self.ends & self.case.ties()


def parts_by_choice(case: RandomCase) -> list[frozenset[Named]]:
    """Family and id of all parts of every choice."""
    sides = []
    for position in POSITIONS:
        known: dict[tuple[int, ...], frozenset[Named]] = {}
        of = case.candidates.of[position]
        rows = [tuple(int(n) for n in row) for row in getattr(case.choices, position)]
        for row in set(rows):
            known[row] = frozenset((family, part.id) for family, part in package_parts(of, np.array(row)))
        sides.append([known[row] for row in rows])
    return [front | rear for front, rear in zip(*sides, strict=True)]


@cache
def supplied(number: int) -> Supplied:
    """Losses of one to three families, most of them a little less than the best choice would need."""
    case = cached_case(*suite()[number])
    rng = np.random.default_rng([55, number])
    used = parts_by_choice(case)
    met = np.flatnonzero(case.met)
    every = sorted(set().union(*used))
    left = {p: min((float(case.aims[i]) for i in met if p not in used[i]), default=np.inf) for p in every}
    needed: dict[str, float] = {}
    for (family, _), value in left.items():
        needed[family] = max(needed.get(family, 0.0), value / case.best - 1.0)
    asking = [family for family in sorted(needed) if TIE < needed[family] < np.inf]
    asking = asking or sorted(needed)[:1]
    picked = rng.permutation(asking)[: int(rng.integers(1, 4))].tolist()
    # Now and then a family is asked of which some part cannot be done without.
    if number % 7 == 0:
        picked += [family for family in sorted(needed) if needed[family] == np.inf][:1]
    losses = {}
    for family in picked:
        most = needed[family] if np.isfinite(needed[family]) else 0.05
        losses[family] = most * float(rng.uniform(0.1, 0.9) if rng.random() < 0.8 else rng.uniform(1.0, 1.5))
    value, ends = np.inf, []
    for i in met:
        aim = float(case.aims[i])
        asked = [p for p in used[i] if p[0] in losses]
        if all(left[p] <= (1.0 + losses[p[0]]) * aim * (1.0 + TIE) for p in asked):
            if aim < value * (1.0 - TIE):
                value, ends = aim, [i]
            elif aim <= value * (1.0 + TIE):
                ends.append(i)
    return Supplied(case, losses, left, as_set(case.choices.take(np.array(ends, dtype=np.int64))), value)


#: Random cases, in each of which something meets every limit.
NUMBERS = range(0, 56, 2)


def fresh(one: Supplied) -> Candidates:
    """Candidates without bounds that an earlier search made."""
    candidates = one.case.candidates.variant()
    candidates.whole = []
    return candidates


def disagrees(one: Supplied, settings: Settings) -> str:
    """How the answer differs from the enumerated one; empty where it does not."""
    found = search_with_alternates(fresh(one), one.losses, settings)
    if not found.proven:
        return "not proven"
    for alternate in found.missed:
        if alternate.value != pytest.approx(one.left[named(one.case.candidates, alternate.part)], rel=1e-9):
            return "another alternate"
    if not one.ends:
        return "" if found.search.found is None else "something found"
    if found.search.found is None or as_set(found.search.found) != one.ends:
        return "other choices"
    if found.search.bound != pytest.approx(one.value, rel=1e-6):
        return "bound"
    return ""


def named(candidates: Candidates, part: Part) -> Named:
    """Family and id of a part."""
    return part[0], candidates.model.catalog.family(part[0])[part[1]].id


@cache
def told(number: int) -> str:
    """How the answer to a case differs from the enumerated one; empty where it does not."""
    return disagrees(supplied(number), Settings())


@pytest.mark.parametrize("number", few_quick(NUMBERS, (0, 6)))
def test_the_answer_is_the_best_enumerated_choice_whose_parts_have_alternates(number: int) -> None:
    assert told(number) == ""
    if number % 12 == 0:
        assert disagrees(supplied(number), SMALL) == ""


@pytest.mark.slow
def test_in_most_cases_the_rule_changes_the_answer() -> None:
    every = [supplied(number) for number in NUMBERS]
    assert len(every) >= 25
    assert sum(one.changed for one in every) >= len(every) / 2
    assert sum(one.changed and bool(one.ends) for one in every) >= len(every) / 3
    assert sum(not one.ends for one in every) >= 2
    # Some answers keep a part that the best choice lacks an alternate for, at a worse aim.
    assert sum(keeps_a_missed_part(one) for one in every) >= 3


def keeps_a_missed_part(one: Supplied) -> bool:
    """Whether an answer that is not the best uses a part that every best choice uses."""
    used = dict(zip([tuple(row) for row in rows_of(one.case.choices)], parts_by_choice(one.case), strict=True))
    best = one.case.best * (1.0 + TIE)
    return one.changed and any(p[0] in one.losses and one.left[p] > best for end in one.ends for p in used[end])


def rows_of(choices: Choices) -> list[list[int]]:
    """Choices as rows of numbers."""
    rows: list[list[int]] = np.concatenate([choices.front, choices.rear, choices.drive[:, None]], axis=1).tolist()
    return rows


@pytest.mark.parametrize("number", few_quick(NUMBERS[::5], (10,)))
def test_the_best_without_every_part_is_the_enumerated_one(number: int) -> None:
    one = supplied(number)
    candidates = fresh(one)
    best, proven = run_search(candidates, Settings())
    assert proven
    used = parts_by_choice(one.case)
    for family in ("tires", "pads", "rotors", "hubs"):
        for index, part in enumerate(candidates.model.catalog.family(family)):
            if (family, part.id) not in one.left:
                continue
            found = best_without(best, (family, index), Settings())
            assert found.proven
            assert found.value == pytest.approx(one.left[family, part.id], rel=1e-9)
            truth = [i for i in np.flatnonzero(one.case.met) if (family, part.id) not in used[i]]
            truth = [i for i in truth if one.case.aims[i] <= found.value * (1.0 + TIE)]
            assert as_set(found.choices) == as_set(one.case.choices.take(np.array(truth, dtype=np.int64)))
            assert found.bound == pytest.approx(found.value, rel=1e-6)


def test_what_is_closed_already_stays_closed() -> None:
    candidates = fresh(supplied(NUMBERS[0]))
    first, second = ("tires", 0), ("rims", 0)
    both = without(candidates, [first, second])
    after = without(candidates.variant(open_to=without(candidates, [first])), [second])
    for position in POSITIONS:
        assert all((a == b).all() for a, b in zip(both[position], after[position], strict=True))


def only_the_front(candidates: Candidates, out: Any) -> Any:
    """A part that cannot be bought stays open at the rear."""
    masks = dict(WITHOUT(candidates, out))
    masks.pop("rear")
    return masks


def everything_qualifies(candidates: Candidates, least: Any) -> Any:
    """Alternates are not asked for when choices are appraised."""
    return lambda choices, found: np.ones(len(choices), dtype=bool)


def never_with_a_missed_part(
    candidates: Candidates, above: Any, least: Any, admits: Any, left: Any, plain: Search
) -> Any:
    """Only choices without any missed part are looked at."""
    other = candidates.variant(open_to=without(candidates, above))
    return (*run_search(other, left(), admits=admits), 0)


WITHOUT = alternates.without
MUTATIONS = {
    "banned in front only": ("without", only_the_front),
    "alternates forgotten": ("qualifying", everything_qualifies),
    "missed parts never": ("_rising", never_with_a_missed_part),
}


@pytest.mark.parametrize("name", MUTATIONS)
def test_a_mistake_shows_as_another_answer(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    # Of the cases looked at quickly this one notices them all.
    assert told(6) == ""
    monkeypatch.setattr(alternates, *MUTATIONS[name])
    assert disagrees(supplied(6), Settings())


def whole_case(one: Supplied, **more: Any) -> Case:
    """A random case as a scenario that asks for its alternates."""
    shipped, model = case_of(one.case.scenario), one.case.candidates.model
    losses = {family: Figure(loss) for family, loss in one.losses.items()}
    vehicle = model.vehicle.model_copy(update={"alternates": losses})
    aims = shipped.scenario.aims.model_copy(update={n: Figure(r) for n, r in one.case.candidates.rates.items()})
    changed = {"vehicles": [vehicle], "aims": aims, **more}
    return Case(shipped.path, shipped.scenario.model_copy(update=changed), model.catalog)


def answered(place: int = 0) -> Supplied:
    """A case whose answer the rule changes."""
    one = supplied((6, 16, 22, 24, 26)[place])
    assert one.changed
    assert one.ends
    return one


def page(payload: dict[str, Any]) -> str:
    sheet = Page(200)
    write_choice(sheet, payload)
    return str(sheet)


@pytest.mark.parametrize("place", few_quick(range(4), (0,)))
def test_the_answer_shows_each_alternate_and_agrees_with_the_count_of_all(place: int) -> None:
    one = answered(place)
    answer = choose(whole_case(one))
    payload = answer.to_json()
    jsonschema.validate(json.loads(json.dumps(payload, allow_nan=False)), schema("choice"))
    assert answer.status == "optimal"
    assert answer.audit.agrees
    assert answer.value == pytest.approx(one.value, rel=1e-9)
    assert answer.counts["choices_that_meet_all"] == int(one.case.met.sum())
    assert answer.counts["ties"] == len(one.ends)
    rows = payload["alternates"]
    both = [getattr(answer.records[0], position) for position in POSITIONS]
    chosen = {(family, getattr(package, field)) for package in both for field, family in PACKAGE_PARTS.items()}
    assert {(row["family"], row["part"]) for row in rows} == {p for p in chosen if p[0] in one.losses and p[1]}
    for row in rows:
        value = one.left[row["family"], row["part"]]
        assert row["value"] == pytest.approx(value, rel=1e-9)
        assert row["loss"] == pytest.approx(value / one.value - 1.0, abs=1e-9)
        assert row["within"] == pytest.approx(one.losses[row["family"]])
        assert row["loss"] <= row["within"] + 2 * TIE
        assert row["part"] not in [change["to"] for change in row["changes"]]
        assert row["part"] in [change["from"] for change in row["changes"]]
    text = page(payload)
    assert "If a part could not be bought" in text
    assert all(row["part"] in text.partition("could not be bought")[2] for row in rows)
    better = any(row["loss"] < -TIE for row in rows)
    assert ("What would be better than this choice has no alternate" in text) == better


def test_where_nothing_qualifies_it_says_which_part_and_what_loss() -> None:
    one = next(one for one in map(supplied, NUMBERS) if not one.ends)
    answer = choose(whole_case(one))
    assert answer.status == "infeasible"
    assert answer.exit_code == ExitCode.NOTHING_MEETS_THE_LIMITS
    payload = json.loads(json.dumps(answer.to_json(), allow_nan=False))
    jsonschema.validate(payload, schema("choice"))
    assert payload["aim"] is None
    short = {p: v / one.case.best - 1.0 for p, v in one.left.items() if p[0] in one.losses}
    short = {p: loss for p, loss in short.items() if loss > one.losses[p[0]]}
    assert len(payload["closest"]) == len(short)
    text = page(payload)
    for (_, part), loss in short.items():
        row = next(row for row in payload["closest"] if part in row["text"].replace(":", "").split())
        assert row["limit"] == "alternate"
        assert row["reached"] == (pytest.approx(100.0 * loss) if np.isfinite(loss) else None)
        assert part in text
    assert "no choice that meets every limit has an alternate" in text


def test_losses_that_the_best_choice_needs_let_it_in() -> None:
    one = answered()
    needed = {f: max(v / one.case.best - 1.0 for p, v in one.left.items() if p[0] == f) for f in one.losses}
    answer = choose(whole_case(replace(one, losses={f: loss * (1.0 + 1e-6) for f, loss in needed.items()})))
    assert answer.value == pytest.approx(one.case.best, rel=1e-9)


def test_stopped_before_the_rule_is_decided_nothing_is_claimed(monkeypatch: pytest.MonkeyPatch) -> None:
    one = answered()
    found = stopped_at(1, one, monkeypatch)
    assert not found.proven
    assert found.search.found is None


@pytest.mark.parametrize(("begun", "place"), few_quick([(b, p) for b in (2, 3, 4) for p in range(5)], [(3, 0)]))
def test_stopped_later_what_is_found_qualifies_and_the_bound_holds(
    begun: int, place: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    one = answered(place)
    found = stopped_at(begun, one, monkeypatch)
    assert found.search.bound <= one.value * (1.0 + TIE)
    assert found.search.bound >= one.case.best * (1.0 - 1e-6)
    if found.search.found is not None:
        assert found.search.best >= one.value * (1.0 - TIE)
        assert as_set(found.search.found) <= qualifying(one)
    if found.proven:
        assert found.search.best == pytest.approx(one.value, rel=1e-9)


def qualifying(one: Supplied) -> set[tuple[int, ...]]:
    """Every choice that meets all limits and qualifies."""
    used, found = parts_by_choice(one.case), []
    for i in np.flatnonzero(one.case.met):
        most = {f: (1.0 + loss) * float(one.case.aims[i]) * (1.0 + TIE) for f, loss in one.losses.items()}
        if all(one.left[p] <= most[p[0]] for p in used[i] if p[0] in most):
            found.append(i)
    return as_set(one.case.choices.take(np.array(found, dtype=np.int64)))


def stopped_at(number: int, one: Supplied, monkeypatch: pytest.MonkeyPatch) -> WithAlternates:
    """The search stopped when its search of a number begins."""
    settings = stopping_at(number, alternates, monkeypatch)
    return search_with_alternates(fresh(one), one.losses, settings)


def test_nothing_within_the_limits_is_told_as_without_alternates() -> None:
    one = answered()
    cheap = LimitRecord(limit="cost", at_most=1)
    case = whole_case(one)
    vehicle = case.vehicle.model_copy(update={"limits": [cheap]})
    answer = choose(replace(case, scenario=case.scenario.model_copy(update={"vehicles": [vehicle]})))
    assert answer.status == "infeasible"
    assert any(row["limit"] == "cost" for row in answer.closest)


def test_what_cannot_look_for_alternates_refuses_them() -> None:
    case = whole_case(answered())
    for ask in (tradeoff, lambda one: shortlist(one, count=3)):
        with pytest.raises(UsageError, match="only choose looks for"):
            ask(case)
    with pytest.raises(UsageError, match="with one vehicle only"):
        choose(whole_case(answered(), sharing=SharingRecord(at_most={"tires": 1})))


STAGES = ("  mass: 1 per kg\n  rolling_loss: 0.8 per Wh/km", "  in_order:\n    - mass: 1 per kg\n    - cost: 1")
MISTAKES: dict[str, tuple[str, int, str]] = {
    "unknown family": ("tyres: 3 %", 14, 'there is no family of parts "tyres"'),
    "negative": ("tires: -3 %", 14, "-3 %"),
    "without a unit": ("tires: three", 14, "three"),
    "empty": ("", 17, "at least 1 item"),
}


@pytest.mark.parametrize("name", MISTAKES)
def test_a_mistake_is_found_at_its_place(name: str, tmp_path: Path) -> None:
    written, column, words = MISTAKES[name]
    entry = f"    alternates:\n      {written}\n" if written else "    alternates: {}\n"
    found, line = findings(tmp_path, entry)
    at = [f for f in found if words in f"{f.message} {f.fix}"]
    place = (line + 1 if written else line, column)
    assert [(f.line, f.column) for f in at] == [place], found


def test_alternates_of_aims_in_order_are_refused_at_their_place(tmp_path: Path) -> None:
    found, line = findings(tmp_path, "    alternates:\n      tires: 3 %\n", STAGES)
    assert [(f.line, f.column) for f in found] == [(line + 1, 7)], found
    assert "alternates are asked for by one aim" in found[0].message


def findings(folder: Path, entry: str, *changes: tuple[str, str]) -> tuple[list[Any], int]:
    """What is found in the smallest scenario with an entry at its end, and the line of the entry."""
    text = (ROOT / "tests" / "fixtures" / "scenarios" / "good" / "smallest.yaml").read_text()
    text = text.replace("../../../../catalogs", str(ROOT / "catalogs"))
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    path = folder / "case.yaml"
    path.write_text(text + entry)
    with pytest.raises(FindingsError) as raised:
        load(path)
    return raised.value.findings, len(text.splitlines()) + 1
