"""Which parts choices use and how often; from that the cost with price tiers, and the longest lead time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.vehicle import VehicleModel
from configopt.catalog.records import Position
from configopt.fit.layers import Brakes, BrakeSet, BuiltWheel, Column, Mounts, TireOnRim, Wheels

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
FAMILIES = ("tires", "inners", "rim-locks", "rims", "spokes", "disc-wheels", "hubs", "rotors", "calipers", "pads")


@dataclass(frozen=True)
class PartRows:
    """Per family the index of the part in the catalog (-1 for none) and the pieces per vehicle, one row per package."""

    index: dict[str, Integers]
    pieces: dict[str, Integers]

    def take(self, rows: Any) -> PartRows:
        """Some rows."""
        return PartRows({f: a[rows] for f, a in self.index.items()}, {f: a[rows] for f, a in self.pieces.items()})

    def joined(self, other: PartRows) -> PartRows:
        """Families of both."""
        return PartRows(self.index | other.index, self.pieces | other.pieces)


class PartNumbers:
    """Number of every part in its family."""

    def __init__(self, model: VehicleModel) -> None:
        self.model = model
        self._number = {
            family: {part.id: i for i, part in enumerate(model.catalog.family(family))} for family in FAMILIES
        }

    def _rows(self, columns: dict[str, tuple[Column, Any]]) -> PartRows:
        """Rows from the column of each family and the pieces of its part per vehicle."""
        index, pieces = {}, {}
        for family, (column, count) in columns.items():
            numbers = np.full(len(column.parts) + 1, -1, dtype=np.int64)
            for number in np.unique(column.number[column.number >= 0]):
                numbers[number] = self._number[family][column.parts[number].id]
            index[family] = numbers[column.number]
            pieces[family] = np.where(index[family] >= 0, count, 0).astype(np.int64)
        return PartRows(index, pieces)

    def mounts(self, position: Position, mounts: Sequence[TireOnRim]) -> PartRows:
        """Tire, inner and rim locks."""
        n, of = self.model.wheels(position), Mounts.of(mounts)
        return self._rows({"tires": (of.tire, n), "inners": (of.inner, n), "rim-locks": (of.lock, n * of.locks)})

    def wheels(self, position: Position, wheels: Sequence[BuiltWheel]) -> PartRows:
        """Rim and spokes or disc wheel, and hub."""
        n, of = self.model.wheels(position), Wheels.of(wheels)
        holes = np.nan_to_num(of.rim.values("holes")).astype(np.int64)
        return self._rows(
            {
                "rims": (of.rim, n),
                "spokes": (of.spokes, n * holes),
                "disc-wheels": (of.disc_wheel, n),
                "hubs": (of.hub, n),
            }
        )

    def brakes(self, position: Position, brakes: Sequence[BrakeSet]) -> PartRows:
        """Rotor, caliper and pads."""
        n, of = self.model.rotors(position), Brakes.of(brakes)
        return self._rows({"rotors": (of.rotor, n), "calipers": (of.caliper, n), "pads": (of.pad, n)})


@dataclass(frozen=True)
class Orders:
    """What buying the parts of choices comes to, one row per choice."""

    cost: Array
    """Packages and final drive per vehicle [currency]."""
    lead_time: Array
    """The longest of all parts [s]."""
    running_cost: Array
    """Tires, pads and rotors worn off per distance [currency/m]; infinite where a tire states no life."""


#: What the running cost is shown as where a tire states no life [currency per 1,000 km].
MOST_RUNNING_COST = 1e6
#: Families that wear, with the field that says how far they last.
WEARING = {"tires": "tread_life", "pads": "life", "rotors": "life"}


def orders(model: VehicleModel, front: PartRows, rear: PartRows, drive: Integers) -> Orders:
    """Cost, lead time and running cost of choices.

    A part used at both ends is bought as one order, so its pieces count together for the price tier.  Pads and rotors
    without a stated life are left out of the running cost.
    """
    cost = model.drive_costs[drive].astype(np.float64)
    lead, running = np.zeros(cost.shape), np.zeros(cost.shape)
    for family in FAMILIES:
        times = np.array([float(part.lead_time) for part in model.catalog.family(family)] + [0.0])
        fi, fn, ri, rn = front.index[family], front.pieces[family], rear.index[family], rear.pieces[family]
        same = (fi == ri) & (fi >= 0)
        ahead = model.costs.per_vehicle_many(family, fi, np.where(same, fn + rn, fn))
        behind = model.costs.per_vehicle_many(family, np.where(same, -1, ri), rn)
        cost = cost + ahead + behind
        lead = np.maximum(lead, np.maximum(times[fi], times[ri]))
        if family in WEARING:
            unknown = 0.0 if family == "tires" else np.inf
            lives = [float(getattr(part, WEARING[family]) or unknown) for part in model.catalog.family(family)]
            with np.errstate(divide="ignore"):
                share = 1.0 / np.array([*lives, np.inf])
            # What carrying a part costs at all is not worn off.
            once = np.array([float(part.one_off_cost) for part in model.catalog.family(family)] + [0.0])
            for bought, index in ((ahead, fi), (behind, np.where(same, -1, ri))):
                worn = bought - once[index] / model.costs.quantity
                lost = np.multiply(worn, share[index], out=np.full_like(worn, np.inf), where=np.isfinite(share[index]))
                running = running + lost
    return Orders(cost, lead, running)
