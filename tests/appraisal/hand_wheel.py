"""Loads, tire and wheel by hand, in the units in which they are printed."""

from __future__ import annotations

import math

from hand import ENDS, G, Inputs, Row

from configopt.physics.slack_spokes import (
    first_slack_torque_one_flange,
    first_slack_torque_two_flanges,
)
from configopt.physics.spoke_foundation import SpokeSide, spoke_foundation, spoke_side
from configopt.physics.spokes import effective_spoke_diameter, spoke_rigidity
from configopt.physics.wheel_buckling import buckling_reserve, critical_pull
from configopt.physics.wheel_stiffness import Compliance, rim_compliance


def statics(v: Inputs) -> tuple[float, float, float, float]:
    """Load of the front axle and of both [N], distance and height of the centre of gravity [mm]."""
    mass, base = v["mass without packages"], v["wheelbase"]
    ahead = v["centre of gravity ahead of the rear axle, without packages"]
    height = v["height of the centre of gravity, without packages"]
    front, rear = v["packages front"], v["packages rear"] + v["final drive, at the rear axle"]
    change = {end: v[f"radius {end}"] - v[f"reference radius {end}"] for end in ENDS}
    share = ahead / base
    above = height - share * v["reference radius front"] - (1.0 - share) * v["reference radius rear"]
    b = ahead - above * (change["front"] - change["rear"]) / base
    h = height + share * change["front"] + (1.0 - share) * change["rear"]
    whole = mass + front + rear
    cg = (mass * b + front * base) / whole
    cg_height = (mass * h + front * v["radius front"] + rear * v["radius rear"]) / whole
    return whole * G * cg / base, whole * G, cg, cg_height


def static_load(v: Inputs, row: Row) -> float:
    front, both, _, _ = statics(v)
    axle = front if row["position"] == "front" else both - front
    return axle / v[f"wheels {row['position']}"]


def inflation(v: Inputs, row: Row) -> float:
    if "equivalent pressure of the foam" in v:
        return v["equivalent pressure of the foam"]
    absolute = v["pressure as set"] + v["atmosphere as set"]
    return absolute * v["temperature"] / v["temperature as set"] - v["atmosphere"]


def casing(v: Inputs, row: Row) -> float:
    read = v.get("casing pressure by the tire's own deflection reading")
    if read is not None:
        return read
    return v["rated pressure"] * v["share of the rated pressure"] * v["casing stiffness over its default"]


def diameter(v: Inputs, row: Row) -> float:
    return v["measured diameter"] if "measured diameter" in v else v["rim diameter"] + 2.0 * v["section height"]


def spring(v: Inputs) -> float:
    """(q + q_c) sqrt(w D) [N/m]."""
    return (v["inflation pressure"] + v["casing pressure"]) * math.sqrt(v["section width"] * v["diameter"])


def sag(v: Inputs, load: float) -> float:
    """Deflection [mm]."""
    y = load / (spring(v) * v["section width"] * 1e-3)
    x = (math.sqrt(0.96**2 + 4.0 * 7.2 * y) - 0.96) / (2.0 * 7.2) if y <= 0.168 else y / 2.4 + 0.03
    return x * v["section width"]


def protection(v: Inputs, row: Row) -> float:
    rubber = v["under-tread"] + v["lug depth"] * v["land fraction"]
    factor = 1.25 if v["heavy-duty casing (1 yes, 0 no)"] else 1.0
    energy = math.pi / 4.0 * 0.794**2 * (90.0 * factor * v["casing thickness"] + 12.0 * rubber) / 10.0
    if v["foam (1 yes, 0 no)"]:
        return 3.0
    if v["casing thickness"] + rubber < 7.0:
        return 0.0
    return 1.0 + (energy >= 16.0) + (energy >= 33.0)


def coefficient(v: Inputs, row: Row) -> float:
    def shape(pressure: float, speed: float) -> float:
        casing_pressure = v["casing pressure"]
        bar = max(pressure, 150.0) / 100.0
        soft = min(1.0, (pressure + casing_pressure) / (150.0 + casing_pressure)) ** v["exponent below 1.5 bar"]
        return (0.0085 + (0.018 + 1.59e-6 * speed**2) / bar) * soft

    own = v["coefficient of the data sheet"] * v["factor of the inner"]
    own *= shape(v["inflation pressure"], v["speed"])
    own /= shape(v["pressure of the data sheet"], v["speed of the data sheet"])
    if "texture factor of the surface" in v:
        return own * v["texture factor of the surface"]
    return own + v["published total less its own tires' coefficient"]


def spoke_length(v: Inputs, row: Row) -> float:
    h, r = v["flange diameter"] / 2.0, v["diameter of the nipple seats"] / 2.0
    angle = 2.0 * math.pi * v["crossings"] / v["spokes on one side"]
    return math.sqrt(v["flange offset"] ** 2 + h * h + r * r - 2.0 * h * r * math.cos(angle)) - v["spoke hole"] / 2.0


def tension_ratio(v: Inputs, row: Row) -> float:
    left, right = (v[f"spoke length {side}"] / v[f"flange offset {side}"] for side in ("left", "right"))
    return min(left / right, right / left)


def flange(v: Inputs, name: str, rigidity: float) -> SpokeSide:
    """Spokes of one side [SI]."""
    return spoke_side(
        v["spokes on one side"],
        rigidity=rigidity,
        tension=v[f"tension of a {name} spoke"],
        flange_offset=v[f"flange offset {name}"] / 1e3,
        flange_radius=v[f"flange diameter {name}"] / 2e3,
        rim_radius=v["diameter of the nipple seats"] / 2e3,
        crossings=v["crossings"],
    )


def side(v: Inputs, name: str) -> SpokeSide:
    """Spokes of one side with their own rigidity [SI]."""
    length, ends = v[f"spoke length {name}"], v["length of both ends together"]
    thickness = effective_spoke_diameter(
        v["diameter of the spokes at their ends"] / 1e3,
        middle_diameter=v["diameter of the spokes between"] / 1e3,
        length=length / 1e3,
        middle_length=max(length - ends, 0.0) / 1e3,
    )
    return flange(v, name, float(spoke_rigidity(thickness)))


def rim(v: Inputs) -> dict[str, float]:
    return {
        "rim_radius": v["diameter of the nipple seats"] / 2e3,
        **{f"{kind}_rigidity": v[f"{kind} rigidity of the rim"] for kind in ("radial", "lateral", "torsional")},
    }


def compliance(v: Inputs) -> Compliance:
    found = spoke_foundation(side(v, "left"), side(v, "right"), rim_radius=rim(v)["rim_radius"])
    return rim_compliance(found, **rim(v))


def folding(v: Inputs, row: Row) -> float:
    both = side(v, "left"), side(v, "right")
    critical = critical_pull(*both, **rim(v))
    return float(buckling_reserve(*both, rim_radius=rim(v)["rim_radius"], critical=critical))


def slack_torque(v: Inputs, row: Row) -> float:
    radius = v["diameter of the nipple seats"] / 2e3
    if "flange diameter right" in v:
        return float(first_slack_torque_two_flanges(side(v, "left"), side(v, "right"), rim_radius=radius))
    # How stiff the spokes are does not enter where one flange carries it all.
    return float(first_slack_torque_one_flange(flange(v, "left", 1.0), rim_radius=radius))


def spoke_stress(v: Inputs, row: Row) -> float:
    high = v["tension of the tighter spokes"]
    low = max(high - v["tension lost over the wheel load"] * v["wheel load"], 0.0)
    section, strength = v["thinnest section of a spoke"], v["tensile strength"]
    swing, middle = (high - low) / 2.0 / section, (high + low) / 2.0 / section
    return 1.0 / (swing / (v["endurance over tensile strength"] * strength) + middle / strength)


def inertia(v: Inputs, row: Row) -> float:
    def ring(mass: float, outer: float, inner: float) -> float:
        return mass * (outer**2 + inner**2) / 2e6

    bead = v["bead radius of the tire"]
    total = ring(v["tire"], v["radius"], bead) + ring(v["inner and rim locks"], bead, bead)
    total += v["rotors per wheel"] * ring(v["rotor"], v["rotor radius"], v["inner radius of the rotor"])
    if "disc wheel" in v:
        studs = v["stud circle radius"]
        total += ring(v["disc wheel"], v["bead radius of the rim"], studs)
        return total + ring(v["hub"], studs, v["axle radius"])
    seats, flanges = v["radius of the nipple seats"], v["mean flange radius"]
    middle = (v["bead radius of the rim"] + seats) / 2.0
    total += ring(v["rim"], middle, middle) + ring(v["nipples of one wheel"], seats, seats)
    total += v["spokes of one wheel"] * (seats**2 + seats * flanges + flanges**2) / 3e6
    return total + ring(v["hub"], flanges, v["axle radius"])
