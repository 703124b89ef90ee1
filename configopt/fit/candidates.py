"""Everything that fits at one position of one vehicle, as a layered network: footing, built wheel, brake set.

Parts of one layer that meet the next layer alike share a class, so that what fits is one small table of classes
instead of one entry per pair.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from configopt.catalog.catalog import Catalog
from configopt.catalog.records import (
    Caliper,
    DiscWheel,
    Hub,
    Inner,
    Pad,
    Position,
    Rim,
    RimLock,
    Rotor,
    Spokes,
    Tire,
)
from configopt.fit import rules
from configopt.scenario.records import Axle, Vehicle
from configopt.sizes import parse_rim_size

Integers = NDArray[np.int64]
Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]


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
class PositionCandidates:
    """All that fits at a position.

    ``footing_mount`` and ``footing_pressure`` describe footing i; ``footing_class`` and ``wheel_class`` index
    ``mounts_fit`` (footing class x wheel rim class); ``wheel_seat`` and ``brake_class`` index ``seats_fit``.
    """

    vehicle: Vehicle
    position: Position
    mounts: tuple[TireOnRim, ...]
    wheels: tuple[BuiltWheel, ...]
    brakes: tuple[BrakeSet, ...]
    footing_mount: Integers
    footing_pressure: Floats
    footing_class: Integers
    wheel_class: Integers
    mounts_fit: NDArray[np.bool_]
    wheel_seat: Integers
    brake_class: Integers
    seats_fit: NDArray[np.bool_]
    removed: Counter[str] = field(default_factory=Counter)

    @property
    def axle(self) -> Axle:
        """The vehicle's axle at this position."""
        axle: Axle = getattr(self.vehicle, self.position)
        return axle

    def package_count(self) -> int:
        """Number of whole packages (paths through the three layers), exact."""
        footings = np.bincount(self.footing_class, minlength=self.mounts_fit.shape[0])
        brakes = np.bincount(self.brake_class, minlength=self.seats_fit.shape[1])
        below = footings @ self.mounts_fit
        above = self.seats_fit @ brakes
        return int(sum(int(below[c]) * int(above[s]) for c, s in zip(self.wheel_class, self.wheel_seat, strict=True)))

    def packages(self) -> Iterator[tuple[Integers, Integers, Integers]]:
        """Index triples (footing, wheel, brake) of all packages, one batch per wheel."""
        for wheel in range(len(self.wheels)):
            footings = np.flatnonzero(self.mounts_fit[self.footing_class, self.wheel_class[wheel]])
            brakes = np.flatnonzero(self.seats_fit[self.wheel_seat[wheel], self.brake_class])
            if footings.size and brakes.size:
                f, b = np.meshgrid(footings, brakes, indexing="ij")
                yield f.ravel(), np.full(f.size, wheel), b.ravel()


def _classes(keys: list[object]) -> tuple[Integers, list[object]]:
    distinct = list(dict.fromkeys(keys))
    number = {key: i for i, key in enumerate(distinct)}
    return np.array([number[key] for key in keys], dtype=np.int64), distinct


def built_wheels(
    catalog: Catalog, vehicle: Vehicle, position: Position, removed: Counter[str]
) -> tuple[BuiltWheel, ...]:
    """Every wheel that can be built for the position."""
    hubs = []
    for hub in catalog.hubs:
        if (reason := rules.hub_at_position(hub, vehicle, position)) is None:
            hubs.append(hub)
        else:
            removed[f"hubs: {_kind(reason)}"] += 1
    wheels = []
    for hub in hubs:
        if hub.kind == "spoked":
            for rim in catalog.rims:
                if rim.holes != hub.holes:
                    removed["rims on hubs: number of spoke holes"] += 1
                    continue
                for spokes in catalog.spokes:
                    for crossings in spokes.crossings:
                        if rules.spokes_in_wheel(spokes, rim, hub, crossings) is None:
                            left, right = rules.built_spoke_lengths(rim, hub, crossings)
                            wheels.append(BuiltWheel(hub, rim, spokes, crossings, None, left, right))
                        else:
                            removed["spokes between rim and hub: crossing, gauge or length"] += 1
        else:
            for disc in catalog.disc_wheels:
                if rules.hub_in_disc_wheel(hub, disc) is None:
                    wheels.append(BuiltWheel(hub, disc_wheel=disc))
                else:
                    removed["disc wheels on hubs: stud circle"] += 1
    return tuple(wheels)


def _kind(reason: str) -> str:
    """A reason without its figures, for counting."""
    words = [word for word in reason.split() if not any(character.isdigit() for character in word)]
    return " ".join(words[:6]).rstrip(",;:")


def brake_sets(catalog: Catalog, vehicle: Vehicle, position: Position, removed: Counter[str]) -> tuple[BrakeSet, ...]:
    """Every rotor, caliper and pad that go together at the position."""
    circuit = getattr(vehicle, position).brake
    sets = []
    for rotor in catalog.rotors:
        if (reason := rules.rotor_on_vehicle(rotor, circuit)) is not None:
            removed[f"rotors: {_kind(reason)}"] += 1
            continue
        for caliper in catalog.calipers:
            if rules.caliper_on_rotor(caliper, rotor, circuit) is not None:
                removed["calipers: mount, rotor diameter or thickness"] += 1
                continue
            for pad in catalog.pads:
                if rules.pad_in_caliper(pad, caliper, rotor) is None:
                    sets.append(BrakeSet(rotor, caliper, pad))
                else:
                    removed["pads: shape or height"] += 1
    return tuple(sets)


def tires_on_rims(
    catalog: Catalog,
    vehicle: Vehicle,
    position: Position,
    classes: list[RimClass],
    removed: Counter[str],
) -> list[tuple[TireOnRim, list[tuple[float, frozenset[int]]]]]:
    """Every tire, inner and number of rim locks on every rim width, with pressures and the rim classes they go on."""
    axle: Axle = getattr(vehicle, position)
    mounts = []
    for tire in catalog.tires:
        if (reason := rules.tire_at_position(tire, vehicle, position)) is not None:
            removed[f"tires: {_kind(reason)}"] += 1
            continue
        seated = [
            i
            for i, cls in enumerate(classes)
            if rules.rim_takes_tire(tire, cls.family, cls.bead_diameter, cls.width) is None
        ]
        seated = [i for i in seated if rules.width_in_frame(tire, classes[i].width, axle) is None]
        if not seated:
            removed["tires: no built wheel with this bead seat and width that clears the frame"] += 1
            continue
        for width in sorted({classes[i].width for i in seated}):
            on_width = [i for i in seated if classes[i].width == width]
            for inner in catalog.inners:
                if rules.inner_in_tire(inner, tire) is not None:
                    removed["inners: bead diameter, width or casing"] += 1
                    continue
                for lock, count in [(None, 0)] + [(lock, n) for lock in catalog.rim_locks for n in (1, 2)]:
                    ceilings = {
                        i: _ceiling(tire, inner, lock, count, classes[i])
                        for i in on_width
                        if rules.inner_on_rim(inner, tubeless=classes[i].tubeless) is None
                    }
                    ceilings = {i: ceiling for i, ceiling in ceilings.items() if ceiling is not None}
                    if not ceilings:
                        removed["rim locks or inners: rim has no hole for them or is not made for them"] += 1
                        continue
                    floor = 0.0 if inner.kind == "foam" else float(tire.pressure_min)
                    top = 0.0 if inner.kind == "foam" else max(c for c in ceilings.values() if c is not None)
                    pressures = [
                        (pressure, frozenset(i for i, c in ceilings.items() if c is not None and pressure <= c + 1e-6))
                        for pressure in rules.pressure_steps(floor, top)
                    ]
                    if pressures:
                        mounts.append((TireOnRim(tire, inner, lock, count, width), pressures))
    return mounts


def _ceiling(tire: Tire, inner: Inner, lock: RimLock | None, count: int, cls: RimClass) -> float | None:
    if lock is not None and rules.locks_in_package(lock, count, inner, rim_width=cls.width, lock_holes=cls.lock_holes):
        return None
    ceiling = rules.pressure_ceiling(tire, rim_pressure=cls.maximum_pressure, hookless=cls.hookless)
    if inner.kind != "foam" and ceiling < float(tire.pressure_min):
        return None
    return ceiling


def position_candidates(catalog: Catalog, vehicle: Vehicle, position: Position) -> PositionCandidates:
    """All that fits at one position of a vehicle.

    Parts that end up in no whole package are dropped, so every footing, wheel and brake set lies on some path.
    """
    removed: Counter[str] = Counter()
    wheels = built_wheels(catalog, vehicle, position, removed)
    brakes = brake_sets(catalog, vehicle, position, removed)
    axle: Axle = getattr(vehicle, position)
    on_axle = axle.brake.axle_rotor_pattern is not None

    def seats(wheel: BuiltWheel, brake: BrakeSet) -> bool:
        return on_axle or rules.rotor_in_wheel(brake.rotor, wheel.hub, wheel.rim_class.bead_diameter) is None

    wheel_keys: list[object] = [
        None if on_axle else (wheel.hub.rotor_pattern, wheel.rim_class.bead_diameter) for wheel in wheels
    ]
    brake_keys: list[object] = [None if on_axle else (b.rotor.pattern, float(b.rotor.diameter)) for b in brakes]
    wheel_seat, seat_keys = _classes(wheel_keys)
    brake_class, brake_kinds = _classes(brake_keys)
    example_wheel = {key: wheels[wheel_keys.index(key)] for key in seat_keys}
    example_brake = {key: brakes[brake_keys.index(key)] for key in brake_kinds}
    seats_fit = np.array(
        [[seats(example_wheel[s], example_brake[b]) for b in brake_kinds] for s in seat_keys], dtype=bool
    ).reshape(len(seat_keys), len(brake_kinds))
    keep_wheel: Flags = (
        np.asarray(seats_fit.any(axis=1))[wheel_seat] if wheels and brakes else np.zeros(len(wheels), dtype=bool)
    )
    if (~keep_wheel).any():
        removed["wheels: no rotor with this bolt pattern that clears the rim"] += int((~keep_wheel).sum())

    class_keys: list[object] = [wheel.rim_class for wheel in wheels]
    wheel_class, classes = _classes(class_keys)
    reachable = {int(c) for c in wheel_class[keep_wheel]}
    rim_classes = [cls for cls in classes if isinstance(cls, RimClass)]
    mounts = tires_on_rims(
        catalog, vehicle, position, [c for i, c in enumerate(rim_classes) if i in reachable], removed
    )
    order = [i for i in range(len(rim_classes)) if i in reachable]

    footing_mount, footing_pressure, footing_sets = [], [], []
    for number, (_, pressures) in enumerate(mounts):
        for pressure, compatible in pressures:
            footing_mount.append(number)
            footing_pressure.append(pressure)
            footing_sets.append(frozenset(order[i] for i in compatible))
    footing_class, sets = _classes(list(footing_sets))
    mounts_fit = np.zeros((len(sets), len(rim_classes)), dtype=bool)
    for row, compatible_set in enumerate(sets):
        assert isinstance(compatible_set, frozenset)
        mounts_fit[row, sorted(compatible_set)] = True
    used_class: Flags = np.asarray(mounts_fit.any(axis=0)) if len(sets) else np.zeros(len(rim_classes), dtype=bool)
    if wheels:
        no_tire = keep_wheel & ~used_class[wheel_class]
        if no_tire.any():
            removed["wheels: no tire with this bead seat and width"] += int(no_tire.sum())
        keep_wheel &= used_class[wheel_class]
    keep_brake: Flags = (
        np.asarray(seats_fit[np.unique(wheel_seat[keep_wheel])].any(axis=0))[brake_class]
        if keep_wheel.any()
        else np.zeros(len(brakes), dtype=bool)
    )
    if (~keep_brake).any():
        removed["brake sets: no wheel with this bolt pattern"] += int((~keep_brake).sum())
    return PositionCandidates(
        vehicle=vehicle,
        position=position,
        mounts=tuple(mount for mount, _ in mounts),
        wheels=tuple(wheel for wheel, keep in zip(wheels, keep_wheel, strict=True) if keep),
        brakes=tuple(brake for brake, keep in zip(brakes, keep_brake, strict=True) if keep),
        footing_mount=np.array(footing_mount, dtype=np.int64),
        footing_pressure=np.array(footing_pressure, dtype=np.float64),
        footing_class=footing_class,
        wheel_class=wheel_class[keep_wheel],
        mounts_fit=mounts_fit,
        wheel_seat=wheel_seat[keep_wheel],
        brake_class=brake_class[keep_brake],
        seats_fit=seats_fit,
        removed=removed,
    )
