"""Where nothing meets every limit: which limit to leave out, and what the best choice then reaches."""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from configopt.appraisal.model import Margin
from configopt.appraisal.report import finite
from configopt.appraisal.vehicle import Bound, Scope, VehicleModel
from configopt.choice.audit import Candidates, Choices
from configopt.choice.choose import Settings, run_search
from configopt.choice.removed import limit_name
from configopt.choice.ties import first_tie
from configopt.choice.weights import Weights
from configopt.scenario.conditions import SAME_IN_ALL

#: Seconds that the search for what came closest may take.
BUDGET = 40.0
#: Share of it in which single limits are tried.
SINGLES = 0.4
#: Several limits together are left out for choices within this share of the best.
SEVERAL_GAP = 0.03
#: Limits whose value is an aim, or moves with one: with such a limit left out, the value itself is sought.
_AIM_OF = {
    "range": "energy",
    "energy": "energy",
    "rolling_loss": "rolling_loss",
    "cost": "cost",
    "package_mass": "mass",
}


@dataclass(frozen=True)
class Asked:
    """One limit as asked: what one line of a scenario, or one default, says about a terrain at both positions."""

    bounds: tuple[Bound, ...]

    @property
    def scopes(self) -> frozenset[Scope]:
        """Keys, terrains and positions it covers."""
        return frozenset(bound.scope for bound in self.bounds)

    @property
    def stated(self) -> bool:
        """Whether the scenario states it."""
        return self.bounds[0].stated

    def took(self, removed: Counter[str]) -> int:
        """How much it takes away alone."""
        names = {limit_name(bound) for bound in self.bounds}
        return sum(count for reason, count in removed.items() if reason.partition(": ")[2] in names)


def asked_limits(model: VehicleModel) -> list[Asked]:
    """Every limit that may be relaxed, stated ones first, each in the order of the scenario."""
    groups: dict[tuple[Any, ...], list[Bound]] = {}
    for bound in (bound for one in (model, *model.others) for bound in one.bounds):
        if bound.limit.relaxable:
            groups.setdefault((bound.limit.key, bound.terrain, bound.required, bound.stated), []).append(bound)
    return sorted((Asked(tuple(group)) for group in groups.values()), key=lambda asked: not asked.stated)


def closest(candidates: Candidates, settings: Settings, removed: Counter[str], budget: float) -> list[dict[str, Any]]:
    """What could be had with a limit left out.

    Parameters
    ----------
    candidates : of the vehicle that nothing fits within its limits
    settings : of the search that proved so; its stop is obeyed
    removed : what the limits took away in that search
    budget : time for all of it [s]

    Returns
    -------
    list of dict
        One row per limit that, left out alone, lets something through.  ``reached`` is what the best such choice
        reaches; where the limit is on mass, cost, energy, range or rolling loss, the best that can be reached at all.
        If no single limit does: the rows of a set found by leaving out all and putting back what can be put back, those
        that take least away first.
    """
    began = time.monotonic()
    limits = asked_limits(candidates.model)
    rows = []
    for asked in limits:
        choice = _best(candidates, settings, [asked], began + SINGLES * budget)
        if choice is not None:
            rows += _missed(candidates, choice, alone=True)
    return rows or _several(candidates, settings, limits, removed, began + budget)


def _several(
    candidates: Candidates, settings: Settings, limits: Sequence[Asked], removed: Counter[str], ends: float
) -> list[dict[str, Any]]:
    """Rows of a set of limits of which none can be put back while time lasts."""
    settings = replace(settings, gap=SEVERAL_GAP)
    stated = [asked for asked in limits if asked.stated]
    found = _best(candidates, settings, stated, ends) or _best(candidates, settings, limits, ends)
    if found is None:
        return []
    # What the choice found meets anyway goes back at once; the rest is tried one by one, what takes least away first.
    out = _unmet(candidates, limits, found)
    for asked in sorted(out, key=lambda one: (one.stated, one.took(removed))):
        fewer = [one for one in out if one is not asked]
        if len(fewer) == len(out) or not fewer:
            continue
        choice = _best(candidates, settings, fewer, ends)
        if choice is not None:
            found, out = choice, _unmet(candidates, limits, choice)
    return _missed(candidates, found, alone=False)


def _unmet(candidates: Candidates, limits: Sequence[Asked], choice: Choices) -> list[Asked]:
    """The limits that a choice misses."""
    missed = {m.bound.scope for m in candidates.outcome(choice).margins if not bool(m.met[0])}
    return [asked for asked in limits if asked.scopes & missed]


def _best(candidates: Candidates, settings: Settings, out: Sequence[Asked], ends: float) -> Choices | None:
    """The best choice with some limits left out; nothing where there is none or time is up."""
    left = ends - time.monotonic()
    if left <= 0.0 or settings.stop.asked:
        return None
    if settings.progress is not None:
        names = limit_name(out[0].bounds[0]) if len(out) == 1 else f"{len(out)} limits together"
        settings.progress(f"leaving out {names}")
    aim = _sought(candidates.model, out[0].bounds[0].limit.key) if len(out) == 1 else None
    without = frozenset[Scope]().union(*(asked.scopes for asked in out))
    model = VehicleModel(candidates.model.vehicle, candidates.model.catalog, without=without)
    other = candidates.variant(model, None if aim is None else Weights.of({aim: 1.0}))
    search, _ = run_search(other, replace(settings, time_limit=left, progress=None))
    return None if search.found is None else first_tie(other, search.found)


def _sought(model: VehicleModel, key: str) -> str | None:
    """The aim that is sought alone where a limit is left out: that of its value, if the worst of both is the same."""
    worst = model.vehicle.over_conditions in (None, "worst")
    everywhere = not any(key in condition.without_limits for condition in model.vehicle.conditions)
    return _AIM_OF.get(key) if key in SAME_IN_ALL or (worst and everywhere) else None


def _missed(candidates: Candidates, choice: Choices, *, alone: bool) -> list[dict[str, Any]]:
    """The limits that a choice misses, as rows; each in the condition that misses it most."""
    outcome = candidates.outcome(choice, values=True)
    currency = candidates.model.catalog.currency
    worst: dict[Scope, Margin] = {}
    for margin in outcome.margins:
        other = worst.get(margin.bound.scope)
        if not bool(margin.met[0]) and (other is None or _short(margin) > _short(other)):
            worst[margin.bound.scope] = margin
    missed = list(worst.values())
    several = len({(m.bound.limit.key, m.bound.terrain) for m in missed})
    rows = []
    for margin in missed:
        bound, limit = margin.bound, margin.bound.limit
        unit = currency if limit.unit == "currency" else limit.unit
        raw = None if margin.value is None else finite(margin.value)
        reached = None if raw is None else finite(limit.shown(raw))
        required = float(limit.shown(bound.required))
        head = "without the limit on" if alone or several < 2 else f"without {several} limits together, one on"
        where = (f", {bound.position}" if bound.position else "") + (f" on {bound.terrain}" if bound.terrain else "")
        where += f" ({bound.condition})" if bound.condition and limit.key not in SAME_IN_ALL else ""
        best = "at best " if alone and _sought(candidates.model, limit.key) else ""
        figures = f"{best}{_amount(reached, unit)} is reached, {_amount(required, unit)} required"
        rows.append(
            {
                "limit": limit.key,
                "terrain": bound.terrain,
                "position": bound.position,
                "required": required,
                "reached": reached,
                "unit": unit,
                "text": f"{head} {limit.wording}{where}: {figures}",
            }
        )
    return rows


def _short(margin: Margin) -> float:
    """How much a margin is short of what is required [SI]."""
    value = np.inf if margin.value is None else float(margin.value[0])
    return (1.0 if margin.bound.at_least else -1.0) * (margin.bound.required - value)


def _amount(value: float | None, unit: str) -> str:
    """A figure with its unit.

    >>> _amount(12.41, "kPa"), _amount(1.25, "1"), _amount(310.0, "degC"), _amount(0.35 - 1e-7, "1")
    ('12.41 kPa', '1.25', '310 °C', '0.35')
    """
    if value is None:
        return "nothing"
    return f"{value:.4g} {({'1': '', 'degC': '°C'}).get(unit, unit)}".rstrip()
