"""Variants that differ in limits and parts alone, as one: what meets the limits of all of them.

On one vehicle, ground, catalog and price list a choice meets the limits of several variants where it meets the
strictest of each limit and uses no part that is gone in any.  Lists made under these are much shorter.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from configopt.errors import FindingsError
from configopt.scenario.limits import LIMITS
from configopt.scenario.records import LimitRecord
from configopt.scenario.scopes import asked
from configopt.scenario.variants import PARTS, PRICES, Planned
from configopt.sweep.changing import Base, Changed, changed


def ground_of(base: Base, planned: Planned) -> str | None:
    """Fingerprint of all that decides what a choice does, but for limits, aims and what is gone.

    ``None`` where the variant must stand alone: with several conditions, a limit holds at other places in each.
    """
    try:
        case = changed(base, planned).case
    except FindingsError:
        return None
    if case.vehicle.conditions:
        return None
    vehicle = case.vehicle.model_copy(update={"limits": [], "baseline": None})
    catalog = {
        one.field: one.value for one in planned.settings if one.field.split(".")[0] in (PARTS, PRICES)
    }  # the last one counts, as where they are applied
    text = json.dumps([vehicle.model_dump(mode="json"), sorted(catalog.items())], sort_keys=True, default=str)
    return hashlib.sha256(text.encode()).hexdigest()


def merged(base: Base, planned: Planned, others: Sequence[Planned]) -> Changed:
    """A variant with the limits of others, the strictest of each, and without what is gone in any of them.

    Parameters
    ----------
    base
        The scenario.
    planned
        The variant, whose aims count.
    others
        Variants on the same ground (:func:`ground_of`).
    """
    here = changed(base, planned)
    surfaces = {surface.id: surface for surface in here.case.catalog.surfaces}
    strictest: dict[tuple[str, str | None, str | None], float] = {}
    gone = set(here.gone)
    for one in [here, *(changed(base, other) for other in others)]:
        gone |= one.gone
        for scope, of in asked(one.case.vehicle, surfaces).items():
            before = strictest.get(scope)
            stricter = max if LIMITS[scope[0]].bound == "at_least" else min
            strictest[scope] = of.required if before is None else stricter(before, of.required)
    limits = [_stated(*scope, required) for scope, required in strictest.items()]
    vehicle = here.case.vehicle.model_copy(update={"limits": limits, "baseline": None})
    scenario = here.case.scenario.model_copy(update={"vehicles": [vehicle]})
    catalog = here.case.catalog
    for family in {base.families[part] for part in gone - here.gone}:
        catalog = catalog.subset({family: [part.id for part in catalog.family(family) if part.id not in gone]})
    return Changed(replace(here.case, scenario=scenario, catalog=catalog), frozenset(gone), here.key)


def _stated(key: str, terrain: str | None, position: str | None, required: float) -> LimitRecord:
    """A limit at one place, as a scenario states it; its bound was checked where it comes from."""
    limit = LIMITS[key]
    shown = limit.shown(required)
    bound = shown if limit.unit in ("1", "currency", "g") else f"{shown!r} {limit.unit}"
    values: dict[str, Any] = {"limit": key, "terrain": terrain, "position": position, limit.bound: bound}
    return LimitRecord.model_construct(**values)
