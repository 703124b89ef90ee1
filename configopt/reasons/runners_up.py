"""The choices that differ from the best in one part, and what each would cost.

One part at one position, or the final drive; the pressure there is set anew, for a pressure is no part.  All such
choices are appraised, so what is listed is complete.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.vehicle import POSITIONS
from configopt.catalog.records import Position
from configopt.choice.audit import Candidates, Choices
from configopt.reasons.asking import Answer, appraised
from configopt.reasons.telling import beside

Integers = NDArray[np.int64]
#: What may differ at a position, in the order of listing.
KINDS = ("tire", "inner", "rim lock", "rim", "spokes", "hub", "disc wheel", "rotor", "caliper", "pad", "pressure")
#: Choices listed for each kind and position.
LISTED = 3


@dataclass(frozen=True)
class Swap:
    """All choices that differ from one in one kind of part at one position."""

    kind: str
    position: Position | None
    choices: Choices


def swaps(candidates: Candidates, choice: Choices) -> Iterator[Swap]:
    """Every choice that differs from one in a single part.

    Parameters
    ----------
    candidates : of the vehicle
    choice : one row

    Yields
    ------
    Swap
        By position and kind, then final drives; kinds of which there is no other are left out.
    """
    for position in POSITIONS:
        own = getattr(choice, position)[0]
        for kind, rows in _packages(candidates, position, own):
            if len(rows):
                yield Swap(kind, position, _with(choice, position, rows))
    others = np.flatnonzero(candidates.drives != choice.drive[0])
    if others.size:
        front, rear = (np.repeat(rows, others.size, axis=0) for rows in (choice.front, choice.rear))
        yield Swap("final drive", None, Choices(front, rear, candidates.drives[others]))


def _with(choice: Choices, position: Position, rows: Integers) -> Choices:
    other = np.repeat(choice.rear if position == "front" else choice.front, len(rows), axis=0)
    drive = np.repeat(choice.drive, len(rows))
    return Choices(rows, other, drive) if position == "front" else Choices(other, rows, drive)


def _packages(candidates: Candidates, position: Position, own: Integers) -> Iterator[tuple[str, Integers]]:
    """Packages of a position that differ in one part, by kind, as (footing, wheel, brake)."""
    of, (mounts, wheels, brakes) = candidates.of[position], candidates.parts[position]
    mount = of.footing_mount

    def mount_same(family: str) -> NDArray[np.bool_]:
        column, at = mounts.index[family], mount[own[0]]
        kept = column == column[at]
        if family == "rim-locks":
            kept &= of.mounts.locks == of.mounts.locks[at]
        return np.asarray(kept[mount])

    def wheel_same(family: str) -> NDArray[np.bool_]:
        column = wheels.index[family]
        kept = column == column[own[1]]
        if family == "spokes":
            kept &= of.wheels.crossings == of.wheels.crossings[own[1]]
        return np.asarray(kept)

    def brake_same(family: str) -> NDArray[np.bool_]:
        return np.asarray(brakes.index[family] == brakes.index[family][own[2]])

    tire, inner, lock = (mount_same(family) for family in ("tires", "inners", "rim-locks"))
    parts = {family: wheel_same(family) for family in ("rims", "spokes", "hubs", "disc-wheels")}
    own_wheel, own_brake = np.array([own[1]]), np.array([own[2]])
    rotor, caliper, pad = (brake_same(family) for family in ("rotors", "calipers", "pads"))
    unchanged = tire & inner & lock

    def joined(footings: NDArray[np.bool_], wheel: Integers, brake: Integers) -> Integers:
        return _fitting(candidates, position, np.flatnonzero(footings), wheel, brake)

    yield "tire", joined(~tire & inner & lock, own_wheel, own_brake)
    yield "inner", joined(tire & ~inner & lock, own_wheel, own_brake)
    yield "rim lock", joined(tire & inner & ~lock, own_wheel, own_brake)
    for kind, family in (("rim", "rims"), ("spokes", "spokes"), ("hub", "hubs"), ("disc wheel", "disc-wheels")):
        rest = [parts[other] for other in parts if other != family]
        other_wheels = np.flatnonzero(np.logical_and.reduce(rest) & ~parts[family])
        yield kind, joined(unchanged, other_wheels, own_brake)
    for kind, kept, changed in (
        ("rotor", caliper & pad, rotor),
        ("caliper", rotor & pad, caliper),
        ("pad", rotor & caliper, pad),
    ):
        yield kind, joined(unchanged, own_wheel, np.flatnonzero(kept & ~changed))
    pressures = joined(unchanged, own_wheel, own_brake)
    yield "pressure", pressures[pressures[:, 0] != own[0]]


def _fitting(
    candidates: Candidates, position: Position, footings: Integers, wheels: Integers, brakes: Integers
) -> Integers:
    """Those of the combinations that fit together."""
    of = candidates.of[position]
    footing, wheel, brake = (grid.ravel() for grid in np.meshgrid(footings, wheels, brakes, indexing="ij"))
    fits = of.mounts_fit[of.footing_class[footing], of.wheel_class[wheel]]
    fits &= of.seats_fit[of.wheel_seat[wheel], of.brake_class[brake]]
    return np.stack([footing, wheel, brake], axis=1)[fits].astype(np.int64)


def _first_with_each(candidates: Candidates, swap: Swap, choices: Choices, aims: NDArray[np.float64]) -> Integers:
    """Of choices by rising aim, the first with each other part; all pressures where only that differs."""
    order = np.argsort(aims, kind="stable")
    if swap.position is None:
        return order
    rows = candidates.part_rows(choices.take(order))[swap.position]
    if swap.kind == "pressure":
        return order
    # Spokes laced otherwise are another wheel.
    wheels = getattr(choices, swap.position)[order, 1]
    columns = [*rows.index.values(), rows.pieces["rim-locks"], wheels]
    return order[np.sort(np.unique(np.stack(columns, axis=1), axis=0, return_index=True)[1])]


def runners_up(best: Answer) -> list[dict[str, Any]]:
    """The choices that differ from the best in one part and meet every limit, the least loss first within each kind.

    Parameters
    ----------
    best : the best choices of a vehicle

    Returns
    -------
    list of dict
        One row per kind and position of which there is another part: how many choices there are, how many meet every
        limit, and the best :data:`LISTED` of different parts; by rising loss, then those without any.
    """
    candidates, rows = best.candidates, []
    for swap in swaps(candidates, best.first):
        met, found = candidates.meeting(swap.choices)
        aims = candidates.weighed(swap.choices.take(met), found)
        first = met[_first_with_each(candidates, swap, swap.choices.take(met), aims)[:LISTED]]
        listed = [
            beside(best.appraised, appraised(candidates, swap.choices.take(np.array([one]))), candidates.rates)
            for one in first
        ]
        rows.append(
            {
                "what": swap.kind,
                "position": swap.position,
                "others": len(swap.choices),
                "meet_every_limit": int(met.size),
                "best": listed,
            }
        )
    return sorted(rows, key=lambda row: row["best"][0]["loss"] if row["best"] else np.inf)
