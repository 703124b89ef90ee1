"""Part records: what a catalog says about a part, as closed, frozen schemas.

Every figure is a :class:`configopt.quantities.Figure` (an SI number that may carry its own standard uncertainty);
every part names the source its figures come from, and single figures may name another one in ``figure_sources``.
Figures of a concept, a part that is only thought of, may be ranges: the value is the middle, and both ends go with it.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from itertools import pairwise
from typing import Annotated, Any, Literal, get_args

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, GetJsonSchemaHandler, model_validator
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticCustomError

from configopt.files.validation import problem
from configopt.quantities import (
    Angle,
    Figure,
    Force,
    KcModulus,
    KphiModulus,
    Length,
    LengthPositive,
    Mass,
    MassPositive,
    Pressure,
    PressurePositive,
    Price,
    Quantity,
    Speed,
    Temperature,
    Time,
    Torque,
    format_quantity,
    is_range,
    quantity,
    range_pattern,
)
from configopt.sizes import parse_rim_size, parse_service_description, parse_tire_size

Grade = Literal["measured", "data sheet", "estimated"]
Position = Literal["front", "rear"]
Tread = Literal["open", "medium", "closed"]

#: Relative standard uncertainty of a figure whose catalog entry states none, by grade of its source (estimate).
UNCERTAINTY_BY_GRADE: dict[str, float] = {"measured": 0.03, "data sheet": 0.08, "estimated": 0.20}

Identifier = Annotated[str, Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", max_length=60)]
TorquePositive = Annotated[Figure, quantity("torque", above=0)]
ForcePositive = Annotated[Figure, quantity("force", above=0)]
AreaPositive = Annotated[Figure, quantity("area", above=0)]
BendingStiffnessPositive = Annotated[Figure, quantity("bending_stiffness", above=0)]
Friction = Annotated[Figure, quantity("ratio", above=0, high=3)]
GripFactor = Annotated[Figure, quantity("ratio", low=0.5, high=1.5)]
LandFraction = Annotated[Figure, quantity("ratio", low=0.1, high=1)]
RollingCoefficient = Annotated[Figure, quantity("ratio", above=0, high=0.2)]
PressureExponent = Annotated[Figure, quantity("ratio", low=-0.8, high=-0.1)]
ConvectionFactor = Annotated[Figure, quantity("ratio", low=0.2, high=5)]
RollingFactor = Annotated[Figure, quantity("ratio", low=0.8, high=2)]
Offset = Annotated[Figure, quantity("length", low=-0.2, high=0.2)]
#: Below 0.25 the ground pressure of a rolling wheel may fall with its load, on which the search's proof must not rest.
SoilExponent = Annotated[Figure, quantity("ratio", low=0.25, high=2.5)]
TotalCoefficient = Annotated[Figure, quantity("ratio", above=0, high=0.5)]
TextureFactor = Annotated[Figure, quantity("ratio", low=1, high=1.3)]
LoadExponent = Annotated[Figure, quantity("ratio", low=0.7, high=1)]
PressureSensitivity = Annotated[Figure, quantity("ratio", low=0, high=0.25)]


def _tire_size(text: str) -> str:
    parse_tire_size(text)
    return text


def _rim_size(text: str) -> str:
    parse_rim_size(text)
    return text


def _service(text: str) -> str:
    parse_service_description(text)
    return text


class Record(BaseModel):
    """Closed and frozen: an unknown key is a mistake, a loaded part never changes."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False, use_attribute_docstrings=True)


class Ranged(Record):
    """A record whose figures may be ranges where it belongs to a concept; editors are told so."""

    @classmethod
    def __get_pydantic_json_schema__(cls, core: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        made = handler(core)
        for field in handler.resolve_ref_schema(made).get("properties", {}).values():
            for form in (field, *field.get("anyOf", ())):
                if "pattern" in form and "examples" in form:
                    form["pattern"] = range_pattern(form["pattern"])
        return made


def _quantity_of(field: Any) -> Quantity | None:
    """What a field accepts, where it holds one figure."""
    for item in (*field.metadata, *(note for kind in get_args(field.annotation) for note in get_args(kind))):
        if isinstance(item, Quantity):
            return item
    return None


def _record_of(annotation: Any) -> type[Ranged] | None:
    """The group of figures that a field holds, alone or as a list."""
    for kind in (annotation, *get_args(annotation)):
        if isinstance(kind, type) and issubclass(kind, Ranged):
            return kind
    return None


def _with_ranges(record: type[Record], data: dict[str, Any], at: tuple[str | int, ...] = ()) -> dict[str, Any]:
    """What a file holds for a record, with the ranges in it read."""
    read = dict(data)
    for name, field in record.model_fields.items():
        written, accepted, group = data.get(name), _quantity_of(field), _record_of(field.annotation)
        if accepted is not None and is_range(written):
            try:
                read[name] = accepted.read_range(written)
            except PydanticCustomError as error:
                context = error.context or {}
                raise problem(str(context["message"]), str(context["fix"]), at=(*at, name)) from None
        elif group is not None and isinstance(written, dict):
            read[name] = _with_ranges(group, written, (*at, name))
        elif group is not None and isinstance(written, list):
            read[name] = [
                _with_ranges(group, item, (*at, name, number)) if isinstance(item, dict) else item
                for number, item in enumerate(written)
            ]
    return read


class Waiver(Record):
    """A finding of ``configopt check`` that was looked at and stands: the entry is right as it is."""

    rule: Annotated[str, Field(pattern=r"^[A-Z]+(-[A-Z]+)*$", max_length=40)]
    """Id of the rule."""
    reason: Annotated[str, Field(min_length=10)]
    """Why the finding may stand."""


Waivers = Annotated[list[Waiver], Field(max_length=20)]


def _date(text: str) -> str:
    try:
        date.fromisoformat(text)
    except ValueError:
        raise ValueError(f"{text} is no day of the calendar") from None
    return text


Day = Annotated[str, Field(pattern=r"^\d{4}-\d{2}-\d{2}$"), AfterValidator(_date)]


class Source(Record):
    """Where figures come from."""

    id: Identifier
    title: str
    grade: Grade
    date: Day
    """Date of the measurement or of the data sheet, YYYY-MM-DD."""
    note: str = ""
    waivers: Waivers = []


class PriceTier(Ranged):
    """Unit price from a quantity on."""

    quantity: Annotated[int, Field(ge=1, le=1_000_000)]
    unit_price: Price


class Part(Ranged):
    """What every part has."""

    id: Identifier
    name: str
    maker: str
    supplier: str
    status: Literal["active", "last buy", "withdrawn", "concept"] = "active"
    lead_time: Time
    minimum_order: Annotated[int, Field(ge=1, le=1_000_000)] = 1
    prices: Annotated[list[PriceTier], Field(min_length=1, max_length=12)]
    one_off_cost: Price = Figure(0.0)
    """Cost of carrying this part at all (stock, tooling), once per scenario."""
    source: Identifier
    figure_sources: Annotated[dict[str, Identifier], Field(max_length=100)] = {}
    """Figures that come from another source than the entry as a whole."""
    note: str = ""
    waivers: Waivers = []
    """Findings of a check that may stand, each with its reason."""

    @model_validator(mode="before")
    @classmethod
    def _ranges(cls, data: Any) -> Any:
        concept = isinstance(data, dict) and data.get("status") == "concept"
        return _with_ranges(cls, data) if concept else data

    @model_validator(mode="after")
    def _ranges_of_concepts(self) -> Part:
        first = next(open_figures(self), None) if self.status != "concept" else None
        if first is not None:
            at = [int(step) if step.isdigit() else step for step in first[0].split(".")]
            message = "figures that are still ranges belong to status: concept"
            raise problem(message, "settle them first", at=at)
        return self

    @model_validator(mode="after")
    def _tiers_in_order(self) -> Part:
        for number, (tier, following) in enumerate(pairwise(self.prices), 1):
            if following.quantity <= tier.quantity:
                message = f"price tiers must rise in quantity: found {following.quantity:,} after {tier.quantity:,}"
                raise problem(message, "put the tiers in order, each quantity once", at=("prices", number, "quantity"))
            if following.unit_price > tier.unit_price:
                message = (
                    f"unit prices must not rise with quantity: {following.unit_price:.2f} from "
                    f"{following.quantity:,} pieces, {tier.unit_price:.2f} from {tier.quantity:,}"
                )
                raise problem(message, "correct the tiers", at=("prices", number, "unit_price"))
        unknown = sorted(set(self.figure_sources) - set(type(self).model_fields))
        if unknown:
            message = f"figure_sources names {', '.join(unknown)}, which this entry does not have"
            raise problem(message, "name a figure of the entry", at=("figure_sources", unknown[0]))
        return self


def open_figures(record: Record) -> Iterator[tuple[str, Figure]]:
    """Figures of a concept that are ranges, with their names; dots and numbers reach into groups and lists."""
    for name in type(record).model_fields:
        value = getattr(record, name)
        for number, item in enumerate(value if isinstance(value, list) else [value]):
            at = f"{name}.{number}" if isinstance(value, list) else name
            if isinstance(item, Figure) and item.ends is not None:
                yield at, item
            elif isinstance(item, Record):
                yield from ((f"{at}.{inner}", figure) for inner, figure in open_figures(item))


class GripFactors(Ranged):
    """Grip against the surface's figure for this tread, by group of surface (1 = as the surface says)."""

    firm: GripFactor
    loose: GripFactor
    wet: GripFactor
    rock: GripFactor


class LoadAtPressure(Ranged):
    """The maker's permitted load at one pressure."""

    pressure: Pressure
    load: Mass


class Tire(Part):
    """A tire."""

    kind: Literal["off-road", "trials", "bicycle", "quad"]
    size: Annotated[str, AfterValidator(_tire_size)]
    """Designation: 80/100-21, 2.75-21, AT22x7-10 or 57-622."""
    positions: Annotated[list[Position], Field(min_length=1, max_length=2)]
    tread: Tread
    """open: wide gaps that clear mud; medium; closed: tight blocks."""
    lug_depth: Length
    land_fraction: LandFraction
    """Share of the tread surface that is rubber."""
    mass: MassPositive
    width: LengthPositive | None = None
    """Measured section width on the measuring rim; wins over the designation."""
    diameter: LengthPositive | None = None
    """Measured overall diameter; wins over the designation."""
    measuring_rim_width: LengthPositive
    rim_width_min: LengthPositive
    rim_width_max: LengthPositive
    service_description: Annotated[str, AfterValidator(_service)] | None = None
    """Load index and speed symbol, e.g. 45M."""
    maximum_load: MassPositive | None = None
    """The maker's maximum load; needed where there is no service description."""
    maximum_speed: Speed | None = None
    load_at_pressure: Annotated[list[LoadAtPressure], Field(max_length=50)] = []
    """The maker's loads at lower pressures, rising in pressure."""
    rated_pressure: PressurePositive
    pressure_min: PressurePositive
    pressure_max: PressurePositive
    casing: Literal["standard", "heavy-duty"] = "standard"
    carcass_pressure: Pressure | None = None
    """Stiffness of the casing as a pressure, from one static deflection reading."""
    casing_thickness: Length
    rolling_coefficient: RollingCoefficient
    """Rolling resistance over load on a smooth hard surface, at the stated pressure and speed."""
    rolling_pressure: PressurePositive
    rolling_speed: Speed
    pressure_exponent: PressureExponent | None = None
    """Exponent of the coefficient with pressure below 1.5 bar, from the tire's own test."""
    grip: GripFactors
    tubeless: bool
    road_approved: bool
    bead_fit_torque: Torque | None = None
    """Torque the bead's interference holds without air."""
    tread_life: LengthPositive | None = None
    """Distance the tread lasts, for the running cost."""

    @model_validator(mode="after")
    def _consistent(self) -> Tire:
        if self.service_description is None and self.maximum_load is None:
            raise ValueError("give service_description (like 45M) or maximum_load")
        if self.service_description is None and self.maximum_speed is None:
            raise ValueError("give service_description (like 45M) or maximum_speed")
        for name, dimension in (("pressure", "pressure"), ("rim_width", "length")):
            low, high = (float(getattr(self, f"{name}_{end}")) for end in ("min", "max"))
            if low > high:
                least, most = (format_quantity(end, dimension) for end in (low, high))
                message = f"{name}_min is above {name}_max: {least}, {most}"
                raise problem(message, f"correct {name}_min or {name}_max", at=f"{name}_min")
        for number, (row, following) in enumerate(pairwise(self.load_at_pressure), 1):
            rising = (("pressure", following.pressure > row.pressure), ("load", following.load >= row.load))
            for key, sound in rising:
                if not sound:
                    dimension = "pressure" if key == "pressure" else "mass"
                    after, before = (format_quantity(getattr(one, key), dimension) for one in (following, row))
                    message = f"load_at_pressure must rise in pressure and load: {key} {after} after {before}"
                    raise problem(message, "put the rows in order", at=("load_at_pressure", number, key))
        return self


class Rim(Part):
    """A rim for spokes."""

    size: Annotated[str, AfterValidator(_rim_size)]
    """WM 1.60x21, MT 2.15x18 or ISO 622x30."""
    material: Literal["aluminium", "carbon"]
    mass: MassPositive
    effective_diameter: LengthPositive
    """Diameter on which the nipple seats lie, for the spoke length."""
    holes: Annotated[int, Field(ge=12, le=48)]
    flange_height: Length
    lock_holes: Annotated[int, Field(ge=0, le=2)] = 0
    """Holes drilled for rim locks."""
    tubeless: bool
    hookless: bool = False
    maximum_pressure: PressurePositive
    maximum_load: MassPositive
    maximum_spoke_tension: Force
    radial_rigidity: BendingStiffnessPositive
    """E I of the section against bending in the plane of the wheel [N m2]."""
    lateral_rigidity: BendingStiffnessPositive
    """E I of the section against bending out of the plane of the wheel [N m2]."""
    torsional_rigidity: BendingStiffnessPositive
    """G J of the section against twist [N m2]."""


class Spokes(Part):
    """Spokes with their nipples; mass and price are per piece."""

    end_diameter: LengthPositive
    middle_diameter: LengthPositive
    ends_length: Length
    """Length of both thick ends together."""
    length_min: LengthPositive
    length_max: LengthPositive
    length_step: LengthPositive
    nipple_mass: Mass
    tensile_strength: PressurePositive
    crossings: Annotated[list[Annotated[int, Field(ge=0, le=4)]], Field(min_length=1, max_length=5)]


class Hub(Part):
    """A hub, for spokes or with studs for a disc wheel."""

    kind: Literal["spoked", "studded"]
    position: Position
    axle_diameter: LengthPositive
    width: LengthPositive
    """Width between the fork ends or dropouts it fits."""
    mass: MassPositive
    holes: Annotated[int, Field(ge=12, le=48)] | None = None
    flange_diameter_left: LengthPositive | None = None
    """Diameter of the spoke-hole circle; left is the rotor side."""
    flange_diameter_right: LengthPositive | None = None
    flange_offset_left: LengthPositive | None = None
    """Distance of the flange from the plane of the rim."""
    flange_offset_right: LengthPositive | None = None
    spoke_hole_diameter: LengthPositive | None = None
    studs: Annotated[str, Field(pattern=r"^[3-6]x\d{2,3}$")] | None = None
    """Number of studs and stud circle in mm, e.g. 4x110."""
    rotor_pattern: Annotated[str, Field(pattern=r"^[3-8]x\d{2,3}$")] | None = None
    """Bolts and bolt circle in mm of the rotor seat, e.g. 6x44; none where the rotor sits on the axle."""
    drive_interface: Identifier | None = None
    driven_flanges: Annotated[int, Field(ge=0, le=2)] = 0
    chain_line: Length | None = None
    maximum_torque: TorquePositive

    @model_validator(mode="after")
    def _complete(self) -> Hub:
        spoke_figures = (
            self.holes,
            self.flange_diameter_left,
            self.flange_diameter_right,
            self.flange_offset_left,
            self.flange_offset_right,
            self.spoke_hole_diameter,
        )
        if self.kind == "spoked" and (None in spoke_figures or self.studs is not None):
            raise ValueError(
                "a spoked hub needs holes, both flange diameters and offsets, spoke_hole_diameter; no studs"
            )
        if self.kind == "studded" and (self.studs is None or any(figure is not None for figure in spoke_figures)):
            raise ValueError("a studded hub needs studs (like 4x110) and no spoke flanges")
        if self.holes is not None and self.holes % 2:
            raise problem(f"holes must be even, half on each flange: {self.holes}", "correct holes", at="holes")
        return self


class DiscWheel(Part):
    """A disc wheel with a stud circle."""

    size: Annotated[str, AfterValidator(_rim_size)]
    """AT 10x5.5: diameter code and width in inches."""
    studs: Annotated[str, Field(pattern=r"^[3-6]x\d{2,3}$")]
    offset: Offset
    """Outward distance of the rim's middle from the stud face."""
    mass: MassPositive
    flange_height: Length
    maximum_load: MassPositive
    maximum_pressure: PressurePositive


class Rotor(Part):
    """A brake rotor."""

    diameter: LengthPositive
    thickness: LengthPositive
    wear_limit: LengthPositive
    """Least thickness in service."""
    track_height: LengthPositive
    pattern: Annotated[str, Field(pattern=r"^[3-8]x\d{2,3}$")]
    mass: MassPositive
    steel: Literal["410", "420", "12Cr-Nb", "1018"]
    convection_factor: ConvectionFactor | None = None
    """Heat carried off by the air over what the correlation says, from the rotor's own cooling test."""
    life: LengthPositive | None = None
    """Distance to the wear limit, for the running cost."""

    @model_validator(mode="after")
    def _wear(self) -> Rotor:
        if self.wear_limit >= self.thickness:
            worn, new = (format_quantity(figure, "length") for figure in (self.wear_limit, self.thickness))
            message = f"wear_limit must be below thickness: {worn}, {new}"
            raise problem(message, "correct wear_limit or thickness", at="wear_limit")
        if 2 * self.track_height >= self.diameter:
            height, radius = (format_quantity(figure, "length") for figure in (self.track_height, self.diameter / 2))
            message = f"track_height is not below the rotor's radius: {height}, {radius}"
            raise problem(message, "correct track_height or diameter", at="track_height")
        return self


class Caliper(Part):
    """A brake caliper."""

    mount: Identifier
    pad_shape: Identifier
    pistons_per_side: Annotated[int, Field(ge=1, le=3)]
    piston_diameter: LengthPositive
    rotor_diameter_min: LengthPositive
    rotor_diameter_max: LengthPositive
    rotor_thickness_min: LengthPositive
    rotor_thickness_max: LengthPositive
    mass: MassPositive


class Pad(Part):
    """A pair of brake pads."""

    shape: Identifier
    compound: Literal["resin", "sintered", "cermet"]
    friction: Friction
    area: AreaPositive
    """Area of one pad."""
    height: LengthPositive
    """Radial height of the pad on the rotor track."""
    maximum_temperature: Temperature
    mass: MassPositive
    life: LengthPositive | None = None
    """Distance a pair lasts, for the running cost."""


class Inner(Part):
    """What holds the air, or replaces it: tube, tubeless kit or foam insert."""

    kind: Literal["tube", "tubeless", "foam"]
    bead_diameters: Annotated[list[Length], Field(min_length=1, max_length=12)]
    section_width_min: LengthPositive
    section_width_max: LengthPositive
    mass: MassPositive
    rolling_factor: RollingFactor
    """Factor on the tire's rolling coefficient."""
    equivalent_pressure: Pressure | None = None
    """Foam only: the pressure at which air would carry alike."""

    @model_validator(mode="after")
    def _foam(self) -> Inner:
        if (self.kind == "foam") != (self.equivalent_pressure is not None):
            raise ValueError("equivalent_pressure belongs to foam inserts, and every foam insert needs it")
        return self


class RimLock(Part):
    """A rim lock; several may be fitted to one wheel."""

    rim_width_min: LengthPositive
    rim_width_max: LengthPositive
    torque: TorquePositive
    """Torque one lock adds before the tire turns."""
    mass: MassPositive
    counterweight_mass: Mass = Figure(0.0)


class Soil(Record):
    """Pressure-sinkage and shear figures of a soil (Bekker, Wong)."""

    exponent: SoilExponent
    cohesive_modulus: KcModulus
    frictional_modulus: KphiModulus
    cohesion: Pressure
    friction_angle: Angle
    shear_modulus: LengthPositive
    """Shear deformation modulus K."""


class TreadFriction(Record):
    """Peak friction by tread."""

    open: Friction
    medium: Friction
    closed: Friction


class Surface(Record):
    """A terrain surface; states a total rolling coefficient or is built up from texture, roughness and soil."""

    id: Identifier
    name: str
    group: Literal["firm", "loose", "wet", "rock"]
    """Which of a tire's grip factors applies."""
    total_coefficient: TotalCoefficient | None = None
    """Published total rolling coefficient (contains roughness and soil)."""
    total_reference_coefficient: RollingCoefficient | None = None
    """Smooth-surface coefficient of the tires behind the total figure; a tire's own figure scales against it."""
    texture_factor: TextureFactor | None = None
    roughness_class: Literal["A", "B", "C", "D", "E"] | None = None
    """ISO 8608; what is rougher is stated as obstacles of the terrain."""
    hazard: Literal["none", "thorn", "flint", "sharp-rock"] = "none"
    """What punctures or cuts a tire here."""
    soil: Soil | None = None
    friction: TreadFriction
    load_exponent: LoadExponent
    pressure_exponent: PressureSensitivity
    reference_load: ForcePositive
    reference_pressure: PressurePositive
    packs_tread: bool = False
    """Mud that fills a closed tread, so that its lugs stop counting."""
    ground_pressure_limit: PressurePositive | None = None
    cone_index: PressurePositive | None = None
    references: Annotated[list[str], Field(min_length=1, max_length=50)]
    """Keys of the bibliography."""
    source: Identifier
    figure_sources: Annotated[dict[str, Identifier], Field(max_length=100)] = {}
    note: str = ""
    waivers: Waivers = []

    @model_validator(mode="after")
    def _no_double_counting(self) -> Surface:
        total = self.total_coefficient is not None
        if total == (self.texture_factor is not None):
            raise ValueError("state either total_coefficient or texture_factor, not both and not neither")
        if total and (self.roughness_class is not None or self.soil is not None):
            raise ValueError("a total coefficient already contains roughness and soil: drop one of them")
        if total != (self.total_reference_coefficient is not None):
            raise ValueError("total_reference_coefficient belongs to total_coefficient")
        return self


FAMILIES: dict[str, type[Part] | type[Surface]] = {
    "tires": Tire,
    "rims": Rim,
    "spokes": Spokes,
    "hubs": Hub,
    "disc-wheels": DiscWheel,
    "rotors": Rotor,
    "calipers": Caliper,
    "pads": Pad,
    "inners": Inner,
    "rim-locks": RimLock,
    "surfaces": Surface,
}
