"""The layers of a package: what is bought and put together first, and many of them as numbers of their parts.

A catalog of some thousand parts makes a million built wheels, so a layer holds numbers, and a mount or wheel is made
when it is looked at.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, fields
from typing import Any, Generic, Self, TypeVar, overload

import numpy as np
from numpy.typing import NDArray

from configopt.catalog.records import Caliper, DiscWheel, Hub, Inner, Pad, Rim, RimLock, Rotor, Spokes, Tire
from configopt.sizes import parse_rim_size

Integers = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class RimClass:
    """What a tire sees of a rim or disc wheel."""

    family: str
    bead_diameter: float
    width: float
    lock_holes: int
    tubeless: bool
    hookless: bool
    maximum_pressure: float


@dataclass(frozen=True, slots=True)
class TireOnRim:
    """A tire with its inner and rim locks on one rim width: a footing without its pressure."""

    tire: Tire
    inner: Inner
    lock: RimLock | None
    locks: int
    rim_width: float


@dataclass(frozen=True, slots=True)
class BuiltWheel:
    """A rim laced to a hub, or a disc wheel on a studded hub."""

    hub: Hub
    rim: Rim | None = None
    spokes: Spokes | None = None
    crossings: int | None = None
    disc_wheel: DiscWheel | None = None
    length_left: float = 0.0
    length_right: float = 0.0

    @property
    def rim_class(self) -> RimClass:
        """What the tire sees."""
        return rim_class(self.rim if self.rim is not None else self.disc_wheel)


@dataclass(frozen=True, slots=True)
class BrakeSet:
    """Rotor, caliper and pad."""

    rotor: Rotor
    caliper: Caliper
    pad: Pad


def rim_class(part: Rim | DiscWheel | None) -> RimClass:
    """Class of a rim or disc wheel."""
    assert part is not None
    size = parse_rim_size(part.size)
    if isinstance(part, Rim):
        return RimClass(
            size.family,
            size.bead_diameter,
            size.width,
            part.lock_holes,
            part.tubeless,
            part.hookless,
            float(part.maximum_pressure),
        )
    return RimClass(size.family, size.bead_diameter, size.width, 0, True, False, float(part.maximum_pressure))


@dataclass(frozen=True)
class Column:
    """One kind of part in a layer: the distinct parts, and which of them each row has, -1 for none."""

    parts: tuple[Any, ...]
    number: Integers

    @staticmethod
    def of(parts: Sequence[Any]) -> Column:
        """Column of the parts of given rows, ``None`` for none."""
        distinct: list[Any] = []
        known: dict[int, int] = {}
        numbers = np.full(len(parts), -1, dtype=np.int64)
        for row, part in enumerate(parts):
            if part is not None:
                if id(part) not in known:
                    known[id(part)] = len(distinct)
                    distinct.append(part)
                numbers[row] = known[id(part)]
        return Column(tuple(distinct), numbers)

    def __getitem__(self, row: int) -> Any:
        number = int(self.number[row])
        return None if number < 0 else self.parts[number]

    def take(self, rows: Any) -> Column:
        """Some rows."""
        return Column(self.parts, self.number[rows])

    def values(self, name: str) -> Floats:
        """A figure of the part of each row; NaN where there is no part or it does not state the figure."""
        return self.each(lambda part: getattr(part, name))

    def each(self, figure: Callable[[Any], Any]) -> Floats:
        """What a function gives for the part of each row; NaN where there is none or it gives ``None``."""
        found = np.full(len(self.parts) + 1, np.nan)
        for number in np.unique(self.number[self.number >= 0]):
            value = figure(self.parts[number])
            found[number] = np.nan if value is None else float(value)
        return np.asarray(found[self.number])


Row = TypeVar("Row")


class _Layer(Sequence[Row], Generic[Row]):
    """A sequence whose rows are made when they are asked for."""

    def row(self, number: int) -> Row:
        """One row."""
        raise NotImplementedError

    def take(self, rows: Any) -> Self:
        """Some rows."""
        columns = (getattr(self, field.name) for field in fields(self))  # type: ignore[arg-type]
        return type(self)(*(column.take(rows) if isinstance(column, Column) else column[rows] for column in columns))

    @overload
    def __getitem__(self, row: int) -> Row: ...
    @overload
    def __getitem__(self, row: slice) -> list[Row]: ...
    def __getitem__(self, row: int | slice) -> Row | list[Row]:
        if isinstance(row, slice):
            return [self.row(number) for number in range(*row.indices(len(self)))]
        return self.row(row)

    def __iter__(self) -> Iterator[Row]:
        return (self.row(number) for number in range(len(self)))


@dataclass(frozen=True)
class Mounts(_Layer[TireOnRim]):
    """Tires on rims; ``locks`` counts the rim locks, ``rim_width`` is in [m]."""

    tire: Column
    inner: Column
    lock: Column
    locks: Integers
    rim_width: Floats

    @staticmethod
    def of(mounts: Sequence[TireOnRim]) -> Mounts:
        """The layer of given mounts."""
        if isinstance(mounts, Mounts):
            return mounts
        return Mounts(
            Column.of([mount.tire for mount in mounts]),
            Column.of([mount.inner for mount in mounts]),
            Column.of([mount.lock for mount in mounts]),
            np.array([mount.locks for mount in mounts], dtype=np.int64),
            np.array([mount.rim_width for mount in mounts], dtype=np.float64),
        )

    def __len__(self) -> int:
        return len(self.locks)

    def row(self, number: int) -> TireOnRim:
        """One mount."""
        return TireOnRim(
            self.tire[number],
            self.inner[number],
            self.lock[number],
            int(self.locks[number]),
            float(self.rim_width[number]),
        )


@dataclass(frozen=True)
class Wheels(_Layer[BuiltWheel]):
    """Built wheels; ``crossings`` is -1 where there are no spokes, lengths of the spokes in [m]."""

    hub: Column
    rim: Column
    spokes: Column
    disc_wheel: Column
    crossings: Integers
    length_left: Floats
    length_right: Floats

    @staticmethod
    def of(wheels: Sequence[BuiltWheel]) -> Wheels:
        """The layer of given wheels."""
        if isinstance(wheels, Wheels):
            return wheels
        return Wheels(
            Column.of([wheel.hub for wheel in wheels]),
            Column.of([wheel.rim for wheel in wheels]),
            Column.of([wheel.spokes for wheel in wheels]),
            Column.of([wheel.disc_wheel for wheel in wheels]),
            np.array([-1 if wheel.crossings is None else wheel.crossings for wheel in wheels], dtype=np.int64),
            np.array([wheel.length_left for wheel in wheels], dtype=np.float64),
            np.array([wheel.length_right for wheel in wheels], dtype=np.float64),
        )

    def __len__(self) -> int:
        return len(self.crossings)

    def row(self, number: int) -> BuiltWheel:
        """One wheel."""
        crossings = int(self.crossings[number])
        return BuiltWheel(
            self.hub[number],
            self.rim[number],
            self.spokes[number],
            None if crossings < 0 else crossings,
            self.disc_wheel[number],
            float(self.length_left[number]),
            float(self.length_right[number]),
        )


@dataclass(frozen=True)
class Brakes(_Layer[BrakeSet]):
    """Brake sets."""

    rotor: Column
    caliper: Column
    pad: Column

    @staticmethod
    def of(brakes: Sequence[BrakeSet]) -> Brakes:
        """The layer of given brake sets."""
        if isinstance(brakes, Brakes):
            return brakes
        return Brakes(
            Column.of([brake.rotor for brake in brakes]),
            Column.of([brake.caliper for brake in brakes]),
            Column.of([brake.pad for brake in brakes]),
        )

    def __len__(self) -> int:
        return len(self.rotor.number)

    def row(self, number: int) -> BrakeSet:
        """One brake set."""
        return BrakeSet(self.rotor[number], self.caliper[number], self.pad[number])
