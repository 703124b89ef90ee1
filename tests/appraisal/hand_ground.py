"""The wheel on the ground by hand, in the units in which it is printed."""

from __future__ import annotations

import math

from hand import ENDS, KMH, G, Inputs, Row, named
from hand_wheel import spring

from configopt.physics.grip import slip_for_thrust
from configopt.physics.rough_ride import RoughRide, rough_ride


def modulus(v: Inputs) -> float:
    """k = k_c/b + k_phi [kPa/m^n]."""
    side_of_patch = min(v["section width"], v["firm patch length"]) / 1e3
    return v["cohesive modulus k_c"] / side_of_patch + v["frictional modulus k_phi"]


def ground_pressure(v: Inputs, row: Row) -> float:
    if "area of the firm patch" in v:
        return v["wheel load"] / v["area of the firm patch"] * 10.0
    n, k = v["sinkage exponent n"], modulus(v)
    group = 3.0 * v["wheel load"] / 1e3 / ((3.0 - n) * v["section width"] / 1e3 * math.sqrt(v["diameter"] / 1e3))
    critical = k ** (1.0 / (2.0 * n + 1.0)) * group ** (2.0 * n / (2.0 * n + 1.0))
    return min(v["inflation and casing pressure"], critical)


def bogging(v: Inputs, row: Row) -> float:
    deepest = min(v["share of the diameter"] * v["diameter"], v["ground clearance"])
    return min(deepest / v["sinkage"], 1000.0)


def mean_maximum_pressure(v: Inputs, row: Row) -> float:
    def of(end: str) -> float:
        width, tall = v[f"section width {end}"] / 1e3, v[f"diameter {end}"] / 1e3
        sagged = math.sqrt(v[f"deflection over section height {end}"])
        return v["axle factor"] * v[f"wheel load {end}"] / (width**0.85 * tall**1.15 * sagged) / 1e3

    return max(of(end) for end in ENDS)


def ride(v: Inputs) -> RoughRide:
    return rough_ride(
        load=v["wheel load"],
        stiffness=v["vertical stiffness"] * 1e3,
        unsprung_mass=v["unsprung mass"],
        sprung_mass=v["sprung mass"],
        suspension_rate=v["spring rate"] * 1e3,
        damping=v["damping"],
        patch_length=v["patch length"] / 1e3,
        speed=v["speed"] * KMH,
        roughness=v["roughness constant G"] * 1e-6,
    )


def roughness_resistance(v: Inputs, row: Row) -> float:
    a = 2.0 * v["speed"] * KMH / (v["patch length"] / 1e3)
    if "spring rate" not in v:
        k, d = v["vertical stiffness"] * 1e3, v["wheel load"] / G * a * a
    else:
        k = v["stiffness with the contact kept"] * 1e3
        strut, sprung = v["damping"] * a + v["spring rate"] * 1e3, v["sprung mass"] * a * a
        d = v["unsprung mass"] * a * a + sprung * strut / (sprung + strut)
    return math.pi**2 * v["roughness constant G"] * 1e-6 * k * d / (d + k)


def residual(v: Inputs, height: float) -> float:
    """What the tire does not swallow of an obstacle [mm]."""
    reserve = v["deflection under twice the load"] - v["deflection"]
    return height - min(height, v["share of the tire's reserve that swallows"] * reserve)


def lost(height: float, radius: float) -> float:
    """Share of the kinetic energy that a strike takes."""
    ratio = min(height / radius, 1.0)
    return 2.0 * ratio - ratio**2


def obstacles(v: Inputs, row: Row) -> float:
    radius, speed, load = v["radius"], v["speed"] * KMH, v["wheel load"]
    total, number = 0.0, 1
    while f"height of obstacle {number}" in v:
        height = v[f"height of obstacle {number}"]
        left = residual(v, height)
        assert left < radius
        energy = 0.0
        if left > 0.0:
            # Without a damper there is no suspension: the whole load strikes.
            mass = v["unsprung mass"] if "damping" in v else load / G
            energy = 0.5 * mass * speed**2 * lost(left, radius)
            way = 2.0 * math.sqrt(2.0 * radius * left - left**2) / 1e3
            energy += math.pi**2 * v.get("damping", 0.0) * speed * (left / 1e3) ** 2 / (2.0 * way)
            energy = min(energy, load * left / 1e3 + 0.5 * load / G * speed**2 * lost(height, radius))
        total += energy * v[f"obstacles {number} per distance"] / 1e3
        number += 1
    return total


def strike_margin(v: Inputs, row: Row) -> float:
    if v["foam (1 yes, 0 no)"]:
        return 1000.0
    travel = max(v["section height"] - v["flange height"] - 2.0 * v["casing thickness"], 0.0)
    x = travel / v["section width"]
    area = 0.48 * min(x, 0.1) ** 2 + 2.4 * min(x, 0.1) ** 3 + 1.2 * max(x - 0.03, 0.07) ** 2 - 1.2 * 0.07**2
    capacity = v["share of the force that an edge mobilises"] * spring(v) * (v["section width"] / 1e3) ** 2 * area
    left = residual(v, v["height of the highest obstacle"])
    mass = v["unsprung mass"] if v["suspension (1 yes, 0 no)"] else v["wheel load"] / G
    demand = 0.5 * mass * (v["speed"] * KMH) ** 2 * lost(left, v["radius"]) + v["wheel load"] * min(left, travel) / 1e3
    return min(capacity / demand, 1000.0) if demand else 1000.0


def compaction(v: Inputs, row: Row) -> float:
    n = v["sinkage exponent n"]
    rut = v["section width"] / 1e3 * modulus(v) * 1e3 * (v["sinkage"] / 1e3) ** (n + 1.0) / (n + 1.0)
    return v["rut factor"] * rut


def rolling_resistance(v: Inputs, row: Row) -> float:
    firm = v["rolling coefficient"] * v["wheel load"]
    if "pressure under a rigid wheel" not in v:
        return firm
    return firm * (1.0 - min(1.0, v["inflation and casing pressure"] / v["pressure under a rigid wheel"]))


def grip(v: Inputs) -> float:
    """Grip of one wheel [N]."""
    mu = next(value for name, value in v.items() if name.startswith("friction of the surface"))
    load = v["wheel load"]
    by_load = (load / v["reference load"]) ** (v["load exponent m"] - 1.0)
    by_pressure = (v["inflation and casing pressure"] / v["reference pressure"]) ** -v["pressure exponent s"]
    return mu * v["grip factor of the tire"] * load * by_load * by_pressure


def full_shear(v: Inputs, row: Row) -> float:
    area = v["wheel load"] / (v["ground pressure"] * 1e3)
    lug, share = v["lug depth"] / v["section width"], v["open share of the tread"]
    cohesive = area * v["cohesion"] * 1e3 * (1.0 + share * 2.0 * lug)
    frictional = v["wheel load"] * math.tan(math.radians(v["friction angle"]))
    return cohesive + frictional * (1.0 + share * 0.64 * lug * math.atan2(1.0, lug))


def slip(v: Inputs, row: Row) -> float:
    found, _ = slip_for_thrust(
        v["resistance of the terrain"] / v["driven wheels"],
        maximum_thrust=v["thrust at full shear, one wheel"],
        length=v["patch length in the soil"] / 1e3,
        shear_modulus=v["shear modulus K"] / 1e3,
        slip_limit=v["slip limit"],
    )
    return 100.0 * float(found)


def thrust_reserve(v: Inputs, row: Row) -> float:
    if "slip limit" in v:
        u = v["slip limit"] * v["patch length in the soil"] / v["shear modulus K"]
        thrust = v["thrust at full shear, one wheel"] * (1.0 - (1.0 - math.exp(-u)) / u)
    else:
        m, r = v["load exponent m"], v["rms change of the load over the load"]
        thrust = v["grip of one driven wheel"] * (1.0 - m * (1.0 - m) * r**2 / 2.0)
    return thrust * v["driven wheels"] / v["resistance of the terrain"]


def drive_reserve(v: Inputs, row: Row) -> float:
    by_torque = v["motor torque"] * v["ratio"] * v["efficiency of the drive"] / (v["loaded radius"] / 1e3)
    by_power = v["motor power"] * v["efficiency of the drive"] / (v["speed"] * KMH)
    return min(by_torque, by_power) / v["resistance of the terrain"]


def climb(v: Inputs, row: Row) -> float:
    thrust = min(v["thrust of the ground on that grade"], v["thrust of the motor on that grade"])
    by_thrust = math.tan(math.asin((thrust - v["resistance on that grade"]) / (v["mass"] * G)))
    tipping = v["centre of gravity ahead of the rear axle"] / v["height of the centre of gravity"]
    return 100.0 * max(min(by_thrust, tipping, math.tan(1.05)), 0.0)


def side_slope(v: Inputs, row: Row) -> float:
    held = [v[f"side force held {end}"] / v[f"wheel load {end}"] for end in ENDS]
    return 100.0 * min([*held, *named(v, "lateral stability")])
