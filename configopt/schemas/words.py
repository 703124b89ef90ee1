"""What editors say of keys whose record leaves it to the name: a docstring under a field comes first.

A key means the same wherever it stands; where it does not, the group in which it stands goes before it, with a dot.
"""

from __future__ import annotations

DESCRIPTIONS: dict[str, str] = {
    # Heads of files.
    "family": "Name of the family, as in the name of the file.",
    "title": "What the file is about, in one line.",
    "note": "Anything worth knowing.",
    "description": "What is asked and why, in some sentences.",
    "currency": "Currency of all prices, by its three letters.",
    "why": "What it stands for, in words.",
    # Corrections.
    "corrections": "The corrected figures, one entry each.",
    "part": "Id of the part or surface.",
    "learned_from": "Logs from which it was learned.",
    # Parts.
    "parts": "The entries of this family.",
    "sources.parts": "The sources, each with an id by which entries name it.",
    "id": "Name by which files refer to this entry; small letters, digits and single dashes, unlike any other.",
    "name": "Name of the entry, in this file unlike any other.",
    "part.name": "What people call it.",
    "maker": "Who makes it.",
    "supplier": "Who sells it.",
    "status": "Whether it can be had; only active parts and those of a last buy are chosen.",
    "minimum_order": "Least number of pieces that is sold.",
    "prices": "Unit prices by quantity, from the smallest quantity on.",
    "quantity": "From this number of pieces on.",
    "source": "Id of the source of its figures, from sources.yaml.",
    "figure_sources": "Figures from another source than the entry as a whole, each with the id of its source.",
    "waivers": "Findings of a check that may stand, each with its reason.",
    "grade": "How the figures were come by.",
    "kind": "Which kind it is; other keys follow from it.",
    "position": "End of the vehicle.",
    "positions": "Ends of the vehicle at which it may run.",
    "casing": "Build of the casing; heavy-duty ones are stiffer.",
    "maximum_speed": "Highest speed the maker permits; needed where there is no service description.",
    "grip": "How well it grips, by group of surface.",
    "tubeless": "Whether it seals without a tube.",
    "road_approved": "Whether it may be used on public roads.",
    "hookless": "Whether its flanges have no hooks.",
    "material": "What it is made of.",
    "holes": "Number of spoke holes.",
    "crossings": "Spokes that each spoke crosses on its flange; 0 is radial.",
    "flange_diameter_right": "Diameter of the spoke-hole circle on the drive side.",
    "flange_offset_right": "Distance of the flange on the drive side from the plane of the rim.",
    "spoke_hole_diameter": "Diameter of the spoke holes in the flanges.",
    "studs": "Number of studs and stud circle in mm.",
    "drive_interface": "What the driven wheel is driven by; the drive of the vehicle names the same.",
    "driven_flanges": "How many flanges pass the torque of the drive on.",
    "chain_line": "Distance of the chain from the middle of the vehicle.",
    "pattern": "Bolts and bolt circle in mm.",
    "steel": "Steel of the track.",
    "mount": "How the caliper is fixed; the brake of the vehicle names those it takes.",
    "pad_shape": "Shape of the pads it takes.",
    "pistons_per_side": "Number of pistons on each side of the rotor.",
    "shape": "Shape, which the caliper must take.",
    "compound": "What the lining is made of.",
    "bead_diameters": "Bead seat diameters of the tires it fits.",
    # Surfaces.
    "texture_factor": "Factor of the surface's texture on the rolling coefficient, 1 for smooth asphalt.",
    "soil": "How the soil yields and shears; none on firm ground.",
    "friction": "Peak friction, by tread on a surface and of the lining against the rotor.",
    "ground_pressure_limit": "Pressure that the surface bears without being rutted.",
    "cone_index": "Resistance of the soil to a cone, for comparison.",
    # Scenarios.
    "aims": "What counts, and how much.",
    "aims.mass": "What a unit of mass counts.",
    "aims.rolling_loss": "What a unit of rolling loss counts.",
    "aims.energy": "What a unit of energy over the distance counts.",
    "aims.cost": "What a unit of currency counts.",
    "stage.mass": "What a unit of mass counts.",
    "stage.rolling_loss": "What a unit of rolling loss counts.",
    "stage.energy": "What a unit of energy over the distance counts.",
    "stage.cost": "What a unit of currency counts.",
    "vehicles": "The vehicles, each by its name.",
    "use": "Where it is ridden; road-legal ones have to meet the law's rows too.",
    "drive": "Motor, and what lies between it and the driven hub.",
    "driven": "The driven end.",
    "hub_interface": "What the driven hub has to be driven by.",
    "final_drives": "Final drives that are offered; one is chosen.",
    "final_drive": "Id of the final drive.",
    "front": "What is at the front.",
    "rear": "What is at the rear.",
    "wheels": "Number of wheels on this axle.",
    "suspension": "Springs, dampers and what moves with the wheel.",
    "brake": "Lever, master cylinder and what goes with them.",
    "caliper_mounts": "How calipers can be fixed here.",
    "track": "Distance between the two wheels of an axle.",
    "inflation_altitude": "Altitude at which the pressures are set, where it is not that of riding.",
    "terrains": "Ground that is ridden on, with its share of the distance.",
    "terrain": "Name of a terrain or descent of this vehicle; without it, wherever the limit can hold.",
    "surface": "Id of the surface, from surfaces.yaml.",
    "obstacles": "Separate obstacles, by height.",
    "descents": "Descents that are held on the brakes.",
    "stops": "Stops one after the other from one speed.",
    "count": "How many.",
    "limits": "What the vehicle must be able to do, each limit by its name.",
    "limit": "Name of the limit.",
    "at_least": "Least value allowed, with its unit.",
    "at_most": "Greatest value allowed, with its unit.",
    "baseline": "Today's packages, with which the answer is compared.",
    "cargo_mass": "Load without riders, in this condition.",
    "temperature": "Temperature of the air, in this condition.",
    "altitude": "Height above the sea, in this condition.",
    # Packages.
    "tire": "Id of the tire.",
    "inner": "Id of the tube, kit or insert.",
    "rim_lock": "Id of the rim lock.",
    "rim_locks": "Number of rim locks on one wheel.",
    "rim": "Id of the rim.",
    "spokes": "Id of the spokes.",
    "disc_wheel": "Id of the disc wheel, instead of rim and spokes.",
    "hub": "Id of the hub.",
    "rotor": "Id of the rotor.",
    "caliper": "Id of the caliper.",
    "pad": "Id of the pads.",
    # Variants.
    "variants": "Variants one by one.",
    "grids": "Variants of all combinations of some values.",
    "vary": "The fields whose values are combined.",
    "values": "The values, one by one.",
    # Decisions.
    "decision": "Who accepted what, when and why.",
    "figures": "What the choice came to when it was accepted.",
    "depends_on": "What the choice depended on, so that a change can be named.",
    "condition": "Name of the condition; without it, as the vehicle is stated.",
    "value": "What the choice reached.",
    "required": "What was asked.",
    "unit": "Unit of both.",
    "mass_kg": "Mass of the packages over all wheels.",
    "vehicle-figures.cost": "Cost of the packages.",
    "rolling_loss_wh_per_km": "Energy that rolling takes.",
    "energy_wh_per_km": "Energy from the battery.",
    "range_km": "Distance on one charge.",
}
"""Texts by key, or by group and key."""

EXAMPLES: dict[str, list[str]] = {
    "id": ["heron-moor-80-100-21"],
    "currency": ["EUR"],
    "catalogs": ["../catalogs"],
    "date": ["2026-03-02"],
    "part.size": ["80/100-21", "WM 1.60x21", "AT 10x5.5"],
    "service_description": ["45M"],
    "studs": ["4x110"],
    "rotor_pattern": ["6x44"],
    "pattern": ["6x44"],
    "positions": ["front"],
    "limit": ["climb_grade"],
    "at_least": ["25 %", "44 km"],
    "at_most": ["60 kPa"],
    "field": ["vehicles.warden-two-wheeler.cargo_mass", "prices.heron-moor-100-100-18"],
    "rule": ["STALE-SOURCE"],
}
"""Examples of texts that are no quantities; those come with their own."""


def described(made: dict[str, object]) -> dict[str, object]:
    """A schema with a description of every key, and with examples.

    Parameters
    ----------
    made
        The schema; its definitions are named as files have them.

    Returns
    -------
    dict
        The same with texts added where there were none.
    """
    definitions = made.get("$defs", {})
    assert isinstance(definitions, dict)
    groups = {name: _group(group, name) for name, group in definitions.items()}
    return {**_group(made, str(made.get("title", "")).split()[-1].removesuffix(".yaml")), "$defs": groups}


def _group(group: dict[str, object], name: str) -> dict[str, object]:
    properties = group.get("properties")
    if not isinstance(properties, dict):
        return group
    added = {}
    for key, form in properties.items():
        text = DESCRIPTIONS.get(f"{name}.{key}") or DESCRIPTIONS.get(key)
        examples = EXAMPLES.get(f"{name}.{key}") or EXAMPLES.get(key)
        more: dict[str, object] = {}
        if text is not None and "description" not in form:
            more["description"] = text
        if examples is not None and "examples" not in form and _is_text(form):
            more["examples"] = examples
        added[key] = {**form, **more}
    return {**group, "properties": added}


def _is_text(form: dict[str, object]) -> bool:
    listed = form.get("anyOf")
    forms = listed if isinstance(listed, list) else [form]
    return any(one.get("type") == "string" and "const" not in one for one in forms)
