"""The signs of the whole: which way a loss, a grip or a temperature moves when a tire, a wheel or a rotor changes.

Parts are found by attributes, never named; everything goes through the pieces of the full model.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from itertools import permutations
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from configopt.appraisal import ground as on
from configopt.appraisal.forces import Side
from configopt.appraisal.model import Evaluation
from configopt.appraisal.packages import package_from_record, side_of
from configopt.appraisal.tables import BrakeTable, FootingTable, brake_table, footing_table
from configopt.appraisal.vehicle import POSITIONS, VehicleModel
from configopt.catalog.records import Surface, Tire
from configopt.fit.layers import BrakeSet, TireOnRim
from configopt.fit.rules import tire_diameter, tire_width
from configopt.physics.rotor_cooling import free_disc_convection, solid_rotor_convection
from configopt.scenario.case import Case, load
from configopt.scenario.records import Obstacle

SCENARIO = Path(__file__).parents[1] / "scenarios" / "upland-wardens.yaml"
Array = NDArray[np.float64]
KMH = 1 / 3.6
#: Wheel load [N], unsprung mass [kg], suspension rate [N/m] and damping [N s/m] of a light two-wheeler.
LOAD, UNSPRUNG, RATE, DAMPING = 900.0, 14.0, 8e3, 600.0
#: Stones of a rocky path: height [mm] and number per kilometre.
STONES = ((60, 160), (110, 25))
PRESSURES = np.arange(40e3, 251e3, 10e3)


@cache
def case_of() -> Case:
    return load(SCENARIO)


@cache
def tires() -> tuple[Tire, ...]:
    """Every off-road tire for two-wheelers."""
    return tuple(tire for tire in case_of().catalog.tires if tire.kind == "off-road")


def surfaces(group: str, *, soil: bool = False, classes: str = "ABCDE") -> list[Surface]:
    """Surfaces of a group that are built up from texture and roughness, with a soil or without one."""
    return [
        surface
        for surface in case_of().catalog.surfaces
        if surface.group == group
        and (surface.soil is not None) == soil
        and surface.roughness_class is not None
        and surface.roughness_class in classes
    ]


def on_surface(surface: Surface, speed: float, stones: Sequence[tuple[int, int]] = ()) -> on.Ground:
    """The surface at a speed [km/h], with stones."""
    obstacles = tuple(Obstacle.model_validate({"height": f"{h} mm", "per_km": n}) for h, n in stones)
    return on.Ground(surface, speed * KMH, obstacles)


@cache
def footings(pressure: float) -> FootingTable:
    """The tires on their measuring rims at one pressure [Pa], with an inner that adds no loss and without rim locks."""
    inner = next(i for i in case_of().catalog.inners if i.kind == "tube" and float(i.rolling_factor) == 1.0)
    mounts = [TireOnRim(tire, inner, None, 0, float(tire.measuring_rim_width)) for tire in tires()]
    return footing_table(mounts, np.arange(len(mounts)), np.full(len(mounts), pressure), case_of().vehicle)


def ride(f: FootingTable, ground: on.Ground, unsprung: float = UNSPRUNG) -> on.RoughRide:
    """One suspended wheel of every footing on the ground's roughness."""
    loads, masses = np.full(len(f), LOAD), np.full(len(f), unsprung)
    return on.rough_ride(f, ground, loads, unsprung_mass=masses, stiffness=RATE, damping=DAMPING)


def strikes(f: FootingTable, ground: on.Ground) -> Array:
    """Resistance of the obstacles to one suspended wheel of every footing [N]."""
    loads = np.full(len(f), LOAD)
    return on.obstacle_resistance(f, ground, loads, unsprung_mass=UNSPRUNG, damping=DAMPING, suspended=True)


def resistance(f: FootingTable, ground: on.Ground) -> Array:
    """Resistance of one wheel with every footing [N]: rolling, soil, roughness and obstacles."""
    loads = np.full(len(f), LOAD)
    soil = on.on_soil(f, ground, loads) if ground.soft else None
    rolling = on.rolling_resistance(f, ground, loads, soil, on.coefficient(f, ground))
    pressed = on.soil_resistance(ground, soil, loads, follows=False)
    return np.asarray(rolling + pressed + ride(f, ground).resistance + strikes(f, ground))


def over_pressures(ground: on.Ground) -> Array:
    """Resistance [N] by pressure and tire."""
    return np.array([resistance(footings(float(pressure)), ground) for pressure in PRESSURES])


def test_many_tires_are_compared() -> None:
    assert len(tires()) >= 50
    for group, soil in (("firm", False), ("rock", False), ("loose", True)):
        assert len(surfaces(group, soil=soil)) >= 2


# Pressure


@pytest.mark.parametrize("speed", [15, 30, 60])
def test_on_pavement_every_step_down_in_pressure_costs_energy(speed: int) -> None:
    for surface in surfaces("firm", classes="AB"):
        assert (np.diff(over_pressures(on_surface(surface, speed)), axis=0) < 0.0).all(), surface.id


def soft_surfaces() -> list[Surface]:
    return [*surfaces("loose", soil=True), *surfaces("wet", soil=True)]


@pytest.mark.parametrize("speed", [10, 15])
def test_on_soft_ground_low_pressure_saves_energy_wherever_it_flattens_the_tire(speed: int) -> None:
    compared = 0
    for surface in soft_surfaces():
        ground = on_surface(surface, speed)
        flat = ~on.on_soil(footings(float(PRESSURES[0])), ground, np.full(len(tires()), LOAD)).rigid
        compared += int(flat.sum())
        total = over_pressures(ground)
        assert (total[0] < total[-1])[flat].all(), surface.id
        # On dense ground the casing asks for a little more air than the lowest; never for the upper half of the range.
        best = np.argmin(total, axis=0)
        assert (best < len(PRESSURES) // 2)[flat].all(), surface.id
    assert compared >= 500


def test_a_tire_that_keeps_its_shape_on_soil_gains_and_loses_nothing_by_more_air() -> None:
    """What remains, less than a hundredth, is the smaller side of the firm patch, which the soil's modulus takes."""
    for surface in soft_surfaces():
        ground, loads = on_surface(surface, 12), np.full(len(tires()), LOAD)
        states = [on.on_soil(footings(float(pressure)), ground, loads) for pressure in PRESSURES]
        hardest = states[-1].compaction
        for state in states:
            rigid = state.rigid
            assert state.compaction[rigid] == pytest.approx(hardest[rigid], rel=0.01), surface.id


@pytest.mark.parametrize(("speed", "stones", "share"), [(30, (), 0.9), (20, STONES, 1.0)])
def test_on_the_roughest_rock_low_pressure_saves_energy(
    speed: int, stones: tuple[tuple[int, int], ...], share: float
) -> None:
    for surface in surfaces("rock", classes="E"):
        ground = on_surface(surface, speed, stones)
        soft, hard = (resistance(footings(pressure), ground) for pressure in (100e3, 250e3))
        assert np.mean(soft < hard) >= share, surface.id


@pytest.mark.parametrize("stones", [(), STONES], ids=["roughness alone", "with stones"])
def test_roughness_and_obstacles_fall_and_rolling_rises_with_every_step_down_in_pressure(
    stones: tuple[tuple[int, int], ...],
) -> None:
    """Which of them wins depends on speed and stones; the parts have their sign everywhere."""
    for surface in surfaces("rock"):
        ground = on_surface(surface, 12, stones)
        table = [footings(float(pressure)) for pressure in PRESSURES]
        assert (np.diff([ride(f, ground).resistance for f in table], axis=0) > 0.0).all(), surface.id
        assert (np.diff([strikes(f, ground) for f in table], axis=0) >= 0.0).all(), surface.id
        assert (np.diff([on.coefficient(f, ground) for f in table], axis=0) < 0.0).all(), surface.id


@pytest.mark.parametrize(("speed", "stones", "share"), [(20, (), 1.0), (12, STONES, 0.75)])
def test_on_the_roughest_rock_the_best_pressure_lies_inside_the_range(
    speed: int, stones: tuple[tuple[int, int], ...], share: float
) -> None:
    """Too soft loses in the casing, too hard on the stones; for some casings one end of the range is the best."""
    for surface in surfaces("rock", classes="E"):
        best = np.argmin(over_pressures(on_surface(surface, speed, stones)), axis=0)
        assert np.mean((best > 0) & (best < len(PRESSURES) - 1)) >= share, surface.id


# Shape of the patch on soil


def alike(one: Tire, other: Tire) -> bool:
    """The same maker, tread and casing."""
    return all(getattr(one, name) == getattr(other, name) for name in ("maker", "tread", "casing"))


def narrower(one: Tire, other: Tire) -> bool:
    return alike(one, other) and tire_diameter(one) >= tire_diameter(other) and tire_width(one) < tire_width(other)


def test_on_soil_a_long_narrow_patch_pushes_more_and_presses_less_than_a_short_wide_one_of_equal_area() -> None:
    found = [(i, j) for i, j in permutations(range(len(tires())), 2) if narrower(tires()[i], tires()[j])]
    assert len(found) >= 50
    long, wide = (np.array(side) for side in zip(*found, strict=True))
    table = footings(40e3)
    # The same lugs and the same pressure, so that the patch's shape alone differs.
    same = {"lug_depth": 0.012, "land_fraction": 0.3, "total_pressure": 50e3}
    table = replace(table, **{name: np.full(len(table), value) for name, value in same.items()})
    loads = np.full(len(table), LOAD)
    compared = 0
    for surface in surfaces("loose", soil=True):
        ground = on_surface(surface, 12)
        state = on.on_soil(table, ground, loads)
        # Flattened wheels carry the load on W/p, whatever their shape.
        flat = ~state.rigid[long] & ~state.rigid[wide]
        compared += int(flat.sum())
        assert state.patch_area[long][flat] == pytest.approx(state.patch_area[wide][flat], rel=1e-12)
        assert (state.patch_length[long] > state.patch_length[wide])[flat].all()
        for slip in (0.1, 0.3, 0.6):
            thrust = on.thrust_at_slip(table, ground, loads, state, slip)
            assert (thrust[long] > thrust[wide])[flat].all(), surface.id
        assert (state.compaction[long] < state.compaction[wide])[flat].all(), surface.id
    assert compared >= 200


# Diameter on rock


def taller(f: FootingTable, factor: float) -> FootingTable:
    """The same tires on taller rims: width, casing, rolling coefficient and mass unchanged."""
    return replace(f, diameter=factor * f.diameter, radius=factor * f.radius)


@pytest.mark.parametrize("factor", [1.02, 1.05, 1.10])
@pytest.mark.parametrize("speed", [8, 12, 16])
def test_on_rock_the_taller_of_two_like_wheels_loses_less_but_little(factor: float, speed: int) -> None:
    f, other = footings(100e3), taller(footings(100e3), factor)
    for surface in surfaces("rock"):
        ground = on_surface(surface, speed, STONES)
        assert (on.coefficient(f, ground) == on.coefficient(other, ground)).all()
        before, after = (ride(t, ground).resistance + strikes(t, ground) for t in (f, other))
        assert (after < before).all(), surface.id
        # By little: less than in proportion to the diameter.
        assert (after > before / factor).all(), surface.id


def test_at_very_low_pressure_a_taller_wheel_no_longer_wins_on_rock() -> None:
    """The tire swallows the stones and stiffens with its diameter: the sign fades at the bottom of the range."""
    for surface in surfaces("rock"):
        ground = on_surface(surface, 12, STONES)
        shares = []
        for pressure in (25e3, 40e3, 100e3):
            pair = footings(pressure), taller(footings(pressure), 1.05)
            before, after = (ride(t, ground).resistance + strikes(t, ground) for t in pair)
            shares.append(float(np.mean(after < before)))
        assert shares[0] < shares[1] <= shares[2] == 1.0, surface.id


# Contact


@pytest.mark.parametrize("pressure", [60e3, 100e3, 200e3])
@pytest.mark.parametrize("speed", [12, 20, 32])
def test_a_lighter_wheel_and_a_softer_casing_keep_contact(pressure: float, speed: int) -> None:
    f = footings(pressure)
    softer = replace(f, carcass_pressure=0.7 * f.carcass_pressure, total_pressure=f.pressure + 0.7 * f.carcass_pressure)
    for surface in (*surfaces("rock"), *surfaces("loose"), *surfaces("wet")):
        ground = on_surface(surface, speed)
        today = ride(f, ground)
        for better in (ride(f, ground, unsprung=0.8 * UNSPRUNG), ride(softer, ground)):
            assert (better.dynamic_load_ratio < today.dynamic_load_ratio).all(), surface.id
            # Where contact is never lost both shares round to nothing.
            lost = today.off_ground_share > 1e-300
            assert (better.off_ground_share < today.off_ground_share)[lost].all(), surface.id
            assert (better.off_ground_share <= today.off_ground_share).all(), surface.id


# Rotors: 200 x 1.8 mm against 250 x 2.3 mm, same steel, caliper and pad, a track as high as the pad.  The ratios follow
# from the ring geometry; common practice, no source, speaks of "about half better" and does not say in which measure.

#: Pad height [mm] -> ratio of the large rotor to the small one by measure, printed to three decimals.
GAINS: dict[int, dict[str, float]] = {
    14: {"torque": 1.269, "swept area": 1.269, "heat capacity": 1.621, "stop": 0.617, "turbulent": 1.451},
    15: {"torque": 1.270, "swept area": 1.270, "heat capacity": 1.623, "stop": 0.616, "turbulent": 1.452},
    16: {"torque": 1.272, "swept area": 1.272, "heat capacity": 1.625, "stop": 0.615, "turbulent": 1.454},
    17: {"torque": 1.273, "swept area": 1.273, "heat capacity": 1.627, "stop": 0.615, "turbulent": 1.456},
}
#: The same for products of two measures.
PRODUCTS: dict[int, tuple[float, float]] = {
    14: (1.610, 2.057),
    15: (1.614, 2.062),
    16: (1.617, 2.067),
    17: (1.621, 2.071),
}
PRINTED = 5.001e-4


def two_rotors(pad_height: float) -> BrakeTable:
    """Brake sets with the small and the large rotor and one and the same caliper and pad [m]."""
    catalog, vehicle = case_of().catalog, case_of().vehicle
    number = type(catalog.rotors[0].diameter)
    pad = catalog.pads[0].model_copy(update={"height": number(pad_height)})
    sets = []
    for diameter, thickness in ((0.200, 1.8e-3), (0.250, 2.3e-3)):
        shape = {"diameter": diameter, "thickness": thickness, "wear_limit": thickness, "track_height": pad_height}
        rotor = catalog.rotors[0].model_copy(update={name: number(value) for name, value in shape.items()})
        sets.append(BrakeSet(rotor, catalog.calipers[0], pad))
    return brake_table(sets, vehicle.front.brake, float(vehicle.hand_force))


def gain(values: Array) -> float:
    return float(values[1] / values[0])


@pytest.mark.parametrize("height", GAINS)
def test_each_gain_of_a_larger_rotor_comes_out_on_its_own(height: int) -> None:
    table, expected = two_rotors(height * 1e-3), GAINS[height]
    assert gain(table.torque) == pytest.approx(expected["torque"], abs=PRINTED)
    assert gain(table.track_area) == pytest.approx(expected["swept area"], abs=PRINTED)
    assert gain(table.heat_capacity) == pytest.approx(expected["heat capacity"], abs=PRINTED)
    assert gain(1.0 / table.heat_capacity) == pytest.approx(expected["stop"], abs=PRINTED)
    turbulent = free_disc_convection(30.0, radius=0.5 * table.rotor_diameter, transition_reynolds=0.0)
    assert gain(turbulent * table.track_area) == pytest.approx(expected["turbulent"], abs=PRINTED)
    assert gain(table.torque * table.track_area) == pytest.approx(PRODUCTS[height][0], abs=PRINTED)
    assert gain(table.torque * table.heat_capacity) == pytest.approx(PRODUCTS[height][1], abs=PRINTED)


@pytest.mark.parametrize(("speed", "ratio"), [(5.0, 1.149), (50.0, 1.215)])
def test_in_the_airstream_a_larger_rotor_cools_by_less_than_its_area(speed: float, ratio: float) -> None:
    """The appraisal's own cooling law: convection falls with the diameter as the swept area grows."""
    table = two_rotors(15e-3)
    cooling = solid_rotor_convection(speed, diameter=table.rotor_diameter) * table.track_area
    assert gain(cooling) == pytest.approx(ratio, abs=PRINTED)


def test_no_two_measures_of_a_larger_rotor_gain_the_same_but_torque_and_swept_area() -> None:
    for measures in GAINS.values():
        assert measures["torque"] == measures["swept area"]
        assert len({round(value, 2) for value in measures.values()}) == 4


# Gear


def evaluation(change: float = 1.0) -> Evaluation:
    """The baseline with every final drive, its rear tire taller or shorter by a factor."""
    vehicle = case_of().vehicle
    model, record = VehicleModel(vehicle, case_of().catalog), vehicle.baseline
    assert record is not None
    front, rear = (side_of(package_from_record(case_of().catalog, p, getattr(record, p)), model) for p in POSITIONS)
    rear = Side(taller(rear.footings, change), rear.wheels, rear.brakes)
    drives = np.arange(len(model.ratios))
    rows = np.zeros(len(drives), dtype=np.int64)
    return Evaluation(model, front.take(rows), rear.take(rows), drives)


def ratio_needed(of: Evaluation, ground: on.Ground, grade: float) -> Array:
    """Final drive with which the motor just climbs a grade."""
    angle = np.arctan(grade)
    _, motor, _ = of.climb_reserves(ground, angle)
    thrust = of.motor_thrust(of.loads(angle=angle)["rear"])
    return np.asarray(of.ratio * (1.0 - motor / thrust))


@pytest.mark.parametrize("grade", [0.1, 0.3, 0.5])
def test_a_bigger_driven_wheel_needs_a_shorter_gear_for_the_same_climb(grade: float) -> None:
    small, large = evaluation(), evaluation(1.06)
    for ground in small.model.grounds.values():
        before, after = (ratio_needed(of, ground, grade) for of in (small, large))
        assert (after > before).all()
        # In proportion to the loaded radius, but for what the bigger wheel changes in loads and resistance.
        assert after / before == pytest.approx(np.full(len(before), 1.06), abs=0.02)


def test_a_shorter_gear_wins_back_the_climb_and_costs_top_speed() -> None:
    of: Any = evaluation(1.06)
    order = np.argsort(of.ratio)
    name = next(terrain.name for terrain in of.vehicle.terrains)
    for ground in of.model.grounds.values():
        _, motor, _ = of.climb_reserves(ground, np.arctan(0.2))
        assert (np.diff(motor[order]) > 0.0).all()
    assert (np.diff(of.climb_grade(name)[0][order]) >= 0.0).all()
    assert (np.diff(of.top_speed()[order]) < 0.0).all()
