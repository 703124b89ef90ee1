"""Which part fits which: one function per rule, each returning the reason why not, or ``None``.

Standards give bead seats, widths and pressures; the rest is geometry.  Where a figure is common practice without a
published source, the rule says so.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

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
from configopt.physics.spokes import spoke_length
from configopt.physics.tire import grown_width
from configopt.scenario.records import Axle, BrakeCircuit, Vehicle
from configopt.sizes import RimSize, TireSize, parse_rim_size, parse_service_description, parse_tire_size

#: Bead seats differ by rounding between standards; anything closer than this is the same seat [m].
BEAD_TOLERANCE = 0.0006
#: Width tolerance when a rim width is compared with a permitted range [m] (codes are printed to 0.5 mm).
WIDTH_TOLERANCE = 0.0005
#: Rotor must clear the rim by this much on the radius [m] (common practice, no source).
ROTOR_RIM_CLEARANCE = 0.020
#: Most play of a spoke in the hub's hole [m] (common practice, no source).
SPOKE_HOLE_PLAY = 0.0008
#: ISO 5775-1:2023 Table 3, highest pressure on straight-side rims [Pa] by section width below [m].
HOOKLESS_PRESSURE: tuple[tuple[float, float], ...] = (
    (0.0245, 550e3),
    (0.0295, 500e3),
    (0.0345, 450e3),
    (0.0395, 400e3),
    (0.0445, 350e3),
    (0.0545, 300e3),
    (0.0645, 250e3),
    (0.0745, 200e3),
    (0.0845, 150e3),
)
#: Pressure gauges read in steps of 5 kPa [Pa].
PRESSURE_STEP = 5e3

_SEATS = {"metric": ("WM", "MT"), "inch": ("WM", "MT"), "atv": ("AT",), "iso": ("ISO",)}


def mm(value: float) -> str:
    """A length for a reason text."""
    return f"{value * 1e3:.4g} mm"


def tire_width(tire: Tire) -> float:
    """Section width on the measuring rim [m]: the measured one where stated, else the designation's."""
    return float(tire.width) if tire.width is not None else parse_tire_size(tire.size).section_width


def tire_diameter(tire: Tire) -> float:
    """Overall diameter [m]: the measured one where stated, else the designation's."""
    return float(tire.diameter) if tire.diameter is not None else parse_tire_size(tire.size).overall_diameter


def tire_width_on(tire: Tire, rim_width: float) -> float:
    """Section width on a rim [m], ISO 5751-2:2010 5.2."""
    return float(
        grown_width(tire_width(tire), rim_width=rim_width, measuring_rim_width=float(tire.measuring_rim_width))
    )


def tire_maximum_load(tire: Tire, pressure: ArrayLike) -> NDArray[np.float64]:
    """Mass the tire may carry at gauge pressures [Pa], of their shape [kg].

    The maker's load at that pressure (interpolated) where the catalog has it, else the load index or the maker's
    maximum load, which are rated at the reference pressure.
    """
    asked = np.asarray(pressure, dtype=np.float64)
    loads = [] if tire.maximum_load is None else [float(tire.maximum_load)]
    if tire.service_description is not None:
        loads.append(parse_service_description(tire.service_description).load)
    if not tire.load_at_pressure:
        return np.full(asked.shape, min(loads))
    stated = np.array([float(row.pressure) for row in tire.load_at_pressure])
    load = np.array([float(row.load) for row in tire.load_at_pressure])
    # Below the first row the load falls with the pressure to nothing; from the last row on the rating itself holds.
    found = np.where(asked < stated[0], load[0] * asked / stated[0], np.interp(asked, stated, load))
    return np.where(asked >= stated[-1], min(loads), found)


def tire_maximum_speed(tire: Tire) -> float:
    """Speed the tire is rated for [m/s]."""
    speeds = [] if tire.maximum_speed is None else [float(tire.maximum_speed)]
    if tire.service_description is not None:
        speeds.append(parse_service_description(tire.service_description).speed)
    return min(speeds)


def tire_at_position(tire: Tire, vehicle: Vehicle, position: Position) -> str | None:
    """Position, speed, road approval and free diameter."""
    axle: Axle = getattr(vehicle, position)
    if tire.status in ("withdrawn", "concept"):
        return f"tire is {tire.status}"
    if position not in tire.positions:
        return f"tire is made for the {' and '.join(tire.positions)} only"
    if (tire.kind == "quad") != (vehicle.kind == "quad"):
        return f"{tire.kind} tire on a {vehicle.kind}"
    if vehicle.use == "road-legal" and not tire.road_approved:
        return "tire has no approval for use on public roads"
    fastest = max(
        [float(t.speed) for t in vehicle.terrains]
        + [float(d.speed) for d in vehicle.descents]
        + [float(vehicle.stops.speed) if vehicle.stops is not None else 0.0]
    )
    if tire_maximum_speed(tire) < fastest:
        return (
            f"tire is rated to {tire_maximum_speed(tire) * 3.6:.0f} km/h, the scenario rides {fastest * 3.6:.0f} km/h"
        )
    diameter = tire_diameter(tire)
    if diameter > float(axle.tire_diameter_max):
        return f"tire diameter {mm(diameter)} is above the frame's {mm(float(axle.tire_diameter_max))}"
    return None


def rim_takes_tire(tire: Tire, family: str, bead_diameter: float, width: float) -> str | None:
    """Bead seat and width: ``family`` WM, MT, ISO or AT, ``bead_diameter`` and inner ``width`` [m]."""
    size: TireSize = parse_tire_size(tire.size)
    if family not in _SEATS[size.family]:
        return f"bead seat {family} does not take a {size.family} tire"
    if abs(bead_diameter - size.rim_diameter) > BEAD_TOLERANCE:
        return f"bead seat {mm(bead_diameter)}, tire needs {mm(size.rim_diameter)}"
    low, high = float(tire.rim_width_min), float(tire.rim_width_max)
    if not low - WIDTH_TOLERANCE <= width <= high + WIDTH_TOLERANCE:
        return f"rim width {mm(width)} outside the tire's {mm(low)} to {mm(high)}"
    return None


def tire_on_rim(tire: Tire, part: Rim | DiscWheel) -> str | None:
    """Bead seat and width of a rim or disc wheel."""
    rim: RimSize = parse_rim_size(part.size)
    return rim_takes_tire(tire, rim.family, rim.bead_diameter, rim.width)


def width_in_frame(tire: Tire, rim_width: float, axle: Axle) -> str | None:
    """Clearance of the grown width."""
    width = tire_width_on(tire, rim_width)
    if width > float(axle.tire_width_max):
        return f"tire is {mm(width)} wide on a {mm(rim_width)} rim, the frame takes {mm(float(axle.tire_width_max))}"
    return None


def inner_in_tire(inner: Inner, tire: Tire) -> str | None:
    """Diameter, width range, tubeless casing."""
    if inner.status in ("withdrawn", "concept"):
        return f"{inner.kind} is {inner.status}"
    seat = parse_tire_size(tire.size).rim_diameter
    if not any(abs(float(bead) - seat) <= BEAD_TOLERANCE for bead in inner.bead_diameters):
        return f"{inner.kind} is not made for the bead diameter {mm(seat)}"
    width = tire_width(tire)
    low, high = float(inner.section_width_min), float(inner.section_width_max)
    if not low <= width <= high:
        return f"{inner.kind} is for {mm(low)} to {mm(high)}, the tire is {mm(width)} wide"
    if inner.kind == "tubeless" and not tire.tubeless:
        return "tire's casing is not made for use without a tube"
    return None


def inner_on_rim(inner: Inner, *, tubeless: bool) -> str | None:
    """A tubeless kit needs a tubeless rim."""
    return "rim is not made for use without a tube" if inner.kind == "tubeless" and not tubeless else None


def locks_in_package(lock: RimLock, count: int, inner: Inner, *, rim_width: float, lock_holes: int) -> str | None:
    """Drilled holes, rim width, and no lock through a sealed or a filled rim."""
    if lock.status in ("withdrawn", "concept"):
        return f"rim lock is {lock.status}"
    if inner.kind != "tube":
        return f"rim lock with a {inner.kind} inner"
    if count > lock_holes:
        return f"rim has {lock_holes} lock holes, {count} needed"
    low, high = float(lock.rim_width_min), float(lock.rim_width_max)
    if not low - WIDTH_TOLERANCE <= rim_width <= high + WIDTH_TOLERANCE:
        return f"rim lock is for rims of {mm(low)} to {mm(high)}, this one is {mm(rim_width)}"
    return None


def pressure_ceiling(tire: Tire, *, rim_pressure: float, hookless: bool) -> float:
    """Highest pressure [Pa] that tire, rim and, on straight-side rims, ISO 5775-1 Table 3 permit."""
    ceiling = min(float(tire.pressure_max), rim_pressure)
    if hookless:
        width = tire_width(tire)
        ceiling = min(ceiling, next((limit for bound, limit in HOOKLESS_PRESSURE if width < bound), 0.0))
    return ceiling


def pressure_steps(floor: float, ceiling: float) -> list[float]:
    """Gauge readings [Pa] from floor to ceiling, in steps of 5 kPa."""
    first, last = math.ceil(floor / PRESSURE_STEP - 1e-9), math.floor(ceiling / PRESSURE_STEP + 1e-9)
    return [step * PRESSURE_STEP for step in range(first, last + 1)]


def hub_at_position(hub: Hub, vehicle: Vehicle, position: Position) -> str | None:
    """Axle, width, drive interface and chain line."""
    axle: Axle = getattr(vehicle, position)
    if hub.status in ("withdrawn", "concept"):
        return f"hub is {hub.status}"
    if hub.position != position:
        return f"hub is made for the {hub.position}"
    if abs(float(hub.axle_diameter) - float(axle.axle_diameter)) > 1e-5:
        return f"axle {mm(float(hub.axle_diameter))}, the vehicle has {mm(float(axle.axle_diameter))}"
    if abs(float(hub.width) - float(axle.hub_width)) > 1e-4:
        return f"hub width {mm(float(hub.width))}, the vehicle has {mm(float(axle.hub_width))}"
    drive = vehicle.drive
    if position == drive.driven:
        if hub.drive_interface != drive.hub_interface:
            return f"drive interface {hub.drive_interface or 'none'}, the vehicle has {drive.hub_interface}"
        if drive.chain_line is not None:
            if hub.chain_line is None:
                return "hub states no chain line"
            off = abs(float(hub.chain_line) - float(drive.chain_line))
            if off > float(drive.chain_line_tolerance) + 1e-9:
                return f"chain line is {mm(off)} off, {mm(float(drive.chain_line_tolerance))} permitted"
    return None


def crossings_on_hub(crossings: int, holes: int) -> str | None:
    """Geometry: the spoke must not leave the flange beyond the tangent by much."""
    angle = 360.0 * crossings / (holes / 2)
    return f"{crossings} crossings of {holes} spokes turn {angle:.0f} deg round the hub" if angle > 95.0 else None


def largest_flange(hub: Hub) -> float:
    """Larger diameter of the circles that the spokes stand on [m]; a rim's nipple circle has to lie outside it."""
    return max(float(hub.flange_diameter_left or 0.0), float(hub.flange_diameter_right or 0.0))


def built_spoke_lengths(rim: Rim, hub: Hub, crossings: int) -> tuple[float, float]:
    """Spoke lengths left and right [m]."""
    left, right = spoke_lengths(hub, crossings, np.array(float(rim.effective_diameter)))
    return float(left), float(right)


def spoke_lengths(hub: Hub, crossings: int, effective_diameter: NDArray[np.float64]) -> list[NDArray[np.float64]]:
    """Spoke lengths left and right [m] on rims of effective diameters [m], of their shape."""
    assert hub.holes is not None
    assert hub.spoke_hole_diameter is not None
    return [
        spoke_length(
            float(getattr(hub, f"flange_offset_{side}")),
            flange_radius=float(getattr(hub, f"flange_diameter_{side}")) / 2,
            rim_radius=effective_diameter / 2,
            crossings=crossings,
            spokes_per_side=hub.holes // 2,
            spoke_hole_radius=float(hub.spoke_hole_diameter) / 2,
        )
        for side in ("left", "right")
    ]


def spokes_in_hub(spokes: Spokes, hub: Hub) -> str | None:
    """Gauge through the hub's holes."""
    if hub.kind != "spoked":
        return "hub has studs, no spoke flanges"
    assert hub.spoke_hole_diameter is not None
    if float(spokes.end_diameter) > float(hub.spoke_hole_diameter):
        gauge, hole = mm(float(spokes.end_diameter)), mm(float(hub.spoke_hole_diameter))
        return f"spoke {gauge} is thicker than the hub's hole {hole}"
    if float(hub.spoke_hole_diameter) - float(spokes.end_diameter) > SPOKE_HOLE_PLAY:
        return f"spoke {mm(float(spokes.end_diameter))} is loose in the hub's hole {mm(float(hub.spoke_hole_diameter))}"
    return None


def length_offered(spokes: Spokes, length: Any) -> Any:
    """Whether the maker has spokes of a length [m], to the nearest step; of any shape."""
    half_step = float(spokes.length_step) / 2
    return (length >= float(spokes.length_min) - half_step) & (length <= float(spokes.length_max) + half_step)


def rim_offered(rim: Rim) -> str | None:
    """Whether a rim can be had."""
    return f"rim is {rim.status}" if rim.status in ("withdrawn", "concept") else None


def spokes_offered(spokes: Spokes) -> str | None:
    """Whether spokes can be had."""
    return f"spokes are {spokes.status}" if spokes.status in ("withdrawn", "concept") else None


def spokes_in_wheel(spokes: Spokes, rim: Rim, hub: Hub, crossings: int) -> str | None:
    """Hole count, crossings, gauge through the hub, and lengths the maker has."""
    reason = spokes_offered(spokes) or rim_offered(rim)
    if reason is None and hub.kind == "spoked" and hub.holes != rim.holes:
        reason = f"hub has {hub.holes} holes, rim has {rim.holes}"
    if reason is None and hub.kind == "spoked":
        reason = crossings_on_hub(crossings, rim.holes)
    if reason is None and hub.kind == "spoked" and float(rim.effective_diameter) <= largest_flange(hub):
        flange, circle = mm(largest_flange(hub)), mm(float(rim.effective_diameter))
        reason = f"hub flange {flange} does not lie within the rim's {circle}"
    reason = reason or spokes_in_hub(spokes, hub)
    if reason is not None:
        return reason
    for length in built_spoke_lengths(rim, hub, crossings):
        if not length_offered(spokes, length):
            return f"spoke length {mm(length)} outside {mm(float(spokes.length_min))} to {mm(float(spokes.length_max))}"
    return None


def hub_in_disc_wheel(hub: Hub, wheel: DiscWheel) -> str | None:
    """Stud circle."""
    if wheel.status in ("withdrawn", "concept"):
        return f"disc wheel is {wheel.status}"
    if hub.kind != "studded":
        return "hub has spoke flanges, no studs"
    return None if hub.studs == wheel.studs else f"studs {hub.studs}, disc wheel has {wheel.studs}"


def rotor_on_vehicle(rotor: Rotor, brake: BrakeCircuit) -> str | None:
    """Largest rotor, and the seat on a solid axle."""
    if rotor.status in ("withdrawn", "concept"):
        return f"rotor is {rotor.status}"
    if float(rotor.diameter) > float(brake.rotor_diameter_max):
        return f"rotor {mm(float(rotor.diameter))} is above the frame's {mm(float(brake.rotor_diameter_max))}"
    if brake.axle_rotor_pattern is not None and rotor.pattern != brake.axle_rotor_pattern:
        return f"rotor pattern {rotor.pattern}, the axle has {brake.axle_rotor_pattern}"
    return None


def rotor_in_wheel(rotor: Rotor, hub: Hub, bead_diameter: float) -> str | None:
    """Bolt pattern, and room inside the rim."""
    if rotor.pattern != hub.rotor_pattern:
        return f"rotor pattern {rotor.pattern}, hub has {hub.rotor_pattern or 'none'}"
    if float(rotor.diameter) > bead_diameter - 2 * ROTOR_RIM_CLEARANCE:
        return f"rotor {mm(float(rotor.diameter))} does not clear the rim of {mm(bead_diameter)}"
    return None


def caliper_on_rotor(caliper: Caliper, rotor: Rotor, brake: BrakeCircuit) -> str | None:
    """Mount, rotor diameter and thickness."""
    if caliper.status in ("withdrawn", "concept"):
        return f"caliper is {caliper.status}"
    if caliper.mount not in brake.caliper_mounts:
        return f"caliper mount {caliper.mount}, the vehicle has {' and '.join(brake.caliper_mounts)}"
    for figure, name in ((float(rotor.diameter), "diameter"), (float(rotor.thickness), "thickness")):
        low, high = float(getattr(caliper, f"rotor_{name}_min")), float(getattr(caliper, f"rotor_{name}_max"))
        if not low - 1e-9 <= figure <= high + 1e-9:
            return f"rotor {name} {mm(figure)} outside the caliper's {mm(low)} to {mm(high)}"
    return None


def pad_in_caliper(pad: Pad, caliper: Caliper, rotor: Rotor) -> str | None:
    """Shape, and no overhang over the track."""
    if pad.status in ("withdrawn", "concept"):
        return f"pad is {pad.status}"
    if pad.shape != caliper.pad_shape:
        return f"pad shape {pad.shape}, caliper takes {caliper.pad_shape}"
    if float(pad.height) > float(rotor.track_height) + 1e-4:
        return f"pad {mm(float(pad.height))} high on a {mm(float(rotor.track_height))} track"
    return None
