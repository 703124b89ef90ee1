"""Torques, brakes, vehicle, energy and cost by hand, in the units in which they are printed."""

from __future__ import annotations

import math

from hand import ENDS, KMH, G, Hand, Inputs, Row, directions, mean, named

from configopt.physics.chassis_window import chassis_window
from configopt.physics.rotor_descent import descent_temperature, stops_temperature


def brake_torque(v: Inputs, row: Row) -> float:
    pressure = v["hand force"] * v["lever ratio"] / (math.pi / 4.0 * v["master piston"] ** 2)
    force = pressure * v["pistons on one side"] * math.pi / 4.0 * v["caliper piston"] ** 2
    radius = (v["rotor diameter"] - v["pad height"]) / 2.0 / 1e3
    return 2.0 * v["friction of the pad"] * force * radius * v["rotors"] / v["wheels"]


def bead(v: Inputs, row: Row) -> float:
    rb = v["bead radius"] / 1e3
    rm = rb + v["section height"] / 2e3
    held = 2.0 * v["friction between bead and rim"] * rb * math.pi * (rm**2 - rb**2) * v["inflation pressure"] * 1e3
    hold = v["share left at the ground"] * (v["torque of the tight fit"] + held)
    return hold + v["rim locks"] * v["torque of one rim lock"]


def peak_torque(v: Inputs, row: Row) -> float:
    strongest = max(v["brake torque"], *named(v, "motor torque"), 0.0)
    return min(max(named(v, "grip torque on")), strongest)


def deceleration(v: Inputs, row: Row) -> float:
    force = 0.0
    for end in ENDS:
        by_brake = v[f"brake torque {end}"] / (v[f"loaded radius {end} at rest"] / 1e3)
        force += v[f"wheels {end}"] * min(v[f"grip {end} at that load"], by_brake)
    behind = v["wheelbase"] - v["centre of gravity ahead of the rear axle"]
    return min(force / (v["mass"] * G), behind / v["height of the centre of gravity"])


def statutory(v: Inputs, row: Row) -> float:
    by_grip = v["friction of the road"] * v["wheel load at that deceleration"] * v["wheels"]
    by_brake = v["rotors"] * v["torque of one rotor"] / (v["loaded radius"] / 1e3)
    held = min(by_grip, by_brake) / (v["mass"] * v["required deceleration"])
    return held if v["wheel load at the other end"] > 0.0 else 0.0


def heat_flow(v: Inputs, row: Row) -> float:
    down = v["mass"] * G * math.sin(math.atan(v["grade"] / 100.0))
    force = max(down - v["resistance of the footings"] - v["air drag"], 0.0)
    return force * v["speed"] * KMH * v["share of the axle"] / v["rotors"]


def heat_capacity(v: Inputs, row: Row) -> float:
    height, outer = v["track height"] / 1e3, v["rotor diameter"] / 1e3
    area = math.pi * height * (outer - height)
    return area * v["least thickness in service"] / 1e3 * v["density"] * v["specific heat"]


def temperature(v: Inputs, row: Row) -> float:
    track, carrier = v["area of the track, both faces"] / 1e4, v["area of the carrier, both faces"] / 1e4
    cooling = {
        "heat_capacity": v["heat capacity"],
        "convection_conductance": v["convection coefficient"] * (track + carrier),
        "track_area": track,
        "rest_area": carrier,
        "track_emissivity": v["emissivity of the track"],
        "rest_emissivity": v["emissivity of the carrier"],
        "ambient": v["ambient temperature"],
    }
    if "heat of one stop" in v:
        rise = v["heat of one stop"] / v["heat capacity"]
        return float(stops_temperature(rise, stops=round(v["stops"]), interval=v["interval"], **cooling)) - 273.15
    slope = math.sin(math.atan(v["grade"] / 100.0))
    duration = v["height lost"] / (v["speed"] * KMH * slope)
    return float(descent_temperature(v["heat flow"], duration=duration, **cooling)) - 273.15


def temperature_margin(v: Inputs, row: Row) -> float:
    ambient = v["ambient temperature"]
    return (v["permitted temperature"] - ambient) / (v["temperature reached"] - ambient)


def mass(v: Inputs, row: Row) -> float:
    on_rotors = v["rotor"] + v["caliper"] + v["pads"]
    on_wheels = sum(v.values()) - on_rotors - v["wheels"] - v["rotors"]
    return v["wheels"] * on_wheels + v["rotors"] * on_rotors


def pitch(v: Inputs) -> float:
    """Angle by which the wheels turn the vehicle [rad]."""
    loaded, reference = (
        math.asin((v[f"{kind} radius front"] - v[f"{kind} radius rear"]) / v["wheelbase"])
        for kind in ("loaded", "reference")
    )
    return loaded - reference


def trail(v: Inputs, row: Row) -> float:
    angle = math.radians(v["caster angle"]) + pitch(v)
    return (v["loaded radius front"] * math.sin(angle) - v["fork offset"]) / math.cos(angle)


def clearance(v: Inputs, row: Row) -> float:
    change = [v[f"loaded radius {end}"] - v[f"reference radius {end}"] for end in ENDS]
    return max(v["ground clearance on the reference radii"] + mean(change), 1.0)


def break_over(v: Inputs, row: Row) -> float:
    half, low = v["wheelbase"] / 2.0, v["ground clearance"]
    ramps = [
        math.asin(v[f"loaded radius {end}"] / math.hypot(half, v[f"loaded radius {end}"] - low))
        - math.atan((v[f"loaded radius {end}"] - low) / half)
        for end in ENDS
    ]
    return math.degrees(sum(ramps))


def steering(v: Inputs, row: Row) -> float:
    grips = named(v, "grip over load on")
    return v["wheels front"] * 0.376 * grips[0] * v["wheel load front"] * math.sqrt(v["contact area"] / 1e4)


def stability(v: Inputs, row: Row) -> float:
    front, rear = (v["track"] + 2.0 * v[f"wheel offset {end}"] for end in ENDS)
    share = v["centre of gravity ahead of the rear axle"] / v["wheelbase"]
    return (rear + share * (front - rear)) / (2.0 * v["height of the centre of gravity"])


def window(key: str) -> Hand:
    def end(v: Inputs, row: Row) -> float:
        found = chassis_window(
            v["wheelbase"] / 1e3,
            cg_height=v["height of the centre of gravity"] / 1e3,
            climb_grade=v["climb asked for"] / 100.0,
            deceleration=v["deceleration asked for, over gravity"] * G,
            front_share_min=v["least share of the front load"] / 100.0,
            front_share_max=v["largest share of the front load"] / 100.0,
            front_radius=v["loaded radius front"] / 1e3,
            rear_radius=v["loaded radius rear"] / 1e3,
            breakover_angle=math.radians(v["break-over angle asked for"]),
            clearance=v["ground clearance"] / 1e3,
        )
        return 1e3 * float(getattr(found, key))

    return end


def rotating(v: Inputs, row: Row) -> float:
    return sum(v[f"wheels {end}"] * v[f"inertia of one wheel {end}"] / (v[f"radius {end}"] / 1e3) ** 2 for end in ENDS)


def wheel_energy(v: Inputs, row: Row) -> float:
    forces = [v[f"wheels {end}"] * mean(directions(v, f"resistance of one wheel {end}")) for end in ENDS]
    return sum(forces) / 3.6


def slip_loss(v: Inputs, row: Row) -> float:
    pairs = zip(directions(v, "thrust"), directions(v, "slip"), strict=True)
    return mean([thrust * i / (100.0 - i) for thrust, i in pairs]) / 3.6


def grade(v: Inputs, row: Row) -> float:
    pairs = zip(directions(v, "grade angle"), directions(v, "held back"), strict=True)
    return mean([v["mass"] * G * math.sin(math.radians(angle)) + held for angle, held in pairs]) / 3.6


def drivetrain(v: Inputs, row: Row) -> float:
    driving = mean([max(force, 0.0) for force in directions(v, "traction")]) + v["stops"]
    return driving * (1.0 / (v["efficiency of the motor"] * v["efficiency of the drive"]) - 1.0) / 3.6


def regeneration(v: Inputs, row: Row) -> float:
    given_back = []
    grips = directions(v, "grip of the driven wheels")
    for force, radius, held in zip(directions(v, "traction"), directions(v, "loaded radius"), grips, strict=True):
        by_motor = v["motor torque for regeneration"] * v["ratio"] / (radius / 1e3)
        given_back.append(min(max(-force, 0.0), by_motor, held))
    return -v["efficiency of regeneration"] * mean(given_back) / 3.6


def summed(v: Inputs, row: Row) -> float:
    """Causes on a terrain, or the terrains of the mix by their shares."""
    if row["terrain"] is not None:
        return sum(v.values())
    return sum(v[f"share of {name[3:]}"] / 100.0 * value for name, value in v.items() if name.startswith("on "))


def by_cause(on_a_terrain: Hand) -> Hand:
    """A cause on a terrain, or over the mix."""
    return lambda v, row: summed(v, row) if row["terrain"] is None else on_a_terrain(v, row)


def running_cost(v: Inputs, row: Row) -> float:
    if any("no tread life" in remark for remark in row["remarks"]):
        return 1e6
    costs = [(name.partition(",")[0].partition(" x ")[2], value) for name, value in v.items() if " x " in name]
    return sum(value * 1000.0 / v[f"life of {part}"] for part, value in costs)
