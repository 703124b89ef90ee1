"""Parts that another part of the catalog beats or equals in everything that counts."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from configopt.catalog.records import Part
from configopt.fit.rules import tire_maximum_load, tire_maximum_speed
from configopt.guard.looking import Look
from configopt.guard.rule import Example, Rule
from configopt.guard.shelf import Entry, Shelf
from configopt.guard.waivers import Found

DOMINATED = Rule(
    "DOMINATED",
    "note",
    "a part that another one makes needless",
    "Another active part of the family fits wherever this one does (the same figures of its interfaces, or wider "
    "ranges) and is no worse in any figure that a model uses: alike where more is not plainly better or worse, else at "
    "most as heavy and at least as strong, grippy and lasting; it costs no more at any quantity, has no larger minimum "
    "order or one-off cost, and is there no later. Of two equal parts the later entry is named. Lower mass counts as "
    "better, which a limit on load shares might see otherwise; stated uncertainties are left out. Consider dropping "
    "the part.",
    Example(
        "rim-locks:torbrask-peg-185",
        "torque: 60 N m\nmass: 0.4 kg\ncounterweight_mass: 0.1 kg\nprices: [{quantity: 1, unit_price: 40}]",
        "torque: 60 N m",
    ),
    waivable=True,
)
RULES = (DOMINATED,)
_NO_DEARER = "costs no more at any quantity and is there no later"


@dataclass(frozen=True)
class Merits:
    """By which figures parts of a family are compared."""

    alike: tuple[str, ...]
    """Must be equal: interfaces, and figures of which more is not plainly better or worse."""
    less: tuple[str, ...] = ("mass",)
    """Better when lower; where one part states it, both must."""
    more: tuple[str, ...] = ()
    """Better when higher; where one part states it, both must."""
    sets: tuple[str, ...] = ()
    """Lists of which the better part has at least the same items."""
    worth: tuple[Callable[[Any], float], ...] = ()
    """Further figures, better when higher."""


MERITS: dict[str, Merits] = {
    "tires": Merits(
        ("kind", "size", "tread", "lug_depth", "land_fraction", "width", "diameter", "measuring_rim_width",
         "rated_pressure", "casing", "carcass_pressure", "casing_thickness", "rolling_pressure", "rolling_speed",
         "pressure_exponent", "load_at_pressure"),
        ("mass", "rolling_coefficient", "rim_width_min", "pressure_min"),
        ("rim_width_max", "pressure_max", "grip.firm", "grip.loose", "grip.wet", "grip.rock", "tubeless",
         "road_approved", "bead_fit_torque", "tread_life"),
        ("positions",),
        (lambda tire: float(tire_maximum_load(tire, np.inf)), tire_maximum_speed),
    ),
    "rims": Merits(
        ("size", "material", "effective_diameter", "holes", "flange_height", "hookless"),
        ("mass",),
        ("lock_holes", "tubeless", "maximum_pressure", "maximum_load", "maximum_spoke_tension", "radial_rigidity",
         "lateral_rigidity", "torsional_rigidity"),
    ),
    "spokes": Merits(
        ("end_diameter", "middle_diameter", "ends_length", "length_step"),
        ("nipple_mass", "length_min"),
        ("length_max", "tensile_strength"),
        ("crossings",),
    ),
    "hubs": Merits(
        ("kind", "position", "axle_diameter", "width", "holes", "flange_diameter_left", "flange_diameter_right",
         "flange_offset_left", "flange_offset_right", "spoke_hole_diameter", "studs", "rotor_pattern",
         "drive_interface", "driven_flanges", "chain_line"),
        ("mass",),
        ("maximum_torque",),
    ),
    "disc-wheels": Merits(
        ("size", "studs", "offset", "flange_height"), ("mass",), ("maximum_load", "maximum_pressure")
    ),
    "rotors": Merits(
        ("diameter", "thickness", "wear_limit", "track_height", "pattern", "steel", "convection_factor"),
        ("mass",),
        ("life",),
    ),
    "calipers": Merits(
        ("mount", "pad_shape", "pistons_per_side", "piston_diameter"),
        ("mass", "rotor_diameter_min", "rotor_thickness_min"),
        ("rotor_diameter_max", "rotor_thickness_max"),
    ),
    "pads": Merits(("shape", "area", "height", "friction"), ("mass",), ("maximum_temperature", "life")),
    "inners": Merits(
        ("kind", "equivalent_pressure"),
        ("mass", "rolling_factor", "section_width_min"),
        ("section_width_max",),
        ("bead_diameters",),
    ),
    "rim-locks": Merits(
        (), ("mass", "counterweight_mass", "rim_width_min"), ("rim_width_max", "torque")
    ),
}  # fmt: skip


def _value(part: Any, name: str) -> Any:
    for step in name.split("."):
        part = getattr(part, step)
    return part


def _fixed(part: Any, merits: Merits) -> Hashable:
    """What must be equal: the stated figures, and which of the others are stated at all."""
    alike = tuple(str(_value(part, name)) for name in merits.alike)
    return alike, tuple(_value(part, name) is None for name in (*merits.less, *merits.more))


def _price(part: Part, quantity: int) -> float:
    """Unit price at a quantity; at fewer than the first tier sells, that of the first."""
    fitting = [tier for tier in part.prices if tier.quantity <= quantity] or part.prices[:1]
    return float(fitting[-1].unit_price)


def _columns(parts: list[Any], merits: Merits) -> NDArray[np.float64]:
    """Figures of parts that agree in what is fixed, all better when lower, shape (parts, figures)."""
    quantities = sorted({tier.quantity for part in parts for tier in part.prices})
    items = {name: sorted({str(item) for part in parts for item in _value(part, name)}) for name in merits.sets}
    rows = []
    for part in parts:
        row = [float(part.lead_time), float(part.one_off_cost), part.minimum_order, part.prices[0].quantity]
        row += [_price(part, quantity) for quantity in quantities]
        row += [float(_value(part, name)) for name in merits.less if _value(part, name) is not None]
        row += [-float(_value(part, name)) for name in merits.more if _value(part, name) is not None]
        row += [-worth(part) for worth in merits.worth]
        for name, known in items.items():
            had = {str(item) for item in _value(part, name)}
            row += [-float(item in had) for item in known]
        rows.append(row)
    return np.array(rows, dtype=np.float64)


def dominators(parts: list[Any], merits: Merits) -> Iterator[tuple[int, int, bool]]:
    """Numbers of parts that another one makes needless, of that one, and whether both are equal.

    Parameters
    ----------
    parts
        Of one family, in file order.
    merits
        By what they are compared.

    Yields
    ------
    tuple
        At most one per part; of several parts that beat it the first that no other beats.
    """
    groups: dict[Hashable, list[int]] = {}
    for number, part in enumerate(parts):
        if part.status in ("active", "last buy"):
            groups.setdefault(_fixed(part, merits), []).append(number)
    for numbers in groups.values():
        if len(numbers) < 2:
            continue
        figures = _columns([parts[number] for number in numbers], merits)
        active = np.array([parts[number].status == "active" for number in numbers])
        # no_worse[i, j]: j is no worse than i in anything; one column after the other keeps it small.
        no_worse = np.broadcast_to(active, (len(numbers), len(numbers))).copy()
        for column in figures.T:
            no_worse &= column[None, :] <= column[:, None]
        equal = no_worse & no_worse.T
        beaten = no_worse & ~(equal & (np.arange(len(numbers))[None, :] >= np.arange(len(numbers))[:, None]))
        for i in np.flatnonzero(beaten.any(axis=1)).tolist():
            by = np.flatnonzero(beaten[i])
            best = by[np.argmin(beaten[by].any(axis=1))]
            yield numbers[i], numbers[best], bool(equal[i, best])


def look(shelf: Shelf) -> Iterator[Found]:
    """Parts that another one makes needless."""
    for family, merits in MERITS.items():
        entries: list[Entry] = list(shelf.entries(family))
        for worse, better, equal in dominators([entry.part for entry in entries], merits):
            other = entries[better]
            line, _ = other.document.position(("parts", other.index, "id"))
            same = "has the same figures" if equal else "fits wherever this part does, is no worse in any figure"
            joined = "costs as much at every quantity and is there as soon" if equal else _NO_DEARER
            message = f"{other.part.id} (line {line}) {same}, {joined}"
            yield entries[worse], entries[worse].finding(DOMINATED, (), message, "consider dropping one of them")


#: Looks that rely on what else is in the catalog.
ACROSS: tuple[Look, ...] = (look,)
