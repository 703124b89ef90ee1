"""The main job: the best packages of one vehicle, proven against the full model.

The optimisation model knows lower bounds only.  Its answer is appraised by the full model; whatever the bounds leave
open below that answer is appraised as well, all of it.  Where too much stays open, the range of masses is split and
the bounds get tighter.
"""

from __future__ import annotations

import signal
import sys
import threading
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.vehicle import POSITIONS
from configopt.catalog.records import Position
from configopt.choice.audit import (
    Candidates,
    Choices,
    coupling_prices,
    footing_least,
    packages_below,
    plain_bounds,
    position_least,
    priced_bounds,
)
from configopt.choice.boxes import OpenBox, full_box, halves, spreads, trimmed, wide
from configopt.choice.candidates import Instance, aim_constant, make_instance, open_nodes, tightened
from configopt.choice.checkpoint import checking
from configopt.choice.closing import TooLong, open_choices
from configopt.choice.context import CELLS, Nodes
from configopt.choice.incumbent import good_choices
from configopt.choice.limits import allowed_cells
from configopt.choice.mix import with_mix
from configopt.choice.model.build import ChoiceModel, build
from configopt.choice.packages_below import PackageList
from configopt.choice.pairs import best_pairs
from configopt.choice.solve import Solution, Stop, solve
from configopt.choice.weights import AIMS
from configopt.errors import AuditError, UsageError
from configopt.scenario.case import Case

Array = NDArray[np.float64]
#: Gap up to which an answer counts as the best; a search for it leaves no box unfinished, for the sake of the ties.
EXACT = 1e-6
#: Choices within this share of the best aim are ties.
TIE = 1e-9
#: Whole choices that may be appraised at once to end a proof or to count.
APPRAISE_AT_MOST = 1_000_000
#: Whole choices that are all appraised for a trade-off rather than searched.
ENUMERATE_AT_MOST = 100_000
#: Footings per position with which the first solve starts.
FIRST_FOOTINGS = 300
#: Step by which a ceiling rises while no choice reaches it.
STEP = 1e-3
#: Step in which the best package of a position is looked for.
FLOOR_STEP = 3e-3
FLOOR_GROWTH = 1.5
#: Growth of the ceiling's step from one ceiling to the next.
STEP_GROWTH = 2.0
#: Longest step where the prices hint at more.
LONGEST_STEP = 8e-3
#: Whole choices from which on a good one is looked for to begin with.
FEW_CHOICES = 1_000_000
#: Packages of a position that are listed at most when nodes are narrowed.
PACKAGES_AT_MOST = 1_200_000
#: Nodes are narrowed again while at most this share is left.
WORTHWHILE = 0.97
#: Cells of all footings together in which few footings are bounded, and most cells of one.
FINE, MOST_CELLS = 10_000, 96
#: Pairs of packages that are appraised rather than bounded more finely.
FEW_PAIRS = 4_000
#: Choices that are appraised first where many are open; the batches that follow double.
FIRST_BATCH = 4_000
#: Best packages of each position that are paired and appraised while nodes are narrowed.
PAIRED = 80
#: Share of the aim below the best from which on bounds are far from it: wide radii are split, ceilings rise in steps.
FAR = 0.01
#: Splits of a box that held far too many packages before its parts are narrowed.
PATIENCE = 2
#: Choices by rising bound over whose nodes the model is solved in the end.
CHECKED = 300
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
    enumerate_at_most: int = ENUMERATE_AT_MOST
    """Whole choices that are all appraised instead of searched for a trade-off."""
    solve: bool = True
    """Whether the model is solved over what was left beside the best, after all of it was appraised."""
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
    given_up: float = np.inf
    """Least bound of a box that was left because it was within the permitted gap."""
    rounds: int = 0
    appraised: int = 0
    removed: Counter[str] = field(default_factory=Counter)
    direct: bool = False
    """Whether everything up to the best is bounded at once, without looking for anything better first."""
    watch: Callable[[Choices, Array], None] | None = None
    """Is told of every choice that meets all limits, with its quantities."""
    seen: Callable[[Choices, Array], None] | None = None
    """Is told of every choice that a bound leaves open, with its bound."""
    last: tuple[Instance, Choices, Array] | None = None
    """What was left of the box that holds the best, by rising bound."""
    admits: Callable[[Choices, Array], NDArray[np.bool_]] | None = None
    """Which choices that meet all limits may be the answer, from their quantities; without it, all."""

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

    def check(self) -> None:
        """End the search where it was asked to."""
        if self.over():
            raise Stopped

    def say(self, text: str) -> None:
        """Progress, if anybody listens."""
        if self.settings.progress is not None:
            self.settings.progress(text)

    def offer(self, choices: Choices) -> bool:
        """Appraise choices; keep the best and everything that ties with it.  Whether any meets all limits."""
        if not len(choices):
            return False
        self.appraised += len(choices)
        rows, found = self.candidates.meeting(choices)
        if not rows.size:
            return False
        good = choices.take(rows)
        if self.watch is not None:
            self.watch(good, found)
        if self.admits is not None:
            admitted = np.flatnonzero(self.admits(good, found))
            if not admitted.size:
                return False
            good, found = good.take(admitted), found[admitted]
        values = self.candidates.weighed(good, found)
        lowest = float(values.min())
        if lowest > self.ceiling:
            return False
        lowest = min(lowest, self.best)
        if self.found is not None:
            old, _ = self.candidates.appraise(self.found)
            good, values = Choices.join([self.found, good]), np.concatenate([old, values])
        near = np.flatnonzero(values <= lowest + TIE * max(abs(lowest), 1e-9))
        kept = good.take(near)
        self.found, self.best = kept.take(kept.first_of_each()), lowest
        return True

    def same_as_best(self, choices: Choices) -> NDArray[np.bool_]:
        """Which of some choices is the best."""
        if self.found is None:
            return np.zeros(len(choices), dtype=bool)
        same = choices.drive == self.found.drive[0]
        for mine, best in ((choices.front, self.found.front[0]), (choices.rear, self.found.rear[0])):
            same &= (mine == best).all(axis=1)
        return np.asarray(same)

    def offer_by_bound(self, choices: Choices, bounds: Array) -> None:
        """Offer choices by rising bound, a growing batch at a time, until the bound of the rest exceeds the best."""
        start, size = 0, FIRST_BATCH
        while start < len(choices) and bounds[start] <= self.ceiling:
            self.check()
            end = min(start + size, int(np.searchsorted(bounds, self.ceiling, side="right")))
            self.offer(choices.take(np.arange(start, end)))
            start, size = end, 2 * size


class Stopped(Exception):
    """The search was asked to end."""


class TooMany(Exception):
    """More choices than wanted."""


@dataclass
class Collecting(Search):
    """A search that keeps every choice whose aim is at most ``best``, which stays as it is."""

    most: int = APPRAISE_AT_MOST
    direct: bool = True
    kept: list[Choices] = field(default_factory=list)
    quantities: list[Array] = field(default_factory=list)
    size: int = 0

    def offer(self, choices: Choices) -> bool:
        """Appraise choices and keep the good ones."""
        if not len(choices):
            return False
        self.appraised += len(choices)
        rows, found = self.candidates.meeting(choices)
        met = choices.take(rows)
        good = np.flatnonzero(self.candidates.weighed(met, found) <= self.ceiling)
        self.kept.append(met.take(good))
        self.quantities.append(found[good])
        self.size += good.size
        if self.size > self.most:
            # Boxes share their edges, so some may have been kept twice.
            joined, found = Choices.join(self.kept), np.concatenate(self.quantities)
            first = joined.first_of_each()
            self.kept, self.quantities, self.size = [joined.take(first)], [found[first]], first.size
            if self.size > self.most:
                raise TooMany
        return good.size > 0


def every_below(candidates: Candidates, settings: Settings, cutoff: float, most: int) -> tuple[Choices, Array] | None:
    """Every choice that meets all limits and whose aim is at most ``cutoff``, with its quantities.

    ``None`` where there are more than ``most``.

    Raises
    ------
    Stopped
        If the search was asked to end.
    """
    search = Collecting(candidates, replace(settings, solve=False), best=cutoff, most=most)
    queue = [OpenBox(full_box(candidates), -np.inf, of_all=True)]
    try:
        with checking(search.check):
            while queue:
                queue += search_box(search, queue.pop())
    except TooMany:
        return None
    choices = Choices.join(search.kept)
    found = np.concatenate([*search.quantities, np.zeros((0, len(AIMS)))])
    first = choices.first_of_each()
    return choices.take(first), found[first]


def footing_marginals(
    instance: Instance, able: dict[Position, NDArray[np.bool_]] | None = None
) -> dict[Position, Array]:
    """Lower bound of the aim of any choice that uses a footing, of able ones where stated; infinite for the others."""
    fixed = aim_constant(instance)
    own = {p: footing_least(instance, p) for p in POSITIONS}
    if able is not None:
        own = {p: np.where(able[p], own[p], np.inf) for p in POSITIONS}
    return {
        "front": own["front"] + float(own["rear"].min()) + fixed,
        "rear": own["rear"] + float(own["front"].min()) + fixed,
    }


def able_footings(around: Instance, candidates: Candidates) -> dict[Position, NDArray[np.bool_]]:
    """Footings that are open and can meet the limits of their own, which the bounds around do not know."""
    able = {}
    for position in POSITIONS:
        ctx = replace(around.contexts[position], model=candidates.model)
        known = ctx.cache.setdefault("own limits", {})
        able[position] = np.asarray(allowed_cells(ctx, around.drives, Counter(), known=known).any(axis=1))
        if position in candidates.open_to:
            able[position] &= candidates.open_to[position][0][ctx.nodes.footing]
    return able


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


def sizes_of(instance: Instance) -> str:
    """Sizes for the progress line."""
    return " and ".join(
        f"{instance.nodes(p).footing.size:,} {p} footings, {instance.nodes(p).wheel.size:,} wheels" for p in POSITIONS
    )


def whole_box(candidates: Candidates, entry: OpenBox, removed: Counter[str], ceiling: float) -> Instance | None:
    """Coarse bounds of everything in a box; those of the box of all are made once for all variants of the limits.

    ``removed`` becomes what the limits take away over the box of all.  In other boxes nodes above the ceiling are left
    out.
    """
    model, weights, around = candidates.model, candidates.weights, entry.inside
    if around is not None:
        # Since the box was split a better choice may have been found.
        able = able_footings(around, candidates) if entry.of_all else None
        nodes = restricted(around, footing_marginals(around, able), ceiling)
        if nodes is None:
            return None
        if entry.of_all:
            nodes = open_nodes(nodes, candidates.open_to)
        drives = around.drives if entry.drives is None else entry.drives
        return make_instance(model, nodes, entry.box, drives, weights, cells=1)
    if not candidates.whole:
        counts: Counter[str] = Counter()
        nodes, drives = candidates.nodes(), candidates.drives
        plain = replace(weights, within=())
        candidates.whole.append((make_instance(model.base, nodes, entry.box, drives, plain, counts, cells=1), counts))
    whole, counts = candidates.whole[0]
    removed.update(counts)
    return None if whole is None else tightened(whole, model, weights, candidates.open_to)


def search_box(search: Search, entry: OpenBox) -> list[OpenBox]:
    """Work on one box until it is closed or split; returns what stays open."""
    candidates, settings = search.candidates, search.settings
    whole = whole_box(candidates, entry, search.removed, search.ceiling)
    search.rounds += 1
    if whole is None:
        return []
    marginals = footing_marginals(whole)
    if candidates.model.others and not candidates.weights.mix:
        # What each condition of the vehicle counts in the bounds is picked once, around a good choice.
        if search.found is None and not candidates.mixes:
            search.offer(good_choices(candidates, whole, marginals))
        search.candidates = candidates = with_mix(candidates, whole, marginals, search.found)
        whole = replace(whole, weights=candidates.weights)
        marginals = footing_marginals(whole)
    split = search.best < np.inf and (not entry.of_all or entry.inside is not None)
    trim = trimmed(entry, whole, marginals, search.ceiling) if split else None
    if trim is not None:
        return [replace(entry, box=trim, inside=whole, drives=None, of_all=False)]
    if split and entry.patience and spreads(whole):
        return halves(entry, whole, entry.patience - 1)
    everything = max(float(values.max()) for values in marginals.values())
    # Choices with a bound below a ceiling are found exactly; the ceiling rises until one of them meets the limits.
    ceiling = min(max(_level(values, settings.first_footings) for values in marginals.values()), everything)
    if search.best == np.inf and entry.of_all and candidates.count() > FEW_CHOICES:
        search.say("looking for a good choice to begin with")
        search.offer(good_choices(candidates, whole, marginals))
    if search.direct or split:
        ceiling = search.ceiling
    grown = 1.0
    while True:
        search.check()
        if settings.gap > EXACT and entry.bound >= search.best - settings.gap * abs(search.best):
            search.given_up = min(search.given_up, entry.bound)
            return []
        ceiling = min(ceiling, search.ceiling)
        last = ceiling >= search.ceiling or ceiling == np.inf
        far = search.best - max(entry.bound, entry.hint) > FAR * abs(search.best)
        if last and search.best < np.inf and far and wide(whole):
            # Radii that differ much blur every load: to narrow such a box down to its last choices is wasted.
            return halves(entry, whole)
        instance = narrowed(search, entry, whole, restricted(whole, marginals, ceiling), ceiling)
        if instance is not None:
            search.say(f"round {search.rounds}: bounding {sizes_of(instance)}")
            patience = 0
            try:
                opened = open_choices(instance, ceiling, most=settings.appraise_at_most)
            except TooLong:
                opened, patience = None, PATIENCE
            if opened is None and search.best == np.inf:
                # The ceiling lies far above the best: a good choice lowers it.
                search.offer(good_choices(candidates, instance, footing_marginals(instance)))
                if search.best < ceiling:
                    continue
            if opened is None and spreads(instance):
                # Below the best known aim nothing may be left out, so there the whole box is split.
                return halves(entry, instance if ceiling >= search.ceiling else whole, patience)
            if opened is None:
                # Nothing is left to split: choices of one mass are appraised however many they are.
                opened = open_choices(instance, ceiling, most=sys.maxsize)
            assert opened is not None
            left, bounds = opened
            if search.seen is not None:
                search.seen(left, bounds)
            if len(left):
                search.say(f"appraising {len(left):,} choices that could still be as good")
                search.offer_by_bound(left, bounds)
                if search.same_as_best(left).any():
                    search.last = instance, left, bounds
        entry.bound = max(entry.bound, min(ceiling, search.best))
        if last:
            return []
        # Steps grow while nothing is found: the best may lie far above the least bound, and the best known above it.
        grown *= STEP_GROWTH
        near = search.best - ceiling <= FAR * abs(search.best)
        known = search.ceiling if near else 0.5 * (ceiling + search.best)
        ceiling = known if search.best < np.inf else raised(ceiling, entry.hint, everything, grown)


def only(instance: Instance, choices: Choices) -> Instance:
    """The instance with only the nodes that some of the choices use."""
    nodes = {}
    for position, rows in (("front", choices.front), ("rear", choices.rear)):
        here: Position = "front" if position == "front" else "rear"
        of = instance.nodes(here)
        masks = [np.isin(have, rows[:, layer]) for layer, have in enumerate((of.footing, of.wheel, of.brake))]
        nodes[here] = of.keep(*masks)
    made = make_instance(instance.model, nodes, instance.box, instance.drives, instance.weights)
    return instance if made is None else made


def raised(ceiling: float, hint: float, everything: float, grown: float) -> float:
    """The next ceiling: a step up, ``grown`` times the first, or half way to the hint of the prices if that is more.

    A footing's bound takes the best of all else, so choices can lie above the largest of them, ``everything``; beyond
    it nothing is left out any more.
    """
    size = max(abs(ceiling), 1e-3)
    step = ceiling + max(grown * STEP * size, min(0.5 * (hint - ceiling), LONGEST_STEP * size))
    return step if step <= everything else np.inf


def _level(values: Array, count: int) -> float:
    """The ``count``-th smallest value."""
    number = min(count, len(values)) - 1
    return float(np.partition(values, number)[number])


def narrowed(
    search: Search, entry: OpenBox, whole: Instance, nodes: dict[Position, Nodes] | None, ceiling: float
) -> Instance | None:
    """Fine bounds over those of some nodes that choices with a bound at most the ceiling use; ``None`` if none do."""
    candidates = search.candidates
    drives = whole.drives
    while nodes is not None:
        search.check()
        # Few nodes are bounded more finely: it costs little, and what is left is what coarse bounds cannot decide.
        many = max(nodes[p].footing.size for p in POSITIONS)
        cells = int(np.clip(FINE // max(many, 1), CELLS, MOST_CELLS))
        instance = make_instance(candidates.model, nodes, whole.box, drives, candidates.weights, cells=cells)
        if instance is None or ceiling == np.inf:
            return instance
        found = on_open_packages(search, instance, ceiling, entry)
        if found is None:
            return None
        nodes, pairs = found
        if pairs <= min(FEW_PAIRS, search.settings.appraise_at_most):
            return instance.priced(entry.prices)
        before = sum(instance.nodes(p).footing.size + instance.nodes(p).wheel.size for p in POSITIONS)
        if sum(nodes[p].footing.size + nodes[p].wheel.size for p in POSITIONS) > WORTHWHILE * before:
            return instance.priced(entry.prices)
        drives = instance.drives
    return None


def on_open_packages(
    search: Search, instance: Instance, ceiling: float, entry: OpenBox
) -> tuple[dict[Position, Nodes], int] | None:
    """Nodes that lie on some package whose bound leaves room under the ceiling, or ``None`` if a position has none.

    With them, how many pairs of such packages there are at most.

    The bounds carry prices on the rows that couple both positions, which take into account what the other position
    would have to make up for.  Any prices hold; those of the box get better each time.
    """
    priced = instance.priced(entry.prices)
    fixed = aim_constant(priced) - 1e-9 * max(abs(ceiling), 1.0)
    floors = least_packages(priced, ceiling - fixed)
    if floors is None:
        return None
    lists: dict[Position, PackageList] = {}
    for position in POSITIONS:
        other: Position = "rear" if position == "front" else "front"
        found = packages_below(priced, position, ceiling - fixed - floors[other], most=PACKAGES_AT_MOST)
        if found is None:
            return {p: instance.nodes(p) for p in POSITIONS}, sys.maxsize
        if not len(found):
            return None
        lists[position] = found
    plain = tuple(plain_bounds(instance, p, lists[p]) for p in POSITIONS)
    entry.hint, prices = coupling_prices(instance, lists, plain, entry.prices, ceiling + 1e-6 * max(abs(ceiling), 1.0))
    priced = instance.priced(prices)
    bounds = {p: priced_bounds(priced, p, lists[p]) for p in POSITIONS}
    if not search.direct:
        search.offer(best_pairs(priced, lists, bounds, PAIRED, search.ceiling))
    if entry.hint > ceiling + 1e-9 * max(abs(ceiling), 1.0):
        # Prices that rule everything out were cut short and serve no other ceiling.
        return None
    entry.prices = prices
    fixed = aim_constant(priced) - 1e-9 * max(abs(ceiling), 1.0)
    nodes, pairs = {}, instance.drives.size
    for position in POSITIONS:
        other = "rear" if position == "front" else "front"
        near = bounds[position] + float(bounds[other].min()) + fixed <= ceiling
        pairs *= int(near.sum())
        here = instance.nodes(position)
        masks = []
        for count, used in (
            (here.footing.size, lists[position].footing[near]),
            (here.wheel.size, lists[position].wheel[near]),
            (here.brake.size, lists[position].brake[near]),
        ):
            mask = np.zeros(count, dtype=bool)
            mask[used] = True
            masks.append(mask)
        nodes[position] = here.keep(*masks)
        if not nodes[position].footing.size:
            return None
    return nodes, pairs


def least_packages(instance: Instance, room: float) -> dict[Position, float] | None:
    """Bound of the best package of each position that no limit rules out, or ``None`` if both do not fit into the room.

    Looked for upward from the least bound of the parts, so that short lists suffice.
    """
    floors = {p: position_least(instance, p) for p in POSITIONS}
    for position in POSITIONS:
        step = FLOOR_STEP * max(abs(room), 1e-3)
        other: Position = "rear" if position == "front" else "front"
        height = floors[position]
        while True:
            height += step
            step *= FLOOR_GROWTH
            packages = packages_below(instance, position, height, most=PACKAGES_AT_MOST)
            if packages is None:
                break
            if len(packages):
                floors[position] = float(packages.bound[0])
                break
            floors[position] = height
            if height + floors[other] > room:
                return None
    return floors if floors["front"] + floors["rear"] <= room else None


def check_with_model(search: Search) -> None:
    """Solve the model over what was left of the box that holds the best, and appraise its answer.

    The model bounds every choice from below, so its value cannot exceed that of the best, and its own answer cannot
    be better: the solver sees the bounds as rows, not as the lists the search went through.

    Raises
    ------
    AuditError
        If it does.
    """
    if search.last is None:
        return
    instance, left, bounds = search.last
    search.last = None
    if not search.same_as_best(left).any():
        # A better one was found since, in a box that a wide gap let go.
        return
    near = np.flatnonzero(bounds <= search.ceiling)
    chosen = near[:CHECKED]
    if near.size > CHECKED:
        chosen = np.append(chosen, near[np.argmax(search.same_as_best(left.take(near)))])
    made = build(only(instance, left.take(chosen)))
    search.say(f"checking with the model over {sizes_of(made.instance)}")
    solution = solve(
        made.model, time_limit=search.time_left(), threads=search.settings.threads, stop=search.settings.stop
    )
    if solution.status == "unknown":
        raise AuditError("the solver ended without a result; please report the scenario")
    if solution.status == "infeasible":
        raise AuditError("the model rules out the choice that the full model finds best; please report the scenario")
    if solution.values is not None:
        choice = read_choice(made, solution)
        aim, met = search.candidates.appraise(choice)
        value = float(aim[0])
        if bool(met[0]) and solution.value > value + AGREE * max(abs(value), 1.0):
            raise AuditError(f"the model bounds a choice at {solution.value:.9g}, the full model gives {value:.9g}")
        search.offer(choice)


def run_search(
    candidates: Candidates,
    settings: Settings,
    *,
    start: Choices | None = None,
    cutoff: float = np.inf,
    watch: Callable[[Choices, Array], None] | None = None,
    admits: Callable[[Choices, Array], NDArray[np.bool_]] | None = None,
    seen: Callable[[Choices, Array], None] | None = None,
    around: Instance | None = None,
    direct: bool = False,
) -> tuple[Search, bool]:
    """Search until proven or stopped; whether it is proven.

    Parameters
    ----------
    start : choices to begin with; the better they are, the sooner the search ends
    cutoff : value of the aim beyond which nothing is looked for
    watch : is told of every choice that meets all limits
    admits : which choices that meet all limits may be the answer, from their quantities; without it, all
    seen : is told of every choice that a bound leaves open
    around : coarse bounds of everything, if they are known; they must hold under the limits of the candidates
    direct : whether everything up to the best is bounded at once; for few choices, or where little is expected
    """
    search = Search(candidates, settings, best=cutoff, watch=watch, admits=admits, seen=seen, direct=direct)
    if start is not None:
        search.offer(candidates.opened(start))
    if not all(len(candidates.of[p].footing_mount) and candidates.of[p].package_count() for p in POSITIONS):
        return search, True
    box = full_box(candidates) if around is None else around.box
    queue = [OpenBox(box, -np.inf, inside=around, of_all=True)]
    while queue:
        queue.sort(key=lambda entry: entry.bound)
        entry = queue.pop(0)
        if entry.bound > search.best + TIE * max(abs(search.best), 1.0):
            continue
        try:
            with checking(search.check):
                queue += search_box(search, entry)
        except Stopped:
            search.bound = min(entry.bound, *(e.bound for e in queue), search.given_up, search.best)
            return search, False
    if settings.solve:
        check_with_model(search)
    search.bound = min(search.best, search.given_up)
    return search, True


def require_one_vehicle(case: Case) -> None:
    """Refuse a case whose vehicles are chosen together.

    Raises
    ------
    UsageError
        A scenario with several vehicles, or with shared parts.
    """
    if case.together:
        names = ", ".join(vehicle.name for vehicle in case.scenario.vehicles)
        raise UsageError(
            f"{case.path}: this is asked of one vehicle for itself, and the scenario has shared parts or several "
            f"vehicles ({names}); name one with --vehicle"
        )
    if case.vehicle.alternates is not None:
        raise UsageError(
            f"{case.path}: {case.vehicle.name} asks for alternates, which only choose looks for; remove alternates "
            "from a copy of the scenario to ask this"
        )


def require_one_sum(case: Case) -> None:
    """Refuse a case whose aims count one after the other.

    Raises
    ------
    UsageError
        Aims in order.
    """
    if case.scenario.aims.in_order is not None:
        raise UsageError(
            f"{case.path}: a loss against the best is a share of one weighted sum, and the aims count one after the "
            "other; state them as one weighted sum in a copy of the scenario to ask this"
        )


def require_plain_family(case: Case) -> None:
    """Refuse what is only decided for one vehicle: aims in order, and alternates.

    Raises
    ------
    UsageError
        A case of vehicles chosen together with either.
    """
    if case.scenario.aims.in_order is not None:
        raise UsageError(
            f"{case.path}: aims count in order for one vehicle only, and these are chosen together; state the aims as "
            "one weighted sum, or name a vehicle with --vehicle"
        )
    asking = [vehicle.name for vehicle in case.scenario.vehicles if vehicle.alternates is not None]
    if asking:
        raise UsageError(
            f"{case.path}: alternates are looked for with one vehicle only, and {', '.join(asking)} is chosen together "
            "with others or with shared parts; remove alternates, or name a vehicle with --vehicle"
        )


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
