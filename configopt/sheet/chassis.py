"""What the chassis designer takes over: envelope, masses, inertias, geometry and its window, as plain data.

Every number is one of the choice, or a figure of the scenario or the catalogs; nothing is computed here but
differences.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from configopt.appraisal.one_vehicle import VehicleAppraisal
from configopt.appraisal.vehicle import POSITIONS
from configopt.catalog.records import Position
from configopt.sheet.holding import missed_limits
from configopt.sheet.wheel_shape import wheel_shape

#: Taken over from the results of one vehicle as they are.
_VEHICLE = (
    "trail_mm", "ground_clearance_mm", "break_over_angle_deg", "front_load_share_percent", "lift_off_deceleration_g",
    "steering_moment_n_m", "lateral_stability", "top_speed_km_h",
)  # fmt: skip
_WINDOW = (
    "cg_from_rear_axle_mm", "cg_height_mm", "pitch_deg", "wheelbase_mm", "asked_climb_percent", "asked_deceleration_g",
    "cg_from_rear_least_mm", "cg_from_rear_least_set_by", "cg_from_rear_most_mm", "cg_from_rear_most_set_by",
    "wheelbase_least_mm", "wheelbase_least_set_by", "wheelbase_most_mm", "feasible",
)  # fmt: skip
_PACKAGE = (
    "wheels", "static_load_n", "mass_kg", "unsprung_mass_kg", "inertia_kg_m2", "loaded_radius_mm", "patch_length_mm",
    "tire_stiffness_kn_m", "tire_lateral_stiffness_kn_m", "peak_torque_n_m", "first_slack_torque_n_m",
)  # fmt: skip
_INERTIAS = ("diametral_inertia", "kg_m2"), ("equivalent_mass", "kg"), ("gyroscopic_moment", "n_m")


def chassis_data(
    payload: Mapping[str, Any], appraised: Sequence[VehicleAppraisal], cautions: Sequence[str]
) -> dict[str, Any]:
    """Data for the chassis designer (schema configopt/chassis/1).

    Parameters
    ----------
    payload : JSON of the choice or the appraisal
    appraised : its vehicles, in the same order
    cautions : of the sheet
    """
    return {
        "schema": "configopt/chassis/1",
        "scenario": payload["scenario"],
        "vehicles": [_vehicle(entry, one) for entry, one in zip(payload["vehicles"], appraised, strict=True)],
        "misfits": list(payload.get("misfits", ())),
        "missed_limits": list(missed_limits(payload)),
        "cautions": list(cautions),
        # The time it took is no part of the data: the same packages give the same bytes.
        "made_with": {key: value for key, value in payload["made_with"].items() if key != "seconds"},
    }


def _vehicle(entry: Mapping[str, Any], one: VehicleAppraisal) -> dict[str, Any]:
    vehicle = one.model.vehicle
    return {
        "name": vehicle.name,
        "kind": vehicle.kind,
        "final_drive": entry["final_drive"],
        "final_drive_ratio": float(vehicle.drive.final_drives[one.drive].ratio),
        "packages_mass_kg": entry["mass_kg"],
        "caster_angle_deg": math.degrees(float(vehicle.caster_angle)),
        "fork_offset_mm": 1e3 * float(vehicle.fork_offset),
        **{key: entry[key] for key in _VEHICLE},
        "window": {key: entry["chassis"][key] for key in _WINDOW},
        "wheels": [_wheel(entry, one, position) for position in POSITIONS],
    }


def _wheel(entry: Mapping[str, Any], one: VehicleAppraisal, position: Position) -> dict[str, Any]:
    package = next(row for row in entry["packages"] if row["position"] == position)
    shape, parts = wheel_shape(one.packages[position], one.model.vehicle), one.packages[position]
    spoking, brake = shape.spoking, getattr(one.model.vehicle, position).brake
    return {
        "position": position,
        **{key: package[key] for key in _PACKAGE},
        **{f"{key}_{unit}": entry["chassis"][f"{key}_{position}_{unit}"] for key, unit in _INERTIAS},
        "tire_diameter_mm": package["diameter_mm"],
        "tire_width_mm": package["width_mm"],
        "frame_tire_diameter_mm": shape.frame_diameter,
        "frame_tire_width_mm": shape.frame_width,
        "room_around_tire_mm": 0.5 * (shape.frame_diameter - package["diameter_mm"]),
        "room_beside_tire_mm": 0.5 * (shape.frame_width - package["width_mm"]),
        "bead_seat_diameter_mm": shape.bead_diameter,
        "rim_width_mm": shape.rim_width,
        "rim_edge_diameter_mm": shape.rim_edge,
        "axle_diameter_mm": shape.axle,
        "hub_width_mm": shape.hub_width,
        "flange_offset_left_mm": None if spoking is None else spoking.left_offset,
        "flange_offset_right_mm": None if spoking is None else spoking.right_offset,
        "stud_pattern": parts.wheel.hub.studs,
        "disc_wheel_offset_mm": None if parts.wheel.disc_wheel is None else 1e3 * float(parts.wheel.disc_wheel.offset),
        "hub_torque_n_m": float(parts.wheel.hub.maximum_torque),
        "rotor_diameter_mm": 1e3 * float(parts.brake.rotor.diameter),
        "rotor_thickness_mm": shape.rotor_thickness,
        "rotor_pattern": parts.brake.rotor.pattern,
        "rotor_seat": "hub" if brake.axle_rotor_pattern is None else "solid axle",
        "caliper_mount": parts.brake.caliper.mount,
        "chain_line_mm": shape.chain_line,
    }
