"""Rankings from paired comparisons: against published estimates, exact answers by sums, and what must hold of any."""

from __future__ import annotations

import itertools
import math
import random
from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.special import expit
from scipy.stats import binom, norm

from configopt.errors import UsageError
from configopt.learning.ranking import (
    MOST_RANKED,
    NINETY,
    PRIOR,
    TIE_MIDDLE,
    TIE_PRIOR,
    Comparison,
    Group,
    Outcome,
    counts,
    most_telling,
    preference,
    ranked,
)

#: A. Agresti, Categorical Data Analysis, 2nd ed. 2002, section 10.6: how often the row beat the column in the 1987
#: season of the American League's eastern division (from memory; a wrong figure would not give the printed estimates).
TEAMS = ("Milwaukee", "Detroit", "Toronto", "New York", "Boston", "Cleveland", "Baltimore")
WINS = (
    (0, 7, 9, 7, 7, 9, 11),
    (6, 0, 7, 5, 11, 9, 9),
    (4, 6, 0, 7, 7, 8, 12),
    (6, 8, 6, 0, 6, 7, 10),
    (6, 2, 6, 7, 0, 7, 12),
    (4, 4, 5, 6, 6, 0, 6),
    (2, 4, 1, 3, 1, 7, 0),
)
#: Maximum likelihood against Baltimore with standard errors, as printed in H. Turner, D. Firth, Bradley-Terry models in
#: R, Journal of Statistical Software 48(9), 2012, section 2 (from memory).
PRINTED = {
    "Boston": (1.1077, 0.3339),
    "Cleveland": (0.6839, 0.3319),
    "Detroit": (1.4364, 0.3396),
    "Milwaukee": (1.5814, 0.3433),
    "New York": (1.2476, 0.3359),
    "Toronto": (1.2945, 0.3367),
}
#: A prior so wide that it does not count.
FLAT = 1e4


def told(first: str, second: str, better: int = 0, worse: int = 0, alike: int = 0) -> list[Comparison]:
    """Verdicts of as many riders."""
    outcomes: list[Outcome] = ["first"] * better + ["second"] * worse + ["alike"] * alike
    return [Comparison(first, second, outcome, (f"rider {n}",)) for n, outcome in enumerate(outcomes)]


def only(comparisons: Sequence[Comparison], **how: Any) -> Group:
    (group,) = ranked(comparisons, **how)
    return group


def difference(group: Group, first: str, second: str) -> tuple[float, float]:
    """Difference of two strengths and its standard uncertainty."""
    pick = np.zeros(len(group.names))
    pick[group.names.index(first)] = 1.0
    pick[group.names.index(second)] -= 1.0
    return float(pick @ group.strength), math.sqrt(float(pick @ group.covariance @ pick))


def simulated(seed: int, names: int, verdicts: int, tie: float) -> tuple[np.ndarray[Any, Any], list[Comparison]]:
    """True strengths, drawn from the prior, and verdicts on pairs drawn by lot; the first pair is 0 and 1."""
    lot = np.random.default_rng(seed)
    strength = lot.normal(0.0, PRIOR, names)
    found = []
    for rider in range(verdicts):
        i, j = (0, 1) if rider == 0 else lot.choice(names, 2, replace=False)
        half = (strength[i] - strength[j]) / 2
        ratio = np.array([math.exp(half), math.exp(-half), tie])
        outcomes: tuple[Outcome, ...] = ("first", "second", "alike")
        outcome = outcomes[lot.choice(3, p=ratio / ratio.sum())]
        found.append(Comparison(f"tire {i}", f"tire {j}", outcome, (f"rider {rider}",)))
    return strength, found


def test_the_estimates_and_standard_errors_of_a_published_example_come_out_to_the_last_digit() -> None:
    group = only(
        [one for i, j in itertools.combinations(range(7), 2)
         for one in told(TEAMS[i], TEAMS[j], WINS[i][j], WINS[j][i])],
        prior=FLAT, at_maximum=True,
    )  # fmt: skip
    for team, (estimate, error) in PRINTED.items():
        found = difference(group, team, "Baltimore")
        assert found == (pytest.approx(estimate, abs=5e-5), pytest.approx(error, abs=5e-5)), team


@pytest.mark.parametrize(("better", "worse", "alike"), [(7, 3, 5), (1, 1, 1), (20, 4, 2)])
def test_two_with_ties_have_the_closed_form_of_davidson(better: int, worse: int, alike: int) -> None:
    # Three chances and two unknowns beside their sum: the estimates reproduce the shares, so that the ratio of
    # strengths is w1/w2 and the tie parameter t/sqrt(w1 w2).  The tie parameter's own prior counts as one verdict in
    # some, so the counts are taken a thousandfold.
    group = only(told("a", "b", 1000 * better, 1000 * worse, 1000 * alike), prior=FLAT, at_maximum=True)
    assert difference(group, "a", "b")[0] == pytest.approx(math.log(better / worse), abs=1e-3)
    assert group.tie == pytest.approx(alike / math.sqrt(better * worse), rel=1e-3)


@pytest.mark.parametrize("tie", [0.0, 0.7])
def test_the_maximum_is_what_a_search_in_another_form_finds(tie: float) -> None:
    # Worths and chances as in the papers, no slopes, another method.
    comparisons = simulated(3, 4, 40, tie)[1]
    group = only(comparisons, at_maximum=True)
    names = sorted(group.names)

    def lost(unknowns: np.ndarray[Any, Any]) -> float:
        worth = dict(zip(names, np.exp(unknowns[:4]), strict=True))
        nu = math.exp(unknowns[4]) if tie else 0.0
        value = (unknowns[:4] ** 2).sum() / (2 * PRIOR**2)
        value += (unknowns[4] - TIE_MIDDLE) ** 2 / (2 * TIE_PRIOR**2) if tie else unknowns[4] ** 2
        for one in comparisons:
            first, second = worth[one.first], worth[one.second]
            middle = nu * math.sqrt(first * second)
            part = {"first": first, "second": second, "alike": middle}[one.outcome]
            value -= math.log(part / (first + second + middle))
        return float(value)

    found = minimize(lost, np.zeros(5), method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-12, "maxiter": 9000})
    expected = found.x[:4] - found.x[:4].mean()
    mine = [group.strength[group.names.index(name)] for name in names]
    assert mine == pytest.approx(list(expected), abs=1e-4)
    assert (group.tie is None) == (tie == 0.0)


def test_ties_that_become_rare_lead_to_bradley_and_terry() -> None:
    without = only(told("a", "b", 600, 400), prior=FLAT, at_maximum=True)
    with_one = only(told("a", "b", 600, 400, 1), prior=FLAT, at_maximum=True)
    assert without.tie is None
    assert difference(without, "a", "b")[0] == pytest.approx(math.log(1.5), abs=1e-6)
    assert difference(with_one, "a", "b")[0] == pytest.approx(math.log(1.5), abs=1e-3)


def posterior(better: int, worse: int) -> tuple[np.ndarray[Any, Any], np.ndarray[Any, Any], float]:
    """Differences of two, the posterior on them by sums over a grid, and the chance of these verdicts beforehand."""
    grid = np.linspace(-16.0, 16.0, 8001)
    density = norm.pdf(grid, scale=math.sqrt(2.0) * PRIOR) * expit(grid) ** better * expit(-grid) ** worse
    total = float(density.sum())
    return grid, density / total, total * float(grid[1] - grid[0])


@pytest.mark.parametrize("verdicts", [1, 2, 4, 8, 16, 32])
def test_the_90_percent_interval_covers_90_percent_of_the_exact_posterior(verdicts: int) -> None:
    covered = 0.0
    for better in range(verdicts + 1):
        grid, chance, beforehand = posterior(better, verdicts - better)
        middle, spread = difference(only(told("a", "b", better, verdicts - better)), "a", "b")
        inside = np.abs(grid - middle) <= NINETY * spread
        covered += math.comb(verdicts, better) * beforehand * float(chance[inside].sum())
    assert covered == pytest.approx(0.90, abs=0.006)


@pytest.mark.parametrize(("better", "worse"), [(1, 0), (3, 0), (2, 1), (9, 4)])
def test_mean_spread_and_chance_to_be_ahead_are_those_of_the_exact_posterior(better: int, worse: int) -> None:
    grid, chance, _ = posterior(better, worse)
    mean = float(chance @ grid)
    spread = math.sqrt(float(chance @ grid**2) - mean**2)
    group = only(told("a", "b", better, worse))
    assert difference(group, "a", "b") == (pytest.approx(mean, abs=0.02 * spread), pytest.approx(spread, rel=0.03))
    ahead = group.between(group.names.index("a"), group.names.index("b")).chance_ahead
    assert ahead == pytest.approx(float(chance[grid > 0].sum()), abs=0.02)


@pytest.mark.parametrize(("names", "verdicts", "tie"), [(5, 30, 0.0), (4, 10, 0.6)])
@pytest.mark.parametrize("seeds", [60, pytest.param(500, marks=pytest.mark.slow)])
def test_90_percent_intervals_cover_the_truth_of_simulated_verdicts(
    names: int, verdicts: int, tie: float, seeds: int
) -> None:
    hits = 0
    for seed in range(seeds):
        strength, comparisons = simulated(seed, names, verdicts, tie)
        group = next(group for group in ranked(comparisons) if "tire 0" in group.names)
        middle, spread = difference(group, "tire 0", "tire 1")
        hits += abs(strength[0] - strength[1] - middle) <= NINETY * spread
    # What 99.8 % of samples of a coverage of 0.90 stay within.
    assert binom.ppf(0.001, seeds, 0.90) <= hits <= binom.ppf(0.999, seeds, 0.90)


def test_beforehand_every_chance_of_a_preference_is_about_equally_likely() -> None:
    # A prior under which no chance is favoured is the logistic curve; the normal one of its spread is within 0.025.
    grid = np.linspace(0.01, 0.99, 99)
    share = norm.cdf(np.log(grid / (1 - grid)), scale=math.sqrt(2.0) * PRIOR)
    assert np.abs(share - grid).max() < 0.025


def test_one_verdict_says_little_and_says_so() -> None:
    group = only(told("a", "b", 1))
    found = group.between(0, 1)
    assert group.names == ("a", "b")
    assert 0.7 < found.chance < 0.8
    assert found.low < 0.25
    assert found.high > 0.95
    assert 0.7 < found.chance_ahead < 0.8
    assert group.chance_best == pytest.approx([found.chance_ahead, 1 - found.chance_ahead])


def test_more_verdicts_of_the_same_kind_narrow_the_interval_and_raise_the_chance() -> None:
    found = [only(told("a", "b", 3 * n, n)).between(0, 1) for n in (1, 2, 5, 20)]
    widths = [one.high - one.low for one in found]
    assert widths == sorted(widths, reverse=True)
    ahead = [one.chance_ahead for one in found]
    assert ahead == sorted(ahead)


def test_without_verdicts_nothing_is_ranked() -> None:
    assert ranked([]) == []
    assert most_telling([]) == []


def test_all_alike_leaves_all_equal() -> None:
    group = only(told("a", "b", alike=6) + told("b", "c", alike=2))
    assert group.strength == pytest.approx([0.0, 0.0, 0.0], abs=1e-9)
    assert group.names == ("a", "b", "c")
    assert group.chance_best == pytest.approx([1 / 3] * 3, abs=0.05)


def test_a_circle_of_preferences_leaves_all_equal() -> None:
    group = only([*told("a", "b", 3), *told("b", "c", 3), *told("c", "a", 3)])
    assert group.strength == pytest.approx([0.0, 0.0, 0.0], abs=1e-9)
    assert group.between(0, 2).chance_ahead == pytest.approx(0.5)


def test_the_order_of_rows_and_of_the_two_names_does_not_matter() -> None:
    comparisons = simulated(11, 5, 40, 0.5)[1]
    turned: dict[Outcome, Outcome] = {"first": "second", "second": "first", "alike": "alike"}
    mixed = [Comparison(one.second, one.first, turned[one.outcome], one.voice) for one in comparisons]
    random.Random(1).shuffle(mixed)
    one, other = only(comparisons), only(mixed)
    assert one.names == other.names
    assert np.array_equal(one.strength, other.strength)
    assert np.array_equal(one.chance_best, other.chance_best)


def test_better_for_worse_everywhere_turns_the_ranking_round() -> None:
    comparisons = simulated(12, 5, 40, 0.5)[1]
    turned: dict[Outcome, Outcome] = {"first": "second", "second": "first", "alike": "alike"}
    one = only(comparisons)
    other = only([Comparison(c.first, c.second, turned[c.outcome], c.voice) for c in comparisons])
    assert other.names == one.names[::-1]
    assert other.strength == pytest.approx(-one.strength[::-1], abs=1e-9)


def test_the_level_of_a_group_is_taken_off() -> None:
    group = only(simulated(5, 6, 60, 0.4)[1])
    assert group.strength.sum() == pytest.approx(0.0, abs=1e-9)
    assert np.abs(group.covariance.sum(axis=0)).max() < 1e-9


def test_what_one_rider_says_of_a_pair_on_a_day_counts_once() -> None:
    voice = ("A", "2026-03-31")
    once = [Comparison("a", "b", "first", voice)]
    assert counts(once * 5) == {("a", "b"): (1.0, 0.0, 0.0)}
    both = [Comparison("a", "b", "first", voice), Comparison("b", "a", "first", voice)]
    assert counts(both) == {("a", "b"): (0.5, 0.5, 0.0)}
    assert np.array_equal(only(once * 5).covariance, only(once).covariance)
    assert only(both).between(0, 1).chance_ahead == pytest.approx(0.5)


def test_another_day_another_rider_and_another_pair_count_by_themselves() -> None:
    found = counts(
        [
            Comparison("a", "b", "first", ("A", "2026-03-31")),
            Comparison("a", "b", "first", ("A", "2026-04-01")),
            Comparison("a", "b", "first", ("B", "2026-03-31")),
            Comparison("a", "c", "first", ("A", "2026-03-31")),
        ]
    )
    assert found == {("a", "b"): (3.0, 0.0, 0.0), ("a", "c"): (1.0, 0.0, 0.0)}


def test_what_was_never_compared_stays_apart_and_does_not_touch_each_other() -> None:
    one, other = told("a", "b", 3, 1, 2), told("c", "d", 5)
    groups = ranked([*one, *other])
    assert [set(group.names) for group in groups] == [{"a", "b"}, {"c", "d"}]
    assert np.array_equal(groups[0].strength, only(one).strength)
    assert np.array_equal(groups[1].covariance, only(other).covariance)
    assert groups[1].tie is None


def test_the_chances_to_be_the_best_are_those_of_many_draws() -> None:
    group = only(simulated(21, 4, 25, 0.3)[1])
    lot = np.random.default_rng(5)
    drawn = lot.multivariate_normal(group.strength, group.covariance, 200_000, method="eigh")
    shares = np.bincount(drawn.argmax(axis=1), minlength=4) / 200_000
    assert group.chance_best.sum() == pytest.approx(1.0)
    assert group.chance_best == pytest.approx(shares, abs=0.01)


def test_what_would_teach_most_is_what_one_more_verdict_narrows_most() -> None:
    # Against the covariance that a verdict of an undecided pair leaves, computed by inverting anew.
    groups = [*ranked([*told("a", "b", 4, 4), *told("b", "c", 1, 1), *told("d", "e", 2, 2)])]
    names = [name for group in groups for name in group.names]
    covariance = np.zeros((5, 5))
    at = 0
    for group in groups:
        covariance[at : at + len(group.names), at : at + len(group.names)] = group.level_covariance
        at += len(group.names)
    middle = np.eye(5) - 0.2
    strength = np.concatenate([group.strength for group in groups])
    unknown = np.trace(middle @ covariance @ middle)
    expected = {}
    for i, j in itertools.combinations(range(5), 2):
        pick = np.zeros(5)
        pick[i], pick[j] = 1.0, -1.0
        chance = expit(strength[i] - strength[j])
        left = np.linalg.inv(np.linalg.inv(covariance) + chance * (1 - chance) * np.outer(pick, pick))
        expected[tuple(sorted((names[i], names[j])))] = 1 - np.trace(middle @ left @ middle) / unknown
    found = {(row.first, row.second): row for row in most_telling(groups, count=10)}
    assert {pair: row.share for pair, row in found.items()} == pytest.approx(expected)
    best = max(expected, key=lambda pair: expected[pair])
    assert next(iter(found)) == best
    assert found["c", "e"].joins
    assert not found["a", "c"].joins


def test_only_what_can_stand_at_the_same_place_is_worth_comparing() -> None:
    groups = ranked([*told("a", "b", 1), *told("c", "d", 1)])
    places = {"a": frozenset({"front"}), "b": frozenset({"front", "rear"}), "c": frozenset({"rear"})}
    found = {(row.first, row.second) for row in most_telling(groups, places, count=10)}
    assert found == {("a", "b"), ("b", "c")}


def test_too_many_names_are_refused() -> None:
    many = [Comparison(f"tire {n}", f"tire {n + 1}", "first", (str(n),)) for n in range(MOST_RANKED)]
    assert len(only(many[:-1]).names) == MOST_RANKED
    with pytest.raises(UsageError, match=f"at most {MOST_RANKED} tires"):
        ranked(many)


def test_a_preference_is_symmetrical_and_sure_without_spread() -> None:
    one, other = preference(0.8, 0.5), preference(-0.8, 0.5)
    assert one.chance + other.chance == pytest.approx(1.0)
    assert one.low + other.high == pytest.approx(1.0)
    assert one.chance_ahead + other.chance_ahead == pytest.approx(1.0)
    assert preference(0.3, 0.0).chance_ahead == 1.0
