"""Energy is neither made nor lost: causes against the battery, brakes against a simulated stop and descent."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.constants import sigma
from scipy.integrate import solve_ivp

from configopt.appraisal import ground as on
from configopt.appraisal.forces import CAUSES, GROUND_CAUSES, LEAST_LOAD, RESISTING, LegResult
from configopt.appraisal.model import Evaluation
from configopt.appraisal.packages import package_from_record, side_of
from configopt.appraisal.vehicle import POSITIONS, REPEATED_STOPS, VehicleModel
from configopt.catalog.records import Position
from configopt.physics.constants import STANDARD_GRAVITY
from configopt.physics.energy import battery_energy
from configopt.physics.rotor_cooling import solid_rotor_convection
from configopt.physics.rotor_heat import stop_energy
from configopt.physics.rough_ride import contact_grip_factor
from configopt.scenario.case import Case, load

SCENARIOS = Path(__file__).parents[2] / "scenarios"
NAMES = ("upland-wardens", "coastal-survey", "forest-rescue")
Array = NDArray[np.float64]


@cache
def case_of(name: str) -> Case:
    return load(SCENARIOS / f"{name}.yaml")


@cache
def evaluation(name: str) -> Evaluation:
    """The baseline's packages at a low, their own and a high pressure, each with every final drive."""
    case = case_of(name)
    model, record = VehicleModel(case.vehicle, case.catalog), case.vehicle.baseline
    assert record is not None
    packages = {p: package_from_record(case.catalog, p, getattr(record, p)) for p in POSITIONS}
    sides = [side_of(packages[p], model) for p in POSITIONS]
    drives = np.tile(np.arange(len(model.ratios)), 3)
    rows = np.zeros(len(drives), dtype=np.int64)
    sides = [side.take(rows) for side in sides]
    for side in sides:
        factor = np.repeat([0.6, 1.0, 1.8], len(model.ratios))
        side.footings.pressure[:] = factor * side.footings.pressure
        side.footings.total_pressure[:] = side.footings.pressure + side.footings.carcass_pressure
    return Evaluation(model, sides[0], sides[1], drives)


def rides(name: str) -> list[LegResult]:
    return [evaluation(name).ride(leg) for leg in evaluation(name).model.legs]


@pytest.mark.parametrize("name", NAMES)
def test_the_causes_of_a_leg_sum_to_what_the_battery_gives(name: str) -> None:
    """Recomputed from the forces at the wheels alone."""
    of = evaluation(name)
    drive = of.vehicle.drive
    for ride in rides(name):
        assert set(ride.battery) == set(CAUSES)
        traction = sum(ride.wheel[cause] for cause in (*GROUND_CAUSES, "grade", "air"))
        f = of.side[drive.driven].footings
        loads = np.maximum(ride.loads[drive.driven], LEAST_LOAD)
        exponent = ride.leg.ground.figures.load_exponent
        kept = contact_grip_factor(ride.contact[drive.driven].dynamic_load_ratio, load_exponent=exponent)
        grip = kept * of.model.wheels(drive.driven) * on.grip_force(f, ride.leg.ground, loads)
        torque = float(drive.regeneration_torque) * of.ratio / on.loaded_radius(f, loads)
        expected = battery_energy(
            traction,
            drive_efficiency=of.model.drive_efficiency,
            regeneration_efficiency=float(drive.regeneration_efficiency),
            regeneration_force_limit=np.minimum(torque, grip),
        )
        expected = expected + ride.wheel["stop_and_go"] / of.model.drive_efficiency
        assert sum(ride.battery.values()) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("name", NAMES)
def test_each_cause_has_its_sign(name: str) -> None:
    for ride in rides(name):
        for cause, energy in ride.battery.items():
            if cause == "regeneration":
                assert (energy <= 0.0).all()
            elif cause == "grade":
                # Downhill only what the ride uses up counts, so what the hill gives is never more than is used.
                assert (energy + sum(ride.wheel[c] for c in (*GROUND_CAUSES, "air")) >= -1e-9).all()
            else:
                assert (energy >= 0.0).all(), cause


@pytest.mark.parametrize("name", NAMES)
def test_a_hill_ridden_up_and_down_gives_back_less_than_it_took(name: str) -> None:
    of = evaluation(name)
    by_terrain: dict[str, list[LegResult]] = {}
    for ride in rides(name):
        by_terrain.setdefault(ride.leg.terrain.name, []).append(ride)
    pairs = [pair for pair in by_terrain.values() if len(pair) == 2]
    assert pairs
    for up, down in pairs:
        assert up.wheel["grade"] == pytest.approx(-down.wheel["grade"], rel=1e-12)
        height = np.abs(of.total * STANDARD_GRAVITY * np.sin(up.leg.angle))
        assert np.abs(up.wheel["grade"]) == pytest.approx(height, rel=1e-12)
        both = sum(up.battery.values()) + sum(down.battery.values())
        lost = sum(sum(ride.wheel[c] for c in (*GROUND_CAUSES, "air", "stop_and_go")) for ride in (up, down))
        # At a perfect drive both ways would take just what is lost on the road.
        assert (both > lost).all()


@pytest.mark.parametrize("name", NAMES)
def test_the_ground_takes_what_its_parts_take(name: str) -> None:
    """Slip is the only ground cause that is not a resistance: it follows from the thrust that the others need."""
    for ride in rides(name):
        assert set(GROUND_CAUSES) - set(RESISTING) == {"slip"}
        resisted = sum(ride.wheel[cause] for cause in RESISTING)
        need = np.maximum(resisted + ride.wheel["grade"] + ride.wheel["air"], 0.0)
        assert ride.need == pytest.approx(need, rel=1e-12)
        assert ride.wheel["slip"] == pytest.approx(need * ride.slip / (1.0 - ride.slip), rel=1e-12)


# Brakes


def road(of: Evaluation, ground: on.Ground, speed: float, angle: float) -> tuple[float, float]:
    """Rolling and soil resistance and air drag of the first choice at a speed [N]."""
    loads = of.loads(angle=angle)
    rolling = sum(of.resistances(ground, loads, of.on_ground(ground, loads), speed=speed).values())
    return float(rolling[0]), of.model.air_force(speed)


@pytest.mark.parametrize("brake_force", [150.0, 600.0])
def test_the_brakes_of_a_simulated_stop_take_the_kinetic_energy_less_rolling_and_drag(brake_force: float) -> None:
    """Speed, distance and the three works integrated in time; the appraisal's heat leaves rolling and drag out."""
    of = evaluation("forest-rescue")
    stops = of.vehicle.stops
    assert stops is not None
    ground = next(iter(of.model.grounds.values()))
    begin, mass = float(stops.speed), float(of.total[0] + of.rotating_mass()[0])

    def rate(_: float, state: Array) -> list[float]:
        speed = max(float(state[0]), 0.0)
        rolling, drag = road(of, ground, speed, 0.0)
        return [-(brake_force + rolling + drag) / mass, brake_force * speed, rolling * speed, drag * speed]

    def halted(_: float, state: Array) -> float:
        return float(state[0])

    halted.terminal = True  # type: ignore[attr-defined]
    run = solve_ivp(rate, (0.0, 300.0), [begin, 0.0, 0.0, 0.0], events=halted, rtol=1e-9, atol=1e-9)
    assert run.t_events[0].size == 1
    braked, rolled, dragged = run.y[1:, -1]
    kinetic = 0.5 * mass * begin**2
    assert braked == pytest.approx(kinetic - rolled - dragged, rel=1e-6)
    energy = stop_energy(
        of.total[0],
        inertia_over_radius_squared=of.rotating_mass()[0],
        speed=begin,
        resistance_work=rolled + dragged,
    )
    assert braked == pytest.approx(float(energy), rel=1e-6)
    into_rotors = sum(float(of.stop_heat(p)[0]) * of.model.rotors(p) for p in POSITIONS)
    assert into_rotors == pytest.approx(kinetic, rel=1e-12)
    assert into_rotors > braked


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("entered", [0.7, 1.0, 1.4])
def test_the_brakes_of_a_simulated_descent_take_kinetic_and_potential_energy_less_rolling_and_drag(
    name: str, entered: float
) -> None:
    """A rider who brakes more the faster the machine runs; at the held speed the brakes take the appraisal's heat."""
    of = evaluation(name)
    descent = of.vehicle.descents[0]
    ground = of.model.grounds[descent.name]
    angle, held = -float(np.arctan(float(descent.grade))), float(descent.speed)
    mass = float(of.total[0] + of.rotating_mass()[0])
    weight = float(of.total[0]) * STANDARD_GRAVITY
    rolling_held, drag_held = road(of, ground, held, angle)
    holding = -weight * np.sin(angle) - rolling_held - drag_held
    assert holding > 0.0

    def rate(_: float, state: Array) -> list[float]:
        speed = float(state[0])
        rolling, drag = road(of, ground, speed, angle)
        brake = max(holding + 4.0 * mass * (speed - held), 0.0)
        push = -weight * np.sin(angle) - rolling - drag - brake
        along = -speed * np.sin(angle)
        return [push / mass, along, brake * speed, rolling * speed, drag * speed]

    run = solve_ivp(rate, (0.0, 60.0), [entered * held, 0.0, 0.0, 0.0, 0.0], rtol=1e-9, atol=1e-6)
    speed, height, braked, rolled, dragged = run.y[:, -1]
    kinetic = 0.5 * mass * ((entered * held) ** 2 - speed**2)
    assert braked == pytest.approx(kinetic + weight * height - rolled - dragged, rel=1e-6)
    assert speed == pytest.approx(held, rel=1e-6)
    heat = sum(float(of.descent_heat(descent, p)[0]) * of.model.rotors(p) for p in POSITIONS)
    assert heat == pytest.approx(holding * held, rel=1e-12)
    if entered == 1.0:
        assert braked / run.t[-1] == pytest.approx(heat, rel=1e-6)


def cooled(of: Evaluation, position: Position, speed: float, row: int) -> tuple[float, float, float, float]:
    """Heat capacity, convection, radiation and surroundings of one rotor, from the parts' figures."""
    brakes, assumed = of.side[position].brakes, of.model.assumed
    area = float(brakes.track_area[row] + brakes.rest_area[row])
    convection = float(solid_rotor_convection(speed, diameter=brakes.rotor_diameter[row])) * area
    radiation = sigma * (
        assumed.track_emissivity * brakes.track_area[row] + assumed.rest_emissivity * brakes.rest_area[row]
    )
    return float(brakes.heat_capacity[row]), convection, float(radiation), float(of.vehicle.temperature)


def later(start: float, duration: float, power: float, rotor: tuple[float, float, float, float]) -> float:
    """Temperature of a rotor after a time, by a general solver."""
    capacity, convection, radiation, around = rotor

    def rate(_: float, hot: Array) -> Array:
        lost = convection * (hot - around) + radiation * (hot**4 - around**4)
        return np.asarray((power - lost) / capacity)

    return float(solve_ivp(rate, (0.0, duration), [start], method="LSODA", rtol=1e-10, atol=1e-8).y[0, -1])


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("position", POSITIONS)
def test_the_rotor_at_the_foot_of_a_descent_is_as_hot_as_a_general_solver_says(name: str, position: Position) -> None:
    of = evaluation(name)
    for descent in of.vehicle.descents:
        speed = float(descent.speed)
        duration = float(descent.height) / (speed * np.sin(np.arctan(float(descent.grade))))
        got = of.rotor_temperature(descent.name, position)
        heat = of.descent_heat(descent, position)
        for row in range(0, len(got), 4):
            rotor = cooled(of, position, speed, row)
            assert got[row] == pytest.approx(later(rotor[3], duration, float(heat[row]), rotor), abs=0.05)


@pytest.mark.parametrize("position", POSITIONS)
def test_the_rotor_after_repeated_stops_is_as_hot_as_a_general_solver_says(position: Position) -> None:
    of = evaluation("forest-rescue")
    stops = of.vehicle.stops
    assert stops is not None
    got = of.rotor_temperature(REPEATED_STOPS, position)
    for row in range(0, len(got), 4):
        rotor = cooled(of, position, float(stops.speed) / 2, row)
        rise = float(of.stop_heat(position)[row]) / rotor[0]
        hot = rotor[3] + rise
        for _ in range(stops.count - 1):
            hot = rise + later(hot, float(stops.interval), 0.0, rotor)
        assert got[row] == pytest.approx(hot, abs=0.05)
