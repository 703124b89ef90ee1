"""A good choice to begin with: drawn at random, then improved one layer at a time.

Nothing here proves anything; the better the choice is, the less the search has to look at.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.vehicle import POSITIONS
from configopt.catalog.records import Position
from configopt.choice.audit import Candidates, Choices, quantities
from configopt.choice.candidates import Instance, aim_term
from configopt.choice.checkpoint import checkpoint
from configopt.choice.context import Nodes

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
#: Choices or packages drawn at a time.
DRAWN = 3_000
#: How far the draws lean towards low bounds: each of those to begin with, and those of packages.
LEANINGS, LEANING = (1.0, 4.0), 4.0
#: Candidates of a layer tried in place of the one in use: those of the lowest bounds.
TRIED = 2_000
#: What a missed limit counts at least and at most, relative to the limit, and where its value is not computed.
LEAST, MOST, UNKNOWN = 1e-3, 1.0, 0.05
#: Rounds through all layers.
ROUNDS = 6


@dataclass(frozen=True)
class Score:
    """How good choices are: by how much they miss limits in all, relative to these, then the aim."""

    missed: Array
    aim: Array

    def best(self) -> int:
        """The best of them."""
        return int(np.lexsort((self.aim, self.missed))[0])

    def at(self, row: int) -> tuple[float, float]:
        """One of them."""
        return float(self.missed[row]), float(self.aim[row])


def scored(candidates: Candidates, choices: Choices) -> Score:
    """Appraise choices."""
    outcome = candidates.outcome(choices)
    missed = np.zeros(len(choices))
    for margin in outcome.margins:
        short = np.full(len(choices), UNKNOWN)
        if margin.value is not None:
            required = margin.bound.required
            short = np.abs(margin.value - required) / max(abs(required), 1e-9)
        missed += np.where(margin.met, 0.0, np.clip(short, LEAST, MOST))
    return Score(missed, candidates.weighed(choices, quantities(outcome)))


@dataclass
class Ranked:
    """The nodes of a position by rising bound of the aim: numbers into the position's nodes."""

    nodes: Nodes
    footing: Integers
    wheel: Integers
    brake: Integers

    @staticmethod
    def of(whole: Instance, position: Position, marginal: Array) -> Ranked:
        """Rank the nodes of an instance; wheels and brake sets by what they add, their mass at the least slope."""
        nodes = whole.nodes(position)
        term, wheel, brake = aim_term(whole, position)
        per_kilogram = float(term.slope.min())
        return Ranked(
            nodes,
            np.argsort(marginal, kind="stable"),
            np.argsort(wheel + per_kilogram * nodes.wheel_mass, kind="stable"),
            np.argsort(brake + per_kilogram * nodes.brake_mass, kind="stable"),
        )

    def packages(self, count: int, rng: np.random.Generator, leaning: float) -> Integers:
        """Packages at random as candidate numbers (count, 3): a wheel, then what goes with it.

        ``leaning`` 1 draws evenly; the larger it is, the more the draw leans towards low bounds.
        """
        nodes, of = self.nodes, self.nodes.candidates

        def some(size: int, of_many: int) -> Integers:
            return (of_many * rng.random(size) ** leaning).astype(np.int64)

        wheels = self.wheel[some(count, self.wheel.size)]
        found = np.zeros((count, 3), dtype=np.int64)
        found[:, 1] = nodes.wheel[wheels]
        for column, classes, fits, ranked, numbers in (
            (
                0,
                nodes.wheel_class[wheels],
                of.mounts_fit[nodes.footing_class[self.footing]],
                self.footing,
                nodes.footing,
            ),
            (2, nodes.wheel_seat[wheels], of.seats_fit[:, nodes.brake_class[self.brake]].T, self.brake, nodes.brake),
        ):
            for one in np.unique(classes):
                rows = np.flatnonzero(classes == one)
                able = ranked[np.flatnonzero(fits[:, one])]
                found[rows, column] = numbers[able[some(rows.size, able.size)]]
        return found


def ranks(whole: Instance, marginals: dict[Position, Array]) -> dict[Position, Ranked]:
    """The ranked nodes of both positions."""
    return {position: Ranked.of(whole, position, marginals[position]) for position in POSITIONS}


def drawn(whole: Instance, ranked: dict[Position, Ranked], rng: np.random.Generator, leaning: float = 1.0) -> Choices:
    """Whole choices at random, as in :meth:`Ranked.packages`."""
    front, rear = (ranked[position].packages(DRAWN, rng, leaning) for position in POSITIONS)
    return Choices(front, rear, rng.choice(whole.drives, size=DRAWN))


def replacements(whole: Instance, ranked: dict[Position, Ranked], choice: Choices, layer: int) -> Choices:
    """The choice with other candidates of one layer: 0 to 2 front, 3 to 5 rear, 6 final drive."""
    if layer == 6:
        size = whole.drives.size
        return Choices(np.repeat(choice.front, size, axis=0), np.repeat(choice.rear, size, axis=0), whole.drives)
    position: Position = "front" if layer < 3 else "rear"
    nodes, rank = whole.nodes(position), ranked[position]
    own = (choice.front if position == "front" else choice.rear)[0]
    of = nodes.candidates
    if layer % 3 == 0:
        fits = of.mounts_fit[nodes.footing_class, of.wheel_class[own[1]]]
        others = nodes.footing[rank.footing[fits[rank.footing]]]
    elif layer % 3 == 1:
        fits = of.mounts_fit[of.footing_class[own[0]], nodes.wheel_class]
        fits &= of.seats_fit[nodes.wheel_seat, of.brake_class[own[2]]]
        others = nodes.wheel[rank.wheel[fits[rank.wheel]]]
    else:
        fits = of.seats_fit[of.wheel_seat[own[1]], nodes.brake_class]
        others = nodes.brake[rank.brake[fits[rank.brake]]]
    others = others[:TRIED]
    rows = np.repeat(own[None, :], others.size, axis=0)
    rows[:, layer % 3] = others
    return with_packages(choice, position, rows)


def with_packages(choice: Choices, position: Position, rows: Integers) -> Choices:
    """The choice with each of some packages at a position."""
    other = np.repeat(choice.rear if position == "front" else choice.front, len(rows), axis=0)
    drive = np.repeat(choice.drive, len(rows))
    return Choices(rows, other, drive) if position == "front" else Choices(other, rows, drive)


def improved(
    candidates: Candidates,
    whole: Instance,
    ranked: dict[Position, Ranked],
    choice: Choices,
    rng: np.random.Generator,
) -> tuple[Choices, tuple[float, float]]:
    """A choice changed one layer or one package at a time as long as that helps, and its score."""
    score = scored(candidates, choice).at(0)
    for _ in range(ROUNDS):
        before = score
        for layer in range(9):
            checkpoint()
            if layer < 7:
                others = replacements(whole, ranked, choice, layer)
            else:
                position = POSITIONS[layer - 7]
                others = with_packages(choice, position, ranked[position].packages(DRAWN, rng, LEANING))
            if not len(others):
                continue
            found = scored(candidates, others)
            row = found.best()
            if found.at(row) < score:
                choice, score = others.take(np.array([row])), found.at(row)
        if score == before:
            break
    return choice, score


def good_choices(candidates: Candidates, whole: Instance, marginals: dict[Position, Array]) -> Choices:
    """Good choices to begin with, as far as some that meet all limits are found."""
    rng = np.random.default_rng(1)
    ranked = ranks(whole, marginals)
    kept = []
    for leaning in LEANINGS:
        choices = drawn(whole, ranked, rng, leaning)
        score = scored(candidates, choices)
        first = choices.take(np.array([score.best()]))
        one, reached = improved(candidates, whole, ranked, first, rng)
        if not reached[0]:
            kept.append(one)
    return Choices.join(kept)
