"""The box of masses and radii over which bounds hold, and the loads of the wheels in it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import product
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.forces import LEAST_LOAD
from configopt.appraisal.tables import FootingTable, PositionTables
from configopt.appraisal.vehicle import POSITIONS, VehicleModel
from configopt.catalog.records import Position
from configopt.choice.terms import Term
from configopt.fit.candidates import PositionCandidates
from configopt.physics.loads import GRAVITY, axle_loads

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
#: Cells of rest mass in which a bound is evaluated.
CELLS = 8


#: What a box spans: the packages' mass or the footings' free radius of an axle.
Dimension = tuple[Position, Literal["mass", "radius"]]


@dataclass(frozen=True)
class Box:
    """Ranges of both axles' package masses [kg] and free radii [m], ends included."""

    front: tuple[float, float]
    rear: tuple[float, float]
    front_radius: tuple[float, float] = (0.0, np.inf)
    rear_radius: tuple[float, float] = (0.0, np.inf)

    def radius(self, position: Position) -> tuple[float, float]:
        """Range of the radii of an axle."""
        return self.front_radius if position == "front" else self.rear_radius

    def within(self, dimension: Dimension, span: tuple[float, float]) -> Box:
        """The box with another range in one dimension."""
        position, kind = dimension
        return replace(self, **{position if kind == "mass" else f"{position}_radius": span})


@dataclass(frozen=True)
class Nodes:
    """The nodes of one position that are still in play: indices into candidates and tables."""

    candidates: PositionCandidates
    tables: PositionTables
    footing: Integers
    wheel: Integers
    brake: Integers

    @cached_property
    def footings(self) -> FootingTable:
        """Table rows of the footings in play."""
        return self.tables.footings.take(self.footing)

    @cached_property
    def radius_kind(self) -> Integers:
        """Number of each footing's free radius among those of the position."""
        return self.tables.radius_kind[self.footing]

    @cached_property
    def footing_class(self) -> Integers:
        """Interface class of each footing."""
        return self.candidates.footing_class[self.footing]

    @cached_property
    def wheel_class(self) -> Integers:
        """Rim class of each wheel."""
        return self.candidates.wheel_class[self.wheel]

    @cached_property
    def wheel_seat(self) -> Integers:
        """Rotor seat of each wheel."""
        return self.candidates.wheel_seat[self.wheel]

    @cached_property
    def brake_class(self) -> Integers:
        """Seat class of each brake set."""
        return self.candidates.brake_class[self.brake]

    @cached_property
    def wheel_mass(self) -> Array:
        """Mass of the wheels of the axle per wheel node [kg]."""
        return self.candidates.axle.wheels * self.tables.wheels.mass[self.wheel]

    @cached_property
    def brake_mass(self) -> Array:
        """Mass of the brakes of the axle per brake node [kg]."""
        return self.candidates.axle.brake.rotors * self.tables.brakes.mass[self.brake]

    @cached_property
    def footing_mass(self) -> Array:
        """Mass of the footings of the axle per footing node [kg]."""
        return self.candidates.axle.wheels * self.footings.mass

    @cached_property
    def rest_range(self) -> tuple[Array, Array]:
        """Least and most rest mass over what goes on each footing [kg]; empty ranges are inf to -inf."""
        seats, mounts = self.candidates.seats_fit, self.candidates.mounts_fit
        low = np.full(seats.shape[0], np.inf)
        high = np.full(seats.shape[0], -np.inf)
        for seat in np.unique(self.wheel_seat):
            fits = seats[seat, self.brake_class]
            if fits.any():
                low[seat], high[seat] = self.brake_mass[fits].min(), self.brake_mass[fits].max()
        wheel_low = self.wheel_mass + low[self.wheel_seat]
        wheel_high = self.wheel_mass + high[self.wheel_seat]
        class_low = np.full(mounts.shape[0], np.inf)
        class_high = np.full(mounts.shape[0], -np.inf)
        for cls in np.unique(self.footing_class):
            fits = mounts[cls, self.wheel_class]
            if fits.any():
                class_low[cls], class_high[cls] = wheel_low[fits].min(), wheel_high[fits].max()
        return class_low[self.footing_class], class_high[self.footing_class]

    def keep(self, footing: NDArray[np.bool_], wheel: NDArray[np.bool_], brake: NDArray[np.bool_]) -> Nodes:
        """Only some nodes, and of those only what still lies on a whole path."""
        f, w, b = self.footing[footing], self.wheel[wheel], self.brake[brake]
        while True:
            nodes = Nodes(self.candidates, self.tables, f, w, b)
            mounts, seats = self.candidates.mounts_fit, self.candidates.seats_fit
            on_class = np.zeros(mounts.shape[1], dtype=bool)
            if f.size:
                on_class |= mounts[np.unique(nodes.footing_class)].any(axis=0)
            on_seat = np.zeros(seats.shape[0], dtype=bool)
            if b.size:
                on_seat |= seats[:, np.unique(nodes.brake_class)].any(axis=1)
            good_wheel = on_class[nodes.wheel_class] & on_seat[nodes.wheel_seat]
            wheel_classes = np.unique(nodes.wheel_class[good_wheel])
            good_footing = np.asarray(mounts[:, wheel_classes].any(axis=1))[nodes.footing_class]
            good_brake = np.asarray(seats[np.unique(nodes.wheel_seat[good_wheel])].any(axis=0))[nodes.brake_class]
            if good_wheel.all() and good_footing.all() and good_brake.all():
                return nodes
            f, w, b = f[good_footing], w[good_wheel], b[good_brake]


@dataclass(frozen=True)
class Context:
    """One position over a box: rest-mass grid of every footing and loads at its most and least favourable ends."""

    model: VehicleModel
    position: Position
    nodes: Nodes
    grid: Array
    """Rest mass at cell borders (footings, cells + 1)."""
    other_mass: tuple[float, float]
    other_radius: tuple[float, float]
    drive_mass: tuple[float, float]
    cache: dict[Any, Any] = field(default_factory=dict)

    @property
    def wheels(self) -> int:
        """Wheels of the axle."""
        return self.model.wheels(self.position)

    @cached_property
    def own_mass(self) -> Array:
        """Axle mass at cell borders [kg]."""
        return self.nodes.footing_mass[:, None] + self.grid

    @cached_property
    def table(self) -> FootingTable:
        """Footing table with a last axis for cells."""
        return self.nodes.footings.column()

    def _ends(self, angle: float, deceleration: float) -> Array:
        """Intercepts of the axle's load at the corners of the context [N] (corners, kinds of radius).

        The load of an axle is affine in its own mass with a slope that only its own radius decides, and affine in every
        other mass and radius, so the corners of the context give the extreme intercepts.
        """
        radius = self.nodes.tables.radii
        corners = np.array(list(product(self.other_mass, self.other_radius, self.drive_mass)))
        other, other_radius, drive = (column[:, None] for column in corners.T)
        front = self.position == "front"
        loads = axle_loads(
            self.model.chassis,
            front_mass=0.0 if front else other,
            rear_mass=other + drive if front else drive,
            front_radius=radius if front else other_radius,
            rear_radius=other_radius if front else radius,
            grade_angle=angle,
            deceleration=deceleration,
        )
        return loads.front if front else loads.rear

    def _slope(self, angle: float, deceleration: Any) -> Array:
        """Growth of the axle's load with its own mass [N/kg]."""
        radius = self.nodes.footings.radius
        radius = radius[:, None] if np.ndim(deceleration) else radius
        lever = (GRAVITY * np.sin(angle) - deceleration) * radius / self.model.chassis.wheelbase
        return np.asarray(GRAVITY * np.cos(angle) + (-lever if self.position == "front" else lever))

    def axle(self, *, angle: float = 0.0) -> tuple[Array, Array, Array]:
        """Least and most load of this axle [N] at cell borders (also below zero), and the most total normal load."""
        key = ("axle", angle)
        if key not in self.cache:
            ends, kind = self._ends(angle, 0.0), self.nodes.radius_kind
            low, high = ends.min(axis=0)[kind], ends.max(axis=0)[kind]
            own = self._slope(angle, 0.0)[:, None] * self.own_mass
            total = GRAVITY * np.cos(angle) * self.total_mass()[1]
            self.cache[key] = (low[:, None] + own, high[:, None] + own, total)
        lines: tuple[Array, Array, Array] = self.cache[key]
        return lines

    def loads(self, *, angle: float = 0.0) -> tuple[Array, Array]:
        """Least and most load of one wheel [N] at cell borders, within zero and the whole weight."""
        low, high, most = self.axle(angle=angle)
        return np.clip(low, 0.0, self.least_weight(angle)) / self.wheels, np.clip(high, 0.0, most) / self.wheels

    def least_weight(self, angle: float) -> Array:
        """Least normal load of both axles [N] at cell borders: what one axle carries where the other lifts."""
        return np.asarray(GRAVITY * np.cos(angle) * self.total_mass()[0])

    def braked_loads(self, least: Array, most: Array) -> tuple[Array, Array]:
        """Least and most load of one wheel [N] per cell, for decelerations between two arrays (footings, cells).

        The front load grows with the deceleration, the rear load with its negative.
        """
        own_low, own_high = cell_low(self.own_mass), cell_high(self.own_mass)
        kind = self.nodes.radius_kind
        at_rest = self._ends(0.0, 0.0)
        growth = self._ends(0.0, 1.0) - at_rest
        bottom, top = np.full(own_low.shape, np.inf), np.full(own_low.shape, -np.inf)
        for slowing in (least, most):
            slope = self._slope(0.0, slowing)
            ends = float(slowing.min()), float(slowing.max())
            for sign, own, chosen in ((1.0, np.minimum, np.minimum), (-1.0, np.maximum, np.maximum)):
                edge = np.full(own_low.shape, sign * np.inf)
                for corner in _outermost(sign * at_rest, sign * growth, ends):
                    edge = chosen(edge, at_rest[corner, kind][:, None] + growth[corner, kind][:, None] * slowing)
                edge = edge + own(slope * own_low, slope * own_high)
                if sign > 0.0:
                    bottom = np.minimum(bottom, edge)
                else:
                    top = np.maximum(top, edge)
        least, most = cell_low(self.least_weight(0.0)), GRAVITY * cell_high(self.total_mass()[1])
        return np.clip(bottom, 0.0, least) / self.wheels, np.clip(top, 0.0, most) / self.wheels

    def total_mass(self) -> tuple[Array, Array]:
        """Least and most mass of the laden vehicle [kg] at cell borders."""
        return self._total_mass

    @cached_property
    def _total_mass(self) -> tuple[Array, Array]:
        base = self.model.laden_mass + self.own_mass
        return base + self.other_mass[0] + self.drive_mass[0], base + self.other_mass[1] + self.drive_mass[1]

    def mass_term(self, factor: float) -> Term:
        """factor x axle mass, exact; ``factor`` of any sign."""
        count = len(self.nodes.footing)
        return Term(factor * self.nodes.footing_mass, np.full(count, factor))

    def front_load_term(self, factor: float, *, angle: float, deceleration: float = 0.0) -> tuple[Term, float]:
        """This position's part of factor x front axle load [N], and the constant of the chassis.

        The front load is a sum of a part of the front package, one of the rear package and a constant, exactly (see
        :func:`configopt.physics.loads.axle_loads`); the final drive's mass is taken at its favourable end.
        """
        chassis = self.model.chassis
        base = chassis.wheelbase
        normal, along = GRAVITY * np.cos(angle), GRAVITY * np.sin(angle) - deceleration
        share = chassis.cg_from_rear_axle / base
        above = chassis.cg_above_axles
        radius = self.nodes.footings.radius
        mass = self.nodes.footing_mass
        if self.position == "front":
            change = radius - chassis.reference_front_radius
            body = chassis.mass * (-normal * above * change / base - along * share * change)
            lever = normal * base - along * radius
        else:
            change = radius - chassis.reference_rear_radius
            body = chassis.mass * (normal * above * change / base - along * (1.0 - share) * change)
            lever = -along * radius
            # The favourable end is the one that makes the term least; it depends on the sign of the lever.
            body = body + np.minimum(factor * lever * self.drive_mass[0], factor * lever * self.drive_mass[1]) / factor
        term = Term(factor * (body + lever * mass) / base, factor * lever / base)
        constant = factor * chassis.mass * (normal * chassis.cg_from_rear_axle - along * chassis.cg_height) / base
        return term, float(constant)


def _outermost(start: Array, growth: Array, ends: tuple[float, float]) -> list[int]:
    """Of lines (lines, kinds) those that may be the lowest somewhere between two ends."""
    at = np.concatenate([start + end * growth for end in ends], axis=1)
    below: list[list[bool]] = np.all(at[:, None, :] <= at[None, :, :], axis=2).tolist()
    kept: list[int] = []
    for line in range(len(start)):
        if not any(below[other][line] for other in (*kept, *range(line + 1, len(start)))):
            kept.append(line)
    return kept


def cell_low(values: Array) -> Array:
    """Least of both borders of each cell."""
    return np.minimum(values[:, :-1], values[:, 1:])


def cell_high(values: Array) -> Array:
    """Most of both borders of each cell."""
    return np.maximum(values[:, :-1], values[:, 1:])


def floor_load(load: Array) -> Array:
    """Loads as the full model takes them."""
    return np.maximum(load, LEAST_LOAD)


def contexts(
    model: VehicleModel, nodes: dict[Position, Nodes], box: Box, drives: Integers, cells: int = CELLS
) -> dict[Position, Context] | None:
    """Contexts of both positions in a box, or ``None`` where no package of a position lies in it.

    Footings whose package mass cannot lie in the box are dropped.
    """
    trimmed: dict[Position, tuple[Nodes, Array, Array]] = {}
    for position in POSITIONS:
        part = nodes[position]
        if not (part.footing.size and part.wheel.size and part.brake.size):
            return None
        low, high = part.rest_range
        box_low, box_high = getattr(box, position)
        low = np.maximum(low, box_low - part.footing_mass)
        high = np.minimum(high, box_high - part.footing_mass)
        radius_low, radius_high = box.radius(position)
        radius = part.footings.radius
        inside = (low <= high + 1e-12) & (radius >= radius_low) & (radius <= radius_high)
        if not inside.any():
            return None
        high = np.maximum(low, high)
        kept = Nodes(part.candidates, part.tables, part.footing[inside], part.wheel, part.brake)
        trimmed[position] = (kept, low[inside], high[inside])
    masses = {p: (float(getattr(box, p)[0]), float(getattr(box, p)[1])) for p in POSITIONS}
    for position in POSITIONS:
        kept, low, high = trimmed[position]
        own_low, own_high = kept.footing_mass + low, kept.footing_mass + high
        masses[position] = (float(own_low.min()), float(own_high.max()))
    drive_masses = model.drive_masses[drives]
    result: dict[Position, Context] = {}
    for position in POSITIONS:
        other: Position = "rear" if position == "front" else "front"
        kept, low, high = trimmed[position]
        radius = trimmed[other][0].footings.radius
        steps = np.linspace(0.0, 1.0, cells + 1)
        grid = low[:, None] + (high - low)[:, None] * steps
        result[position] = Context(
            model,
            position,
            kept,
            grid,
            masses[other],
            (float(radius.min()), float(radius.max())),
            (float(drive_masses.min()), float(drive_masses.max())),
        )
    return result
