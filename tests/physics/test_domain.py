"""Every public function of the physics refuses NaN in every argument, by name, index, value, range and count.

Functions are found by inspection, so a new one is held to it from its first day; sample arguments come from one table.
"""

from __future__ import annotations

import dataclasses
import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
import pytest

import configopt.physics
from configopt.errors import DomainError
from configopt.physics.domain import require
from configopt.physics.loads import Chassis
from configopt.physics.quarter_car_floor import WheelRange
from configopt.physics.spoke_foundation import spoke_foundation, spoke_side
from configopt.physics.wheel_stiffness import rim_compliance

Function = Callable[..., Any]

SIDE = spoke_side(
    18.0,
    rigidity=1.6e6,
    tension=900.0,
    flange_offset=0.033,
    flange_radius=0.06,
    rim_radius=0.26,
    crossings=3.0,
)
RIM = {"rim_radius": 0.26, "radial_rigidity": 800.0, "lateral_rigidity": 2000.0, "torsional_rigidity": 300.0}
FOUNDATION = spoke_foundation(SIDE, SIDE, rim_radius=0.26)
COMPLIANCE = rim_compliance(FOUNDATION, **RIM)
WHEEL_RANGE = WheelRange(
    stiffness_low=5e4,
    stiffness_high=6e4,
    unsprung_mass_low=12.0,
    unsprung_mass_high=13.0,
    sprung_mass_low=70.0,
    sprung_mass_high=75.0,
    suspension_rate=8e3,
    damping=600.0,
    patch_length_high=0.12,
    speed=8.0,
    roughness=4e-5,
)
CHASSIS = Chassis(
    mass=180.0,
    wheelbase=1.4,
    cg_from_rear_axle=0.7,
    cg_height=0.75,
    reference_front_radius=0.34,
    reference_rear_radius=0.33,
)

#: A valid value of every parameter by its name.
SAMPLES: dict[str, Any] = RIM | {
    "air_drag": 10.0,
    "altitude": 300.0,
    "ambient": 293.0,
    "ambient_set": 1.0e5,
    "amplitude": 1e8,
    "angle": 1.0,
    "angular_frequency": 1.0,
    "angular_speed": 30.0,
    "area": 0.01,
    "arm": 0.5,
    "at_zero": 100.0,
    "axle_factor": 4.4,
    "axles": 2.0,
    "bead_radius": 0.23,
    "begin_speed": 10.0,
    "bolts": 6.0,
    "breakover_angle": 1.0,
    "capacity": 2.0,
    "carcass_pressure": 15e3,
    "carrying_fraction": 0.5,
    "casing_thickness": 0.004,
    "casing_toughness": 9e7,
    "caster_angle": 0.45,
    "cg_from_front": 0.7,
    "cg_from_rear": 0.7,
    "cg_height": 0.75,
    "chassis": CHASSIS,
    "circle_radius": 0.03,
    "clamp_force": 3000.0,
    "clearance": 0.3,
    "climb_grade": 0.5,
    "coefficient": 0.01,
    "cohesion": 1000.0,
    "cohesion_factor": 1.1,
    "cohesive_modulus": 1000.0,
    "compaction": 100.0,
    "compliance": COMPLIANCE,
    "conductivity": 0.026,
    "cone_index": 5e5,
    "cone_index_gradient": 3e6,
    "constant": 10.0,
    "convection_conductance": 1.0,
    "critical": 1e5,
    "crossings": 3.0,
    "damping": 600.0,
    "deceleration": 4.0,
    "deflection": 0.02,
    "deflection_at_double_load": 0.035,
    "deflection_ratio": 0.2,
    "demand": 1.0,
    "density": 7800.0,
    "depth": 0.3,
    "diameter": 0.65,
    "diameter_code": 18.0,
    "disc_effusivity": 9000.0,
    "displacement": 0.02,
    "displacement_ratio": 1.0,
    "distance": 20.0,
    "drag_area": 0.6,
    "drive_efficiency": 0.9,
    "driven": SIDE,
    "drum_radius": 0.85,
    "duration": 60.0,
    "dynamic_load_ratio": 0.2,
    "edge_share": 0.5,
    "effective_radius": 0.1,
    "end_diameter": 0.004,
    "end_speed": 2.0,
    "endurance_share": 0.25,
    "energy": 1e4,
    "energy_per_distance": 80.0,
    "engagement": 0.01,
    "enveloped": 0.01,
    "equivalent_pressure": 80e3,
    "exponent": 0.8,
    "factor": 1.0,
    "final_density": 500.0,
    "firm_patch_length": 0.15,
    "fit_torque": 10.0,
    "flange_height": 0.012,
    "flange_offset": 0.03,
    "flange_radius": 0.06,
    "flange_thickness": 0.006,
    "floor": 0.05,
    "fork_offset": 0.05,
    "foundation": FOUNDATION,
    "foundation_stiffness": 3e7,
    "fraction": 0.5,
    "free_travel": 0.06,
    "friction": 0.6,
    "friction_angle": 0.5,
    "friction_factor": 1.1,
    "frictional_modulus": 1.5e6,
    "front": 0.34,
    "front_mass": 15.0,
    "front_radius": 0.34,
    "front_radius_change": 0.01,
    "front_share": 0.6,
    "front_share_max": 0.7,
    "front_share_min": 0.3,
    "front_shift": 0.01,
    "front_track": 0.9,
    "front_width": 0.08,
    "gain": 10.0,
    "grade_angle": 0.1,
    "gravity": 9.81,
    "ground_clearance": 0.3,
    "hA": 1.0,
    "hand_force": 100.0,
    "hazard": 1.0,
    "heat_capacity": 60.0,
    "height": 0.05,
    "hub_radius": 0.05,
    "inertia": 0.3,
    "inertia_over_radius_squared": 4.0,
    "initial": 300.0,
    "initial_density": 200.0,
    "inner": 1.0,
    "inner_radius": 0.2,
    "interval": 30.0,
    "land_fraction": 0.3,
    "lateral_stiffness": 5e4,
    "lean_angle": 0.5,
    "lean_rate": 1.0,
    "left": SIDE,
    "left_length": 0.2,
    "left_offset": 0.03,
    "length": 0.2,
    "lever_ratio": 6.0,
    "limit": 0.35,
    "line_pressure": 5e6,
    "linear": 0.1,
    "load": 800.0,
    "load_exponent": 0.9,
    "longitudinal_friction": 0.7,
    "longitudinal_use": 0.3,
    "loss": 100.0,
    "lug_depth": 0.012,
    "lug_height": 0.012,
    "mass": 10.0,
    "master_diameter": 0.011,
    "maximum_thrust": 500.0,
    "mean_stress": 3e8,
    "measuring_rim_width": 0.047,
    "middle_diameter": 0.0035,
    "middle_length": 0.1,
    "minimum_order": 1.0,
    "mobility_index": 60.0,
    "modulus": 1.5e6,
    "normal_pressure": 5e4,
    "numeric": 20.0,
    "nut_factor": 0.2,
    "off_ground_share": 0.05,
    "outer": 0.12,
    "outer_diameter": 0.22,
    "outer_radius": 0.3,
    "outward_shift": 0.01,
    "pad_area": 1e-3,
    "pad_effusivity": 1400.0,
    "patch_area": 0.01,
    "patch_length": 0.12,
    "patch_length_low": 0.1,
    "patch_width": 0.1,
    "peak_pressure": 2e6,
    "period": 1.5,
    "pin_diameter": 0.005,
    "pins": 6.0,
    "piston_diameter": 0.025,
    "pistons_per_side": 1.0,
    "pitch": 1e-3,
    "planes": 1.0,
    "position": 0.7,
    "position_share": 0.5,
    "power": 500.0,
    "preload": 3000.0,
    "pressure": 90e3,
    "pressure_exponent": 0.1,
    "pressure_set": 90e3,
    "quadratic": 0.3,
    "quantity": 10.0,
    "radius": 0.33,
    "rated_pressure": 200e3,
    "reaction": 0.36,
    "rear": 0.33,
    "rear_mass": 18.0,
    "rear_radius": 0.33,
    "rear_radius_change": 0.01,
    "rear_shift": 0.01,
    "rear_track": 0.9,
    "rear_width": 0.11,
    "reference_coefficient": 0.02,
    "reference_load": 800.0,
    "reference_mass": 150.0,
    "reference_pressure": 100e3,
    "reference_speed": 8.0,
    "regeneration_efficiency": 0.6,
    "regeneration_force_limit": 100.0,
    "remolding_index": 0.8,
    "reserve": 2.0,
    "residual": 0.03,
    "resistance": 20.0,
    "resistance_work": 100.0,
    "rest_area": 0.004,
    "rest_emissivity": 0.8,
    "right": SIDE,
    "right_length": 0.2,
    "right_offset": 0.03,
    "rigidity": 1.6e6,
    "rim_diameter": 0.5,
    "rim_width": 0.047,
    "rise": 50.0,
    "rolling_coefficient": 0.02,
    "roughness": 2.56e-6,
    "rut_factor": 0.6,
    "section_height": 0.08,
    "section_width": 0.09,
    "share": 0.5,
    "shear_modulus": 0.02,
    "sinkage": 0.03,
    "slip": 0.2,
    "slip_limit": 0.6,
    "slope": 1e-2,
    "slope_angle": 0.2,
    "smaller_side": 0.1,
    "spatial_frequency": 0.1,
    "specific_heat": 460.0,
    "speed": 8.0,
    "spin_inertia": 0.3,
    "spoke_hole_radius": 1e-3,
    "spokes": 18.0,
    "spokes_per_side": 18.0,
    "sprung_mass": 75.0,
    "sprung_mass_high": 80.0,
    "sprung_mass_low": 70.0,
    "stiffness": 60e3,
    "stiffness_high": 65e3,
    "stiffness_low": 55e3,
    "stops": 4,
    "stress": 3e8,
    "suspension_rate": 9e3,
    "temperature": 290.0,
    "temperature_set": 293.0,
    "tensile_strength": 1e9,
    "tension": 900.0,
    "terminal_speed": 20.0,
    "thickness": 2e-3,
    "thrust": 200.0,
    "tier_prices": np.array([5.0, 4.5, 4.0]),
    "tier_quantities": np.array([1.0, 10.0, 100.0]),
    "tightening_torque": 8.0,
    "time": 30.0,
    "time_constant": 60.0,
    "tire_radius": 0.33,
    "torque": 100.0,
    "track": 0.9,
    "track_area": 0.017,
    "track_emissivity": 0.25,
    "track_height": 0.015,
    "traction_force": 100.0,
    "transition_reynolds": 2.4e5,
    "tread_toughness": 1.2e7,
    "under_tread": 2e-3,
    "unevenness": 0.5,
    "unsprung_mass": 14.0,
    "unsprung_mass_high": 15.0,
    "unsprung_mass_low": 13.0,
    "usable_energy": 5e6,
    "variance_bound": 1e4,
    "viscosity": 1.5e-5,
    "weight": 2000.0,
    "wheel_gap": 0.05,
    "wheel_speed": 30.0,
    "wheel": WHEEL_RANGE,
    "wheelbase": 1.4,
    "wheels": 2.0,
    "width": 0.09,
    "width_code": 2.15,
    "wire_diameter": 0.004,
    "work": 50.0,
}
#: The same for one function where a name means something else there.
OWN_SAMPLES: dict[str, dict[str, Any]] = {
    "annular_pad_force": {"inner": 0.09},
    "annular_pad_torque": {"inner": 0.09},
    "carcass_pressure_from_reading": {"load": 1200.0},
    "codes_of": {"value": 1.0},
    "effective_radius_uniform_pressure": {"inner": 0.09},
    "effective_radius_uniform_wear": {"inner": 0.09},
    "pressure_speed_factor": {"exponent": -0.5},
    "require_patch_length": {"name": "patch_length"},
    "require_stiffness": {"name": "stiffness"},
    "rolling_coefficient": {"exponent": -0.5},
    "sae_j2452_resistance": {"pressure_exponent": -0.4},
}
#: Arguments that are no numbers: flags, and texts with a value that is good for a call.
NO_NUMBERS: dict[str, Any] = {
    "chains": False,
    "heavy_duty": False,
    "kinds": ("tube", "tubeless", "sealant"),
    "manual_transmission": False,
    "name": "value",
    "packed": False,
    "quad": False,
    "suspended": True,
}
#: Functions that are left out, and why.
LEFT_OUT = {
    "halve": "takes no physical figure: brackets of whatever holds",
    "require": "the guard itself; tested on its own below",
    "rim_mode": "one term of the sums in rim_compliance and critical_pull, which guard its arguments",
    "roughness_constant": "takes the letter of a class and no number; other letters are refused in test_roughness",
    "statutory_row": "takes a category and a control and no number; others are refused in test_brakes",
}


def public_functions() -> dict[str, Function]:
    """Every public function by module and name, as it is defined there."""
    found = {}
    for module in sorted(info.name for info in pkgutil.iter_modules(configopt.physics.__path__)):
        loaded = importlib.import_module(f"configopt.physics.{module}")
        for name, function in inspect.getmembers(loaded, inspect.isfunction):
            if function.__module__ == loaded.__name__ and not name.startswith("_"):
                found[f"{module}.{name}"] = function
    return found


FUNCTIONS = public_functions()
COVERED = {full: function for full, function in FUNCTIONS.items() if function.__name__ not in LEFT_OUT}


def arguments_of(function: Function) -> dict[str, Any]:
    """A sample of every argument, optional ones as well."""
    samples = SAMPLES | NO_NUMBERS | OWN_SAMPLES.get(function.__name__, {})
    missing = [name for name in inspect.signature(function).parameters if name not in samples]
    assert not missing, f"add a sample for {', '.join(missing)} of {function.__name__}"
    return {name: samples[name] for name in inspect.signature(function).parameters}


def slots() -> Iterator[tuple[str, str, str]]:
    """Function, argument and, where the argument is a record, its field: every place for a number."""
    for full, function in COVERED.items():
        known = SAMPLES | OWN_SAMPLES.get(function.__name__, {})
        for name in inspect.signature(function).parameters:
            if dataclasses.is_dataclass(known.get(name)):
                yield from ((full, name, field.name) for field in dataclasses.fields(known[name]))
            elif name not in NO_NUMBERS:
                yield full, name, ""


def spoiled(value: Any) -> np.ndarray:
    """Three values, the second of which is not a number."""
    values = np.array(np.broadcast_to(value, 3), dtype=np.float64)
    values[1] = np.nan
    return values


def refusal(name: str) -> str:
    """Pattern of a refusal: argument, index, value, unit, range, unit, count."""
    range_ = r"allowed is (above )?[-+.e0-9inf]+ to [-+.e0-9inf]+"
    return rf"^(\w+\.)?{re.escape(name)} at index \(1,\) is nan (?P<unit>\S.*); {range_} (?P=unit) \(1 of 3 values\)$"


@pytest.mark.parametrize("full", COVERED)
def test_every_function_takes_the_sample_arguments(full: str) -> None:
    """So that NaN is the only thing the next test can be refused for."""
    COVERED[full](**arguments_of(COVERED[full]))


@pytest.mark.parametrize(("full", "name", "field"), list(slots()))
def test_nan_never_passes_and_is_named_by_argument_index_value_and_range(full: str, name: str, field: str) -> None:
    function = COVERED[full]
    arguments = arguments_of(function)
    if field:
        record = arguments[name]
        with pytest.raises(DomainError, match=refusal(field)):
            function(**(arguments | {name: dataclasses.replace(record, **{field: spoiled(getattr(record, field))})}))
    else:
        with pytest.raises(DomainError, match=refusal(name)):
            function(**(arguments | {name: spoiled(arguments[name])}))


def test_what_is_left_out_exists() -> None:
    names = {function.__name__ for function in FUNCTIONS.values()}
    assert set(LEFT_OUT) <= names
    assert set(OWN_SAMPLES) <= names
    used = {name for function in COVERED.values() for name in inspect.signature(function).parameters}
    assert set(SAMPLES) | set(NO_NUMBERS) <= used
    assert not set(SAMPLES) & set(NO_NUMBERS)


@pytest.mark.parametrize("low", [-np.inf, 0.0])
@pytest.mark.parametrize("above", [None, 0.0])
@pytest.mark.parametrize("high", [1.0, np.inf])
def test_the_guard_refuses_nan_whatever_the_range(low: float, above: float | None, high: float) -> None:
    for value in (np.nan, [0.5, np.nan], [[np.nan, 0.5]]):
        with pytest.raises(DomainError, match="is nan m;"):
            require("length", value, unit="m", low=low, above=above, high=high)


def test_the_guard_takes_both_closed_ends_and_refuses_an_open_one() -> None:
    assert require("share", [0.0, 1.0], unit="1", low=0.0, high=1.0).tolist() == [0.0, 1.0]
    with pytest.raises(DomainError, match=r"^share is 0 1; allowed is above 0 to 1 1$"):
        require("share", 0.0, unit="1", above=0.0, high=1.0)


def test_the_guard_names_the_first_bad_index_and_counts_the_bad_values() -> None:
    values = np.ones((2, 3))
    values[0, 2], values[1, 1] = -4.0, np.inf
    message = r"^load at index \(0, 2\) is -4 N; allowed is 0 to 1e\+06 N \(2 of 6 values\)$"
    with pytest.raises(DomainError, match=message):
        require("load", values, unit="N", low=0.0, high=1e6)


def test_nothing_is_wrong_with_no_values() -> None:
    assert require("load", np.zeros((0, 3)), unit="N", above=0.0).shape == (0, 3)
