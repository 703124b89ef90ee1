"""Choices as rows of part numbers that hold in every variant, appraised in one variant or listed there.

A variant numbers its candidates in its own way, because other parts fit or are left.  Between variants a choice is a
row of numbers of the parts in the scenario's own catalogs; one that does not fit in a variant has no aim there.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.vehicle import POSITIONS
from configopt.catalog.records import Position
from configopt.choice.audit import Candidates, Choices
from configopt.choice.choose import Settings, every_below
from configopt.scenario.records import PackageRecord, VehicleChoiceRecord
from configopt.sweep.changing import Base, Changed

Array = NDArray[np.float64]
Rows = NDArray[np.int64]
#: Columns of one position of a row: part families, then crossings, count of rim locks and pressure [Pa].
FAMILIES = ("tires", "inners", "rim-locks", "hubs", "rims", "spokes", "disc-wheels", "rotors", "calipers", "pads")
FIELDS = ("tire", "inner", "rim_lock", "hub", "rim", "spokes", "disc_wheel", "rotor", "caliper", "pad")
WIDTH = len(FAMILIES) + 3
CROSSINGS, LOCKS, PRESSURE = len(FAMILIES), len(FAMILIES) + 1, len(FAMILIES) + 2
FOOTING, WHEEL, BRAKE = [0, 1, 2, LOCKS, PRESSURE], [3, 4, 5, 6, CROSSINGS], [7, 8, 9]


class Numbers:
    """Numbers of parts and final drives in the scenario's own catalogs."""

    def __init__(self, base: Base) -> None:
        catalog = base.case.catalog
        self.ids = {family: [part.id for part in catalog.family(family)] for family in FAMILIES}
        self.of = {family: {name: number for number, name in enumerate(ids)} for family, ids in self.ids.items()}
        self.drives = [option.id for option in base.case.vehicle.drive.final_drives]

    def row(self, record: VehicleChoiceRecord) -> list[int] | None:
        """A choice as a row; ``None`` where it names something that the scenario does not have."""
        numbers: list[int] = []
        for position in POSITIONS:
            end = getattr(record, position)
            for family, field in zip(FAMILIES, FIELDS, strict=True):
                part = getattr(end, field)
                number = -1 if part is None else self.of[family].get(part)
                if number is None:
                    return None
                numbers.append(number)
            crossings = -1 if end.crossings is None else end.crossings
            numbers += [crossings, end.rim_locks, round(float(end.pressure))]
        if record.final_drive not in self.drives:
            return None
        return [*numbers, self.drives.index(record.final_drive)]

    def record(self, row: Sequence[int]) -> VehicleChoiceRecord:
        """The choice of a row."""
        ends: dict[str, Any] = {}
        for place, position in enumerate(POSITIONS):
            own = [int(number) for number in row[place * WIDTH : (place + 1) * WIDTH]]
            parts = {
                field: None if own[column] < 0 else self.ids[family][own[column]]
                for column, (family, field) in enumerate(zip(FAMILIES, FIELDS, strict=True))
            }
            crossings = None if own[CROSSINGS] < 0 else own[CROSSINGS]
            ends[position] = PackageRecord.model_construct(
                **parts, crossings=crossings, rim_locks=own[LOCKS], pressure=float(own[PRESSURE])
            )
        return VehicleChoiceRecord.model_construct(final_drive=self.drives[int(row[-1])], **ends)


class Portable:
    """The candidates of a variant with the scenario's numbers of their parts."""

    def __init__(self, base: Base, changed: Changed) -> None:
        vehicle = changed.case.vehicle
        self.candidates = Candidates(vehicle, changed.case.catalog, changed.case.scenario.aims)
        self.numbers = Numbers(base)
        known = {name: number for number, name in enumerate(self.numbers.drives)}
        self.drives = np.array([known.get(option.id, -1) for option in vehicle.drive.final_drives])
        self.columns = {position: self._columns(position) for position in POSITIONS}

    def _columns(self, position: Position) -> tuple[Rows, Rows, Rows]:
        """Footings, wheels and brake sets of a position, each with the columns that make it."""
        of = self.candidates.of[position]
        mount = of.footing_mount

        def numbered(family: str, column: Any) -> Rows:
            known = self.numbers.of[family]
            # The last entry stands for no part.
            places = np.array([*(known[part.id] for part in column.parts), -1], dtype=np.int64)
            return np.asarray(places[column.number])

        pressure = np.round(of.footing_pressure).astype(np.int64)
        footings = [numbered("tires", of.mounts.tire)[mount], numbered("inners", of.mounts.inner)[mount]]
        footings += [numbered("rim-locks", of.mounts.lock)[mount], of.mounts.locks[mount], pressure]
        wheels = [numbered("hubs", of.wheels.hub), numbered("rims", of.wheels.rim)]
        wheels += [numbered("spokes", of.wheels.spokes), numbered("disc-wheels", of.wheels.disc_wheel)]
        brakes = [numbered("rotors", of.brakes.rotor), numbered("calipers", of.brakes.caliper)]
        return (
            np.stack(footings, axis=1),
            np.stack([*wheels, of.wheels.crossings], axis=1),
            np.stack([*brakes, numbered("pads", of.brakes.pad)], axis=1),
        )

    def rows(self, choices: Choices) -> Rows:
        """Choices of the variant as rows."""
        found = np.full((len(choices), 2 * WIDTH + 1), -1, dtype=np.int64)
        for place, (position, numbers) in enumerate((("front", choices.front), ("rear", choices.rear))):
            for layer, columns in enumerate((FOOTING, WHEEL, BRAKE)):
                layers = self.columns[position]  # type: ignore[index]
                found[:, [place * WIDTH + column for column in columns]] = layers[layer][numbers[:, layer]]
        found[:, -1] = self.drives[choices.drive]
        return found

    def choices(self, rows: Rows) -> tuple[Choices, Rows]:
        """Rows as choices of the variant, and which of the rows fit there."""
        numbers: dict[Position, Rows] = {}
        good = np.ones(len(rows), dtype=bool)
        for place, position in enumerate(POSITIONS):
            of, own = self.candidates.of[position], rows[:, place * WIDTH : (place + 1) * WIDTH]
            footings, wheels, brakes = self.columns[position]
            wheel = _matched(wheels, own[:, WHEEL])
            brake = _matched(brakes, own[:, BRAKE])
            # One mount stands for one rim width, which the wheel decides.
            widths = np.array([one.rim_class.width for one in of.wheels] or [0.0])
            wanted = np.column_stack([own[:, FOOTING], np.where(wheel >= 0, _micrometres(widths)[wheel], -1)])
            on_width = np.column_stack([footings, _micrometres(of.mounts.rim_width)[of.footing_mount]])
            footing = _matched(on_width, wanted)
            fits = (footing >= 0) & (wheel >= 0) & (brake >= 0)
            index = np.flatnonzero(fits)
            fits[index] = of.mounts_fit[of.footing_class[footing[index]], of.wheel_class[wheel[index]]]
            index = np.flatnonzero(fits)
            fits[index] = of.seats_fit[of.wheel_seat[wheel[index]], of.brake_class[brake[index]]]
            good &= fits
            numbers[position] = np.stack([footing, wheel, brake], axis=1)
        drive = _matched(self.drives[:, None], rows[:, -1:])
        kept = np.flatnonzero(good & (drive >= 0))
        return Choices(numbers["front"][kept], numbers["rear"][kept], drive[kept]), kept


def _micrometres(length: Array) -> Rows:
    return np.round(1e6 * length).astype(np.int64)


def _matched(have: Rows, wanted: Rows) -> Rows:
    """Number of the row of ``have`` that each row of ``wanted`` equals, -1 for none."""
    _, inverse = np.unique(np.concatenate([have, wanted]), axis=0, return_inverse=True)
    inverse = inverse.ravel()
    place = np.full(int(inverse.max(initial=0)) + 1, -1, dtype=np.int64)
    place[inverse[: len(have)]] = np.arange(len(have))
    return np.asarray(place[inverse[len(have) :]])


def judged_rows(base: Base, changed: Changed, rows: Rows) -> Array:
    """Aim of each row in a variant, infinite where it does not fit or misses a limit, (n,) [1]."""
    portable = Portable(base, changed)
    aims = np.full(len(rows), np.inf)
    choices, kept = portable.choices(rows)
    if kept.size:
        value, met = portable.candidates.appraise(choices)
        aims[kept[met]] = value[met]
    return aims


def listed_rows(base: Base, changed: Changed, cutoff: float, most: int) -> tuple[Rows, Array] | None:
    """Every choice of a variant that meets its limits with an aim up to ``cutoff``, with the aim.

    ``None`` where there are more than ``most``.
    """
    portable = Portable(base, changed)
    found = every_below(portable.candidates, Settings(solve=False), cutoff, most)
    if found is None:
        return None
    choices, quantities = found
    rows = portable.rows(choices)
    if (rows[:, -1] < 0).any():
        # A final drive of its own: no choice of the scenario's, so the list would not be complete elsewhere.
        return None
    return rows, portable.candidates.weighed(choices, quantities)
