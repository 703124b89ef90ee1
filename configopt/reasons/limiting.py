"""Which limits keep the choice from being better, and what a step of each would gain."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from configopt.appraisal.vehicle import Bound
from configopt.choice.audit import Choices
from configopt.choice.closest import Asked, asked_limits
from configopt.reasons.asking import Answer, Asking
from configopt.reasons.telling import SAME, answer_beside, margins_of
from configopt.scenario.limits import Limit

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
    tight = {margin.bound.scope: _spare(margin.ratio) for margin in best.appraised.outcome.margins}
    asked = sorted(asked_limits(asking.candidates.model), key=lambda one: -min(tight.get(s, 1.0) for s in one.scopes))
    rows = []
    for one in mattering(asking, best, asked):
        asking.say(f"without the limit on {one.bounds[0].limit.wording}")
        without = asking.ask(model=asking.without(one.scopes))
        rows.append(_row(asking, best, one, without))
    return sorted(rows, key=lambda row: -row["without"]["gain"])


def _spare(ratio: Any) -> float:
    return math.inf if ratio is None else float(ratio[0])


def mattering(asking: Asking, best: Answer, asked: Sequence[Asked]) -> list[Asked]:
    """Those limits without which, alone, a better choice exists."""
    if not asked:
        return []
    names = {one.bounds[0].limit.wording for one in asked}
    asking.say(f"is there a better choice without {next(iter(names)) if len(names) == 1 else f'{len(asked)} limits'}?")
    cutoff = best.value - SAME * max(abs(best.value), 1.0)
    scopes = frozenset().union(*(one.scopes for one in asked))
    if not exists(asking, asking.without(scopes), cutoff):
        return []
    if len(asked) == 1:
        return list(asked)
    middle = (len(asked) + 1) // 2
    return mattering(asking, best, asked[:middle]) + mattering(asking, best, asked[middle:])


def exists(asking: Asking, model: Any, cutoff: float) -> bool:
    """Whether some choice that meets the limits of a model has an aim below a cutoff."""

    class Enough(Exception):
        pass

    def look(choices: Choices, quantities: np.ndarray[Any, np.dtype[np.float64]]) -> None:
        if (asking.candidates.weighed(choices, quantities) < cutoff).any():
            raise Enough

    try:
        asking.ask(model=model, cutoff=cutoff, watch=look)
    except Enough:
        return True
    return False


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
