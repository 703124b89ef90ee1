"""Everything that fits at one position of one vehicle, as a layered network: footing, built wheel, brake set.

Parts of one layer that meet the next layer alike share a class, so that what fits is one small table of classes
instead of one entry per pair.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from configopt.catalog.catalog import Catalog
from configopt.catalog.records import Inner, Position, RimLock, Tire
from configopt.fit import rules
from configopt.fit.layers import Brakes, Column, Mounts, RimClass, Wheels, rim_class
from configopt.scenario.records import Axle, Vehicle

Integers = NDArray[np.int64]
Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
#: Most crossings one kind of spokes may be laced with, as the catalog's schema has it.
MOST_LACINGS = 5


@dataclass(frozen=True)
class PositionCandidates:
    """All that fits at a position.

    ``footing_mount`` and ``footing_pressure`` describe footing i; ``footing_class`` and ``wheel_class`` index
    ``mounts_fit`` (footing class x wheel rim class); ``wheel_seat`` and ``brake_class`` index ``seats_fit``.
    """

    vehicle: Vehicle
    position: Position
    mounts: Mounts
    wheels: Wheels
    brakes: Brakes
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
        seats = self.seats_fit.shape[0]
        number, wheels = np.unique(self.wheel_class * seats + self.wheel_seat, return_counts=True)
        # In Python's own numbers: the product of three counts may not fit into 64 bits.
        return sum(
            int(below[n // seats]) * int(above[n % seats]) * count
            for n, count in zip(number.tolist(), wheels.tolist(), strict=True)
        )

    def packages(self) -> Iterator[tuple[Integers, Integers, Integers]]:
        """Index triples (footing, wheel, brake) of all packages, one batch per wheel."""
        for wheel in range(len(self.wheels)):
            footings = np.flatnonzero(self.mounts_fit[self.footing_class, self.wheel_class[wheel]])
            brakes = np.flatnonzero(self.seats_fit[self.wheel_seat[wheel], self.brake_class])
            if footings.size and brakes.size:
                f, b = np.meshgrid(footings, brakes, indexing="ij")
                yield f.ravel(), np.full(f.size, wheel), b.ravel()


def _classes(keys: Integers) -> tuple[Integers, Integers]:
    """Number of the distinct key of each, in order of first appearance, and a row that has it."""
    _, first, inverse = np.unique(keys, return_index=True, return_inverse=True)
    order = np.argsort(first, kind="stable")
    rank = np.empty(len(order), dtype=np.int64)
    rank[order] = np.arange(len(order))
    return rank[inverse.ravel()], first[order]


def _numbered(keys: Sequence[Hashable]) -> Integers:
    """Equal keys get equal numbers."""
    known: dict[Hashable, int] = {}
    return np.array([known.setdefault(key, len(known)) for key in keys], dtype=np.int64)


def _kind(reason: str) -> str:
    """A reason without its figures, for counting."""
    words = [word for word in reason.split() if not any(character.isdigit() for character in word)]
    return " ".join(words[:6]).rstrip(",;:")


def built_wheels(catalog: Catalog, vehicle: Vehicle, position: Position, removed: Counter[str]) -> Wheels:
    """Every wheel that can be built for the position."""
    rims, spokes, discs = catalog.rims, catalog.spokes, catalog.disc_wheels
    offered = np.array([rules.rim_offered(rim) is None for rim in rims], dtype=bool)
    holes = np.array([rim.holes for rim in rims], dtype=np.int64)
    seats = np.array([float(rim.effective_diameter) for rim in rims])
    # Columns of the layer: hub, rim, spokes, disc wheel, crossings, lengths; one batch per hub.
    batches: list[tuple[Any, ...]] = []
    for number, hub in enumerate(catalog.hubs):
        if (reason := rules.hub_at_position(hub, vehicle, position)) is not None:
            removed[f"hubs: {_kind(reason)}"] += 1
        elif hub.kind == "spoked":
            drilled = np.flatnonzero(holes == hub.holes)
            removed["rims on hubs: number of spoke holes"] += len(rims) - drilled.size
            around = seats[drilled] > rules.largest_flange(hub)
            removed["rims on hubs: flange as large as the rim"] += int((~around).sum())
            drilled = drilled[around]
            lengths: dict[int, list[Floats]] = {}
            good = np.zeros((drilled.size, len(spokes), MOST_LACINGS), dtype=bool)
            tried = 0
            for gauge, kind in enumerate(spokes):
                tried += drilled.size * len(kind.crossings)
                if rules.spokes_offered(kind) is not None or rules.spokes_in_hub(kind, hub) is not None:
                    continue
                for slot, crossings in enumerate(kind.crossings):
                    if drilled.size and rules.crossings_on_hub(crossings, int(hub.holes or 0)) is None:
                        if crossings not in lengths:
                            lengths[crossings] = rules.spoke_lengths(hub, crossings, seats[drilled])
                        left, right = (rules.length_offered(kind, length) for length in lengths[crossings])
                        good[:, gauge, slot] = offered[drilled] & left & right
            rim, gauge_of, slot_of = np.nonzero(good)
            removed["spokes between rim and hub: crossing, gauge or length"] += tried - rim.size
            lacing = np.array([[*kind.crossings, *[-1] * MOST_LACINGS][:MOST_LACINGS] for kind in spokes])
            crossed = lacing[gauge_of, slot_of] if rim.size else np.zeros(0, dtype=np.int64)
            ends = np.zeros((2, rim.size))
            for crossings, both in lengths.items():
                here = crossed == crossings
                for side in (0, 1):
                    ends[side, here] = both[side][rim[here]]
            none = np.full(rim.size, -1)
            batches.append((np.full(rim.size, number), drilled[rim], gauge_of, none, crossed, ends[0], ends[1]))
        else:
            fitting = [i for i, disc in enumerate(discs) if rules.hub_in_disc_wheel(hub, disc) is None]
            removed["disc wheels on hubs: stud circle"] += len(discs) - len(fitting)
            none, nothing = np.full(len(fitting), -1), np.zeros(len(fitting))
            batches.append((np.full(len(fitting), number), none, none, np.array(fitting), none, nothing, nothing))
    for name in [name for name, count in removed.items() if not count]:
        del removed[name]
    numbers, lengths_of = np.zeros((5, 0), dtype=np.int64), np.zeros((2, 0))
    if batches:
        numbers = np.concatenate([np.stack(batch[:5]).astype(np.int64) for batch in batches], axis=1)
        lengths_of = np.concatenate([np.stack(batch[5:]) for batch in batches], axis=1)
    hub_of, rim_of, spokes_of, disc_of, crossings_of = numbers
    return Wheels(
        Column(tuple(catalog.hubs), hub_of),
        Column(tuple(rims), rim_of),
        Column(tuple(spokes), spokes_of),
        Column(tuple(discs), disc_of),
        crossings_of,
        *lengths_of,
    )


def brake_sets(catalog: Catalog, vehicle: Vehicle, position: Position, removed: Counter[str]) -> Brakes:
    """Every rotor, caliper and pad that go together at the position."""
    circuit = getattr(vehicle, position).brake
    sets: list[tuple[int, int, int]] = []
    for r, rotor in enumerate(catalog.rotors):
        if (reason := rules.rotor_on_vehicle(rotor, circuit)) is not None:
            removed[f"rotors: {_kind(reason)}"] += 1
            continue
        for c, caliper in enumerate(catalog.calipers):
            if rules.caliper_on_rotor(caliper, rotor, circuit) is not None:
                removed["calipers: mount, rotor diameter or thickness"] += 1
                continue
            for p, pad in enumerate(catalog.pads):
                if rules.pad_in_caliper(pad, caliper, rotor) is None:
                    sets.append((r, c, p))
                else:
                    removed["pads: shape or height"] += 1
    numbers = np.array(sets, dtype=np.int64).reshape(-1, 3)
    return Brakes(
        Column(tuple(catalog.rotors), numbers[:, 0]),
        Column(tuple(catalog.calipers), numbers[:, 1]),
        Column(tuple(catalog.pads), numbers[:, 2]),
    )


@dataclass
class Footings:
    """Mounts and their pressures while they are collected."""

    mounts: list[tuple[int, int, int, int, float]] = field(default_factory=list)
    """Tire, inner, rim lock (-1 for none), count of rim locks, rim width."""
    steps: list[tuple[Floats, Integers]] = field(default_factory=list)
    """Per mount its pressures, and for each the number of the set of rim classes that take it."""
    sets: dict[frozenset[int], int] = field(default_factory=dict)
    """Sets of rim classes with their numbers."""
    known: dict[tuple[Any, ...], tuple[Floats, Integers]] = field(default_factory=dict)

    def pressures(self, floor: float, ceilings: dict[int, float]) -> tuple[Floats, Integers]:
        """Pressures from a floor to the ceilings of some rim classes, and the sets of classes that take each."""
        key = (floor, *sorted(ceilings.items()))
        if key not in self.known:
            steps = np.array(rules.pressure_steps(floor, max(ceilings.values())))
            taken = [frozenset(i for i, c in ceilings.items() if p <= c + 1e-6) for p in steps]
            numbers = [self.sets.setdefault(found, len(self.sets)) for found in taken]
            self.known[key] = steps, np.array(numbers, dtype=np.int64)
        return self.known[key]

    def layer(self, catalog: Catalog) -> Mounts:
        """The mounts as a layer."""
        numbers = np.array([row[:4] for row in self.mounts], dtype=np.int64).reshape(-1, 4)
        return Mounts(
            Column(tuple(catalog.tires), numbers[:, 0]),
            Column(tuple(catalog.inners), numbers[:, 1]),
            Column(tuple(catalog.rim_locks), numbers[:, 2]),
            numbers[:, 3],
            np.array([row[4] for row in self.mounts], dtype=np.float64),
        )


def tires_on_rims(
    catalog: Catalog, vehicle: Vehicle, position: Position, classes: dict[int, RimClass], removed: Counter[str]
) -> Footings:
    """Every tire, inner and number of rim locks on every rim width, with pressures and the rim classes they go on."""
    axle: Axle = getattr(vehicle, position)
    found = Footings()
    locks = [(-1, None, 0)] + [(i, lock, n) for i, lock in enumerate(catalog.rim_locks) for n in (1, 2)]
    # Whether locks go with an inner into a rim depends on few figures of each, so every answer is kept.
    holds: dict[tuple[int, int, int, float, int], bool] = {}

    def held(place: int, lock: RimLock | None, count: int, of: int, inner: Inner, cls: RimClass) -> bool:
        if lock is None:
            return True
        key = (place, count, of, cls.width, cls.lock_holes)
        if key not in holds:
            holds[key] = not rules.locks_in_package(lock, count, inner, rim_width=cls.width, lock_holes=cls.lock_holes)
        return holds[key]

    for number, tire in enumerate(catalog.tires):
        if (reason := rules.tire_at_position(tire, vehicle, position)) is not None:
            removed[f"tires: {_kind(reason)}"] += 1
            continue
        ceilings = _ceilings(tire, axle, classes)
        if not ceilings:
            removed["tires: no built wheel with this bead seat and width that clears the frame"] += 1
            continue
        inners = [(i, inner) for i, inner in enumerate(catalog.inners) if rules.inner_in_tire(inner, tire) is None]
        for width in sorted({classes[i].width for i in ceilings}):
            removed["inners: bead diameter, width or casing"] += len(catalog.inners) - len(inners)
            on_width = [i for i in ceilings if classes[i].width == width]
            for of, inner in inners:
                foam = inner.kind == "foam"
                floor = 0.0 if foam else float(tire.pressure_min)
                on_rim = [i for i in on_width if rules.inner_on_rim(inner, tubeless=classes[i].tubeless) is None]
                able = {i: ceilings[i] for i in on_rim if foam or ceilings[i] >= floor}
                for place, lock, count in locks:
                    takes = {i: c for i, c in able.items() if held(place, lock, count, of, inner, classes[i])}
                    if not takes:
                        removed["rim locks or inners: rim has no hole for them or is not made for them"] += 1
                        continue
                    steps, sets = found.pressures(floor, dict.fromkeys(takes, 0.0) if foam else takes)
                    if steps.size:
                        found.mounts.append((number, of, place, count, width))
                        found.steps.append((steps, sets))
    return found


def _ceilings(tire: Tire, axle: Axle, classes: dict[int, RimClass]) -> dict[int, float]:
    """Highest pressure [Pa] on each rim class that takes the tire and keeps it within the frame."""
    return {
        i: rules.pressure_ceiling(tire, rim_pressure=cls.maximum_pressure, hookless=cls.hookless)
        for i, cls in classes.items()
        if rules.rim_takes_tire(tire, cls.family, cls.bead_diameter, cls.width) is None
        and rules.width_in_frame(tire, cls.width, axle) is None
    }


def position_candidates(catalog: Catalog, vehicle: Vehicle, position: Position) -> PositionCandidates:
    """All that fits at one position of a vehicle.

    Parts that end up in no whole package are dropped, so every footing, wheel and brake set lies on some path.
    """
    removed: Counter[str] = Counter()
    wheels = built_wheels(catalog, vehicle, position, removed)
    brakes = brake_sets(catalog, vehicle, position, removed)
    axle: Axle = getattr(vehicle, position)
    on_axle = axle.brake.axle_rotor_pattern is not None
    seen_of = [*map(rim_class, catalog.rims), *map(rim_class, catalog.disc_wheels)]
    class_of_rim = _numbered(seen_of)
    disc = wheels.disc_wheel.number
    # A wheel without a rim has a disc wheel; both kinds are numbered together.
    wheel_class, class_rows = _classes(class_of_rim[np.where(disc >= 0, len(catalog.rims) + disc, wheels.rim.number)])
    rim_classes = [wheels[int(row)].rim_class for row in class_rows]

    bead = np.array([cls.bead_diameter for cls in rim_classes])
    wheel_seat, brake_class = np.zeros(len(wheels), dtype=np.int64), np.zeros(len(brakes), dtype=np.int64)
    seat_rows, brake_rows = np.arange(min(len(wheels), 1)), np.arange(min(len(brakes), 1))
    if not on_axle and len(wheels):
        of_class = _numbered(bead.tolist())[wheel_class]
        pattern = _numbered([hub.rotor_pattern for hub in catalog.hubs])[wheels.hub.number]
        wheel_seat, seat_rows = _classes(of_class * (int(pattern.max()) + 1) + pattern)
    if not on_axle and len(brakes):
        kinds = _numbered([(rotor.pattern, float(rotor.diameter)) for rotor in catalog.rotors])
        brake_class, brake_rows = _classes(kinds[brakes.rotor.number])
    seats_fit: Flags = np.array(
        [
            on_axle or rules.rotor_in_wheel(brakes.rotor[b], wheels.hub[s], bead[wheel_class[s]]) is None
            for s in seat_rows.tolist()
            for b in brake_rows.tolist()
        ],
        dtype=np.bool_,
    ).reshape(len(seat_rows), len(brake_rows))
    keep_wheel: Flags = (
        np.asarray(seats_fit.any(axis=1))[wheel_seat]
        if len(wheels) and len(brakes)
        else np.zeros(len(wheels), dtype=bool)
    )
    if (~keep_wheel).any():
        removed["wheels: no rotor with this bolt pattern that clears the rim"] += int((~keep_wheel).sum())

    reachable = np.unique(wheel_class[keep_wheel])
    footings = tires_on_rims(catalog, vehicle, position, {int(i): rim_classes[i] for i in reachable}, removed)
    footing_mount = np.repeat(np.arange(len(footings.steps)), [len(steps) for steps, _ in footings.steps])
    mounts_fit = np.zeros((len(footings.sets), len(rim_classes)), dtype=bool)
    for compatible, row in footings.sets.items():
        mounts_fit[row, sorted(compatible)] = True
    used_class: Flags = np.asarray(mounts_fit.any(axis=0))
    no_tire = keep_wheel & ~used_class[wheel_class] if len(wheels) else np.zeros(0, dtype=bool)
    if no_tire.any():
        removed["wheels: no tire with this bead seat and width"] += int(no_tire.sum())
    keep_wheel &= ~no_tire
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
        mounts=footings.layer(catalog),
        wheels=wheels.take(keep_wheel),
        brakes=brakes.take(keep_brake),
        footing_mount=footing_mount,
        footing_pressure=np.concatenate([np.zeros(0), *(steps for steps, _ in footings.steps)]),
        footing_class=np.concatenate([np.zeros(0, dtype=np.int64), *(sets for _, sets in footings.steps)]),
        wheel_class=wheel_class[keep_wheel],
        mounts_fit=mounts_fit,
        wheel_seat=wheel_seat[keep_wheel],
        brake_class=brake_class[keep_brake],
        seats_fit=seats_fit,
        removed=removed,
    )
