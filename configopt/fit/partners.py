"""What fits a part and why the rest does not, by the rules of fit taken pair by pair.

A pair that needs a third part to be judged (a rim on a hub needs spokes) fits where some third part of the catalogs
makes it fit; the reason against it is then that of the third part that comes closest.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

from configopt.catalog.catalog import Catalog
from configopt.catalog.records import FAMILIES, Caliper, Hub, Inner, Pad, Rim, RimLock, Rotor, Spokes, Tire
from configopt.errors import UsageError
from configopt.fit import rules
from configopt.fit.candidates import PositionCandidates, position_candidates
from configopt.fit.layers import rim_class
from configopt.scenario.records import BrakeCircuit, Vehicle

Rule = Callable[[Any, Any, Catalog], str | None]


@dataclass(frozen=True, slots=True)
class Pair:
    """One partner: whether it fits, and why not."""

    part: Any
    reason: str | None


@dataclass(frozen=True, slots=True)
class Place:
    """One position of one vehicle: whether the part can be used there, and why not."""

    vehicle: str
    position: str
    reason: str | None


def find_part(catalog: Catalog, identifier: str) -> tuple[str, Any]:
    """Family and part of an id.

    Raises
    ------
    UsageError
        If no family has it, or it is a surface, with the nearest ids.
    """
    known = {part.id: (family, part) for family in FAMILIES for part in catalog.family(family)}
    if identifier not in known:
        near = get_close_matches(identifier, known, n=3)
        hint = f"did you mean {' or '.join(near)}?" if near else "see configopt parts"
        raise UsageError(f'there is no part "{identifier}" in these catalogs; {hint}')
    family, part = known[identifier]
    if family == "surfaces":
        raise UsageError(f'"{identifier}" is a surface to ride on; name a part')
    return family, part


def partners(catalog: Catalog, family: str, part: Any) -> Iterator[tuple[str, list[Pair]]]:
    """Every family that meets this one, with each of its parts.

    Parameters
    ----------
    catalog
        The parts.
    family, part
        The part in question.

    Yields
    ------
    tuple
        Family of the partners and one pair per part of it, in catalog order.
    """
    for other in _ORDER:
        rule = _RULES.get((family, other))
        turned = _RULES.get((other, family))
        if rule is None and turned is None:
            continue
        pairs = []
        for candidate in catalog.family(other):
            reason = _gone(candidate)
            if reason is None and rule is not None:
                reason = rule(part, candidate, catalog)
            elif reason is None and turned is not None:
                reason = turned(candidate, part, catalog)
            pairs.append(Pair(candidate, reason))
        yield other, pairs


def places(vehicles: Iterable[Vehicle], catalog: Catalog, family: str, part: Any) -> Iterator[Place]:
    """Whether the part is in any whole package at each position of some vehicles.

    Parameters
    ----------
    vehicles
        Of a scenario.
    catalog
        Its parts.
    family, part
        The part in question.

    Yields
    ------
    Place
        One per vehicle and position.
    """
    for vehicle in vehicles:
        for position in ("front", "rear"):
            reason = _gone(part)
            if reason is None and family == "tires":
                reason = rules.tire_at_position(part, vehicle, position)
            elif reason is None and family == "hubs":
                reason = rules.hub_at_position(part, vehicle, position)
            elif reason is None and family == "rotors":
                reason = rules.rotor_on_vehicle(part, getattr(vehicle, position).brake)
            elif reason is None and family == "calipers":
                mounts = getattr(vehicle, position).brake.caliper_mounts
                if part.mount not in mounts:
                    reason = f"caliper mount {part.mount}, the vehicle has {' and '.join(mounts)}"
            if reason is None and part.id not in _used(position_candidates(catalog, vehicle, position)):
                reason = "no whole package here holds it: one of the parts it needs does not fit the vehicle"
            yield Place(vehicle.name, position, reason)


def _used(candidates: PositionCandidates) -> set[str]:
    parts: list[Any] = []
    for mount in candidates.mounts:
        parts += [mount.tire, mount.inner, mount.lock]
    for wheel in candidates.wheels:
        parts += [wheel.hub, wheel.rim, wheel.spokes, wheel.disc_wheel]
    for brake in candidates.brakes:
        parts += [brake.rotor, brake.caliper, brake.pad]
    return {part.id for part in parts if part is not None}


def _gone(part: Any) -> str | None:
    status = getattr(part, "status", "active")
    return {"withdrawn": "it is withdrawn", "concept": "it is only a concept"}.get(status)


def _first_that_fits(reasons: Iterator[str | None], nothing: str) -> str | None:
    """``None`` if any third part makes the pair fit, else the last reason, which came furthest."""
    reason: str | None = nothing
    for reason in reasons:
        if reason is None:
            return None
    return reason


def _tire_lock(tire: Tire, lock: RimLock, catalog: Catalog) -> str | None:
    rims = [rim for rim in catalog.rims if rules.tire_on_rim(tire, rim) is None and _gone(rim) is None]
    return _first_that_fits((_rim_lock(rim, lock, catalog) for rim in rims), "no rim takes this tire")


def _rim_inner(rim: Any, inner: Inner, catalog: Catalog) -> str | None:
    seen = rim_class(rim)
    if not any(abs(float(bead) - seen.bead_diameter) <= rules.BEAD_TOLERANCE for bead in inner.bead_diameters):
        return f"{inner.kind} is not made for the bead diameter {rules.mm(seen.bead_diameter)}"
    return rules.inner_on_rim(inner, tubeless=seen.tubeless)


def _rim_lock(rim: Rim, lock: RimLock, catalog: Catalog) -> str | None:
    if rim.lock_holes == 0:
        return "rim has no hole for a rim lock"
    low, high, width = float(lock.rim_width_min), float(lock.rim_width_max), rim_class(rim).width
    if low - rules.WIDTH_TOLERANCE <= width <= high + rules.WIDTH_TOLERANCE:
        return None
    return f"rim lock is for rims of {rules.mm(low)} to {rules.mm(high)}, this one is {rules.mm(width)}"


def _laced(spokes: Spokes, rim: Rim, hub: Hub) -> str | None:
    return _first_that_fits(
        (rules.spokes_in_wheel(spokes, rim, hub, crossings) for crossings in spokes.crossings),
        "spokes name no crossings",
    )


def _rim_hub(rim: Rim, hub: Hub, catalog: Catalog) -> str | None:
    able = (_laced(spokes, rim, hub) for spokes in catalog.spokes if _gone(spokes) is None)
    return _first_that_fits(able, "there are no spokes")


def _rim_spokes(rim: Rim, spokes: Spokes, catalog: Catalog) -> str | None:
    hubs = [hub for hub in catalog.hubs if hub.holes == rim.holes and _gone(hub) is None]
    return _first_that_fits((_laced(spokes, rim, hub) for hub in hubs), f"no hub has {rim.holes} holes")


def _spokes_hub(spokes: Spokes, hub: Hub, catalog: Catalog) -> str | None:
    if hub.kind != "spoked":
        return "hub has studs, no spoke flanges"
    rims = [rim for rim in catalog.rims if hub.holes == rim.holes and _gone(rim) is None]
    return _first_that_fits((_laced(spokes, rim, hub) for rim in rims), f"no rim has {hub.holes} holes")


def _hub_rotor(hub: Hub, rotor: Rotor, catalog: Catalog) -> str | None:
    # The rim's size is not part of this pair: with an endless one only the bolt pattern is left.
    return rules.rotor_in_wheel(rotor, hub, math.inf)


def _rotor_caliper(rotor: Rotor, caliper: Caliper, catalog: Catalog) -> str | None:
    # The vehicle's mount is not part of this pair.
    return rules.caliper_on_rotor(caliper, rotor, BrakeCircuit.model_construct(caliper_mounts=[caliper.mount]))


def _rotor_pad(rotor: Rotor, pad: Pad, catalog: Catalog) -> str | None:
    shaped = [
        caliper
        for caliper in catalog.calipers
        if caliper.pad_shape == pad.shape and _gone(caliper) is None and _rotor_caliper(rotor, caliper, catalog) is None
    ]
    reasons = (rules.pad_in_caliper(pad, caliper, rotor) for caliper in shaped)
    return _first_that_fits(reasons, f"no caliper for this rotor takes the pad shape {pad.shape}")


def _caliper_pad(caliper: Caliper, pad: Pad, catalog: Catalog) -> str | None:
    if pad.shape != caliper.pad_shape:
        return f"pad shape {pad.shape}, caliper takes {caliper.pad_shape}"
    rotors = [
        rotor for rotor in catalog.rotors if _gone(rotor) is None and _rotor_caliper(rotor, caliper, catalog) is None
    ]
    reasons = (rules.pad_in_caliper(pad, caliper, rotor) for rotor in rotors)
    return _first_that_fits(reasons, "no rotor fits this caliper")


def _hub_disc(hub: Hub, disc: Any, catalog: Catalog) -> str | None:
    return rules.hub_in_disc_wheel(hub, disc)


def _tire_rim(tire: Tire, rim: Any, catalog: Catalog) -> str | None:
    return rules.tire_on_rim(tire, rim)


def _tire_inner(tire: Tire, inner: Inner, catalog: Catalog) -> str | None:
    return rules.inner_in_tire(inner, tire)


_ORDER = ("tires", "inners", "rim-locks", "rims", "spokes", "hubs", "disc-wheels", "rotors", "calipers", "pads")
_RULES: dict[tuple[str, str], Rule] = {
    ("tires", "inners"): _tire_inner,
    ("tires", "rim-locks"): _tire_lock,
    ("tires", "rims"): _tire_rim,
    ("tires", "disc-wheels"): _tire_rim,
    ("rims", "inners"): _rim_inner,
    ("rims", "rim-locks"): _rim_lock,
    ("rims", "spokes"): _rim_spokes,
    ("rims", "hubs"): _rim_hub,
    ("spokes", "hubs"): _spokes_hub,
    ("hubs", "disc-wheels"): _hub_disc,
    ("hubs", "rotors"): _hub_rotor,
    ("disc-wheels", "inners"): _rim_inner,
    ("rotors", "calipers"): _rotor_caliper,
    ("rotors", "pads"): _rotor_pad,
    ("calipers", "pads"): _caliper_pad,
}
