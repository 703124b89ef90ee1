"""The main job: the best packages of one vehicle, proven against the full model.

The optimisation model knows lower bounds only.  Its answer is appraised by the full model; whatever the bounds leave open
below that answer is appraised as well, all of it.  Where too much stays open, the range of masses is split and the
bounds get tighter.
"""

from __future__ import annotations

import signal
import threading
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.vehicle import POSITIONS
from configopt.catalog.records import Position
from configopt.choice.audit import Candidates, Choices, open_choices, position_least
from configopt.choice.candidates import Instance, aim_constant, aim_term, make_instance
from configopt.choice.context import Box, Nodes
from configopt.choice.model.build import ChoiceModel, build
from configopt.choice.solve import Solution, Stop, solve
from configopt.errors import AuditError, UsageError
from configopt.scenario.case import Case

Array = NDArray[np.float64]
#: Choices within this share of the best aim are ties.
TIE = 1e-9
#: Whole choices that may be appraised at once to end a proof or to count.
APPRAISE_AT_MOST = 1_000_000
#: Footings per position with which the first solve starts.
FIRST_FOOTINGS = 300
#: First step above a bound within which choices are appraised when the model's answer fails the full model.
FIRST_LAYER = 2e-3
#: Choices appraised at most per step while looking for a first answer.
FIRST_BATCH = 60_000
#: The model may exceed the full model by this share (solver tolerances) before it counts as a contradiction.
AGREE = 1e-5


@dataclass
class Settings:
    """How the search runs; the defaults are what the commands use."""

    time_limit: float | None = None
    gap: float = 1e-6
    threads: int = 1
    appraise_at_most: int = APPRAISE_AT_MOST
    first_footings: int = FIRST_FOOTINGS
    progress: Callable[[str], None] | None = None
    stop: Stop = field(default_factory=Stop)


@dataclass
class Search:
    """State of one search."""

    candidates: Candidates
    settings: Settings
    began: float = field(default_factory=time.monotonic)
    best: float = np.inf
    found: Choices | None = None
    bound: float = -np.inf
    rounds: int = 0
    solves: int = 0
    appraised: int = 0
    largest_difference: float = 0.0
    removed: Counter[str] = field(default_factory=Counter)

    @property
    def ceiling(self) -> float:
        """Largest bound that could still be as good as the best."""
        return self.best + TIE * max(abs(self.best), 1.0) if self.best < np.inf else np.inf

    def time_left(self) -> float | None:
        """Seconds left, if a limit is set."""
        limit = self.settings.time_limit
        return None if limit is None else limit - (time.monotonic() - self.began)

    def over(self) -> bool:
        """Whether to stop early."""
        left = self.time_left()
        return self.settings.stop.asked or (left is not None and left <= 0.0)

    def say(self, text: str) -> None:
        """Progress, if anybody listens."""
        if self.settings.progress is not None:
            self.settings.progress(text)

    def offer(self, choices: Choices) -> bool:
        """Appraise choices; keep the best and everything that ties with it.  Whether any meets all limits."""
        if not len(choices):
            return False
        self.appraised += len(choices)
        aims, met = self.candidates.appraise(choices)
        if not met.any():
            return False
        good = choices.take(np.flatnonzero(met))
        values = aims[met]
        lowest = min(float(values.min()), self.best)
        if self.found is not None:
            old, _ = self.candidates.appraise(self.found)
            good, values = Choices.join([self.found, good]), np.concatenate([old, values])
        near = np.flatnonzero(values <= lowest + TIE * max(abs(lowest), 1e-9))
        kept = good.take(near)
        rows = np.concatenate([kept.front, kept.rear, kept.drive[:, None]], axis=1)
        _, first = np.unique(rows, axis=0, return_index=True)
        self.found, self.best = kept.take(np.sort(first)), lowest
        return True


@dataclass
class OpenBox:
    """A box of masses that is not closed yet."""

    box: Box
    bound: float


class Stopped(Exception):
    """The search was asked to end."""


def full_box(candidates: Candidates) -> Box:
    """The range of package masses of both axles."""
    ranges = {}
    for position, nodes in candidates.nodes().items():
        low, high = nodes.rest_range
        usable = low <= high
        ranges[position] = (
            float((nodes.footing_mass + low)[usable].min()) - 1e-6,
            float((nodes.footing_mass + high)[usable].max()) + 1e-6,
        )
    return Box(ranges["front"], ranges["rear"])


def footing_marginals(instance: Instance) -> dict[Position, Array]:
    """Lower bound of the aim of any choice that uses a footing."""
    fixed = aim_constant(instance)
    least = {p: position_least(instance, p) for p in POSITIONS}
    marginals = {}
    for position in POSITIONS:
        other: Position = "rear" if position == "front" else "front"
        term, wheel, brake = aim_term(instance, position)
        own = term.least(instance.contexts[position].grid) + float(wheel.min()) + float(brake.min())
        marginals[position] = own + least[other] + fixed
    return marginals


def restricted(instance: Instance, marginals: dict[Position, Array], ceiling: float) -> dict[Position, Nodes] | None:
    """Nodes with only the footings whose marginal is at most the ceiling."""
    nodes = {}
    for position in POSITIONS:
        here = instance.nodes(position)
        keep = marginals[position] <= ceiling
        if not keep.any():
            return None
        nodes[position] = here.keep(keep, np.ones(here.wheel.size, dtype=bool), np.ones(here.brake.size, dtype=bool))
        if not nodes[position].footing.size:
            return None
    return nodes


def read_choice(made: ChoiceModel, solution: Solution) -> Choices:
    """The whole choice of a solution, as candidate numbers."""
    rows = {}
    for position in POSITIONS:
        nodes = made.instance.nodes(position)
        numbers = []
        for variables, of in (
            (made.footing[position], nodes.footing),
            (made.wheel[position], nodes.wheel),
            (made.brake[position], nodes.brake),
        ):
            values = [solution.of(variable) for variable in variables]
            numbers.append(int(of[int(np.argmax(values))]))
        rows[position] = np.array([numbers])
    drive = int(made.instance.drives[int(np.argmax([solution.of(v) for v in made.drive]))])
    return Choices(rows["front"], rows["rear"], np.array([drive]))


def search_box(search: Search, entry: OpenBox) -> list[OpenBox]:
    """Work on one box until it is closed or split; returns what stays open."""
    candidates, settings = search.candidates, search.settings
    counting = search.removed if search.rounds == 0 else None
    model, rates = candidates.model, candidates.rates
    whole = make_instance(
        model, candidates.nodes(), entry.box, candidates.drives, rates, counting, cells=1, with_rows=False
    )
    search.rounds += 1
    if whole is None:
        return []
    marginals = footing_marginals(whole)
    everything = max(float(values.max()) for values in marginals.values())
    ceiling = min(max(_level(values, settings.first_footings) for values in marginals.values()), everything)
    while True:
        # The model over the footings whose bound reaches the ceiling; those left out cannot beat an answer below it.
        instance = narrowed(search, whole, marginals, min(ceiling, search.ceiling))
        complete = min(ceiling, search.ceiling) >= min(everything, search.ceiling)
        solution = None if instance is None else solve_model(search, entry, instance)
        if solution is not None and (solution.value <= ceiling or complete):
            break
        if complete:
            return []
        # An answer above the ceiling still says how far the ceiling must go; without one, let more footings in.
        ceiling = wider(ceiling, marginals, everything) if solution is None else min(solution.value, everything)
    assert instance is not None
    entry.bound = max(entry.bound, solution.value)
    if search.best == np.inf:
        first_answer(search, entry, whole, marginals, solution.value)
    if search.best == np.inf:
        return halves(entry, instance)
    if entry.bound > search.ceiling:
        return []
    instance = narrowed(search, whole, marginals, search.ceiling)
    if instance is None:
        return []
    left = open_choices(instance, search.best, most=settings.appraise_at_most)
    if left is None:
        return halves(entry, instance)
    search.say(f"appraising {len(left):,} choices that could still be as good")
    search.offer(left)
    return []


def _level(values: Array, count: int) -> float:
    """The ``count``-th smallest value."""
    number = min(count, len(values)) - 1
    return float(np.partition(values, number)[number])


def narrowed(search: Search, whole: Instance, marginals: dict[Position, Array], ceiling: float) -> Instance | None:
    """Fine bounds over the footings whose marginal is at most the ceiling, or ``None`` if nothing can meet the limits."""
    nodes = restricted(whole, marginals, ceiling)
    if nodes is None:
        return None
    return make_instance(search.candidates.model, nodes, whole.box, whole.drives, search.candidates.rates)


def solve_model(search: Search, entry: OpenBox, instance: Instance) -> Solution | None:
    """Solve the model of an instance and appraise its answer; ``None`` where no choice meets the relaxed limits."""
    if search.over():
        raise Stopped
    made = build(instance)
    search.solves += 1
    sizes = " and ".join(f"{instance.nodes(p).footing.size:,} {p}" for p in POSITIONS)
    search.say(f"round {search.rounds}: solving the model with {sizes} footings")
    solution = solve(made.model, time_limit=search.time_left(), threads=search.settings.threads, stop=search.settings.stop)
    if solution.status == "infeasible":
        return None
    if solution.values is not None:
        choice = read_choice(made, solution)
        aim, met = search.candidates.appraise(choice)
        value = float(aim[0])
        if bool(met[0]) and solution.value > value + AGREE * max(abs(value), 1.0):
            raise AuditError(f"the model bounds a choice at {solution.value:.9g}, the full model gives {value:.9g}")
        search.largest_difference = max(
            search.largest_difference, abs(value - solution.value) / max(abs(value), 1e-9)
        )
        search.offer(choice)
    if solution.status != "optimal":
        entry.bound = max(entry.bound, solution.bound)
        raise Stopped
    return solution


def first_answer(
    search: Search, entry: OpenBox, whole: Instance, marginals: dict[Position, Array], value: float
) -> None:
    """Find a choice that meets the limits by appraising upward from the model's bound; whole layers raise the bound."""
    layer = FIRST_LAYER
    budget = search.settings.appraise_at_most
    top = value
    while search.best == np.inf and budget > 0 and layer > 1e-7:
        if search.over():
            raise Stopped
        trial = top + layer * max(abs(top), 1e-3)
        instance = narrowed(search, whole, marginals, trial)
        near = Choices.join([]) if instance is None else open_choices(instance, trial, most=min(budget, FIRST_BATCH))
        if near is None:
            layer /= 4.0
            continue
        search.say(f"appraising {len(near):,} choices just above the bound")
        search.offer(near)
        budget -= len(near)
        if search.best == np.inf:
            top = trial
            entry.bound = max(entry.bound, top)
            if top > max(float(values.max()) for values in marginals.values()) * 4.0 + 1.0:
                return
            layer = min(2.0 * layer, 0.05)


def wider(ceiling: float, marginals: dict[Position, Array], everything: float) -> float:
    """A ceiling that lets about four times as many footings in."""
    inside = max(int((values <= ceiling).sum()) for values in marginals.values())
    levels = []
    for values in marginals.values():
        number = min(4 * max(inside, 1), len(values)) - 1
        levels.append(float(np.partition(values, number)[number]))
    return min(max(*levels, np.nextafter(ceiling, np.inf)), everything)


def halves(entry: OpenBox, instance: Instance) -> list[OpenBox]:
    """The box split along the axle whose masses still spread most."""
    spread = {}
    for position in POSITIONS:
        low = instance.nodes(position).footing_mass + instance.rest_low[position]
        high = instance.nodes(position).footing_mass + instance.rest_high[position]
        spread[position] = float(high.max() - low.min())
    position: Position = "front" if spread["front"] >= spread["rear"] else "rear"
    if spread[position] < 1e-6:
        raise AuditError("the bounds do not close on a single mass: the model contradicts the full model")
    low = float((instance.nodes(position).footing_mass + instance.rest_low[position]).min())
    high = float((instance.nodes(position).footing_mass + instance.rest_high[position]).max())
    tight = replace(entry.box, **{position: (low, high)})
    return [OpenBox(half, entry.bound) for half in tight.split(position)]


def run_search(candidates: Candidates, settings: Settings) -> tuple[Search, bool]:
    """Search until proven or stopped; whether it is proven."""
    search = Search(candidates, settings)
    if not all(len(candidates.of[p].footing_mount) and candidates.of[p].package_count() for p in POSITIONS):
        return search, True
    queue = [OpenBox(full_box(candidates), -np.inf)]
    while queue:
        queue.sort(key=lambda entry: entry.bound)
        entry = queue.pop(0)
        if entry.bound > search.best + TIE * max(abs(search.best), 1.0):
            continue
        try:
            queue += search_box(search, entry)
        except Stopped:
            search.bound = min(min([entry.bound, *(e.bound for e in queue)]), search.best)
            return search, False
    search.bound = search.best
    return search, True


def require_one_vehicle(case: Case) -> None:
    """Choosing is for one vehicle so far."""
    if len(case.scenario.vehicles) != 1:
        raise UsageError(f"{case.path}: choose takes a scenario with one vehicle, this one has {len(case.scenario.vehicles)}")


class Interruptible:
    """Ctrl-C asks the search to end instead of ending the program; a second one ends it."""

    def __init__(self, stop: Stop) -> None:
        self.stop = stop
        self._before: object = None

    def __enter__(self) -> None:
        if threading.current_thread() is threading.main_thread():
            self._before = signal.signal(signal.SIGINT, self._ask)

    def _ask(self, number: int, frame: object) -> None:
        if self.stop.asked:
            raise KeyboardInterrupt
        self.stop.asked = True

    def __exit__(self, *rest: object) -> None:
        if self._before is not None:
            signal.signal(signal.SIGINT, self._before)  # type: ignore[arg-type]
