"""Every explained figure drawn up again from what is printed beside it: its inputs, in their trade units.

Plain arithmetic wherever a pocket calculator would do; where a figure ends an equation that has to be integrated or
solved, the published function of the physics with the printed inputs.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hand import KMH, G, Hand, over
from hand_ground import (
    bogging,
    climb,
    compaction,
    drive_reserve,
    full_shear,
    grip,
    ground_pressure,
    mean_maximum_pressure,
    modulus,
    obstacles,
    ride,
    rolling_resistance,
    roughness_resistance,
    side_slope,
    slip,
    strike_margin,
    thrust_reserve,
)
from hand_vehicle import (
    bead,
    brake_torque,
    break_over,
    by_cause,
    clearance,
    deceleration,
    drivetrain,
    grade,
    heat_capacity,
    heat_flow,
    mass,
    peak_torque,
    pitch,
    regeneration,
    rotating,
    running_cost,
    slip_loss,
    stability,
    statutory,
    steering,
    summed,
    temperature,
    temperature_margin,
    trail,
    wheel_energy,
    window,
)
from hand_wheel import (
    casing,
    coefficient,
    compliance,
    diameter,
    folding,
    inertia,
    inflation,
    protection,
    sag,
    side,
    slack_torque,
    spoke_length,
    spoke_stress,
    spring,
    static_load,
    statics,
    tension_ratio,
)

from configopt.appraisal.explanation import explanations_report
from configopt.appraisal.one_vehicle import appraise_record
from configopt.appraisal.vehicle import VehicleModel
from configopt.cli.text_explanation import FIGURE_DIGITS, INPUT_DIGITS
from configopt.physics.slack_spokes import (
    first_slack_radial_load,
    first_slack_side_load,
)
from configopt.quantities import Figure
from configopt.scenario.case import Case, load
from configopt.scenario.records import LimitRecord, Stops, VehicleChoiceRecord

SCENARIOS = Path(__file__).parents[2] / "scenarios"
#: Today's packages of the shipped scenarios, and vehicles that bring in what those leave out.
NAMES = ("upland-wardens", "coastal-survey", "forest-rescue", "road-legal", "rigid")


def vehicle_of(name: str) -> tuple[Case, VehicleChoiceRecord]:
    """A case with the packages to appraise."""
    case = load(SCENARIOS / f"{name if name in NAMES[:3] else NAMES[0]}.yaml")
    vehicle, record = case.vehicle, case.vehicle.baseline
    assert record is not None
    if name == "road-legal":
        asked = [
            LimitRecord(limit="trail_most", at_most="140 mm"),
            LimitRecord(limit="front_load_share_most", at_most="60 %"),
            LimitRecord(limit="break_over_angle", at_least="40 deg"),
        ]
        stops = Stops.model_validate({"speed": "50 km/h", "count": 6, "interval": "30 s"})
        update = {"use": "road-legal", "category": "L3", "stops": stops, "limits": [*vehicle.limits, *asked]}
        vehicle = vehicle.model_copy(update={**update, "brake_share_front": Figure(0.7)})
    if name == "rigid":
        ends = {end: getattr(vehicle, end) for end in ("front", "rear")}
        stiff = {
            end: axle.model_copy(update={"suspension": axle.suspension.model_copy(update={"rigid": True})})
            for end, axle in ends.items()
        }
        vehicle = vehicle.model_copy(update={**stiff, "inflation_temperature": Figure(300.0)})
        foam = {"inner": "mossgrove-core-21", "pressure": 0.0, "rim_lock": None, "rim_locks": 0}
        record = record.model_copy(update={"front": record.front.model_copy(update=foam)})
    return replace(case, scenario=case.scenario.model_copy(update={"vehicles": [vehicle]})), record


@cache
def explained(name: str) -> list[dict[str, Any]]:
    """The explanations of a vehicle's packages, as JSON has them."""
    case, record = vehicle_of(name)
    return explanations_report(appraise_record(VehicleModel(case.vehicle, case.catalog), record))


HAND: dict[str, Hand] = {
    "static_load": static_load,
    "cg_from_rear_axle": lambda v, row: statics(v)[2],
    "cg_height": lambda v, row: statics(v)[3],
    "inflation_pressure": inflation,
    "width": lambda v, row: v["width on the measuring rim"] + 0.4 * (v["rim width"] - v["measuring rim width"]),
    "diameter": diameter,
    "casing_pressure": casing,
    "relative_deflection": lambda v, row: sag(v, v["wheel load"]) / v["section height"],
    "least_relative_deflection": lambda v, row: sag(v, v["wheel load"]) / v["section height"],
    "loaded_radius": lambda v, row: v["diameter"] / 2.0 - v["deflection"],
    "patch_length": lambda v, row: 1.7 * math.sqrt(v["deflection"] * (v["diameter"] - v["deflection"])),
    "patch_area": lambda v, row: 2.3 * v["deflection"] * math.sqrt(v["section width"] * v["diameter"]) / 100.0,
    "tire_stiffness": lambda v, row: spring(v) * (0.96 + 14.4 * min(v["deflection"] / v["section width"], 0.1)) / 1e3,
    "lateral_stiffness": lambda v, row: (
        2.0
        * v["section width"]
        * (v["inflation pressure"] + 0.24 * v["rated pressure"])
        * (1.0 - 0.7 * v["deflection"] / v["section width"])
        / 1e3
    ),
    "tire_load": over("permitted load", "wheel load"),
    "puncture_protection": protection,
    "rolling_coefficient": coefficient,
    "wheel_load": over("permitted load", "wheel load"),
    "spoke_length_left": spoke_length,
    "spoke_length_right": spoke_length,
    "tension_ratio": tension_ratio,
    "spoke_tension_tight": lambda v, row: (
        v["tension that the rim permits"] * min(1.0, 0.5 * v["tension at which the rim folds over the permitted one"])
    ),
    "spoke_tension_slack": lambda v, row: v["tension of the tighter spokes"] * v["tension ratio"],
    "rim_folding_reserve": folding,
    "wheel_lateral_stiffness": lambda v, row: 1e-3 / float(compliance(v).lateral),
    "wheel_radial_stiffness": lambda v, row: 1e-3 / float(compliance(v).radial),
    "first_slack_load": lambda v, row: float(
        first_slack_radial_load(side(v, "left"), side(v, "right"), compliance=compliance(v))
    ),
    "first_slack_side_load": lambda v, row: float(
        first_slack_side_load(side(v, "left"), side(v, "right"), compliance=compliance(v))
    ),
    "first_slack_torque": slack_torque,
    "spoke_reserve": lambda v, row: min(
        v["load of the first slack spoke"] / v["wheel load"],
        v["torque of the first slack spoke"] / v["peak wheel torque"],
        1000.0,
    ),
    "spoke_stress_reserve": spoke_stress,
    "inertia": inertia,
    "diametral_inertia": lambda v, row: (
        v["inertia about the axle"] / 2.0
        + v["mass of one wheel with its brake"] * (v["section width"] / 1e3) ** 2 / 12.0
    ),
    "gyroscopic_moment": lambda v, row: (
        v["inertia about the axle"]
        * v["highest speed of the terrains"]
        * KMH
        / (v["radius"] / 1e3)
        * v["rate of lean or steer"]
    ),
    "ground_pressure": ground_pressure,
    "sinkage": lambda v, row: 1e3 * (v["ground pressure"] / modulus(v)) ** (1.0 / v["sinkage exponent n"]),
    "sinkage_over_passable": bogging,
    "mean_maximum_pressure": mean_maximum_pressure,
    "time_off_ground": lambda v, row: 100.0 * float(ride(v).off_ground_share),
    "dynamic_load": lambda v, row: float(ride(v).dynamic_load_ratio),
    "ride_acceleration": lambda v, row: float(ride(v).ride_acceleration),
    "strike_margin": strike_margin,
    "rolling_resistance_of_one_wheel": rolling_resistance,
    "soft_ground_resistance_of_one_wheel": compaction,
    "roughness_resistance_of_one_wheel": roughness_resistance,
    "obstacle_resistance_of_one_wheel": obstacles,
    "resistance_of_the_terrain": lambda v, row: max(sum(v.values()), 0.0),
    "drive_reserve": drive_reserve,
    "climb_grade": climb,
    "grip": lambda v, row: grip(v),
    "thrust_at_full_shear": full_shear,
    "slip": slip,
    "thrust_reserve": thrust_reserve,
    "step_height": lambda v, row: v["radius"] * (1.0 - 1.0 / math.sqrt(1.0 + (grip(v) / v["wheel load"]) ** 2)),
    "side_slope": side_slope,
    "brake_torque": brake_torque,
    "grip_torque": lambda v, row: grip(v) * v["loaded radius"] / 1e3,
    "peak_torque": peak_torque,
    "creep_torque_low": bead,
    "creep_torque": bead,
    "creep_torque_high": bead,
    "creep_margin": over("bead torque", "peak wheel torque"),
    "hub_torque_margin": over("rated torque of the hub", "peak wheel torque"),
    "brake_torque_reserve": lambda v, row: v["brake torque"] / (grip(v) * v["loaded radius"] / 1e3),
    "deceleration": deceleration,
    "statutory_deceleration": statutory,
    "lift_off_deceleration": lambda v, row: (
        (v["wheelbase"] - v["centre of gravity ahead of the rear axle"]) / v["height of the centre of gravity"]
    ),
    "heat_flow_into_one_rotor": heat_flow,
    "heat_of_one_stop_into_one_rotor": lambda v, row: (
        (v["mass"] + v["mass added by the turning wheels"])
        * (v["speed"] * KMH) ** 2
        / 2.0
        * v["share of the axle"]
        / v["rotors"]
    ),
    "heat_capacity_of_the_rotor": heat_capacity,
    "rotor_temperature": temperature,
    "rotor_temperature_margin": temperature_margin,
    "unsprung_mass": lambda v, row: v["packages of the axle"] / v["wheels"] + v["share of fork or swingarm"],
    "package_mass": lambda v, row: sum(v.values()),
    "vehicle_mass": lambda v, row: sum(v.values()),
    "mass": mass,
    "trail": trail,
    "trail_most": trail,
    "ground_clearance": clearance,
    "break_over_angle": break_over,
    "front_load_share": lambda v, row: 100.0 * v["load of the front axle"] / (v["mass"] * G),
    "front_load_share_most": lambda v, row: 100.0 * v["load of the front axle"] / (v["mass"] * G),
    "steering_moment": steering,
    "lateral_stability": stability,
    "top_speed": lambda v, row: v["highest motor speed"] * math.pi / 30.0 / v["ratio"] * v["loaded radius"] / 1e3 / KMH,
    "mass_added_by_the_turning_wheels": rotating,
    "equivalent_mass": lambda v, row: (
        v["mass of one wheel with its brake"] + v["inertia about the axle"] / (v["radius"] / 1e3) ** 2
    ),
    "pitch": lambda v, row: math.degrees(pitch(v)),
    "cg_from_rear_least": window("low"),
    "cg_from_rear_most": window("high"),
    "wheelbase_least": window("least_wheelbase"),
    "wheelbase_most": window("largest_wheelbase"),
    "rolling": by_cause(wheel_energy),
    "soft_ground": by_cause(wheel_energy),
    "roughness": by_cause(wheel_energy),
    "obstacles": by_cause(wheel_energy),
    "slip_loss": by_cause(slip_loss),
    "grade": by_cause(grade),
    "air": by_cause(lambda v, row: v["air density"] * v["drag area"] * (v["speed"] * KMH) ** 2 / 2.0 / 3.6),
    "stop_and_go": by_cause(
        lambda v, row: (
            v["stops per distance"]
            / 1e3
            * (v["mass"] + v["mass added by the turning wheels"])
            * (v["speed"] * KMH) ** 2
            / 2.0
            / 3.6
        )
    ),
    "drivetrain": by_cause(drivetrain),
    "regeneration": by_cause(regeneration),
    "rolling_loss": summed,
    "energy": summed,
    "range": over("usable energy of the battery", "energy"),
    "cost": lambda v, row: sum(v.values()),
    "running_cost": running_cost,
    "lead_time": lambda v, row: max(v.values()),
}
#: Figures that are counted, not computed.
COUNTED = {"uncertain_figures"}


def rounded(value: float, digits: int) -> float:
    return float(f"{value:.{digits - 1}e}")


def half_a_unit(value: float, digits: int) -> float:
    """Half a unit of the last printed digit; nothing is printed beyond the sixth decimal."""
    return max(0.5 * 10.0 ** (math.floor(math.log10(abs(value))) - digits + 1) if value else 0.0, 5e-7)


@pytest.mark.parametrize("name", NAMES)
def test_every_figure_is_drawn_up_again_here(name: str) -> None:
    assert {row["figure"] for row in explained(name)} <= set(HAND) | COUNTED


def test_each_of_these_figures_is_explained_somewhere() -> None:
    shown = {row["figure"] for name in NAMES for row in explained(name)}
    assert set(HAND) <= shown


@pytest.mark.parametrize("figure", HAND)
@pytest.mark.parametrize("name", NAMES)
def test_a_figure_follows_from_its_inputs(name: str, figure: str) -> None:
    """To nine digits from the inputs of the JSON, to every printed digit from the inputs as the text prints them."""
    for row in explained(name):
        if row["figure"] != figure:
            continue
        exact = {part["name"]: part["value"] for part in row["inputs"]}
        printed = {key: rounded(value, INPUT_DIGITS) for key, value in exact.items()}
        value, place = row["value"], (figure, row["position"], row["terrain"])
        assert HAND[figure](exact, row) == pytest.approx(value, rel=1e-9, abs=1e-9), place
        assert HAND[figure](printed, row) == pytest.approx(value, abs=half_a_unit(value, FIGURE_DIGITS)), place
