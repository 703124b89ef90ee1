"""What a scenario file says: vehicles, terrains, limits, aims, baseline, as closed, frozen schemas."""

from __future__ import annotations

from typing import Annotated, Any, Literal, get_args

from pydantic import Field, field_validator, model_validator

from configopt.catalog.records import Identifier, Position, Record
from configopt.files.validation import problem
from configopt.quantities import Figure, quantity
from configopt.scenario.limits import LIMITS, REPEATED_STOPS, near_limit_name

Mass = Annotated[Figure, quantity("mass", low=0.0, high=2000.0)]
MassAbove = Annotated[Figure, quantity("mass", above=0.0, high=2000.0)]
Altitude = Annotated[Figure, quantity("length", low=0.0, high=9000.0)]
# Wide bounds that no vehicle comes near: far beyond them figures overflow, or vanish in sums.
Length = Annotated[Figure, quantity("length", low=0.0, high=1e4)]
LengthAbove = Annotated[Figure, quantity("length", low=1e-5, high=1e4)]
SignedLength = Annotated[Figure, quantity("length", high=100.0)]
SpeedAbove = Annotated[Figure, quantity("speed", low=1e-3, high=300.0)]
AngularSpeed = Annotated[Figure, quantity("angular_speed", low=1e-3, high=1e6)]
Torque = Annotated[Figure, quantity("torque", low=1e-3, high=1e6)]
Force = Annotated[Figure, quantity("force", low=1e-3, high=1e6)]
PowerAbove = Annotated[Figure, quantity("power", low=1e-3, high=1e9)]
Energy = Annotated[Figure, quantity("energy", low=1e-3, high=1e12)]
Area = Annotated[Figure, quantity("area", low=1e-6, high=1e3)]
Angle = Annotated[Figure, quantity("angle", low=0.0, high=1.2)]
Damping = Annotated[Figure, quantity("damping", low=0.0, high=1e7)]
Stiffness = Annotated[Figure, quantity("stiffness", low=1.0, high=1e9)]
Temperature = Annotated[Figure, quantity("temperature", low=200.0, high=400.0)]
Fraction = Annotated[Figure, quantity("ratio", low=0.0, high=1.0)]
Grade = Annotated[Figure, quantity("ratio", low=0.0, high=1.0)]
Efficiency = Annotated[Figure, quantity("ratio", above=0.0, high=1.0)]
Price = Annotated[Figure, quantity("price", low=0.0, high=1e9)]


PartFamily = Literal[
    "tires", "inners", "rim-locks", "rims", "spokes", "disc-wheels", "hubs", "rotors", "calipers", "pads"
]


class Suspension(Record):
    """One end's suspension."""

    unsprung_mass: Mass
    """Unsprung mass per wheel without the wheel package (fork legs, swingarm share)."""
    damping: Damping
    """Damper rate at the wheel, per wheel."""
    stiffness: Stiffness | None = None
    """Spring rate at the wheel, per wheel; without it the laden vehicle is taken to bounce at 1.6 Hz (estimate)."""
    rigid: bool = False
    """True where the wheel has no suspension."""


class BrakeCircuit(Record):
    """Lever, master cylinder and where calipers and rotors go, for one axle."""

    lever_ratio: Annotated[Figure, quantity("ratio", above=0.0, high=20.0)]
    master_diameter: LengthAbove
    caliper_mounts: Annotated[list[Identifier], Field(min_length=1, max_length=24)]
    rotor_diameter_max: LengthAbove
    rotors: Annotated[int, Field(ge=1, le=2)] = 1
    """Rotors on this axle: one per wheel, or one on a solid axle."""
    axle_rotor_pattern: Annotated[str, Field(pattern=r"^[3-8]x\d{2,3}$")] | None = None
    """Rotor seat on a solid axle; without it the rotor sits on the hub."""


class Axle(Record):
    """One end of the vehicle."""

    wheels: Annotated[int, Field(ge=1, le=2)]
    axle_diameter: LengthAbove
    hub_width: LengthAbove
    tire_diameter_max: LengthAbove
    tire_width_max: LengthAbove
    reference_radius: LengthAbove
    """Free tire radius with which the geometry below is stated."""
    suspension: Suspension
    brake: BrakeCircuit


class FinalDrive(Record):
    """One offered final drive."""

    id: Identifier
    ratio: Annotated[Figure, quantity("ratio", above=0.0, high=100.0)]
    """Motor revolutions per wheel revolution, all stages together."""
    mass: Mass
    cost: Price


class Drive(Record):
    """Motor and what lies between motor and driven hub."""

    driven: Literal["rear", "front"]
    motor_torque: Torque
    """Peak motor torque."""
    motor_speed_max: AngularSpeed
    motor_power: PowerAbove
    """Peak mechanical power."""
    motor_efficiency: Efficiency
    drive_efficiency: Efficiency
    regeneration_efficiency: Annotated[Figure, quantity("ratio", low=0.0, high=1.0)]
    regeneration_torque: Annotated[Figure, quantity("torque", low=0.0, high=1e6)]
    """Motor torque available for regeneration."""
    hub_interface: Identifier
    chain_line: LengthAbove | None = None
    chain_line_tolerance: Length = Figure(0.003)
    final_drives: Annotated[list[FinalDrive], Field(min_length=1, max_length=12)]


class Obstacle(Record):
    """Discrete obstacles of one height."""

    height: LengthAbove
    per_km: Annotated[Figure, quantity("ratio", low=0.0, high=10_000.0)]


class Terrain(Record):
    """One kind of ground in the mix."""

    name: Identifier
    surface: Identifier
    share: Annotated[Figure, quantity("ratio", above=0.0, high=1.0)]
    """Share of the distance; the shares of a vehicle sum to 1."""
    speed: SpeedAbove
    grade: Grade = Figure(0.0)
    direction: Literal["both ways", "up", "down"] = "both ways"
    """both ways: half the distance up, half down."""
    obstacles: Annotated[list[Obstacle], Field(max_length=20)] = Field(default_factory=list)
    stops_per_km: Annotated[Figure, quantity("ratio", low=0.0, high=100.0)] = Figure(0.0)


class Descent(Record):
    """A descent held on the brakes."""

    name: Identifier
    surface: Identifier
    grade: Grade
    speed: SpeedAbove
    height: LengthAbove
    """Height lost."""


class Stops(Record):
    """Repeated stops from one speed."""

    speed: SpeedAbove
    count: Annotated[int, Field(ge=1, le=100)]
    interval: Annotated[Figure, quantity("time", low=0.1, high=1e6)]


class LimitRecord(Record):
    """One limit in trade terms; the bound's unit follows from the limit's name."""

    limit: str
    terrain: Identifier | None = None
    position: Position | None = None
    at_least: str | float | int | None = None
    at_most: str | float | int | None = None

    @model_validator(mode="after")
    def _known(self) -> LimitRecord:
        kind = LIMITS.get(self.limit)
        if kind is None:
            raise ValueError(f"unknown limit '{self.limit}'{near_limit_name(self.limit)}")
        given = [name for name in ("at_least", "at_most") if getattr(self, name) is not None]
        if given != [kind.bound]:
            raise ValueError(f"limit {self.limit} takes {kind.bound} and nothing else")
        for field in ("terrain", "position"):
            if getattr(self, field) is not None and field not in kind.scopes:
                raise ValueError(f"limit {self.limit} is not stated per {field}")
        if not kind.allows(kind.parse(self.bound)):
            found = f'"{self.bound}"' if isinstance(self.bound, str) else f"{self.bound:g}"
            raise problem(
                f"found {found} for {self.limit}, allowed is {kind.range_text}",
                "correct the bound, or remove the limit if nothing is asked",
                at=kind.bound,
                rule="RANGE",
            )
        return self

    @property
    def bound(self) -> str | float | int:
        """The stated bound as written."""
        value = self.at_least if self.at_least is not None else self.at_most
        assert value is not None
        return value


class PackageRecord(Record):
    """A package as written in a baseline, choice or decision file."""

    tire: Identifier
    pressure: Annotated[Figure, quantity("pressure", low=0.0, high=1e7)]
    inner: Identifier
    rim_lock: Identifier | None = None
    rim_locks: Annotated[int, Field(ge=0, le=2)] = 0
    rim: Identifier | None = None
    spokes: Identifier | None = None
    crossings: Annotated[int, Field(ge=0, le=4)] | None = None
    disc_wheel: Identifier | None = None
    hub: Identifier
    rotor: Identifier | None = None
    caliper: Identifier | None = None
    pad: Identifier | None = None

    @model_validator(mode="after")
    def _whole(self) -> PackageRecord:
        spoked = (self.rim, self.spokes, self.crossings)
        if self.disc_wheel is None and None in spoked:
            raise ValueError("give rim, spokes and crossings, or disc_wheel")
        if self.disc_wheel is not None and any(part is not None for part in spoked):
            raise ValueError("give either rim, spokes and crossings, or disc_wheel, not both")
        if (self.rim_lock is None) != (self.rim_locks == 0):
            raise ValueError("rim_lock and rim_locks belong together")
        if len({self.rotor is None, self.caliper is None, self.pad is None}) > 1:
            raise ValueError("rotor, caliper and pad belong together")
        return self


class VehicleChoiceRecord(Record):
    """Both packages and the final drive of one vehicle."""

    final_drive: Identifier
    front: PackageRecord
    rear: PackageRecord


class Condition(Record):
    """Another condition of a vehicle, in which the same packages must serve; what it does not state stays."""

    name: Identifier
    share: Annotated[Figure, quantity("ratio", above=0.0, high=1.0)] | None = None
    """Share of the distance ridden in it; what all conditions leave of 1 is ridden as the vehicle is stated."""
    rider_mass: MassAbove | None = None
    """Riders; with another mass, the centre of gravity is stated too."""
    cargo_mass: Mass | None = None
    cg_from_rear_axle: LengthAbove | None = None
    """Laden as in this condition, without packages, along the wheelbase."""
    cg_height: LengthAbove | None = None
    """Laden as in this condition, without packages, above ground on the reference radii."""
    ground_clearance: LengthAbove | None = None
    """Laden as in this condition, on the reference radii, at mid-wheelbase."""
    temperature: Temperature | None = None
    altitude: Altitude | None = None
    surfaces: Annotated[dict[Identifier, Identifier], Field(max_length=40)] = Field(default_factory=dict)
    """Surfaces of terrains and descents, each with what is there instead in this condition."""
    without_limits: Annotated[list[str], Field(max_length=50)] = Field(default_factory=list)
    """Limits that need not be met in this condition, by name."""


class MeanOfWorst(Record):
    """The mean over the worst part of the distance ridden."""

    mean_of_worst: Annotated[Figure, quantity("ratio", above=0.0, high=1.0)]
    """Share of the distance that counts: the part with the worst values of the aim."""


class Vehicle(Record):
    """One vehicle, the ground it must cover and what it must do."""

    name: Identifier
    kind: Literal["two-wheeler", "quad"]
    quantity: Annotated[int, Field(ge=1, le=1_000_000)]
    """Vehicles to be built; decides the price tiers."""
    use: Literal["off-road", "road-legal"]
    category: Literal["L1", "L2", "L3", "L5"] | None = None
    """Category for the statutory brake rows of a road-legal vehicle."""
    chassis_mass: MassAbove
    """Ready to ride, with battery, without both wheel packages."""
    rider_mass: MassAbove
    cargo_mass: Mass
    wheelbase: LengthAbove
    cg_from_rear_axle: LengthAbove
    """Laden (rider and cargo), without packages, along the wheelbase."""
    cg_height: LengthAbove
    """Laden, without packages, above ground on the reference radii."""
    caster_angle: Angle
    """From the vertical."""
    fork_offset: SignedLength
    ground_clearance: LengthAbove
    """Laden, on the reference radii, at mid-wheelbase."""
    track: LengthAbove | None = None
    drag_area: Area
    temperature: Temperature = Figure(288.15)
    altitude: Altitude = Figure(0.0)
    inflation_temperature: Temperature | None = None
    """Temperature at which the pressures are set, where it is not the riding temperature."""
    inflation_altitude: Altitude | None = None
    battery_energy: Energy
    """Usable."""
    drive: Drive
    front: Axle
    rear: Axle
    brake_share_front: Annotated[Figure, quantity("ratio", low=0.0, high=1.0)] | None = None
    """Share of the front brake on descents and stops; without it, in proportion to the loads."""
    hand_force: Force = Figure(200.0)
    terrains: Annotated[list[Terrain], Field(min_length=1, max_length=20)]
    descents: Annotated[list[Descent], Field(max_length=20)] = Field(default_factory=list)
    stops: Stops | None = None
    limits: Annotated[list[LimitRecord], Field(max_length=200)] = Field(default_factory=list)
    conditions: Annotated[list[Condition], Field(max_length=8)] = Field(default_factory=list)
    """Further conditions (wet, cold, a passenger); every limit must be met in each of them and as stated here."""
    over_conditions: Literal["worst", "mean"] | MeanOfWorst | None = None
    """Which of the aim's values in the conditions counts: the worst (default), the mean by shares, or between."""
    alternates: Annotated[dict[PartFamily, Fraction], Field(min_length=1)] | None = None
    """Families of parts of which every part chosen must be replaceable: by how much the aim may be worse without it."""
    baseline: VehicleChoiceRecord | None = None

    @field_validator("alternates", mode="before")
    @classmethod
    def _families(cls, stated: Any) -> Any:
        for family in stated if isinstance(stated, dict) else ():
            if family not in get_args(PartFamily):
                raise problem(
                    f'there is no family of parts "{family}"',
                    f"one of {', '.join(get_args(PartFamily))}",
                    at=(str(family),),
                    rule="CHOICE",
                )
        return stated

    @model_validator(mode="after")
    def _adds_up(self) -> Vehicle:
        total = sum(float(terrain.share) for terrain in self.terrains)
        if abs(total - 1.0) > 1e-6:
            raise ValueError(f"the shares of the terrains sum to {total:g}; they must sum to 1")
        names = [terrain.name for terrain in self.terrains] + [descent.name for descent in self.descents]
        if len(set(names)) != len(names):
            raise ValueError("terrains and descents need different names")
        if self.kind == "quad" and self.track is None:
            raise ValueError("a quad needs its track")
        if self.kind == "quad" and (self.front.wheels, self.rear.wheels) != (2, 2):
            raise ValueError("a quad has two wheels front and rear")
        if self.kind == "two-wheeler" and (self.front.wheels, self.rear.wheels) != (1, 1):
            raise ValueError("a two-wheeler has one wheel front and rear")
        if self.use == "road-legal" and self.category is None:
            raise ValueError("a road-legal vehicle needs its category (L1, L2, L3 or L5)")
        if self.cg_from_rear_axle >= self.wheelbase:
            raise ValueError("cg_from_rear_axle lies outside the wheelbase")
        if REPEATED_STOPS in names:
            raise ValueError(f"{REPEATED_STOPS} is the name of the stops; give the terrain or descent another")
        return self


class Rates(Record):
    """Exchange rates of a weighted sum: what one unit counts."""

    mass: Annotated[Figure, quantity("per_mass", low=0.0, high=1e9)] | None = None
    rolling_loss: Annotated[Figure, quantity("per_energy_per_distance", low=0.0, high=1e9)] | None = None
    energy: Annotated[Figure, quantity("per_energy_per_distance", low=0.0, high=1e9)] | None = None
    cost: Annotated[Figure, quantity("ratio", low=0.0, high=1e9)] | None = None

    @property
    def own_rates(self) -> dict[str, float]:
        """Rates above zero [1/SI unit]."""
        return {name: float(rate) for name in Rates.model_fields if (rate := getattr(self, name))}


class Stage(Rates):
    """One of several aims that count one after the other."""

    give_up: Fraction = Figure(0.0)
    """Share of this aim's best value that the later ones may give away."""

    @model_validator(mode="after")
    def _something(self) -> Stage:
        if not self.own_rates:
            raise ValueError("give the stage at least one aim with a rate above zero, e.g. 'mass: 1 per kg'")
        return self


class Aims(Rates):
    """What counts: a weighted sum, or several of them one after the other."""

    in_order: Annotated[list[Stage], Field(min_length=1, max_length=8)] | None = None
    """Weighted sums in the order in which they count; a later one decides among what the earlier ones leave."""

    @model_validator(mode="after")
    def _something(self) -> Aims:
        if self.in_order is None and not self.own_rates:
            raise ValueError("give at least one aim a rate above zero, e.g. 'mass: 1 per kg'")
        if self.in_order is not None and any(getattr(self, name) is not None for name in Rates.model_fields):
            raise problem(
                "aims are stated both at once and in_order",
                "keep the rates, or move them into a stage of in_order",
                at="in_order",
            )
        if self.in_order and self.in_order[-1].give_up:
            raise problem(
                "the last stage gives something up, but no later one gains from it",
                "remove give_up, or add a stage",
                at=("in_order", len(self.in_order) - 1, "give_up"),
            )
        return self

    @property
    def rates(self) -> dict[str, float]:
        """Rates above zero [1/SI unit]; of stages, for each quantity that of the first one that names it."""
        found = self.own_rates
        for stage in self.in_order or ():
            found = {**stage.own_rates, **found}
        return found


class SharingRecord(Record):
    """What the vehicles of a family may differ in, and what is kept for them together."""

    at_most: dict[PartFamily, Annotated[int, Field(ge=1, le=48)]] = Field(default_factory=dict)
    """Different parts of a family of parts that all vehicles together may use, front and rear."""
    spares: dict[PartFamily, Annotated[int, Field(ge=0, le=100_000)]] = Field(default_factory=dict)
    """Pieces kept in stock of every different part of a family of parts."""


class Scenario(Record):
    """What is asked."""

    title: str
    description: str = ""
    catalogs: str
    """Folder of the catalogs, relative to this file."""
    corrections: str | None = None
    """File of corrections learned from tests, relative to this file: figures that stand over those of the catalogs."""
    trials: str | None = None
    """Table of what riders said (CSV), relative to this file; shown beside the results, it changes no choice."""
    currency: Annotated[str, Field(pattern=r"^[A-Z]{3}$")]
    aims: Aims
    vehicles: Annotated[list[Vehicle], Field(min_length=1, max_length=24)]
    sharing: SharingRecord | None = None
    """Where parts are to be shared; with several vehicles, they are chosen together."""
    note: str = ""

    @model_validator(mode="after")
    def _names(self) -> Scenario:
        names = [vehicle.name for vehicle in self.vehicles]
        if len(set(names)) != len(names):
            raise ValueError("vehicles need different names")
        for number, vehicle in enumerate(self.vehicles):
            if vehicle.alternates is not None and self.aims.in_order is not None:
                raise problem(
                    "alternates are asked for by one aim, and the aims count in order",
                    "state the aims as one weighted sum, or remove alternates",
                    at=("vehicles", number, "alternates"),
                )
        return self
