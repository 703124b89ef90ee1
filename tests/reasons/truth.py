"""What enumeration says about a small case: the authority on every explanation."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from random_cases import RandomCase, cached_case, suite

from configopt.appraisal.vehicle import Scope
from configopt.choice.audit import Choices
from configopt.choice.choose import Settings
from configopt.reasons.asking import Answer, Asking

Array = NDArray[np.float64]
TIE = 1e-9


def case_number(number: int) -> RandomCase:
    """A case of the suite."""
    return cached_case(*suite()[number])


def asked_of(case: RandomCase) -> tuple[Asking, Answer]:
    """The case with its proven best choice."""
    fresh = case.candidates.variant()
    fresh.whole = []
    asking = Asking(fresh, Settings())
    search, proven = asking.first()
    assert proven
    found = Choices.join([]) if search.found is None else search.found
    return asking, Answer(asking.candidates, search.best, found)


def missed_scopes(case: RandomCase) -> list[frozenset[Scope]]:
    """The limits that every choice misses."""
    outcome = case.candidates.outcome(case.choices)
    met = {margin.bound.scope: np.broadcast_to(margin.met, len(case.choices)) for margin in outcome.margins}
    return [frozenset(scope for scope, good in met.items() if not good[row]) for row in range(len(case.choices))]


def part_ids(case: RandomCase) -> list[dict[str, Any]]:
    """Everything that stands in each choice, by position and kind, with the final drive."""
    of, found = case.candidates.of, []
    for row in range(len(case.choices)):
        named: dict[str, Any] = {"drive": int(case.choices.drive[row])}
        for position in ("front", "rear"):
            footing, wheel, brake = (int(n) for n in getattr(case.choices, position)[row])
            here = of[position]  # type: ignore[index]
            mount, built, braked = here.mounts[int(here.footing_mount[footing])], here.wheels[wheel], here.brakes[brake]
            named[position] = {
                "tire": mount.tire.id,
                "inner": mount.inner.id,
                "rim lock": (mount.lock.id if mount.lock else None, mount.locks),
                "rim": built.rim.id if built.rim else None,
                "spokes": (built.spokes.id if built.spokes else None, built.crossings),
                "hub": built.hub.id,
                "disc wheel": built.disc_wheel.id if built.disc_wheel else None,
                "rotor": braked.rotor.id,
                "caliper": braked.caliper.id,
                "pad": braked.pad.id,
                "pressure": float(here.footing_pressure[footing]),
            }
        found.append(named)
    return found


def ids_used(named: dict[str, Any]) -> set[str]:
    """Ids of the parts of a choice."""
    found = set()
    for position in ("front", "rear"):
        for value in named[position].values():
            found.add(value[0] if isinstance(value, tuple) else value)
    return {part for part in found if isinstance(part, str)}
