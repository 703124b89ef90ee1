"""Tires: dimensions against the designation, rims, pressures and loads against each other, and what physics allows."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from configopt.catalog.records import Tire
from configopt.fit.rules import WIDTH_TOLERANCE, mm, tire_diameter, tire_maximum_load, tire_width
from configopt.guard.looking import Broken, Look, each
from configopt.guard.rule import Example, Rule
from configopt.guard.shelf import Shelf
from configopt.guard.usual import HIGHEST_PRESSURE, carcass_pressure
from configopt.guard.waivers import Found
from configopt.physics.loads import GRAVITY
from configopt.physics.tire import deflection, deflection_work, patch_length
from configopt.quantities import format_quantity
from configopt.sizes import parse_tire_size, permitted_rim_widths

#: Measured width over that of the designation (common practice, no source).
WIDTH_BAND = (0.90, 1.10)
#: Measured over nominal diameter (common practice, no source); UN R75's figures lie up to 5 % above the nominal ones.
DIAMETER_BAND = (0.97, 1.05)
#: Most of the section height that lugs and casing take up (common practice, no source).
DEEPEST_TREAD = 0.5
#: Deflection over section height that the program takes as its limit unless a scenario says otherwise (estimate).
DEEPEST_DEFLECTION = 0.35
#: Densities of tire rubber with its fabric, the lightest and the heaviest [kg/m3] (common practice, no source).
RUBBER = (900.0, 1300.0)
#: Rim codes in the table of rims by section width [in], and the next narrower one, to find what is one code beyond.
_CODES = (1.20, 1.40, 1.60, 1.85, 2.15, 2.50, 2.75, 3.00, 3.50, 4.00, 4.50)
_INCH = 0.0254

SIZE_WIDTH = Rule(
    "SIZE-WIDTH",
    "error",
    "a measured width that is not that of the size",
    f"The section width on the measuring rim is {WIDTH_BAND[0]:.0%} to {WIDTH_BAND[1]:.0%} of the designation's "
    "(common practice, no source). Beyond that the size, the rim or the figure is another tire's.",
    Example("tires", "width: 92 mm", "width: 72 mm"),
    waivable=True,
)
SIZE_DIAMETER = Rule(
    "SIZE-DIAMETER",
    "error",
    "a measured diameter that is not that of the size",
    f"The overall diameter is {DIAMETER_BAND[0]:.0%} to {DIAMETER_BAND[1]:.0%} of the designation's, d + 2 H "
    "(common practice, no source). Beyond that the size or the figure is another tire's.",
    Example("tires", "diameter: 670 mm", "diameter: 626 mm"),
    waivable=True,
)
MEASURING_RIM = Rule(
    "MEASURING-RIM",
    "error",
    "a measuring rim that the tire does not permit",
    "The measuring rim is one of those on which the tire may be mounted, so its width lies from rim_width_min to "
    "rim_width_max. Correct the one that is wrong.",
    Example("tires", "measuring_rim_width: 2.15 in", "measuring_rim_width: 1.6 in"),
    waivable=True,
)
RIM_PRACTICE = Rule(
    "RIM-PRACTICE",
    "warning",
    "rims permitted that are unusual for the size",
    "The permitted rim widths reach further than one rim code beyond the usual table of rims by section width, on "
    "bicycles further than 5 % beyond a section of 1.4 to 2.2 rim widths (both common practice). The maker's word goes "
    "before: check it and waive.",
    Example("tires", "rim_width_max: 64 mm", "rim_width_max: 48 mm"),
    waivable=True,
)
TREAD_DEPTH = Rule(
    "TREAD-DEPTH",
    "error",
    "lugs and casing that fill the section",
    f"Lug depth and casing thickness together take up at most {DEEPEST_TREAD:.0%} of the section height; what is left "
    "holds the air. One of the three figures is wrong.",
    Example("tires", "size: AT16x8-12\nlug_depth: 24 mm", "size: AT16x8-12\nlug_depth: 12 mm"),
    waivable=True,
)
PRESSURE_RANGE = Rule(
    "PRESSURE-RANGE",
    "error",
    "a rated pressure at which the tire may not be used",
    "The pressure at which the load is rated lies from pressure_min to pressure_max. Correct the one that is wrong.",
    Example("tires", "rated_pressure: 280 kPa", "rated_pressure: 225 kPa"),
    waivable=True,
)
LOAD_TABLE = Rule(
    "LOAD-TABLE",
    "error",
    "a load at low pressure above the rated one",
    "No pressure up to the rated one carries more than the load index or the maximum load, and the table of loads ends "
    "at the rated pressure. Correct the table or the rating.",
    Example(
        "tires",
        "load_at_pressure: [{pressure: 100 kPa, load: 180 kg}]",
        "load_at_pressure: [{pressure: 100 kPa, load: 90 kg}]",
    ),
)
TIRE_LOAD = Rule(
    "TIRE-LOAD",
    "error",
    "a load under which the rim would stand on the ground",
    "By the law of deflection that the appraisal uses, the tire at its rated pressure and maximum load gives way by "
    "more than its section holds. Load, pressure or size is wrong.",
    Example(
        "tires",
        "service_description: 89M\nrated_pressure: 120 kPa",
        "service_description: 42M\nrated_pressure: 225 kPa",
    ),
    waivable=True,
)
TIRE_DEFLECTION = Rule(
    "TIRE-DEFLECTION",
    "warning",
    "a rated load under which the tire gives way too far",
    f"At its rated pressure and maximum load the tire deflects by more than {DEEPEST_DEFLECTION:.0%} of its section "
    "height, where the program's own default limit ends. Check load and pressure.",
    Example("tires", "service_description: 78M", "service_description: 42M"),
    waivable=True,
)
TIRE_MASS = Rule(
    "TIRE-MASS",
    "error",
    "a mass that the tire's dimensions rule out",
    f"The lugs over half the width and two sidewalls of the stated casing thickness, at {RUBBER[0]:.0f} kg/m3, are the "
    f"least that is there; a section filled with rubber of {RUBBER[1]:.0f} kg/m3 is the most. Mass, thickness, lug "
    "depth or size is wrong. Where the dimensions themselves are found wrong, the mass is judged once they are mended.",
    Example("tires", "mass: 1.0 kg", "mass: 2.58 kg"),
)
ROLLING_LIMIT = Rule(
    "ROLLING-LIMIT",
    "warning",
    "a rolling coefficient that wastes more than deflecting takes",
    "A rolling tire deflects anew once per length of its contact patch. Even if it gave nothing of that work back, the "
    "loss per distance could not exceed the work over the patch length (own estimate, at the maximum load). Check "
    "coefficient, pressure and casing.",
    Example(
        "tires",
        "rolling_coefficient: 0.09\nrolling_pressure: 100 kPa",
        "rolling_coefficient: 0.03\nrolling_pressure: 100 kPa",
    ),
    waivable=True,
)
RULES = (
    SIZE_WIDTH,
    SIZE_DIAMETER,
    MEASURING_RIM,
    RIM_PRACTICE,
    TREAD_DEPTH,
    PRESSURE_RANGE,
    LOAD_TABLE,
    TIRE_LOAD,
    TIRE_DEFLECTION,
    TIRE_MASS,
    ROLLING_LIMIT,
)


def _dimensions(tire: Tire) -> Iterator[Broken]:
    size = parse_tire_size(tire.size)
    measured = (
        (SIZE_WIDTH, "width", tire.width, size.section_width, WIDTH_BAND),
        (SIZE_DIAMETER, "diameter", tire.diameter, size.overall_diameter, DIAMETER_BAND),
    )
    for rule, name, stated, nominal, (low, high) in measured:
        if stated is not None and not low - 1e-9 <= stated / nominal <= high + 1e-9:
            message = f"{name} {mm(stated)}, {tire.size} allows {mm(low * nominal)} to {mm(high * nominal)}"
            yield rule, name, message, "correct the size or the figure"
    deep, room = float(tire.lug_depth) + float(tire.casing_thickness), DEEPEST_TREAD * size.section_height
    if deep > room:
        message = f"lugs and casing are {mm(deep)} deep, the section of {tire.size} has room for {mm(room)}"
        yield TREAD_DEPTH, "lug_depth", message, "correct lug_depth, casing_thickness or size"


def _rims(tire: Tire) -> Iterator[Broken]:
    low, high, measuring = float(tire.rim_width_min), float(tire.rim_width_max), float(tire.measuring_rim_width)
    if not low - WIDTH_TOLERANCE <= measuring <= high + WIDTH_TOLERANCE:
        message = f"the measuring rim is {mm(measuring)} wide, the tire permits {mm(low)} to {mm(high)}"
        yield MEASURING_RIM, "measuring_rim_width", message, "correct it or the permitted widths"
    size = parse_tire_size(tire.size)
    usual = permitted_rim_widths(size)
    if usual is None:
        return
    if usual.codes:
        least, most = _code_below(float(usual.codes[0])) * _INCH, _code_above(float(usual.codes[-1])) * _INCH
        least, most = least - 2 * WIDTH_TOLERANCE, most + 2 * WIDTH_TOLERANCE
        known = f"usual are {' to '.join(dict.fromkeys((usual.codes[0], usual.codes[-1])))} in and one code beyond"
    else:
        least, most = 0.95 * usual.low, 1.05 * usual.high
        known = f"usual are {mm(usual.low)} to {mm(usual.high)}"
    for name, width in (("rim_width_min", low), ("rim_width_max", high)):
        if not least <= width <= most:
            message = f"{name} {mm(width)}: {known} for {tire.size}"
            yield RIM_PRACTICE, name, message, "check the maker's table, and state a waiver if it says so"


def _code_below(code: float) -> float:
    return max((known for known in _CODES if known < code - 0.01), default=code)


def _code_above(code: float) -> float:
    return min((known for known in _CODES if known > code + 0.01), default=code)


def _pressures(tire: Tire) -> Iterator[Broken]:
    rated, low, high = float(tire.rated_pressure), float(tire.pressure_min), float(tire.pressure_max)
    if not low <= rated <= high:
        kilopascals = f"{low / 1e3:.4g} to {high / 1e3:.4g} kPa"
        message = f"rated at {rated / 1e3:.4g} kPa, the tire may be used at {kilopascals}"
        yield PRESSURE_RANGE, "rated_pressure", message, "correct the pressure that is wrong"
    most = float(tire_maximum_load(tire, math.inf))
    for number, row in enumerate(tire.load_at_pressure):
        if row.load > most + 1e-9:
            message = f"{float(row.load):.4g} kg at {row.pressure / 1e3:.4g} kPa, the tire is rated for {most:.4g} kg"
            yield LOAD_TABLE, ("load_at_pressure", number, "load"), message, "correct the load or the rating"
        elif row.pressure > rated:
            message = f"a load at {row.pressure / 1e3:.4g} kPa, above the rated pressure of {rated / 1e3:.4g} kPa"
            yield LOAD_TABLE, ("load_at_pressure", number, "pressure"), message, "end the table at the rated pressure"


def least_mass(tire: Tire) -> float:
    """Mass below which the tire cannot be [kg]: lugs over half its width, and two sidewalls of its casing thickness."""
    size, width, diameter = parse_tire_size(tire.size), tire_width(tire), tire_diameter(tire)
    lugs = math.pi * diameter * 0.5 * width * float(tire.lug_depth) * float(tire.land_fraction)
    walls = math.pi * (size.rim_diameter + size.section_height) * 2 * size.section_height * float(tire.casing_thickness)
    return RUBBER[0] * (lugs + walls)


def most_mass(tire: Tire) -> float:
    """Mass above which the tire cannot be [kg]: its section filled with rubber, lugs and all."""
    height = (tire_diameter(tire) - parse_tire_size(tire.size).rim_diameter) / 2
    return RUBBER[1] * math.pi * (tire_diameter(tire) - height) * height * tire_width(tire)


def _mass(tire: Tire) -> Iterator[Broken]:
    waived = {waiver.rule for waiver in tire.waivers}
    if any(rule.id not in waived for rule, *_ in _dimensions(tire)):
        return  # no mass can be told from dimensions that are wrong themselves
    low, high = least_mass(tire), most_mass(tire)
    if high <= low:
        # Only waived dimensions leave no room; what is impossible stays so.
        message = f"mass {format_quantity(tire.mass, 'mass')}, but its dimensions leave no room for any tire"
        yield TIRE_MASS, "mass", message, "correct the dimensions"
    elif not low <= tire.mass <= high:
        stated, least, most = (format_quantity(value, "mass") for value in (tire.mass, low, high))
        message = f"mass {stated}, its dimensions allow {least} to {most}"
        yield TIRE_MASS, "mass", message, "correct the mass or the dimensions"


def _under_load(shelf: Shelf) -> Iterator[Found]:
    """Deflection at the rated load and the work it takes, all tires at once."""
    entries = list(shelf.entries("tires"))
    if not entries:
        return
    tires: list[Tire] = [entry.part for entry in entries]
    sizes = [parse_tire_size(tire.size) for tire in tires]
    loads = np.array([float(tire_maximum_load(tire, math.inf)) for tire in tires])
    width, diameter = (np.array([float(f(tire)) for tire in tires]) for f in (tire_width, tire_diameter))
    casing = np.minimum([carcass_pressure(tire) for tire in tires], HIGHEST_PRESSURE)
    rated, rolled = (
        np.minimum([float(getattr(tire, name)) for tire in tires], HIGHEST_PRESSURE)
        for name in ("rated_pressure", "rolling_pressure")
    )
    # Beyond these figures [m, kg, Pa], which are unusual enough, there is nothing to reckon.
    sound = (width > 0.01) & (width < 1) & (diameter > 0.05) & (diameter < 2) & (loads > 0.1) & (loads < 1e4)
    sound &= (rated > 1e3) & (rolled > 1e3)
    rated, rolled = (np.where(sound, pressure, 1e5) for pressure in (rated, rolled))
    width, diameter, weight = (np.where(sound, v, 0.1) for v in (width, diameter, np.minimum(loads, 1e4) * GRAVITY))
    given = {"carcass_pressure": casing, "width": width, "diameter": diameter}
    deep = deflection(weight, pressure=rated, **given)
    height = np.array([size.section_height for size in sizes])
    room = height - 2 * np.array([float(tire.casing_thickness) for tire in tires])
    rolling = np.minimum(deflection(weight, pressure=rolled, **given), height)
    force_work = deflection_work(rolling, pressure=rolled, **given)
    lost = force_work / (weight * patch_length(rolling, diameter=diameter))
    for i in np.flatnonzero(sound).tolist():
        at = "maximum_load" if tires[i].maximum_load is not None else "service_description"
        asked = f"{loads[i]:.4g} kg at {rated[i] / 1e3:.4g} kPa deflect the tire by {mm(deep[i])}"
        if deep[i] > room[i]:
            message = f"{asked}, its section holds {mm(room[i])}"
            yield entries[i], entries[i].finding(TIRE_LOAD, at, message, "correct load, rated pressure or size")
        elif deep[i] > DEEPEST_DEFLECTION * height[i]:
            most = f"{DEEPEST_DEFLECTION:.0%} of its section height are {mm(DEEPEST_DEFLECTION * height[i])}"
            message = f"{asked}, {most}"
            yield entries[i], entries[i].finding(TIRE_DEFLECTION, at, message, "check load and rated pressure")
        if tires[i].rolling_coefficient > lost[i]:
            message = f"rolling coefficient {float(tires[i].rolling_coefficient):.4g}, deflecting takes {lost[i]:.3g}"
            fix = "check the coefficient and its pressure"
            yield entries[i], entries[i].finding(ROLLING_LIMIT, "rolling_coefficient", message, fix)


LOOKS: tuple[Look, ...] = (
    each("tires", _dimensions),
    each("tires", _rims),
    each("tires", _pressures),
    each("tires", _mass),
    _under_load,
)
