"""Which limits keep the choice from being better, and what a step of each would gain."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.model import Margin
from configopt.appraisal.vehicle import Bound, Scope
from configopt.choice.audit import BATCH, Choices, quantities
from configopt.choice.closest import Asked, asked_limits
from configopt.reasons.asking import Answer, Asking
from configopt.reasons.runners_up import swaps
from configopt.reasons.telling import SAME, answer_beside, margins_of
from configopt.scenario.limits import Limit

Array = NDArray[np.float64]
#: Share of a limit that a step comes to before it is rounded to a handy figure.
STEP_SHARE = 0.05


def handy(value: float) -> float:
    """The nearest of 1, 2 and 5 times a power of ten, by ratio.

    >>> handy(47.0), handy(0.9), handy(0.033), handy(15.0)
    (50.0, 1.0, 0.05, 20.0)
    """
    power = 10.0 ** math.floor(math.log10(value))
    nearest = min((1.0, 2.0, 5.0, 10.0), key=lambda digit: abs(math.log(value / (digit * power))))
    return float(f"{nearest * power:.6g}")


def step_of(limit: Limit, required: float) -> float | None:
    """The bound one sensible step less strict [SI]; ``None`` where the limit cannot be stated any less strictly."""
    shown = limit.shown(required)
    size = handy(STEP_SHARE * abs(shown)) if shown else handy(STEP_SHARE)
    low, high = limit.allowed
    moved = max(shown - size, low) if limit.bound == "at_least" else min(shown + size, high)
    if moved == shown:
        return None
    per_unit = (limit.shown(required + 1.0) - shown) or 1.0
    return required + (moved - shown) / per_unit


def relaxed(asking: Asking, asked: Asked, required: float) -> Answer:
    """The best choices with one limit set to another bound [SI]."""

    def change(bound: Bound) -> Bound:
        return replace(bound, required=required) if bound.scope in asked.scopes else bound

    return asking.ask(model=asking.with_bounds(change))


def limiting(asking: Asking, best: Answer) -> list[dict[str, Any]]:
    """The limits without which a better choice exists, with what relaxing each by a step gains.

    Parameters
    ----------
    asking : the vehicle
    best : its best choices

    Returns
    -------
    list of dict
        What gains most without the limit first.  A limit that is not among them takes nothing: the best choice stays
        the best without it.

    Raises
    ------
    OutOfTime
        If a search was asked to end.

    Notes
    -----
    Leaving out several limits at once leaves at least the choices that leaving out one of them leaves.  So where
    nothing better turns up without all of a group, none of them matters; else the group is halved.
    """
    spare = {margin.bound.scope: _spare(margin) for margin in best.appraised.outcome.margins}
    asked = sorted(asked_limits(asking.candidates.model), key=lambda one: -min(spare.get(s, 0.0) for s in one.scopes))
    rows = []
    for one in mattering(asking, best, asked):
        asking.say(f"without the limit on {one.bounds[0].limit.wording}")
        without = asking.ask(model=asking.without(one.scopes))
        rows.append(_row(asking, best, one, without))
    return sorted(rows, key=lambda row: -row["without"]["gain"])


def _spare(margin: Margin) -> float:
    """By how much a limit is met, as a share of what is required."""
    assert margin.value is not None
    required = margin.bound.required
    return abs(float(margin.value[0]) - required) / max(abs(required), 1e-9)


@dataclass(frozen=True)
class Missed:
    """Better choices that are known, each as the limits that keep it out."""

    sets: frozenset[frozenset[int]]

    @staticmethod
    def of(asking: Asking, asked: Sequence[Asked], cutoff: float) -> Missed:
        """From the choices that came close, and those that differ from one of them."""
        number = {scope: place for place, one in enumerate(asked) for scope in one.scopes}
        candidates, sets = asking.candidates, set()
        for start in range(0, len(asking.known), BATCH):
            choices = asking.known.take(slice(start, start + BATCH))
            every = candidates.outcomes(choices)
            outcome = candidates.outcome(choices)
            better = candidates.weighed(choices, quantities(outcome)) < cutoff
            margins = [margin for one in every for margin in one.margins]
            fixed = np.ones(len(choices), dtype=bool)
            missed = np.zeros((len(choices), len(asked)), dtype=bool)
            for margin in margins:
                place = number.get(margin.bound.scope)
                if place is None:
                    fixed &= margin.met
                else:
                    missed[:, place] |= ~margin.met
            for row in np.unique(missed[better & fixed], axis=0):
                sets.add(frozenset(np.flatnonzero(row).tolist()))
        return Missed(frozenset(sets))

    def within(self, out: Iterable[int]) -> bool:
        """Whether leaving out some limits lets a known better choice in."""
        left = frozenset(out)
        return any(one <= left for one in self.sets)


def mattering(asking: Asking, best: Answer, asked: Sequence[Asked]) -> list[Asked]:
    """Those limits without which, alone, a better choice exists.

    Raises
    ------
    OutOfTime
        If a search was asked to end.
    """
    cutoff = best.value - SAME * max(abs(best.value), 1.0)
    asking.keep(Choices.join([swap.choices for swap in swaps(asking.candidates, best.first)]))
    known = Missed.of(asking, asked, cutoff)
    found = [number for number in range(len(asked)) if known.within([number])]

    def look(numbers: list[int]) -> list[int]:
        if not numbers:
            return []
        asking.say(f"do any of {len(numbers)} limits keep a better choice out?")
        scopes = frozenset[Scope]().union(*(asked[number].scopes for number in numbers))
        if not known.within(numbers) and asking.any(asking.without(scopes), cutoff=cutoff) is None:
            return []
        if len(numbers) == 1:
            return numbers
        middle = (len(numbers) + 1) // 2
        return look(numbers[:middle]) + look(numbers[middle:])

    found += look([number for number in range(len(asked)) if number not in found])
    return [asked[number] for number in sorted(found)]


def _row(asking: Asking, best: Answer, asked: Asked, without: Answer) -> dict[str, Any]:
    bound = asked.bounds[0]
    limit, required = bound.limit, bound.required
    own = margins_of(best.appraised, asked.scopes)[0]
    reached = margins_of(without.appraised, asked.scopes)
    moved = step_of(limit, required)
    step: dict[str, Any] | None = None
    if moved is not None:
        after = relaxed(asking, asked, moved)
        step = {
            "required": limit.shown(moved),
            "gain": best.value - after.value,
            **answer_beside(best, after),
        }
    free = answer_beside(best, without)
    return {
        "limit": limit.key,
        "terrain": bound.terrain,
        "positions": sorted({str(one.position) for one in asked.bounds if one.position is not None}),
        "unit": own["unit"],
        "required": own["required"],
        "at_least": bound.at_least,
        "stated": asked.stated,
        "value": own["value"],
        "step": step,
        "without": {
            "gain": best.value - without.value,
            "reached": None if not reached else reached[0]["value"],
            **free,
        },
    }
