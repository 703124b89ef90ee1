"""What an answer says of a vehicle in several conditions: each limit where it is tightest, and the aim in each."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from configopt.appraisal.conditions import aims_in, condition_names, condition_weights, most_counted
from configopt.appraisal.one_vehicle import VehicleAppraisal
from configopt.scenario.conditions import SAME_IN_ALL, shares
from configopt.scenario.records import MeanOfWorst

Entry = dict[str, Any]


def in_conditions(
    appraised: VehicleAppraisal, margins: Sequence[Sequence[Entry]], figures: Sequence[Entry]
) -> dict[str, Any]:
    """Keys of an entry of ``vehicles`` that say what is so in which condition; nothing where there is only one.

    Parameters
    ----------
    appraised : the packages on the vehicle as stated
    margins, figures : entries of ``margins``, and the figures compared with the baseline, in each condition
    """
    if not appraised.others:
        return {}
    vehicle = appraised.model.vehicle
    names, parts = condition_names(vehicle), shares(vehicle) or (None,) * len(margins)
    over = vehicle.over_conditions
    worst = float(over.mean_of_worst) if isinstance(over, MeanOfWorst) else None
    each = [
        {
            "name": name,
            "share": part,
            **{key: own[key] for key in ("rolling_loss_wh_per_km", "energy_wh_per_km", "range_km")},
            "limits_not_met": sum(not margin["met"] for margin in rows),
        }
        for name, part, own, rows in zip(names, parts, figures, margins, strict=True)
    ]
    kind = "worst" if over is None else "mean_of_worst" if worst is not None else over
    return {
        "margins": tightest_each(names, margins),
        "conditions": {"over": kind, "worst_share": worst, "each": each},
    }


def tightest_each(names: Sequence[str], margins: Sequence[Sequence[Entry]]) -> list[Entry]:
    """Each limit once, in the condition with the least to spare, with its value in every condition it holds in."""
    found: dict[tuple[Any, ...], list[tuple[str, Entry]]] = {}
    for name, rows in zip(names, margins, strict=True):
        for margin in rows:
            found.setdefault((margin["limit"], margin["terrain"], margin["position"]), []).append((name, margin))

    def spare(row: tuple[str, Entry]) -> tuple[bool, float, float]:
        margin = row[1]
        ratio = math.inf if margin["ratio"] is None else float(margin["ratio"])
        return bool(margin["met"]), ratio, -float(margin.get("chance_missed") or 0.0)

    kept = []
    for (limit, _, _), several in found.items():
        name, margin = min(several, key=spare)
        values = {one: other["value"] for one, other in several}
        # What is the same in all of them belongs to none.
        same = limit in SAME_IN_ALL or (len(several) == len(names) and len(set(values.values())) == 1)
        kept.append(margin if same else {**margin, "condition": name, "by_condition": values})
    return kept


def with_aims(entry: Entry, appraised: VehicleAppraisal, rates: Mapping[str, float]) -> Entry:
    """An entry of ``vehicles`` with the aim in each condition, and how much of it counts."""
    if not appraised.others:
        return entry
    aims = aims_in([one.outcome for one in appraised.in_all], rates)
    weights = condition_weights(aims, most_counted(appraised.model.vehicle))
    each = [
        {**row, "aim": float(aims[0, number]), "counts": float(weights[0, number])}
        for number, row in enumerate(entry["conditions"]["each"])
    ]
    return {**entry, "conditions": {**entry["conditions"], "each": each}}


def in_all_of_them(appraised: VehicleAppraisal, texts: Sequence[Sequence[str]]) -> list[str]:
    """Remarks in every condition, each once; what is not so as stated says in which condition it is."""
    names = condition_names(appraised.model.vehicle)
    found = list(texts[0])
    for name, mine in zip(names[1:], texts[1:], strict=True):
        found += [f"{name}: {text}" for text in mine if text not in texts[0]]
    return found
