"""Remarks and cautions of an appraisal: how far its figures carry, and what it cannot say at all."""

from __future__ import annotations

from configopt.appraisal.forces import LEAST_LOAD
from configopt.appraisal.ground import grip_force
from configopt.appraisal.ground_remarks import grouped, held, places
from configopt.appraisal.one_vehicle import VehicleAppraisal, creep_verdict
from configopt.appraisal.vehicle import POSITIONS, REPEATED_STOPS
from configopt.catalog.corrections import SOURCE as CORRECTIONS
from configopt.catalog.records import Position
from configopt.physics.constants import CELSIUS_ZERO
from configopt.physics.handling import pair_remarks, profile_remarks
from configopt.physics.loads import GRAVITY
from configopt.physics.materials import PAD_MATERIALS
from configopt.physics.rolling import PRESSURE_SWITCH
from configopt.physics.tire import deflection_remarks
from configopt.scenario.records import Vehicle

#: Deflection over section height below which a tire is called too stiff, where no limit says so; own convention.
STIFF = 0.10


def remarks(appraised: VehicleAppraisal) -> list[str]:
    """How far the figures of one vehicle carry: validity, estimates, what is not part of the model.

    Returns
    -------
    list of str
        Each once, headed or ended by where it holds.
    """
    front, rear = (appraised.evaluation.side[position].footings for position in POSITIONS)
    return list(
        dict.fromkeys(
            [
                "absolute energies are good to about +-40 % until learned from a coast-down; differences are better",
                *_learned(appraised),
                *_ground(appraised),
                *grouped({position: _tire(appraised, position) for position in POSITIONS}),
                *held(pair_remarks(front.width, rear_width=rear.width)),
                *grouped({position: _wheel(appraised, position) for position in POSITIONS}),
                *grouped({position: _brake(appraised, position) for position in POSITIONS}),
                *_lift_and_lock(appraised),
                *_limits(appraised),
                *_baseline(appraised),
            ]
        )
    )


def _learned(appraised: VehicleAppraisal) -> list[str]:
    """Figures that stand as learned from tests, not as the catalogs have them."""
    vehicle = appraised.model.vehicle
    parts = [part for p in POSITIONS for _, part, _ in appraised.packages[p].parts(vehicle)]
    parts += [ground.surface for ground in appraised.model.grounds.values()]
    found = {
        part.id: [name.replace("_", " ") for name, source in part.figure_sources.items() if source == CORRECTIONS]
        for part in parts
    }
    told = [f"{part} ({', '.join(names)})" for part, names in found.items() if names]
    return [f"figures as learned from tests, not as in the catalogs: {'; '.join(told)}"] if told else []


def _ground(appraised: VehicleAppraisal) -> list[str]:
    vehicle, grounds = appraised.model.vehicle, appraised.model.grounds
    names = [terrain.name for terrain in vehicle.terrains]
    firm = [name for name in names if not grounds[name].soft]
    found = []
    if firm:
        found.append(f"slip on firm ground is not modelled ({', '.join(firm)})")
    smooth = [
        name
        for name in names
        if grounds[name].surface.total_coefficient is None and grounds[name].surface.roughness_class is None
    ]
    if smooth:
        found.append(f"no roughness is stated ({', '.join(smooth)})")
    return found


def _tire(appraised: VehicleAppraisal, position: Position) -> list[str]:
    package, evaluation = appraised.packages[position], appraised.evaluation
    tire, footing = package.mount.tire, evaluation.side[position].footings
    found = []
    if package.mount.inner.kind == "foam":
        found.append(f"the foam counts as {float(footing.pressure[0]) / 1e3:.0f} kPa of air, an estimate")
    if tire.pressure_exponent is None and float(footing.pressure[0]) < PRESSURE_SWITCH:
        found.append("rolling loss below 1.5 bar is an estimate (pressure exponent -0.5, range -0.3 to -0.8)")
    if tire.carcass_pressure is None:
        found.append("casing stiffness is a default of the rated pressure, +-40 %")
    if tire.bead_fit_torque is None:
        found.append("the tire's tight fit on the rim is not stated and counts as nothing")
    floors = [
        bound.required
        for bound in appraised.model.bounds
        if bound.limit.key == "least_relative_deflection" and bound.position == position
    ]
    height = footing.section_height
    deflection = evaluation.relative_deflection(position) * height
    found += held(deflection_remarks(deflection, section_height=height, floor=max([STIFF, *floors])))
    if float(evaluation.level[position][0]) <= LEAST_LOAD:
        found.append("the wheel carries no load at rest")
    return found


def _wheel(appraised: VehicleAppraisal, position: Position) -> list[str]:
    package, side = appraised.packages[position], appraised.evaluation.side[position]
    found = held(
        profile_remarks(
            package.mount.rim_width,
            section_width=side.footings.width,
            quad=appraised.model.vehicle.kind == "quad",
        )
    )
    if package.wheel.rim is None:
        return found
    if package.wheel.crossings == 0:
        found.append("radial spokes take no torque until they have turned in their eyes")
    if float(side.wheels.slack_load[0]) < float(appraised.evaluation.level[position][0]):
        found.append("the spokes under the load go slack at rest: more tension than the rim permits would be needed")
    if float(side.wheels.tension_high[0]) < float(package.wheel.rim.maximum_spoke_tension):
        found.append("the rim would fold at twice the spoke tension it permits; the spokes are taken less tight")
    suspension = getattr(appraised.model.vehicle, position).suspension
    if suspension.rigid:
        found.append("without suspension only the loss on rough ground is known, not the contact")
    elif suspension.stiffness is None:
        found.append("the spring rate is not stated and taken for bouncing at 1.6 Hz")
    return found


def _brake(appraised: VehicleAppraisal, position: Position) -> list[str]:
    pad = appraised.packages[position].brake.pad
    material = PAD_MATERIALS.get(pad.compound)
    pressure = float(appraised.evaluation.side[position].brakes.pad_pressure[0])
    if material is None:
        return [f"no handbook range of pad pressure for {pad.compound}; {pressure / 1e6:.1f} MPa at full hand force"]
    low, high = material.working_pressure
    if pressure <= high:
        return []
    return [
        f"pad pressure {pressure / 1e6:.1f} MPa at full hand force, above the handbook's {low / 1e6:.2f} to "
        f"{high / 1e6:.2f} MPa for {pad.compound} pads"
    ]


def _lift_and_lock(appraised: VehicleAppraisal) -> list[str]:
    evaluation, vehicle = appraised.evaluation, appraised.model.vehicle
    lifts, locks = [], []
    for terrain in vehicle.terrains:
        load = evaluation.dynamic_load("front", appraised.model.grounds[terrain.name])
        if float(evaluation.rear_load(_front_grip(appraised, terrain.name))[0]) <= 0.0:
            lifts.append(terrain.name)
        if float(load[0]) > LEAST_LOAD and float(evaluation.brake_reserve(terrain.name, "front")[0]) >= 1.0:
            locks.append(terrain.name)
    found = []
    if lifts:
        found.append(f"braking at the front tire's grip lifts the rear wheel ({', '.join(lifts)})")
    if locks:
        found.append(f"{float(vehicle.hand_force):.0f} N of hand force locks the front wheel ({', '.join(locks)})")
    return found


def _front_grip(appraised: VehicleAppraisal, terrain: str) -> float:
    """Deceleration at the front tire's grip under its static load [m/s2]."""
    evaluation = appraised.evaluation
    footing, load = evaluation.side["front"].footings, evaluation.level["front"].clip(LEAST_LOAD)
    return float((grip_force(footing, appraised.model.grounds[terrain], load) / load * GRAVITY)[0])


def _limits(appraised: VehicleAppraisal) -> list[str]:
    found = []
    for bound in appraised.model.bounds:
        if bound.limit.key == "ground_pressure" and bound.stated and bound.terrain is not None:
            own = appraised.model.grounds[bound.terrain].surface.ground_pressure_limit
            if own is not None and bound.required > float(own):
                found.append(
                    f"the scenario permits {bound.required / 1e3:.0f} kPa on {bound.terrain}, "
                    f"the surface's own limit is {float(own) / 1e3:.0f} kPa"
                )
    return found


def _baseline(appraised: VehicleAppraisal) -> list[str]:
    today = appraised.today
    return [f"today's packages cannot be compared: {today}"] if isinstance(today, str) else []


def general_cautions(vehicle: Vehicle) -> list[str]:
    """Cautions that hold whatever is chosen; never empty."""
    road = (
        "Road approval is for the authority to give; only tire approval and brake rows are checked."
        if vehicle.use == "road-legal"
        else "Not for public roads: nothing here checks road approval."
    )
    return [
        "This is a pre-selection by calculation. It certifies nothing.",
        "Before use, a qualified rider has to test it on closed ground.",
        road,
        "Local codes apply; where they ask for licensed practice, a licensed engineer has to sign.",
    ]


def cautions(appraised: VehicleAppraisal) -> list[str]:
    """What to mind about one vehicle's packages, and the general cautions; never empty."""
    vehicle, packages = appraised.model.vehicle, appraised.packages
    aired = [p for p in POSITIONS if packages[p].mount.inner.kind != "foam"]
    low = [p for p in aired if packages[p].pressure < float(packages[p].mount.tire.rated_pressure) - 1.0]
    found = []
    if low:
        marked = {p: float(packages[p].mount.tire.rated_pressure) / 1e3 for p in low}
        figures = places([f"{packages[p].pressure / 1e3:.0f} of {marked[p]:.0f} kPa {p}" for p in low])
        found.append(f"Below the tire's marked pressure: {figures}. Ask the tire's maker.")
    rated = [p for p in POSITIONS if not packages[p].mount.tire.load_at_pressure]
    if rated:
        found.append(f"Load and speed rating, {places(rated)}: rated at its reference pressure.")
    bicycle = [p for p in POSITIONS if packages[p].mount.tire.kind == "bicycle"]
    if bicycle:
        found.append(f"Bicycle-derived tire, {places(bicycle)}: its maker has to agree to this vehicle and load.")
    locked = [p for p in POSITIONS if packages[p].mount.locks]
    if locked:
        found.append(f"Rim locks, {places(locked)}: balance the wheel, tighten again after the first ride.")
    creeping = [p for p in POSITIONS if creep_verdict(appraised, p) != "holds"]
    if creeping:
        found.append(f"The tire may creep on its rim, {places(creeping)}: mark both and look after each ride.")
    return [*found, *_hot(appraised), *general_cautions(vehicle)]


def _hot(appraised: VehicleAppraisal) -> list[str]:
    """The hottest rotor."""
    vehicle = appraised.model.vehicle
    cases = [descent.name for descent in vehicle.descents] + ([REPEATED_STOPS] if vehicle.stops is not None else [])
    temperatures = {
        (case, p): float(appraised.evaluation.rotor_temperature(case, p)[0]) for case in cases for p in POSITIONS
    }
    if not temperatures:
        return ["Rotor temperature is not checked: the scenario has no descent and no repeated stops."]
    (case, position), hottest = max(temperatures.items(), key=lambda row: row[1])
    return [
        f"The {position} rotor reaches about {hottest - CELSIUS_ZERO:.0f} °C on {case}: do not touch it; "
        "fluid and seals are not modelled."
    ]
