"""The pieces of one wheel on one ground: declared directions, exact limits, continuity at switches, units.

The optimisation's bounds rest on the declared directions, so every one of them is drawn at random here.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from configopt.appraisal import ground as on
from configopt.appraisal.tables import FootingTable
from configopt.catalog.records import Soil, Surface, TreadFriction
from configopt.physics import quarter_car, soft_ground, tire
from configopt.physics.constants import STANDARD_GRAVITY
from configopt.physics.soft_ground import WheelOnSoil
from configopt.scenario.records import Obstacle

Array = NDArray[np.float64]
#: Rounding of a piece relative to its value.
ROUNDING = 1e-12
#: Smallest sinkage exponent of the draws.  Below a quarter the firm patch's growth with the load may soften the soil
#: faster than the load presses it, and the ground pressure of a nearly lifted wheel falls with its load.
LEAST_EXPONENT = 0.25


@dataclass(frozen=True)
class Wheel:
    """One footing on one ground under a load, with everything the pieces ask for besides [SI]."""

    f: FootingTable
    surface: Surface
    load: float
    stones: tuple[tuple[float, float], ...]
    speed: float = 5.0
    unsprung: float = 12.0
    rate: float = 8e3
    damping: float = 600.0
    flange: float = 0.012
    slip: float = 0.3
    coefficient: float = 0.02
    residual_load: float = 500.0
    roughness: float = 4e-7

    @property
    def ground(self) -> on.Ground:
        """The ground, with a roughness of its own."""
        obstacles = tuple(Obstacle.model_construct(height=h, per_km=n) for h, n in self.stones)
        ground = on.Ground(self.surface, self.speed, obstacles)
        object.__setattr__(ground, "figures", replace(ground.figures, roughness=self.roughness))
        return ground

    @property
    def loads(self) -> Array:
        return np.full(1, self.load)

    @property
    def soil(self) -> WheelOnSoil:
        return on.on_soil(self.f, self.ground, self.loads)

    @property
    def c(self) -> Array:
        return np.full(1, self.coefficient)

    def footing(self, **columns: float) -> Wheel:
        """The wheel with some columns of its footing changed; what follows from them follows."""
        f = replace(self.f, **{name: np.full(1, value) for name, value in columns.items()})
        f = replace(f, radius=0.5 * f.diameter, total_pressure=f.pressure + f.carcass_pressure)
        return replace(self, f=f)


def soil_of(**figures: float) -> Soil:
    return Soil.model_construct(**figures)


def footing_of(values: dict[str, float]) -> FootingTable:
    """One row; columns that no piece of the ground reads are zero."""
    columns = {field.name: np.full(1, values.get(field.name, 0.0)) for field in fields(FootingTable)}
    columns["tread"] = columns["tread"].astype(np.int64)
    columns["radius"] = 0.5 * columns["diameter"]
    columns["total_pressure"] = columns["pressure"] + columns["carcass_pressure"]
    return FootingTable(**columns)


footings = st.fixed_dictionaries(
    {
        "width": st.floats(0.05, 0.30),
        "diameter": st.floats(0.45, 0.80),
        "section_height": st.floats(0.05, 0.15),
        "casing_thickness": st.floats(0.002, 0.008),
        "pressure": st.floats(1e4, 3e5),
        "carcass_pressure": st.floats(3e3, 6e4),
        "rated_pressure": st.floats(5e4, 3e5),
        "rolling_reference": st.floats(0.008, 0.05),
        "rolling_pressure": st.floats(5e4, 3e5),
        "rolling_speed": st.floats(3.0, 15.0),
        "rolling_exponent": st.floats(-0.8, -0.3),
        "lug_depth": st.floats(0.0, 0.02),
        "land_fraction": st.floats(0.1, 1.0),
        "tread": st.sampled_from([0.0, 1.0, 2.0]),
        "grip_loose": st.floats(0.8, 1.2),
    }
)
soils = st.builds(
    soil_of,
    exponent=st.floats(LEAST_EXPONENT, 1.6),
    cohesive_modulus=st.floats(0.0, 1e5),
    frictional_modulus=st.floats(5e4, 6e6),
    cohesion=st.floats(0.0, 2e4),
    friction_angle=st.floats(0.0, 0.7),
    shear_modulus=st.floats(0.005, 0.05),
)


@st.composite
def surfaces(draw: st.DrawFn) -> Surface:
    return Surface.model_construct(
        group="loose",
        friction=TreadFriction.model_construct(open=draw(st.floats(0.2, 1.0)), medium=0.7, closed=0.6),
        load_exponent=draw(st.floats(0.7, 1.0)),
        pressure_exponent=draw(st.floats(0.0, 0.25)),
        reference_load=800.0,
        reference_pressure=1e5,
        total_coefficient=None,
        total_reference_coefficient=None,
        texture_factor=draw(st.floats(1.0, 1.3)),
        roughness_class="C",
        packs_tread=draw(st.booleans()),
        soil=draw(soils),
    )


@st.composite
def wheels(draw: st.DrawFn) -> Wheel:
    """A wheel that is pressed to somewhere between nothing and a third of its width."""
    f = footing_of(draw(footings))
    casing = {"pressure": f.pressure, "carcass_pressure": f.carcass_pressure, "width": f.width, "diameter": f.diameter}
    pressed = draw(st.floats(1e-4, 0.33))
    load = float(tire.load_at_deflection(pressed * f.width, **casing)[0])
    return Wheel(
        f,
        draw(surfaces()),
        load,
        ((draw(st.floats(0.005, 0.15)), 100.0), (draw(st.floats(0.005, 0.5)), 20.0)),
        speed=draw(st.floats(0.0, 20.0)),
        unsprung=draw(st.floats(2.0, 30.0)),
        rate=draw(st.floats(2e3, 5e4)),
        damping=draw(st.floats(50.0, 3e3)),
        flange=draw(st.floats(0.0, 0.02)),
        slip=draw(st.floats(0.0, 1.0)),
        coefficient=draw(st.floats(0.0, 0.1)),
        residual_load=load * draw(st.floats(0.3, 3.0)),
        roughness=draw(st.floats(1e-7, 4.1e-5)),
    )


def obstacles(w: Wheel, *, suspended: bool, residual_load: float | None = None) -> Array:
    return on.obstacle_resistance(
        w.f,
        w.ground,
        w.loads,
        unsprung_mass=w.unsprung,
        damping=w.damping,
        suspended=suspended,
        residual_load=w.residual_load if residual_load is None else residual_load,
    )


def strike(w: Wheel, *, suspended: bool = True) -> Array:
    return on.strike_margin(
        w.f,
        w.ground,
        w.loads,
        flange_height=w.flange,
        unsprung_mass=w.unsprung,
        suspended=suspended,
        residual_load=w.residual_load,
    )


def rough(w: Wheel, *, suspended: bool = True) -> on.RoughRide:
    return on.rough_ride(
        w.f,
        w.ground,
        w.loads,
        unsprung_mass=np.full(1, w.unsprung),
        stiffness=w.rate if suspended else None,
        damping=w.damping,
    )


def length(w: Wheel) -> Array:
    return tire.patch_length(on.firm_deflection(w.f, w.load), diameter=w.f.diameter)


def thrust_ceiling(w: Wheel, soil: WheelOnSoil | None) -> Array:
    return on.thrust_ceiling(w.f, w.ground, w.loads, soil)


#: Mass, length and time in the unit of a result.
Unit = tuple[int, int, int]
NUMBER, FORCE, PRESSURE, LENGTH, AREA = (0, 0, 0), (1, 1, -2), (1, -1, -2), (0, 1, 0), (0, 2, 0)
STIFFNESS, MASS = (1, 0, -2), (1, 0, 0)


@dataclass(frozen=True)
class Piece:
    """A piece of the ground: its value, the direction it declares in the load, its unit, whether gravity is in it."""

    value: Callable[[Wheel], Array]
    sign: int
    unit: Unit
    weighs: bool = False


PIECES: dict[str, Piece] = {
    "deflection": Piece(lambda w: on.firm_deflection(w.f, w.load), 1, LENGTH),
    "loaded radius": Piece(lambda w: on.loaded_radius(w.f, w.load), -1, LENGTH),
    "patch length": Piece(length, 1, LENGTH),
    "sinkage": Piece(lambda w: w.soil.sinkage, 1, LENGTH),
    "soil's patch area": Piece(lambda w: w.soil.patch_area, 1, AREA),
    "soil's patch length": Piece(lambda w: w.soil.patch_length, 1, LENGTH),
    "compaction": Piece(lambda w: w.soil.compaction, 1, FORCE),
    "rolling resistance on firm ground": Piece(
        lambda w: on.rolling_resistance(w.f, w.ground, w.loads, None, w.c), 1, FORCE
    ),
    "rolling resistance on soil": Piece(lambda w: on.rolling_resistance(w.f, w.ground, w.loads, w.soil, w.c), 1, FORCE),
    "soil resistance of a leading wheel": Piece(
        lambda w: on.soil_resistance(w.ground, w.soil, w.loads, follows=False), 1, FORCE
    ),
    "soil resistance of a following wheel": Piece(
        lambda w: on.soil_resistance(w.ground, w.soil, w.loads, follows=True), 1, FORCE
    ),
    "residual obstacle": Piece(
        lambda w: on.residual_obstacle(w.f, w.ground, w.ground.obstacles[0], w.load), -1, LENGTH
    ),
    "obstacles at one residual, suspended": Piece(lambda w: obstacles(w, suspended=True), 1, FORCE, weighs=True),
    "obstacles at one residual, rigid": Piece(lambda w: obstacles(w, suspended=False), 1, FORCE, weighs=True),
    "tire stiffness": Piece(lambda w: on.tire_stiffness(w.f, on.firm_deflection(w.f, w.load)), 1, STIFFNESS),
    "sprung mass": Piece(lambda w: on.sprung_mass(w.loads, w.unsprung), 1, MASS, weighs=True),
    "strike margin at one residual": Piece(strike, -1, NUMBER),
    "lateral stiffness": Piece(lambda w: on.lateral_stiffness(w.f, w.load), -1, STIFFNESS),
    "grip force": Piece(lambda w: on.grip_force(w.f, w.ground, w.loads), 1, FORCE),
    "grip force over load": Piece(lambda w: on.grip_force(w.f, w.ground, w.loads) / w.load, -1, NUMBER),
    "thrust ceiling on firm ground": Piece(lambda w: thrust_ceiling(w, None), 1, FORCE),
    "thrust ceiling on soil": Piece(lambda w: thrust_ceiling(w, w.soil), 1, FORCE),
    "thrust ceiling over load on firm ground": Piece(lambda w: thrust_ceiling(w, None) / w.load, -1, NUMBER),
    "thrust ceiling over load on soil": Piece(lambda w: thrust_ceiling(w, w.soil) / w.load, -1, NUMBER),
    "thrust at a slip on firm ground": Piece(
        lambda w: on.thrust_at_slip(w.f, w.ground, w.loads, None, w.slip), 1, FORCE
    ),
    "thrust at a slip on soil": Piece(lambda w: on.thrust_at_slip(w.f, w.ground, w.loads, w.soil, w.slip), 1, FORCE),
    "ground pressure on firm ground": Piece(lambda w: on.ground_pressure(w.f, w.loads, None), 1, PRESSURE),
    "ground pressure on soil": Piece(lambda w: on.ground_pressure(w.f, w.loads, w.soil), 1, PRESSURE),
}


def never_falls(less: Any, more: Any) -> bool:
    """Whether the second value is no lower than the first, rounding apart."""
    less, more = np.asarray(less), np.asarray(more)
    return bool(np.all(more >= less - ROUNDING * np.abs(less)))


def moves(sign: int, before: Any, after: Any) -> bool:
    """Whether a value moves in a direction or stands still."""
    return never_falls(before, after) if sign > 0 else never_falls(after, before)


@pytest.mark.parametrize("name", PIECES)
@given(wheel=wheels(), factor=st.floats(1.0001, 2.5))
@settings(max_examples=40)
def test_each_piece_moves_with_the_load_as_it_declares(name: str, wheel: Wheel, factor: float) -> None:
    piece, more = PIECES[name], replace(wheel, load=factor * wheel.load)
    assert moves(piece.sign, piece.value(wheel), piece.value(more))


def higher(name: str) -> Callable[[Wheel, float], Wheel]:
    """A wheel with one figure of its own multiplied."""
    return lambda w, factor: replace(w, **{name: factor * getattr(w, name)})


def wider(name: str) -> Callable[[Wheel, float], Wheel]:
    """A wheel with one column of its footing multiplied."""
    return lambda w, factor: w.footing(**{name: factor * float(getattr(w.f, name)[0])})


def at_residual(w: Wheel) -> Array:
    return obstacles(w, suspended=True)


#: Other declared directions, and those that follow from the tire's law: what grows, what it does to which piece.
OTHERS: dict[str, tuple[Callable[[Wheel, float], Wheel], int, Callable[[Wheel], Array]]] = {
    "unsprung mass, obstacles": (higher("unsprung"), 1, at_residual),
    "unsprung mass, strike margin": (higher("unsprung"), -1, strike),
    "unsprung mass, sprung mass": (higher("unsprung"), -1, PIECES["sprung mass"].value),
    "swallowed height, obstacles": (higher("residual_load"), -1, at_residual),
    "swallowed height, obstacles of a rigid wheel": (
        higher("residual_load"),
        -1,
        lambda w: obstacles(w, suspended=False),
    ),
    "swallowed height, strike margin": (higher("residual_load"), 1, strike),
    "flange height, strike margin": (higher("flange"), -1, strike),
    "casing thickness, strike margin": (wider("casing_thickness"), -1, strike),
    "section height, strike margin": (wider("section_height"), 1, strike),
    "damping, obstacles": (higher("damping"), 1, at_residual),
    "speed, obstacles": (higher("speed"), 1, at_residual),
    "speed, strike margin": (higher("speed"), -1, strike),
    "speed, coefficient": (higher("speed"), 1, lambda w: on.coefficient(w.f, w.ground)),
    "slip, thrust": (higher("slip"), 1, PIECES["thrust at a slip on soil"].value),
    "pressure, coefficient": (wider("pressure"), -1, lambda w: on.coefficient(w.f, w.ground)),
    "pressure, deflection": (wider("pressure"), -1, PIECES["deflection"].value),
    "pressure, patch length": (wider("pressure"), -1, length),
    "pressure, residual obstacle": (wider("pressure"), 1, PIECES["residual obstacle"].value),
    "pressure, tire stiffness": (wider("pressure"), 1, PIECES["tire stiffness"].value),
    "pressure, lateral stiffness": (wider("pressure"), 1, PIECES["lateral stiffness"].value),
    "pressure, grip force": (wider("pressure"), -1, PIECES["grip force"].value),
    "pressure, ground pressure": (wider("pressure"), 1, PIECES["ground pressure on firm ground"].value),
    "diameter, deflection": (wider("diameter"), -1, PIECES["deflection"].value),
    "diameter, patch length": (wider("diameter"), 1, length),
    "diameter, ground pressure": (wider("diameter"), -1, PIECES["ground pressure on firm ground"].value),
    "width, deflection": (wider("width"), -1, PIECES["deflection"].value),
    "width, ground pressure": (wider("width"), -1, PIECES["ground pressure on firm ground"].value),
    "width, lateral stiffness": (wider("width"), 1, PIECES["lateral stiffness"].value),
}


@pytest.mark.parametrize("name", OTHERS)
@given(wheel=wheels(), factor=st.floats(1.0001, 2.0))
@settings(max_examples=30)
def test_each_piece_moves_with_masses_air_and_size_as_the_laws_say(name: str, wheel: Wheel, factor: float) -> None:
    grown, sign, value = OTHERS[name]
    more = grown(wheel, factor)
    assume(0.0 <= more.slip <= 1.0)
    assert moves(sign, value(wheel), value(more))


@given(wheels(), st.floats(1.0001, 2.0))
def test_at_one_load_a_heavier_wheel_loses_no_less_on_rough_ground_while_it_keeps_contact(w: Wheel, f: float) -> None:
    """What the wheel gains the sprung mass loses; where contact is lost at times the heavier wheel may lose less."""
    heavy = replace(w, unsprung=f * w.unsprung)
    assume(on.sprung_mass(w.load, heavy.unsprung) > on.LEAST_SPRUNG_MASS)
    before, after = rough(w), rough(heavy)
    stiffness = on.tire_stiffness(w.f, on.firm_deflection(w.f, w.load))
    assume(before.effective_stiffness == stiffness == after.effective_stiffness)
    assert never_falls(before.resistance, after.resistance)


@given(wheels())
def test_what_a_rough_ground_takes_lies_between_half_and_the_whole_of_the_tires_stiffness(w: Wheel) -> None:
    """The range over which the search bounds the stiffness of a wheel that loses contact at times."""
    assume(w.speed > 0.0)
    deflected = on.firm_deflection(w.f, w.load)
    same = {
        "unsprung_mass": w.unsprung,
        "sprung_mass": on.sprung_mass(w.load, w.unsprung),
        "suspension_rate": w.rate,
        "damping": w.damping,
        "patch_length": tire.patch_length(deflected, diameter=w.f.diameter),
        "speed": w.speed,
        "roughness": w.roughness,
    }
    stiffness = on.tire_stiffness(w.f, deflected)
    low, high = (quarter_car.filtered_resistance(stiffness=share * stiffness, **same) for share in (0.5, 1.0))
    assert never_falls(low, rough(w).resistance)
    assert never_falls(rough(w).resistance, high)


# Exact limits


@given(wheels())
def test_at_standstill_neither_stones_nor_roughness_take_anything(w: Wheel) -> None:
    still = replace(w, speed=0.0)
    assert obstacles(still, suspended=True) == 0.0
    assert obstacles(still, suspended=False) == 0.0
    for field in fields(on.RoughRide):
        if field.name != "effective_stiffness":
            assert getattr(rough(still), field.name) == 0.0, field.name
    assert rough(still, suspended=False).resistance == 0.0
    assert np.isfinite(on.coefficient(still.f, still.ground))


@given(wheels())
def test_flat_ground_asks_for_nothing_but_rolling(w: Wheel) -> None:
    flat = replace(w, stones=(), roughness=0.0)
    for suspended in (True, False):
        assert obstacles(flat, suspended=suspended) == 0.0
        assert rough(flat, suspended=suspended).resistance == 0.0
        assert strike(flat, suspended=suspended) == on.MOST_MARGIN
    firm = on.rolling_resistance(flat.f, flat.ground, flat.loads, None, on.coefficient(flat.f, flat.ground))
    assert firm / flat.load == pytest.approx(on.coefficient(flat.f, flat.ground), rel=1e-15)
    assert on.soil_resistance(flat.ground, None, flat.loads, follows=True) == 0.0


@given(wheels())
def test_a_stone_that_the_tire_swallows_takes_nothing_and_asks_nothing(w: Wheel) -> None:
    swallowed = float((on.firm_deflection(w.f, 2 * w.load) - on.firm_deflection(w.f, w.load))[0])
    small = replace(w, stones=((0.999 * swallowed, 500.0),), residual_load=w.load)
    assert obstacles(small, suspended=True) == 0.0
    assert obstacles(small, suspended=False) == 0.0
    assert strike(small) == on.MOST_MARGIN
    assert strike(small, suspended=False) == on.MOST_MARGIN


@given(wheels())
def test_a_wheel_without_suspension_asks_no_less_of_its_tire_than_the_lighter_of_its_masses(w: Wheel) -> None:
    heavier = strike(replace(w, unsprung=float(w.load / STANDARD_GRAVITY)))
    assert strike(w, suspended=False) == pytest.approx(heavier, rel=1e-12)


@given(wheels())
def test_a_wheel_that_keeps_its_shape_on_soil_is_a_rigid_wheel_and_does_not_flex(w: Wheel) -> None:
    hard = replace(w, f=replace(w.f, total_pressure=np.full(1, 4e6)))
    state, figures = hard.soil, hard.ground.figures
    assume(state.rigid[0])
    side = np.minimum(w.f.width, length(w))
    modulus = soft_ground.soil_modulus(figures.cohesive_modulus, figures.frictional_modulus, smaller_side=side)
    expected = soft_ground.rigid_compaction(
        w.load, width=w.f.width, diameter=w.f.diameter, modulus=modulus, exponent=figures.exponent
    )
    assert on.soil_resistance(hard.ground, state, hard.loads, follows=False) == pytest.approx(expected, rel=1e-9)
    assert on.rolling_resistance(hard.f, hard.ground, hard.loads, state, hard.c) == 0.0


@given(wheels(), st.floats(1.1, 3.0))
def test_without_a_suspension_the_whole_load_is_moved(w: Wheel, factor: float) -> None:
    """Neither the unsprung mass nor a damper counts, on stones as on roughness."""
    other = replace(w, unsprung=factor * w.unsprung, damping=factor * w.damping)
    assert obstacles(w, suspended=False) == obstacles(other, suspended=False)
    expected = quarter_car.rigid_wheel_resistance(
        stiffness=on.tire_stiffness(w.f, on.firm_deflection(w.f, w.load)),
        load=w.load,
        patch_length=length(w),
        speed=w.speed,
        roughness=w.roughness,
    )
    assert rough(w, suspended=False).resistance == expected == rough(other, suspended=False).resistance


@given(wheels())
def test_without_slip_soil_gives_no_thrust_and_under_endless_shear_all_of_it(w: Wheel) -> None:
    ceiling = thrust_ceiling(w, w.soil)
    assert on.thrust_at_slip(w.f, w.ground, w.loads, w.soil, 0.0) == 0.0
    sheared = w.surface.model_copy(update={"soil": w.surface.soil.model_copy(update={"shear_modulus": 1e-9})})
    endless = replace(w, surface=sheared)
    got = on.thrust_at_slip(w.f, endless.ground, w.loads, endless.soil, 1.0)
    # A patch of a tenth of a millimetre is still 1e5 times as long as the shear it needs.
    assert got == pytest.approx(ceiling, rel=1e-4)


# Continuity


@given(wheels())
def test_every_piece_on_soil_is_continuous_where_the_tire_turns_rigid(w: Wheel) -> None:
    critical = w.soil.critical_pressure
    assume(critical < 3.9e6)
    around = [replace(w, f=replace(w.f, total_pressure=critical * x)) for x in (1 - 1e-10, 1.0, 1 + 1e-10)]
    assert [bool(x.soil.rigid[0]) for x in around] == [False, True, True]
    for name, piece in PIECES.items():
        if "soil" in name or name in ("sinkage", "compaction"):
            below, at, above = (float(piece.value(x)[0]) for x in around)
            # Flexing vanishes at the switch, so it is measured against the firm tire's loss.
            size = 1e-9 * w.coefficient * w.load
            assert below == pytest.approx(at, rel=1e-7, abs=size), name
            assert above == pytest.approx(at, rel=1e-7, abs=size), name


@given(wheels())
def test_every_piece_is_continuous_where_the_load_law_changes_its_branch(w: Wheel) -> None:
    f = w.f
    casing = {"pressure": f.pressure, "carcass_pressure": f.carcass_pressure, "width": f.width, "diameter": f.diameter}
    load = float(tire.load_at_deflection(tire.SWITCH * f.width, **casing)[0])
    around = [replace(w, load=load * x) for x in (1 - 1e-9, 1 + 1e-9)]
    for name, piece in PIECES.items():
        below, above = (float(piece.value(x)[0]) for x in around)
        assert below == pytest.approx(above, rel=1e-6, abs=1e-9 * load), name


@given(wheels())
def test_the_deflection_has_one_slope_on_both_sides_of_the_load_laws_switch(w: Wheel) -> None:
    f = w.f
    casing = {"pressure": f.pressure, "carcass_pressure": f.carcass_pressure, "width": f.width, "diameter": f.diameter}
    load = float(tire.load_at_deflection(tire.SWITCH * f.width, **casing)[0])
    below, at, above = (float(on.firm_deflection(f, load * x)[0]) for x in (1 - 1e-5, 1.0, 1 + 1e-5))
    # The parabola's own curvature over the step is of the order of the step.
    assert above - at == pytest.approx(at - below, rel=1e-4)
    stiffness = float(on.tire_stiffness(f, at)[0])
    assert stiffness * (above - at) == pytest.approx(1e-5 * load, rel=1e-6)


@given(wheels())
def test_the_coefficient_is_continuous_at_one_and_a_half_bar(w: Wheel) -> None:
    below, at, above = (
        float(on.coefficient(w.footing(pressure=150e3 * x).f, w.ground)[0]) for x in (1 - 1e-10, 1.0, 1 + 1e-10)
    )
    assert below == pytest.approx(at, rel=1e-9)
    assert above == pytest.approx(at, rel=1e-9)


# Units

#: Unit of every figure that a piece reads; numbers are left out.  The soil's moduli are handled beside.
FOOTING_UNITS: dict[str, Unit] = {
    "width": LENGTH,
    "diameter": LENGTH,
    "radius": LENGTH,
    "section_height": LENGTH,
    "casing_thickness": LENGTH,
    "lug_depth": LENGTH,
    "pressure": PRESSURE,
    "carcass_pressure": PRESSURE,
    "total_pressure": PRESSURE,
    "rated_pressure": PRESSURE,
}
WHEEL_UNITS: dict[str, Unit] = {
    "load": FORCE,
    "residual_load": FORCE,
    "speed": (0, 1, -1),
    "unsprung": MASS,
    "rate": STIFFNESS,
    "damping": (1, 0, -1),
    "flange": LENGTH,
    "roughness": LENGTH,
}


def in_units(w: Wheel, mass: float, length: float, time: float) -> Wheel:
    """The same wheel on the same ground, its figures in other units of mass, length and time."""

    def factor(unit: Unit) -> float:
        return float(mass ** unit[0] * length ** unit[1] * time ** unit[2])

    soil = w.surface.soil
    assert soil is not None
    n = float(soil.exponent)
    changed = soil_of(
        exponent=n,
        cohesive_modulus=float(soil.cohesive_modulus) * factor(PRESSURE) * length ** (1.0 - n),
        frictional_modulus=float(soil.frictional_modulus) * factor(PRESSURE) * length**-n,
        cohesion=float(soil.cohesion) * factor(PRESSURE),
        friction_angle=float(soil.friction_angle),
        shear_modulus=float(soil.shear_modulus) * length,
    )
    surface = w.surface.model_copy(
        update={
            "soil": changed,
            "reference_load": float(w.surface.reference_load) * factor(FORCE),
            "reference_pressure": float(w.surface.reference_pressure) * factor(PRESSURE),
        }
    )
    f = replace(w.f, **{name: getattr(w.f, name) * factor(unit) for name, unit in FOOTING_UNITS.items()})
    stones = tuple((h * length, per_km / length) for h, per_km in w.stones)
    own = {name: getattr(w, name) * factor(unit) for name, unit in WHEEL_UNITS.items()}
    return replace(w, f=f, surface=surface, stones=stones, **own)


@pytest.mark.parametrize("name", PIECES)
@given(wheel=wheels(), mass=st.floats(0.5, 2.0), length=st.floats(0.7, 1.4), time=st.floats(0.7, 1.4))
@settings(max_examples=20)
def test_each_piece_scales_with_the_units_of_mass_length_and_time(
    name: str, wheel: Wheel, mass: float, length: float, time: float
) -> None:
    piece = PIECES[name]
    # Gravity is a constant of the model, so where it enters the unit of time follows from that of length.
    time = float(np.sqrt(length)) if piece.weighs else time
    other = in_units(wheel, mass, length, time)
    for w in (wheel, other):
        assume(w.load < 1e5)
        assume(float(w.soil.sinkage[0]) < 0.5 * soft_ground.SINKAGE_CAP)
        # Least and most values are plain numbers of the model, not quantities of the wheel.
        assume(name != "sprung mass" or w.load / STANDARD_GRAVITY - w.unsprung > on.LEAST_SPRUNG_MASS)
    expected = piece.value(wheel) * mass ** piece.unit[0] * length ** piece.unit[1] * time ** piece.unit[2]
    size = 1e-9 * wheel.load * mass * length / time**2 if piece.unit == FORCE else 0.0
    assert float(piece.value(other)[0]) == pytest.approx(float(expected[0]), rel=1e-6, abs=size)
