"""What could be had if a part could not be bought: alternates, and the best choice whose parts all have one.

Only a part that every best choice uses is missed: without any other, a best choice is still there.  So few searches,
one for each such part, say what every loss comes to.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.vehicle import POSITIONS
from configopt.catalog.catalog import Catalog
from configopt.choice.audit import Candidates, Choices
from configopt.choice.candidates import OpenTo
from configopt.choice.choose import EXACT, TIE, Search, Settings, run_search
from configopt.fit.partners import find_part

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Aim = TypeVar("Aim", float, Array)
Part = tuple[str, int]
"""Family of parts, and number in the catalog."""


def part_number(catalog: Catalog, identifier: str) -> Part:
    """Family and number of the part of an id.

    Raises
    ------
    UsageError
        If the catalogs do not have it, or it is a surface.
    """
    family, record = find_part(catalog, identifier)
    return family, next(number for number, part in enumerate(catalog.family(family)) if part is record)


def without(candidates: Candidates, out: Collection[Part]) -> OpenTo:
    """Which candidates are open without some parts, of those that were."""
    masks = {}
    for position in POSITIONS:
        layers = []
        for number, layer in enumerate(candidates.parts[position]):
            good = np.ones(len(next(iter(layer.index.values()))), dtype=bool)
            for family, index in layer.index.items():
                banned = [part for of, part in out if of == family]
                if banned:
                    good &= ~np.isin(index, banned)
            good = good[candidates.of[position].footing_mount] if number == 0 else good
            before = candidates.open_to.get(position)
            layers.append(good if before is None else good & before[number])
        masks[position] = (layers[0], layers[1], layers[2])
    return masks


def uses(candidates: Candidates, choices: Choices, part: Part) -> Mask:
    """Which choices use a part, at either end."""
    family, number = part
    rows = candidates.part_rows(choices)
    return np.asarray((rows["front"].index[family] == number) | (rows["rear"].index[family] == number))


def parts_used(candidates: Candidates, choices: Choices, families: Collection[str]) -> list[Part]:
    """Parts of some families that some of the choices use, in the order of the families and the catalog."""
    rows = candidates.part_rows(choices)
    found = []
    for family in families:
        used = np.unique(np.concatenate([rows[position].index[family] for position in POSITIONS]))
        found += [(family, int(number)) for number in used if number >= 0]
    return found


@dataclass(frozen=True)
class Alternate:
    """The best that can be had without a part.

    ``value`` is its aim, infinite where nothing meets the limits or nothing was found, ``bound`` what no choice
    without the part goes below; ``choices`` are all that reach the value.
    """

    part: Part
    value: float
    bound: float
    choices: Choices
    proven: bool
    rounds: int = 0

    def loss(self, aim: float) -> float:
        """By how much it is worse than an aim, as a share of that."""
        return (self.value - aim) / max(abs(aim), 1e-9)


def best_without(best: Search, part: Part, settings: Settings) -> Alternate:
    """The best choice without a part.

    Parameters
    ----------
    best : a proven search for the best choice, with all its ties
    part : what cannot be bought, at neither end
    settings : of the search that is needed where every best choice uses the part
    """
    candidates = best.candidates
    assert best.found is not None
    rest = np.flatnonzero(~uses(candidates, best.found, part))
    if rest.size:
        return Alternate(part, best.best, best.bound, best.found.take(rest), True)
    other = candidates.variant(open_to=without(candidates, [part]))
    search, proven = run_search(other, settings)
    bound = np.inf if proven and search.found is None else min(max(search.bound, best.bound), search.best)
    return Alternate(part, search.best, bound, search.found or Choices.join([]), proven, search.rounds)


@dataclass(frozen=True)
class WithAlternates:
    """The best choice of which every part has an alternate.

    ``plain`` is the search for the best choice whether it has them or not, ``search`` the one whose choices are the
    answer; ``missed`` are the parts without which every best choice goes, each with what is left.
    """

    plain: Search
    search: Search
    proven: bool
    missed: tuple[Alternate, ...]

    def alternate(self, part: Part) -> Alternate:
        """The best choice without a part."""
        known = [one for one in self.missed if one.part == part]
        return known[0] if known else best_without(self.plain, part, self.plain.settings)


def search_with_alternates(
    candidates: Candidates, losses: Mapping[str, float], settings: Settings, start: Choices | None = None
) -> WithAlternates:
    """Find the best choice of which every part of some families has an alternate.

    A choice qualifies if, for every part of the families in it, the best choice without that part comes to at most
    (1 + loss) times its own aim.

    Parameters
    ----------
    candidates : of the vehicle
    losses : by family, by how much the aim may be worse without a part, as a share
    settings : of all searches together; every one of them goes to the best, whatever gap is permitted
    start : choices known before

    Notes
    -----
    Let t(p) be the least aim with which a choice may use the part p: what is left without it, over 1 + loss.  Only
    parts with t(p) above the best aim exclude anything.  By rising t: a choice below all of them uses none of these
    parts, one below the second at most the first, and so on.  Each step is one search without the parts that are still
    above, among choices that qualify; it is the last where it ends below the next t.
    """
    exact = replace(settings, gap=min(settings.gap, EXACT))
    plain, proven = run_search(candidates, exact, start=start)
    if plain.found is None or not proven:
        held = plain if plain.found is None else Search(candidates, exact, bound=plain.bound, removed=plain.removed)
        return WithAlternates(plain, held, proven, ())

    def left() -> Settings:
        return replace(exact, time_limit=plain.time_left())

    every = parts_used(candidates, plain.found, losses)
    kept = [part for part in every if uses(candidates, plain.found, part).all()]
    missed = tuple(best_without(plain, part, left()) for part in kept)
    known = all(one.proven for one in missed)
    least = {one.part: one.value / (1.0 + losses[one.part[0]]) for one in missed}
    above = sorted((p for p in least if least[p] > _with_ties(plain.best)), key=lambda part: least[part])
    admits = qualifying(candidates, {part: least[part] for part in above})
    rounds = plain.rounds + sum(one.rounds for one in missed)
    best = plain
    if above:
        best, proven, more = _rising(candidates, above, least, admits, left, plain)
        rounds += more
    best.rounds, best.began, best.removed = rounds, plain.began, plain.removed
    if not known and above:
        # A part whose search was stopped may have a better alternate than the one known.
        best.bound = min(best.bound, plain.best)
    return WithAlternates(plain, best, proven and (known or not above), missed)


def _with_ties(aim: Aim) -> Aim:
    """The largest aim that counts as equal to one, or to each of some."""
    return aim + TIE * abs(aim)


def qualifying(candidates: Candidates, least: Mapping[Part, float]) -> Callable[[Choices, Array], Mask]:
    """Which choices qualify, from their quantities: those whose aim reaches what each part in them asks."""

    def admits(choices: Choices, found: Array) -> Mask:
        reached = _with_ties(candidates.weighed(choices, found))
        good = np.ones(len(choices), dtype=bool)
        for part, asked in least.items():
            good &= ~uses(candidates, choices, part) | (reached >= asked)
        return good

    return admits


def _rising(
    candidates: Candidates,
    above: Sequence[Part],
    least: Mapping[Part, float],
    admits: Callable[[Choices, Array], Mask],
    left: Callable[[], Settings],
    plain: Search,
) -> tuple[Search, bool, int]:
    """The best choice that qualifies, whether that is proven, and the rounds of all searches."""
    best = Search(candidates, plain.settings, admits=admits)
    rounds, floor = 0, plain.best
    for number in range(len(above) + 1):
        out = above[number:]
        nearest = least[out[0]] if out else np.inf
        other = candidates.variant(open_to=without(candidates, out)) if out else candidates
        search, proven = run_search(other, left(), admits=admits)
        rounds += search.rounds
        if search.found is not None:
            best.offer(search.found)
        if not proven or not out or _with_ties(best.best) < nearest:
            best.bound = min(best.best, nearest, max(search.bound, floor))
            return best, proven, rounds
        # From here on nothing new lies below what the first of the parts asks.
        floor = least[above[0]]
    raise AssertionError("the last search leaves no part above it")
