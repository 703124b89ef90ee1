"""What the trade knows comes out of the demo catalogs through the model; parts are found by attributes, never named."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache
from itertools import permutations, product
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from configopt.appraisal import ground as on
from configopt.appraisal.appraise import appraise
from configopt.appraisal.one_vehicle import VehicleAppraisal, appraise_record
from configopt.appraisal.tables import BrakeTable, FootingTable, brake_table, footing_table
from configopt.appraisal.vehicle import VehicleModel
from configopt.catalog.records import Hub, Inner, Rotor, Tire
from configopt.fit.layers import BrakeSet, TireOnRim
from configopt.fit.rules import built_spoke_lengths, spokes_in_wheel, tire_diameter, tire_width
from configopt.physics.chassis import standstill_steering_moment
from configopt.physics.rotor_cooling import solid_rotor_convection
from configopt.physics.spokes import torque_arm, torque_tension_change
from configopt.physics.tire import patch_area
from configopt.scenario.case import Case, load
from configopt.scenario.records import VehicleChoiceRecord

SCENARIOS = Path(__file__).parents[1] / "scenarios"
Array = NDArray[np.float64]
#: A wheel load of a two-wheeler and of a quad [N], about what the demo scenarios have.
TWO_WHEELER_LOAD, QUAD_LOAD = 900.0, 800.0


@cache
def case_of(name: str = "upland-wardens") -> Case:
    return load(SCENARIOS / f"{name}.yaml")


@cache
def model_of(name: str = "upland-wardens") -> VehicleModel:
    return VehicleModel(case_of(name).vehicle, case_of(name).catalog)


def baseline() -> VehicleChoiceRecord:
    record = case_of().vehicle.baseline
    assert record is not None
    return record


def tires(*kinds: str) -> list[Tire]:
    return [tire for tire in case_of().catalog.tires if tire.kind in kinds]


def plain_inner() -> Inner:
    """An inner that adds nothing to the rolling loss, so that tires are compared alone."""
    inners = case_of().catalog.inners
    return next(inner for inner in inners if inner.kind == "tube" and float(inner.rolling_factor) == 1.0)


def footings(of: Sequence[Tire], pressure: float) -> FootingTable:
    """The tires on their measuring rims at one pressure [Pa], without rim locks."""
    mounts = [TireOnRim(tire, plain_inner(), None, 0, float(tire.measuring_rim_width)) for tire in of]
    return footing_table(mounts, np.arange(len(mounts)), np.full(len(mounts), pressure), case_of().vehicle)


def pairs(of: Sequence[Any], belong: Callable[[Any, Any], bool]) -> list[tuple[int, int]]:
    """Numbers of ordered pairs that belong together."""
    return [(i, j) for i, j in permutations(range(len(of)), 2) if belong(of[i], of[j])]


def alike(one: Tire, other: Tire) -> bool:
    """The same maker, kind, tread and casing."""
    return all(getattr(one, name) == getattr(other, name) for name in ("maker", "kind", "tread", "casing"))


def taller_and_narrower(one: Tire, other: Tire) -> bool:
    taller = tire_diameter(one) >= 1.02 * tire_diameter(other)
    return alike(one, other) and taller and tire_width(one) <= 0.95 * tire_width(other)


@pytest.mark.parametrize("pressure", [80e3, 100e3, 150e3])
def test_a_taller_narrower_tire_rolls_easier_over_obstacles_than_a_shorter_wider_one(pressure: float) -> None:
    of = tires("off-road")
    table, ground = footings(of, pressure), model_of().grounds["rock-steps"]
    load_ = np.full(len(of), TWO_WHEELER_LOAD)
    strikes = on.obstacle_resistance(table, ground, load_, unsprung_mass=14.0, damping=600.0, suspended=True)
    rolling = on.coefficient(table, ground) * load_
    found = pairs(of, taller_and_narrower)
    assert len(found) >= 20
    for i, j in found:
        assert strikes[i] < strikes[j], (of[i].id, of[j].id)
        assert strikes[i] + rolling[i] < strikes[j] + rolling[j], (of[i].id, of[j].id)


def test_front_tires_at_the_rear_give_less_mass_and_rolling_loss_than_rear_tires() -> None:
    of = tires("off-road")

    def front_against_rear(one: Tire, other: Tire) -> bool:
        return alike(one, other) and sorted(one.positions) == ["front", "rear"] and other.positions == ["rear"]

    found = pairs(of, front_against_rear)
    assert len(found) >= 4
    table = footings(of, 100e3)
    ground = model_of().grounds["gravel-track"]
    resistance = on.coefficient(table, ground) * TWO_WHEELER_LOAD
    for i, j in found:
        assert float(of[i].mass) < float(of[j].mass), (of[i].id, of[j].id)
        assert resistance[i] < resistance[j], (of[i].id, of[j].id)


def hub_wheels() -> list[tuple[Hub, float]]:
    """Spoked hubs with the tension ratio of every wheel that can be built on them, as an appraisal reports it."""
    of = case_of().catalog
    found = []
    for hub in of.hubs:
        if hub.kind != "spoked":
            continue
        for rim, spokes in product(of.rims, of.spokes):
            for crossings in spokes.crossings:
                if rim.holes == hub.holes and spokes_in_wheel(spokes, rim, hub, crossings) is None:
                    left, right = built_spoke_lengths(rim, hub, crossings)
                    assert hub.flange_offset_left is not None
                    assert hub.flange_offset_right is not None
                    # The sideways pulls balance: tension times offset over length is equal on both sides.
                    ratio = (left / float(hub.flange_offset_left)) / (right / float(hub.flange_offset_right))
                    found.append((hub, min(ratio, 1.0 / ratio)))
    return found


def test_equal_flange_offsets_give_equal_tensions_and_a_dished_wheel_has_a_slack_side() -> None:
    equal, dished = [], []
    for hub, ratio in hub_wheels():
        same = hub.flange_offset_left == hub.flange_offset_right
        (equal if same and hub.flange_diameter_left == hub.flange_diameter_right else dished).append(ratio)
    assert len(equal) >= 10
    assert len(dished) >= 10
    assert equal == pytest.approx(np.ones(len(equal)), rel=1e-12)
    assert max(dished) < 0.9


def test_the_reported_tension_ratio_of_todays_dished_wheels_is_below_one() -> None:
    report = appraise(case_of(), [baseline()]).to_json()["vehicles"][0]
    hubs = {hub.id: hub for hub in case_of().catalog.hubs}
    for package in report["packages"]:
        hub = hubs[package["hub"]]
        offsets = (hub.flange_offset_left, hub.flange_offset_right)
        assert (package["tension_ratio"] < 0.999) == (offsets[0] != offsets[1])


def tension_change(hub: Hub, flanges: int, rim_radius: float, torque: float) -> float:
    """Spoke tension change [N] of a hub that drives one or both flanges, three crossings."""
    assert hub.holes is not None
    assert hub.flange_diameter_left is not None
    assert hub.flange_diameter_right is not None
    radius = (float(hub.flange_diameter_left) + float(hub.flange_diameter_right)) / 4
    arm = torque_arm(radius, rim_radius=rim_radius, crossings=3, spokes_per_side=hub.holes // 2)
    return float(torque_tension_change(torque, spokes=flanges * hub.holes / 2, flange_radius=arm))


def test_driving_both_flanges_halves_the_tension_change_by_torque() -> None:
    driven = [hub for hub in case_of().catalog.hubs if hub.kind == "spoked" and hub.driven_flanges]
    assert {hub.driven_flanges for hub in driven} == {1, 2}
    for hub in driven:
        one, both = (tension_change(hub, flanges, 0.22, 150.0) for flanges in (1, 2))
        assert both == pytest.approx(one / 2, rel=1e-12)
    # Between hubs of the catalogs the flanges differ in size too; per arm it is still one half.
    for one_hub, two_hub in product(driven, driven):
        if (one_hub.driven_flanges, two_hub.driven_flanges) == (1, 2) and one_hub.holes == two_hub.holes:
            larger = float(two_hub.flange_diameter_left or 0) >= float(one_hub.flange_diameter_right or 0)
            if larger:
                assert tension_change(two_hub, 2, 0.22, 150.0) <= 0.51 * tension_change(one_hub, 1, 0.22, 150.0)


@pytest.mark.parametrize(("kind", "pressure", "load_"), [("off-road", 100e3, 900.0), ("quad", 35e3, 800.0)])
def test_a_heavy_duty_casing_deflects_less_at_the_same_load_and_pressure(
    kind: str, pressure: float, load_: float
) -> None:
    of = tires(kind)

    def heavy_against_standard(one: Tire, other: Tire) -> bool:
        return one.size == other.size and (one.casing, other.casing) == ("heavy-duty", "standard")

    # A casing's stiffness comes with its rating, so only tires rated alike or lower are comparable.
    found = [
        (i, j)
        for i, j in pairs(of, heavy_against_standard)
        if float(of[i].rated_pressure) >= float(of[j].rated_pressure)
    ]
    assert len(found) >= 4
    table = footings(of, pressure)
    sag = on.firm_deflection(table, np.full(len(of), load_)) / table.section_height
    for i, j in found:
        # Measured widths of one designation differ by a few millimetres and hide less than that.
        if tire_width(of[i]) >= 0.98 * tire_width(of[j]):
            assert sag[i] < sag[j], (of[i].id, of[j].id)


def larger_rotors() -> list[tuple[Rotor, Rotor]]:
    """Pairs of a larger and a smaller rotor, alike in all else that matters here."""
    names = ("maker", "steel", "thickness", "wear_limit", "track_height")
    of = case_of().catalog.rotors
    return [
        (one, other)
        for one, other in permutations(of, 2)
        if float(one.diameter) > float(other.diameter) and all(getattr(one, n) == getattr(other, n) for n in names)
    ]


def with_rotors(of: Sequence[Rotor]) -> BrakeTable:
    """The rotors with one and the same caliper and pad."""
    catalog, vehicle = case_of().catalog, case_of().vehicle
    sets = [BrakeSet(rotor, catalog.calipers[0], catalog.pads[0]) for rotor in of]
    return brake_table(sets, vehicle.front.brake, float(vehicle.hand_force))


@pytest.mark.parametrize("gain", ["torque", "heat capacity", "cooling"])
def test_a_larger_rotor_gains(gain: str) -> None:
    found = larger_rotors()
    assert len(found) >= 5
    large, small = (with_rotors(side) for side in zip(*found, strict=True))

    def cooling(table: BrakeTable) -> Array:
        at_speed: Array = solid_rotor_convection(8.0, diameter=table.rotor_diameter)
        return at_speed * (table.track_area + table.rest_area)

    values = {
        "torque": lambda table: table.torque,
        "heat capacity": lambda table: table.heat_capacity,
        "cooling": cooling,
    }[gain]
    assert (values(large) > values(small)).all()


def strong_motor() -> VehicleModel:
    """The two-wheeler with a motor that is always stronger than the ground."""
    vehicle = case_of().vehicle
    drive = vehicle.drive.model_copy(update={"motor_torque": type(vehicle.drive.motor_torque)(400.0)})
    return VehicleModel(vehicle.model_copy(update={"drive": drive}), case_of().catalog)


def rear_changed(**update: Any) -> VehicleAppraisal:
    record = baseline()
    rear = record.rear.model_copy(update=update)
    return appraise_record(strong_motor(), record.model_copy(update={"rear": rear}))


def creep(appraised: VehicleAppraisal) -> float:
    """Torque the rear bead holds over the peak wheel torque."""
    return float(appraised.evaluation.creep_margin("rear")[0])


def test_low_pressure_lets_a_strong_motor_turn_the_tire_and_rim_locks_cure_it_at_a_price_in_mass() -> None:
    pascal = type(baseline().rear.pressure)
    without = [rear_changed(rim_lock=None, rim_locks=0, pressure=pascal(p)) for p in np.arange(60e3, 201e3, 20e3)]
    margins = [creep(appraised) for appraised in without]
    assert margins == sorted(margins)
    assert margins[0] < margins[-1]
    # At the lowest pressure the motor turns the tire; the same package with its two locks holds.
    locked = rear_changed(pressure=pascal(60e3))
    required = next(bound.required for bound in strong_motor().bounds if bound.scope == ("creep_margin", None, "rear"))
    assert margins[0] < required <= creep(locked)
    one = rear_changed(pressure=pascal(60e3), rim_locks=1)
    assert creep(without[0]) < creep(one) < creep(locked)
    assert _rear_mass(locked) > _rear_mass(without[0])
    assert _rear_mass(one) > _rear_mass(without[0])


def _rear_mass(appraised: VehicleAppraisal) -> float:
    return float(appraised.outcome.package_mass["rear"][0])


@pytest.mark.parametrize("pressure", [25e3, 30e3, 35e3])
def test_a_quads_tall_narrow_tires_steer_lighter_than_short_wide_ones(pressure: float) -> None:
    of = tires("quad")
    # A tire with a measured casing stiffness is not alike one with an assumed one.
    stiffness = footings(of, pressure).carcass_pressure
    found = [(i, j) for i, j in pairs(of, taller_and_narrower) if stiffness[i] == stiffness[j]]
    assert len(found) >= 8
    moments = standstill_moments(of, pressure)
    for i, j in found:
        assert moments[i] < moments[j], (of[i].id, of[j].id)


def standstill_moments(of: Sequence[Tire], pressure: float) -> Array:
    """Moment [N m] to turn a standing wheel, at one load and friction so that the shape alone differs."""
    table, load_ = footings(of, pressure), np.full(len(of), QUAD_LOAD)
    area = patch_area(on.firm_deflection(table, load_), width=table.width, diameter=table.diameter)
    moments: Array = standstill_steering_moment(load_, friction=0.7, patch_area=area)
    return moments


def test_carbon_rims_are_lighter_and_dearer_on_average_than_metal_ones_of_the_same_size_and_holes() -> None:
    rims = case_of().catalog.rims
    compared = 0
    for carbon in [rim for rim in rims if rim.material == "carbon"]:
        others = [
            rim for rim in rims if rim.material != "carbon" and (rim.size, rim.holes) == (carbon.size, carbon.holes)
        ]
        if others:
            compared += 1
            assert float(carbon.mass) < float(np.mean([float(rim.mass) for rim in others]))
            prices = [float(rim.prices[0].unit_price) for rim in others]
            assert float(carbon.prices[0].unit_price) > float(np.mean(prices))
    assert compared >= 3
