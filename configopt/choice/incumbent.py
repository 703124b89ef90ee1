"""A good choice to begin with: drawn at random, then improved one layer at a time.

Nothing here proves anything; the better the choice is, the less the search has to look at.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.vehicle import POSITIONS
from configopt.catalog.records import Position
from configopt.choice.audit import Candidates, Choices, quantities
from configopt.choice.candidates import Instance
from configopt.choice.context import Nodes

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
#: Choices drawn, and how many of them are improved.
DRAWN, IMPROVED = 3_000, 2
#: Candidates of a layer tried in place of the one in use; more are thinned out by their bound.
TRIED = 4_000
#: Rounds through all layers.
ROUNDS = 6


@dataclass(frozen=True)
class Score:
    """How good choices are: limits that are missed, then the aim."""

    missed: Integers
    aim: Array

    def best(self) -> int:
        """The best of them."""
        return int(np.lexsort((self.aim, self.missed))[0])

    def at(self, row: int) -> tuple[int, float]:
        """One of them."""
        return int(self.missed[row]), float(self.aim[row])


def scored(candidates: Candidates, choices: Choices) -> Score:
    """Appraise choices."""
    outcome = candidates.outcome(choices)
    missed = sum((~margin.met).astype(np.int64) for margin in outcome.margins)
    return Score(missed + np.zeros(len(choices), dtype=np.int64), candidates.weighed(choices, quantities(outcome)))


def drawn(candidates: Candidates, whole: Instance, rng: np.random.Generator) -> Choices:
    """Whole choices at random."""
    rows = {position: _packages(whole.nodes(position), DRAWN, rng) for position in POSITIONS}
    count = min(len(rows["front"]), len(rows["rear"]))
    return Choices(rows["front"][:count], rows["rear"][:count], rng.choice(whole.drives, size=count))


def _packages(nodes: Nodes, count: int, rng: np.random.Generator) -> Integers:
    """Packages at random: a wheel, then what goes with it."""
    wheels = rng.integers(nodes.wheel.size, size=count)
    found = np.zeros((count, 3), dtype=np.int64)
    found[:, 1] = nodes.wheel[wheels]
    for column, classes, fits, of in (
        (0, nodes.wheel_class[wheels], nodes.candidates.mounts_fit[nodes.footing_class], nodes.footing),
        (2, nodes.wheel_seat[wheels], nodes.candidates.seats_fit[:, nodes.brake_class].T, nodes.brake),
    ):
        for one in np.unique(classes):
            rows = np.flatnonzero(classes == one)
            found[rows, column] = rng.choice(of[np.flatnonzero(fits[:, one])], size=rows.size)
    return found


def replacements(
    whole: Instance, choice: Choices, layer: int, marginals: dict[Position, Array], most: float
) -> Choices:
    """The choice with every other candidate of one layer: 0 to 2 front, 3 to 5 rear, 6 final drive."""
    if layer == 6:
        size = whole.drives.size
        return Choices(np.repeat(choice.front, size, axis=0), np.repeat(choice.rear, size, axis=0), whole.drives)
    position: Position = "front" if layer < 3 else "rear"
    nodes = whole.nodes(position)
    own = (choice.front if position == "front" else choice.rear)[0]
    of = nodes.candidates
    if layer % 3 == 0:
        fits = of.mounts_fit[nodes.footing_class, of.wheel_class[own[1]]] & (marginals[position] <= most)
        others = np.flatnonzero(fits)
        if others.size > TRIED:
            others = others[np.argsort(marginals[position][others], kind="stable")[:TRIED]]
        others = nodes.footing[others]
    elif layer % 3 == 1:
        fits = of.mounts_fit[of.footing_class[own[0]], nodes.wheel_class]
        others = nodes.wheel[fits & of.seats_fit[nodes.wheel_seat, of.brake_class[own[2]]]]
    else:
        others = nodes.brake[of.seats_fit[of.wheel_seat[own[1]], nodes.brake_class]]
    rows = np.repeat(own[None, :], others.size, axis=0)
    rows[:, layer % 3] = others
    other = np.repeat(choice.rear if position == "front" else choice.front, others.size, axis=0)
    drive = np.repeat(choice.drive, others.size)
    return Choices(rows, other, drive) if position == "front" else Choices(other, rows, drive)


def improved(
    candidates: Candidates,
    whole: Instance,
    choice: Choices,
    marginals: dict[Position, Array],
    check: Callable[[], None],
) -> tuple[Choices, tuple[int, float]]:
    """A choice changed one layer at a time as long as that helps, and its score."""
    score = scored(candidates, choice).at(0)
    for _ in range(ROUNDS):
        before = score
        for layer in range(7):
            check()
            most = np.inf if score[0] else score[1]
            others = replacements(whole, choice, layer, marginals, most)
            if not len(others):
                continue
            found = scored(candidates, others)
            row = found.best()
            if found.at(row) < score:
                choice, score = others.take(np.array([row])), found.at(row)
        if score == before:
            break
    return choice, score


def good_choices(
    candidates: Candidates, whole: Instance, marginals: dict[Position, Array], check: Callable[[], None]
) -> Choices:
    """Good choices to begin with, as far as some that meet all limits are found."""
    choices = drawn(candidates, whole, np.random.default_rng(1))
    if not len(choices):
        return choices
    score = scored(candidates, choices)
    kept = []
    for row in np.lexsort((score.aim, score.missed))[:IMPROVED]:
        one, reached = improved(candidates, whole, choices.take(np.array([row])), marginals, check)
        if not reached[0]:
            kept.append(one)
    return Choices.join(kept)
