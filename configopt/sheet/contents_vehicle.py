"""The vehicle as the scenario states it: what the answer rests on beside the ground and the limits."""

from __future__ import annotations

import math

from configopt.physics.constants import CELSIUS_ZERO
from configopt.sheet.figures import shown
from configopt.sheet.given import Given
from configopt.sheet.tables import Cell, Row, Table, columns

#: Words, field, unit, how many of the unit in one of SI.
_FIGURES = (
    ("chassis, ready to ride, without both packages", "chassis_mass", "kg", 1.0),
    ("riders", "rider_mass", "kg", 1.0),
    ("cargo", "cargo_mass", "kg", 1.0),
    ("wheelbase", "wheelbase", "mm", 1e3),
    ("centre of gravity ahead of the rear axle, laden, without packages", "cg_from_rear_axle", "mm", 1e3),
    ("height of the centre of gravity, laden, without packages", "cg_height", "mm", 1e3),
    ("drag area", "drag_area", "m2", 1.0),
    ("battery", "battery_energy", "Wh", 1.0 / 3600.0),
    ("hand force at full braking", "hand_force", "N", 1.0),
    ("altitude", "altitude", "m", 1.0),
)
_MOTOR = (
    ("torque of the motor", "motor_torque", "N m", 1.0),
    ("power of the motor", "motor_power", "W", 1.0),
    ("greatest speed of the motor", "motor_speed_max", "rpm", 30.0 / math.pi),
)


def vehicle_table(given: Given, number: int) -> Table:
    """Masses, geometry and drive of one of the vehicles, as stated."""
    vehicle = given.appraised[number].model.vehicle
    rows: list[Row] = []
    for source, figures in ((vehicle, _FIGURES), (vehicle.drive, _MOTOR)):
        for words, field, unit, times in figures:
            value = getattr(source, field)
            if value is not None:
                rows.append(Row((words, shown(times * float(value), unit))))
    air: Cell = shown(float(vehicle.temperature) - CELSIUS_ZERO, "degC")
    rows.append(Row(("temperature of the air", air)))
    drives = ", ".join(f"{drive.id} ({float(drive.ratio):g})" for drive in vehicle.drive.final_drives)
    rows.append(Row((f"final drives to choose from, with ratio; the {vehicle.drive.driven} is driven", drives)))
    return Table("The vehicle as stated", columns("", "#value"), tuple(rows))
