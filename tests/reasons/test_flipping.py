"""Which uncertain figure flips the choice: against enumeration of small choices with that figure changed."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from random_cases import RandomCase, aims_of, cached_case, case_of, few_quick, suite

from configopt.appraisal.uncertain import UncertainFigure
from configopt.appraisal.vehicle import POSITIONS, VehicleModel
from configopt.choice.audit import Candidates, Choices
from configopt.choice.choose import Settings
from configopt.choice.ties import packages_of
from configopt.reasons import flipping as module
from configopt.reasons.asking import Answer, Asking, appraised
from configopt.reasons.elsewhere import can_be_moved, record_with, unit_of, with_figure
from configopt.reasons.flipping import BETTER, Flipping, ends_of, flipping

#: Cases whose flips are compared.
QUICK, CASES = (2,), 24
#: Figures of a case that are compared, drawn at random, and points at which each is looked at.
FIGURES, POINTS = 4, 3


def asked(drawn: RandomCase) -> tuple[Asking, Answer]:
    """Questions about a case, and its best choice."""
    asking = Asking(drawn.candidates.variant(), Settings())
    search, proven = asking.first()
    assert proven
    assert search.found is not None
    return asking, Answer(asking.candidates, search.best, search.found)


def some_figures(monkeypatch: pytest.MonkeyPatch, number: int, count: int = FIGURES) -> None:
    """Look at a few figures of a case only, drawn by its number."""
    of_all = Flipping.figures

    def drawn(self: Flipping) -> list[UncertainFigure]:
        every = of_all(self)
        rows = np.random.default_rng(number).permutation(len(every))[:count]
        return [every[row] for row in sorted(rows.tolist())]

    monkeypatch.setattr(Flipping, "figures", drawn)


def made_anew(drawn: RandomCase, figure: UncertainFigure, value: float) -> Candidates:
    """Candidates of catalogs with the figure at a value, or with the assumed figure, without any short cut."""
    of = drawn.candidates
    if figure.part is None:
        made = Candidates(of.model.vehicle, of.model.catalog, aims_of(of))
        made.model = VehicleModel(
            of.model.vehicle, of.model.catalog, assumed=replace(of.model.assumed, **{figure.name: value})
        )
        return made
    family, identifier = figure.part
    catalog = of.model.catalog
    number = next(i for i, part in enumerate(catalog.family(family)) if part.id == identifier)
    record = record_with(figure, catalog.family(family)[number], value)
    return Candidates(of.model.vehicle, catalog.with_parts({family: {number: record}}), aims_of(of))


def flips(drawn: RandomCase, present: Choices, candidates: Candidates) -> bool:
    """Whether the present choice is not the best any more, by enumeration."""
    aims, met = candidates.appraise(present)
    if not met[0]:
        return True
    every, meets = candidates.appraise(drawn.choices)
    return bool(every[meets].min() < aims[0] - BETTER * max(abs(aims[0]), 1.0))


def si(row: dict[str, Any], figure: UncertainFigure) -> float:
    """The value of a row's flip [SI]."""
    scale = (row["high"] - row["low"]) / (ends_of(figure)[1] - ends_of(figure)[0])
    return figure.value + (row["flips_at"] - row["today"]) / scale


@pytest.mark.parametrize("number", few_quick(range(CASES), QUICK))
def test_flips_are_those_of_enumeration(number: int, monkeypatch: pytest.MonkeyPatch) -> None:
    some_figures(monkeypatch, number)
    every = suite()
    drawn = cached_case(*every[(5 * number) % len(every)])
    if not drawn.met.any():
        return
    asking, best = asked(drawn)
    found = flipping(asking, best, aims_of(drawn.candidates))
    assert found["every_choice"]
    if number in QUICK:
        assert len(found["rows"]) >= 2
    assert not found["among_near"]
    figures = {figure.wording: figure for figure in Flipping.of(asking, best, aims_of(drawn.candidates)).figures()}
    assert len(figures) == found["figures"]
    for row in found["rows"]:
        figure = figures[row["figure"]]
        low, high = ends_of(figure)
        at, step = si(row, figure), 1e-3 * (high - low)
        way = 1.0 if row["direction"] == "at least" else -1.0
        within = max(1e-3 * abs(at), step)
        assert row["exact"]
        assert flips(drawn, best.first, with_figure(drawn.candidates, figure, at))
        before = at - way * within
        if (before - figure.value) * way > 0.0:
            assert not flips(drawn, best.first, with_figure(drawn.candidates, figure, before))
    flipped = {(row["figure"], row["direction"]): row for row in found["rows"]}
    for name, figure in figures.items():
        if not can_be_moved(asking.candidates, figure):
            continue
        for end, direction in zip(ends_of(figure), ("at most", "at least"), strict=True):
            row = flipped.get((name, direction))
            last = end if row is None else si(row, figure)
            for value in np.linspace(figure.value, last, POINTS + 1)[1 : None if row is None else -1].tolist():
                assert not flips(drawn, best.first, with_figure(drawn.candidates, figure, value)), (name, value, last)


@pytest.mark.parametrize("number", few_quick(range(12), (1,)))
def test_a_figure_at_another_value_gives_what_catalogs_with_it_give(number: int) -> None:
    every = suite()
    drawn = cached_case(*every[(7 * number + 1) % len(every)])
    asking, best = asked(drawn)
    figures = Flipping.of(asking, best, aims_of(drawn.candidates)).figures()
    for figure in figures[number % 4 :: 4]:
        for end in ends_of(figure)[:1]:
            quick, anew = with_figure(drawn.candidates, figure, end), made_anew(drawn, figure, end)
            if figure.part is None and figure.name in ("bead_friction", "bead_unevenness"):
                one = best.first
                truth = appraised_as_told(anew, one)
                got = quick.outcome(one, values=True)
                for mine, other in zip(got.margins, truth, strict=True):
                    assert float(mine.value[0]) == pytest.approx(other, rel=1e-12, nan_ok=True)
                continue
            mine, met = quick.appraise(drawn.choices)
            other, meets = anew.appraise(drawn.choices)
            np.testing.assert_allclose(mine, other, rtol=1e-12)
            np.testing.assert_array_equal(met, meets)


def appraised_as_told(candidates: Candidates, choice: Choices) -> list[float]:
    """Margins of one choice by the appraisal of its parts, which knows the assumed figures of the model."""
    found = appraised(candidates, choice)
    return [float(margin.value[0]) for margin in found.outcome.margins if margin.value is not None]


@pytest.mark.parametrize("number", few_quick(range(12), (2,)))
def test_with_a_small_pool_searches_find_the_flips_of_enumeration(number: int, monkeypatch: pytest.MonkeyPatch) -> None:
    every = suite()
    some_figures(monkeypatch, number, 2)
    drawn = cached_case(*every[(11 * number + 2) % len(every)])
    if not drawn.met.any():
        return
    asking, best = asked(drawn)
    whole = flipping(asking, best, aims_of(drawn.candidates))
    monkeypatch.setattr(module, "WHOLE", 0)
    asking, best = asked(drawn)
    asking.known = best.first
    searched = flipping(asking, best, aims_of(drawn.candidates), every=True)
    assert not searched["every_choice"]
    truth = {(row["figure"], row["direction"]): row for row in whole["rows"]}
    for row in searched["rows"]:
        assert row["exact"]
        other = truth.get((row["figure"], row["direction"]))
        if other is not None:
            assert row["flips_at"] == pytest.approx(other["flips_at"], abs=2e-3 * (row["high"] - row["low"]))
    mine = {(row["figure"], row["direction"]) for row in searched["rows"]}
    named = {row["figure"] for row in searched["rows"]} | {row["figure"] for row in searched["steady"]}
    assert {key for key in truth if key[0] in named} <= mine


def test_an_assumed_figure_at_either_end_is_searched_as_enumerated() -> None:
    for number in (3,):
        drawn = cached_case(*suite()[number])
        asking, best = asked(drawn)
        figures = [f for f in Flipping.of(asking, best, aims_of(drawn.candidates)).figures() if f.part is None]
        assert len(figures) >= 7
        for place, figure in enumerate(figures):
            for end in ends_of(figure)[place % 2 :: 2]:
                candidates = with_figure(drawn.candidates, figure, end)
                aims, met = candidates.appraise(drawn.choices)
                answer = Asking(candidates, Settings()).ask()
                assert answer.found == met.any()
                if met.any():
                    assert answer.value == pytest.approx(float(aims[met].min()), rel=1e-9)


def test_figures_are_told_in_trade_units() -> None:
    case = case_of("upland-wardens")
    asking = Asking.of(case.vehicle, case.catalog, case.scenario.aims, Settings())
    first = Choices(*(np.array([[0, 0, 0]]) for _ in POSITIONS), np.array([0]))
    figures = module.uncertain_figures(asking.candidates.model, packages_of(asking.candidates, first))
    units = {figure.name: unit_of(figure, case.catalog)[1] for figure in figures}
    assert units["mass"] == "g"
    assert units["soil.friction_angle"] == "deg"
    assert units["soil.cohesion"] == "kPa"
    assert units["rut_factor"] == "1"
    assert units["tensile_strength"] == "MPa"
