"""Tables for the chassis designer, from the chassis data."""

from __future__ import annotations

from dataclasses import dataclass

from configopt.appraisal.vehicle import POSITIONS
from configopt.sheet.figures import NOT_HERE
from configopt.sheet.given import Given
from configopt.sheet.tables import Cell, Row, Table, columns

_GEOMETRY = (
    ("trail", "trail_mm", "mm"),
    ("caster angle, as stated", "caster_angle_deg", "deg"),
    ("fork offset, as stated", "fork_offset_mm", "mm"),
    ("ground clearance", "ground_clearance_mm", "mm"),
    ("break-over angle", "break_over_angle_deg", "deg"),
    ("share of the weight in front", "front_load_share_percent", "%"),
    ("deceleration at which the rear wheel lifts", "lift_off_deceleration_g", "g"),
    ("moment to turn the front wheels at standstill", "steering_moment_n_m", "N m"),
    ("half the track over the height of the centre of gravity", "lateral_stability", "1"),
    ("mass of all packages", "packages_mass_kg", "kg"),
    ("ratio of the final drive", "final_drive_ratio", "1"),
    ("top speed by motor speed and gear", "top_speed_km_h", "km/h"),
)
_WINDOW = (
    ("wheelbase, as stated", "wheelbase_mm", "mm", None),
    ("least wheelbase", "wheelbase_least_mm", "mm", "wheelbase_least_set_by"),
    ("greatest wheelbase", "wheelbase_most_mm", "mm", None),
    ("centre of gravity ahead of the rear axle", "cg_from_rear_axle_mm", "mm", None),
    ("at least", "cg_from_rear_least_mm", "mm", "cg_from_rear_least_set_by"),
    ("at most", "cg_from_rear_most_mm", "mm", "cg_from_rear_most_set_by"),
    ("height of the centre of gravity", "cg_height_mm", "mm", None),
    ("pitch of the chassis against the reference radii", "pitch_deg", "deg", None),
    ("climb the window is for", "asked_climb_percent", "%", None),
    ("deceleration the window is for", "asked_deceleration_g", "g", None),
)
_WHEEL = (
    ("tire, overall diameter", "tire_diameter_mm", "mm"),
    ("tire, width", "tire_width_mm", "mm"),
    ("frame takes, diameter", "frame_tire_diameter_mm", "mm"),
    ("frame takes, width", "frame_tire_width_mm", "mm"),
    ("room around the tire, all round", "room_around_tire_mm", "mm"),
    ("room beside the tire, each side", "room_beside_tire_mm", "mm"),
    ("loaded radius", "loaded_radius_mm", "mm"),
    ("length of the contact patch", "patch_length_mm", "mm"),
    ("static load per wheel", "static_load_n", "N"),
    ("stiffness of the tire", "tire_stiffness_kn_m", "kN/m"),
    ("lateral stiffness of the tire", "tire_lateral_stiffness_kn_m", "kN/m"),
    ("mass of the packages, all wheels", "mass_kg", "kg"),
    ("unsprung mass per wheel", "unsprung_mass_kg", "kg"),
    ("inertia about the axle, per wheel", "inertia_kg_m2", "kg m2"),
    ("inertia about a diameter, per wheel", "diametral_inertia_kg_m2", "kg m2"),
    ("mass that the turning wheel adds, per wheel", "equivalent_mass_kg", "kg"),
    ("gyroscopic moment at 1 rad/s of lean, per wheel", "gyroscopic_moment_n_m", "N m"),
    ("peak torque of a wheel", "peak_torque_n_m", "N m"),
    ("wheel torque the hub is rated for", "hub_torque_n_m", "N m"),
    ("wheel torque at which the first spoke goes slack", "first_slack_torque_n_m", "N m"),
    ("axle diameter", "axle_diameter_mm", "mm"),
    ("width of the hub, between the fork ends of a spoked wheel", "hub_width_mm", "mm"),
    ("flange from the middle of the rim, left", "flange_offset_left_mm", "mm"),
    ("flange from the middle of the rim, right", "flange_offset_right_mm", "mm"),
    ("middle of the disc wheel's rim, outward from the stud face", "disc_wheel_offset_mm", "mm"),
    ("rotor, diameter", "rotor_diameter_mm", "mm"),
    ("chain line", "chain_line_mm", "mm"),
)
_WORDS = (
    ("stud circle", "stud_pattern"),
    ("rotor pattern", "rotor_pattern"),
    ("rotor sits on", "rotor_seat"),
    ("caliper mount", "caliper_mount"),
)


@dataclass(frozen=True)
class ChassisTables:
    """Tables of one vehicle, and whether the stated geometry lies in its window."""

    wheels: Table
    geometry: Table
    window: Table
    verdict: str


def chassis_tables(given: Given, number: int) -> ChassisTables:
    """What the chassis designer takes over, for one of the vehicles; needs ``chassis`` among the results."""
    results, base = given.results, f"chassis/vehicles/{number}"
    entry = results.at(base)
    positions = list(enumerate(POSITIONS))
    wheels = []
    for words, key, unit in _WHEEL:
        if all(wheel[key] is None for wheel in entry["wheels"]):
            continue
        cells: list[Cell] = [
            NOT_HERE if entry["wheels"][at][key] is None else results.figure(f"{base}/wheels/{at}/{key}", unit)
            for at, _ in positions
        ]
        wheels.append(Row((words, *cells)))
    for words, key in _WORDS:
        if any(wheel[key] for wheel in entry["wheels"]):
            wheels.append(Row((words, *(wheel[key] or "none" for wheel in entry["wheels"]))))
    geometry = [
        Row((words, results.figure(f"{base}/{key}", unit))) for words, key, unit in _GEOMETRY if entry[key] is not None
    ]
    window = []
    for words, key, unit, set_by in _WINDOW:
        value = entry["window"][key]
        told: Cell = "open" if value is None else results.figure(f"{base}/window/{key}", unit)
        window.append(Row((words, told, "" if set_by is None else f"set by {entry['window'][set_by]}")))
    verdict = (
        "Wheelbase and centre of gravity as stated lie inside the window."
        if entry["window"]["feasible"]
        else "Wheelbase and centre of gravity as stated lie outside the window: something that is asked cannot be met."
    )
    return ChassisTables(
        Table("Wheels and their room", columns("", *(f"#{position}" for position in POSITIONS)), tuple(wheels)),
        Table("Geometry with these wheels, laden", columns("", "#value"), tuple(geometry)),
        Table("Window of wheelbase and centre of gravity", columns("", "#value", "why"), tuple(window)),
        verdict,
    )
