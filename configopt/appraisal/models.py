"""The table of models: what stands behind every figure that the appraisal reports or limits."""

from __future__ import annotations

from configopt.appraisal.model_record import Cited, Model, Subject
from configopt.appraisal.models_brakes import BRAKE_MODELS
from configopt.appraisal.models_energy import COST_MODELS, ENERGY_MODELS
from configopt.appraisal.models_ground import GROUND_MODELS
from configopt.appraisal.models_thrust import THRUST_MODELS
from configopt.appraisal.models_tire import TIRE_MODELS
from configopt.appraisal.models_vehicle import VEHICLE_MODELS
from configopt.appraisal.models_wheel import WHEEL_MODELS

__all__ = ["LIMIT_MODELS", "MODELS", "Cited", "Model", "Subject"]

#: Every model by its key, from the ground up.
MODELS: dict[str, Model] = {
    model.key: model
    for model in (
        *TIRE_MODELS,
        *WHEEL_MODELS,
        *GROUND_MODELS,
        *THRUST_MODELS,
        *BRAKE_MODELS,
        *VEHICLE_MODELS,
        *ENERGY_MODELS,
        *COST_MODELS,
    )
}

#: The model behind each limit, by the limit's key.
LIMIT_MODELS: dict[str, str] = {
    "relative_deflection": "tire_deflection",
    "least_relative_deflection": "tire_deflection",
    "tire_load": "tire_load_rating",
    "wheel_load": "wheel_load_rating",
    "creep_margin": "creep_margin",
    "strike_margin": "strike_margin",
    "puncture_protection": "puncture_protection",
    "hub_torque_margin": "hub_torque",
    "spoke_reserve": "spoke_reserve",
    "spoke_stress_reserve": "spoke_stress",
    "wheel_lateral_stiffness": "wheel_stiffness",
    "brake_torque_reserve": "brake_torque_reserve",
    "statutory_deceleration": "statutory_deceleration",
    "deceleration": "deceleration",
    "unsprung_mass": "unsprung_mass",
    "steering_moment": "steering_moment",
    "lateral_stiffness": "lateral_stiffness",
    "side_slope": "side_slope",
    "lateral_stability": "lateral_stability",
    "ground_pressure": "ground_pressure",
    "sinkage": "sinkage",
    "sinkage_over_passable": "bogging",
    "time_off_ground": "rough_contact",
    "dynamic_load": "rough_contact",
    "ride_acceleration": "rough_contact",
    "thrust_reserve": "thrust_reserve",
    "drive_reserve": "drive_reserve",
    "climb_grade": "climb",
    "step_height": "step",
    "lift_off_deceleration": "lift_off",
    "rotor_temperature_margin": "rotor_temperature_margin",
    "rotor_temperature": "rotor_temperature",
    "rolling_loss": "rolling_loss",
    "energy": "energy",
    "range": "range",
    "top_speed": "top_speed",
    "cost": "cost",
    "running_cost": "running_cost",
    "package_mass": "mass",
    "vehicle_mass": "mass",
    "trail": "trail",
    "trail_most": "trail",
    "ground_clearance": "ground_clearance",
    "break_over_angle": "break_over",
    "front_load_share": "front_load_share",
    "front_load_share_most": "front_load_share",
    "mean_maximum_pressure": "mean_maximum_pressure",
    "lead_time": "lead_time",
}
