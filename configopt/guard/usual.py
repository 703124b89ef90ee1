"""What figures of parts usually are: ranges by family and kind or tread, and what each figure is compared per.

The ranges are common practice without a source.  They are wide: inside them a figure may still be wrong, outside them
somebody has to say why it is right.  Where a figure goes with the part's size, load or pressure, it is divided by that
first (column *per*), so that small and large parts are judged alike.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any, get_args

from configopt.catalog.records import FAMILIES, Record, Rotor, Tire
from configopt.fit.layers import rim_class
from configopt.physics.loads import GRAVITY
from configopt.physics.materials import ROTOR_STEELS
from configopt.physics.rolling import DEFAULT_EXPONENT, pressure_speed_factor
from configopt.physics.tire import default_carcass_pressure
from configopt.quantities import Figure, Quantity, parse_range
from configopt.sizes import parse_service_description, parse_tire_size

Path = tuple[str | int, ...]
#: The physics takes no higher pressure [Pa] and no higher speed [m/s]; what is stated beyond is judged by itself.
HIGHEST_PRESSURE, HIGHEST_SPEED = 2e6, 150.0


def carcass_pressure(tire: Tire) -> float:
    """Stiffness of the casing as a pressure [Pa]: the stated one, else the physics' default."""
    if tire.carcass_pressure is not None:
        return float(tire.carcass_pressure)
    rated = min(float(tire.rated_pressure), HIGHEST_PRESSURE)
    return float(default_carcass_pressure(rated, heavy_duty=tire.casing == "heavy-duty"))


def _face(part: Any) -> float:
    """Width times diameter [m2] of a tire by its designation, of a rim or disc wheel at the bead seat."""
    if isinstance(part, Tire):
        size = parse_tire_size(part.size)
        return size.section_width * size.overall_diameter
    seen = rim_class(part)
    return seen.width * seen.bead_diameter


def _borne(tire: Tire) -> float:
    """Mass [kg] that the air and the casing carry per unit of the shape function of the deflection."""
    size = parse_tire_size(tire.size)
    pressed = float(tire.rated_pressure) + carcass_pressure(tire)
    return pressed * size.section_width * math.sqrt(size.section_width * size.overall_diameter) / GRAVITY


def _rolling_shape(tire: Tire) -> float:
    """Dependence of the rolling coefficient on pressure and speed, so that it is compared at one of each."""
    exponent = DEFAULT_EXPONENT if tire.pressure_exponent is None else float(tire.pressure_exponent)
    return float(
        pressure_speed_factor(
            min(float(tire.rolling_pressure), HIGHEST_PRESSURE),
            carcass_pressure=min(carcass_pressure(tire), HIGHEST_PRESSURE),
            speed=min(float(tire.rolling_speed), HIGHEST_SPEED),
            exponent=exponent,
        )
    )


def _solid(rotor: Rotor) -> float:
    return math.pi / 4 * float(rotor.diameter) ** 2 * float(rotor.thickness) * ROTOR_STEELS[rotor.steel].density


#: What a figure is divided by: dimension of the quotient (None for that of the figure), function [SI], and the figures
#: behind it, of which none may be wrong itself.
PER: dict[str, tuple[str | None, Callable[[Any], float], tuple[str, ...]]] = {
    "part": (None, lambda part: 1.0, ()),
    "size": ("mass_per_area", _face, ()),
    "width of the size": ("ratio", lambda tire: parse_tire_size(tire.size).section_width, ()),
    "diameter of the size": ("ratio", lambda tire: parse_tire_size(tire.size).overall_diameter, ()),
    "pressure and size": ("ratio", _borne, ("rated_pressure", "carcass_pressure")),
    "pressure and speed": (
        "ratio",
        _rolling_shape,
        ("rolling_pressure", "rolling_speed", "rated_pressure", "carcass_pressure"),
    ),
    "bead diameter": ("ratio", lambda rim: rim_class(rim).bead_diameter, ()),
    "mass": ("ratio", lambda part: float(part.mass), ("mass",)),
    "torque": ("ratio", lambda hub: float(hub.maximum_torque), ("maximum_torque",)),
    "solid disc": ("ratio", _solid, ("diameter", "thickness")),
}

# family: figure | per | kind or tread range; another | + where the parts' own population is looked at as well
_TABLE = """
every: lead_time | part | every 1 day to 800 days |

tires: width | width of the size | every 0.8 to 1.25 |
tires: diameter | diameter of the size | every 0.85 to 1.15 |
tires: measuring_rim_width | width of the size | every 0.3 to 1.1 |
tires: rim_width_min | width of the size | every 0.25 to 1.05 |
tires: rim_width_max | width of the size | every 0.35 to 1.2 |
tires: land_fraction | part | open 0.15 to 0.6; medium 0.25 to 0.75; closed 0.35 to 0.95 |
tires: grip.firm | part | every 0.7 to 1.4 |
tires: grip.loose | part | every 0.7 to 1.4 |
tires: grip.wet | part | every 0.7 to 1.4 |
tires: grip.rock | part | every 0.7 to 1.4 |
tires: lug_depth | part | motorcycle 3 to 30 mm; bicycle 0.5 to 12 mm; quad 3 to 50 mm |
tires: casing_thickness | part | motorcycle 1.5 to 12 mm; bicycle 0.8 to 8 mm; quad 1.5 to 12 mm |
tires: rated_pressure | part | motorcycle 80 to 450 kPa; bicycle 100 to 1000 kPa; quad 15 to 200 kPa |
tires: pressure_min | part | motorcycle 15 to 250 kPa; bicycle 40 to 700 kPa; quad 7 to 90 kPa |
tires: pressure_max | part | motorcycle 100 to 550 kPa; bicycle 150 to 1100 kPa; quad 20 to 250 kPa |
tires: load_at_pressure.*.pressure | part | motorcycle 15 to 450 kPa; bicycle 40 to 1000 kPa; quad 7 to 200 kPa |
tires: carcass_pressure | part | every 1 to 100 kPa |
tires: rolling_pressure | part | motorcycle 50 to 450 kPa; bicycle 80 to 1000 kPa; quad 10 to 200 kPa |
tires: rolling_speed | part | every 12 to 85 km/h |
tires: maximum_speed | part | motorcycle 40 to 250 km/h; bicycle 25 to 130 km/h; quad 25 to 160 km/h |
tires: tread_life | part | every 300 to 60000 km |
tires: bead_fit_torque | part | motorcycle 25 to 600 N m; bicycle 4 to 150 N m; quad 80 to 3000 N m |
tires: mass | size | motorcycle 25 to 140 kg/m2; bicycle 8 to 70 kg/m2; quad 25 to 140 kg/m2 | +
tires: maximum_load | pressure and size | every 0.08 to 2 | +
tires: load_at_pressure.*.load | pressure and size | every 0.02 to 2 |
tires: rolling_coefficient | pressure and speed | every 0.15 to 5 | +
tires: prices.0.unit_price | mass | every 0.1 to 10000 | +

rims: effective_diameter | bead diameter | every 0.75 to 1.1 |
rims: flange_height | part | motorcycle 6 to 25 mm; bicycle 3 to 12 mm |
rims: maximum_pressure | part | motorcycle 100 to 600 kPa; bicycle 120 to 1200 kPa |
rims: maximum_load | part | every 50 to 600 kg | +
rims: maximum_spoke_tension | part | motorcycle 700 to 6000 N; bicycle 500 to 3000 N |
rims: radial_rigidity | part | motorcycle 100 to 10000 N m2; bicycle 30 to 3000 N m2 |
rims: lateral_rigidity | part | motorcycle 300 to 60000 N m2; bicycle 80 to 10000 N m2 |
rims: torsional_rigidity | part | every 5 to 5000 N m2 |
rims: mass | size | motorcycle 20 to 150 kg/m2; bicycle 10 to 80 kg/m2 | +
rims: prices.0.unit_price | mass | every 0.1 to 10000 | +

spokes: end_diameter | part | every 1.2 to 7 mm |
spokes: middle_diameter | part | every 1 to 7 mm |
spokes: ends_length | part | every 15 to 250 mm |
spokes: length_min | part | every 40 to 400 mm |
spokes: length_max | part | every 50 to 450 mm |
spokes: length_step | part | every 0.5 to 20 mm |
spokes: nipple_mass | part | every 0.15 to 20 g |
spokes: tensile_strength | part | every 600 to 2500 MPa |

hubs: axle_diameter | part | every 8 to 45 mm |
hubs: width | part | every 40 to 260 mm |
hubs: flange_diameter_left | part | every 28 to 260 mm |
hubs: flange_diameter_right | part | every 28 to 260 mm |
hubs: flange_offset_left | part | every 4 to 120 mm |
hubs: flange_offset_right | part | every 4 to 120 mm |
hubs: spoke_hole_diameter | part | every 1.3 to 8 mm |
hubs: chain_line | part | every 20 to 150 mm |
hubs: maximum_torque | part | every 50 to 8000 N m |
hubs: mass | torque | every 0.0001 to 0.1 | +
hubs: prices.0.unit_price | mass | every 0.1 to 10000 | +

disc-wheels: flange_height | part | every 8 to 30 mm |
disc-wheels: maximum_load | part | every 50 to 800 kg |
disc-wheels: maximum_pressure | part | every 25 to 350 kPa |
disc-wheels: mass | size | every 20 to 160 kg/m2 | +
disc-wheels: prices.0.unit_price | mass | every 0.1 to 10000 | +

rotors: diameter | part | every 100 to 400 mm |
rotors: thickness | part | every 1.2 to 9 mm |
rotors: wear_limit | part | every 0.9 to 8.5 mm |
rotors: track_height | part | every 7 to 60 mm |
rotors: mass | solid disc | every 0.1 to 1.5 | +
rotors: convection_factor | part | every 0.4 to 2.5 |
rotors: life | part | every 500 to 300000 km |
rotors: prices.0.unit_price | mass | every 0.1 to 10000 | +

calipers: piston_diameter | part | every 8 to 50 mm |
calipers: rotor_diameter_min | part | every 90 to 400 mm |
calipers: rotor_diameter_max | part | every 100 to 450 mm |
calipers: rotor_thickness_min | part | every 1 to 10 mm |
calipers: rotor_thickness_max | part | every 1.2 to 12 mm |
calipers: mass | part | every 50 to 2500 g |
calipers: prices.0.unit_price | mass | every 0.1 to 10000 | +

pads: friction | part | every 0.2 to 0.7 |
pads: area | part | every 1.5 to 60 cm2 |
pads: height | part | every 6 to 60 mm |
pads: maximum_temperature | part | every 150 to 1100 °C |
pads: mass | part | every 4 to 400 g |
pads: life | part | every 200 to 150000 km |

inners: bead_diameters.* | part | every 195 to 710 mm |
inners: section_width_min | part | every 15 to 400 mm |
inners: section_width_max | part | every 18 to 420 mm |
inners: mass | part | every 25 g to 8 kg |
inners: rolling_factor | part | every 0.85 to 1.75 |
inners: equivalent_pressure | part | every 20 to 500 kPa |

rim-locks: rim_width_min | part | every 15 to 140 mm |
rim-locks: rim_width_max | part | every 18 to 150 mm |
rim-locks: torque | part | every 10 to 600 N m |
rim-locks: mass | part | every 30 to 800 g |
rim-locks: counterweight_mass | part | every 10 to 700 g |

surfaces: total_coefficient | part | every 0.004 to 0.4 |
surfaces: total_reference_coefficient | part | every 0.003 to 0.06 |
surfaces: friction.open | part | every 0.05 to 1.3 |
surfaces: friction.medium | part | every 0.05 to 1.3 |
surfaces: friction.closed | part | every 0.05 to 1.3 |
surfaces: reference_load | part | every 50 N to 20 kN |
surfaces: reference_pressure | part | every 10 to 1000 kPa |
surfaces: ground_pressure_limit | part | every 5 to 600 kPa |
surfaces: cone_index | part | every 20 kPa to 10 MPa |
surfaces: soil.cohesion | part | every 0.05 to 300 kPa |
surfaces: soil.friction_angle | part | every 3 to 50 deg |
surfaces: soil.shear_modulus | part | every 2 to 200 mm |
"""


@dataclass(frozen=True)
class Usual:
    """What one figure of a family usually is."""

    family: str
    path: Path
    """Keys to the figure; ``*`` stands for every item of a list."""
    dimension: str
    """Of the figure."""
    per: str
    """What it is divided by, a key of :data:`PER`."""
    ranges: dict[str, tuple[float, float]]
    """By kind of part, by tread, or ``every``; low and high [SI of the quotient]."""
    population: bool
    """Whether the parts of the catalog themselves say what is usual, beside the range."""

    def range(self, part: Any) -> tuple[float, float] | None:
        """Usual range of the quotient for a part; None where its kind has none."""
        return self.ranges.get("every") or self.ranges.get(kind(self.family, part)) or self._of_tread(part)

    def _of_tread(self, part: Any) -> tuple[float, float] | None:
        return self.ranges.get(str(getattr(part, "tread", "")))

    def compared(self, part: Any) -> str:
        """For what the range holds, in words: per what the figure is judged, and for which tread; may be empty."""
        if self._of_tread(part) is not None:
            return f"for {part.tread} tread"
        return "" if self.per == "part" else f"for its {self.per}"

    def scale(self, part: Any) -> float:
        """What the part's figure is divided by; infinite where the figures behind it are beyond all reckoning."""
        try:
            scale = PER[self.per][1](part)
        except OverflowError:
            return math.inf
        return scale if scale > 1e-100 else math.inf

    def figures(self, part: Any) -> Iterator[tuple[Path, Figure]]:
        """The part's figures of this kind with their paths; those that are not stated or zero are left out.

        A tire's load index stands for its maximum load where that is not stated.
        """
        if self.family == "tires" and self.path == ("maximum_load",) and part.maximum_load is None:
            yield ("service_description",), Figure(parse_service_description(part.service_description).load)
        yield from _figures(part, self.path, ())


def kind(family: str, part: Any) -> str:
    """Kind within which parts of a family are compared: motorcycle, bicycle or quad where that makes a difference."""
    if family == "tires":
        return "motorcycle" if part.kind in ("off-road", "trials") else str(part.kind)
    if family == "rims":
        return "bicycle" if part.size.startswith("ISO") else "motorcycle"
    return "every"


def peers(family: str, part: Any) -> tuple[str, ...]:
    """What the parts of one population have in common, in words."""
    if family == "rims":
        return (kind(family, part), part.material)
    if family == "hubs":
        return (part.kind, part.position)
    if family == "tires":
        return (part.kind,)
    return ()


def _figures(value: Any, rest: Path, at: Path) -> Iterator[tuple[Path, Figure]]:
    if value is None:
        return
    if not rest:
        if value > 0:
            yield at, value
        return
    step, *others = rest
    if step == "*":
        for number, item in enumerate(value):
            yield from _figures(item, tuple(others), (*at, number))
    elif isinstance(step, int):
        yield from _figures(value[step], tuple(others), (*at, step))
    else:
        yield from _figures(getattr(value, str(step)), tuple(others), (*at, step))


def _dimension(record: type[Record], path: Path) -> str:
    """Dimension of a figure by the schema."""
    field = record.model_fields[str(path[0])]
    inside: list[Any] = [*field.metadata, field.annotation]
    seen = 0
    # What a list, an optional or an annotated type holds stands one level deeper each.
    while seen < len(inside):
        item = inside[seen]
        if isinstance(item, Quantity):
            return item.dimension
        if isinstance(item, type) and issubclass(item, Record):
            return _dimension(item, tuple(step for step in path[1:] if isinstance(step, str) and step != "*"))
        inside += [*get_args(item), *getattr(item, "__metadata__", ())]
        seen += 1
    raise KeyError(path)


def _read(row: str) -> Iterator[Usual]:
    family, _, rest = row.partition(": ")
    dotted, per, ranges, population = (cell.strip() for cell in rest.split("|"))
    path = tuple(int(step) if step.isdigit() else step for step in dotted.split("."))
    for name in FAMILIES if family == "every" else (family,):
        if path[0] not in FAMILIES[name].model_fields:
            continue
        dimension = _dimension(FAMILIES[name], path)
        found = {}
        for cell in ranges.split(";"):
            which, _, text = cell.strip().partition(" ")
            read = parse_range(text, PER[per][0] or dimension)
            assert read.ends is not None
            found[which] = read.ends
        yield Usual(name, path, dimension, per, found, population == "+")


@cache
def usual() -> dict[str, tuple[Usual, ...]]:
    """Every row of the table by family, in the order in which they are judged."""
    rows = [usual for line in _TABLE.strip().splitlines() if line for usual in _read(line)]
    return {family: tuple(row for row in rows if row.family == family) for family in FAMILIES}
