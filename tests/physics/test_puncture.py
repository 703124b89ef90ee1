"""Penetration, protection levels against hazards, and what is left without air."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from configopt.errors import DomainError
from configopt.physics.puncture import (
    CASING_TOUGHNESS,
    HAZARDS,
    HEAVY_DUTY_FACTOR,
    INNERS,
    LEVELS,
    PLUNGER_DIAMETER,
    PLUNGER_ENERGY,
    TREAD_TOUGHNESS,
    get_home_rank,
    penetration_energy,
    plunger_class,
    protection_level,
    repair_kit_mass,
    required_level,
    sidewall_energy,
    tread_cover,
)

ORDINARY: dict[str, Any] = {
    "casing_thickness": 4.2e-3,
    "lug_depth": 12e-3,
    "land_fraction": 0.45,
    "heavy_duty": False,
    "under_tread": 2e-3,
}
walls = st.fixed_dictionaries(
    {
        "casing_thickness": st.floats(0.0, 8e-3),
        "lug_depth": st.floats(0.0, 25e-3),
        "land_fraction": st.floats(0.0, 1.0),
        "heavy_duty": st.booleans(),
        "under_tread": st.floats(0.0, 4e-3),
    }
)
inners = st.sampled_from([inner.name for inner in INNERS])


def energy(wall: dict[str, Any], **change: Any) -> float:
    return float(penetration_energy(**(wall | change)))


def level(wall: dict[str, Any], inner: object, **change: Any) -> int:
    return int(protection_level(**(wall | change), inner=inner))


def test_an_ordinary_motorcycle_tire_lies_half_way_between_load_ranges_a_and_b() -> None:
    middle = (PLUNGER_ENERGY["A"] * PLUNGER_ENERGY["B"]) ** 0.5
    assert energy(ORDINARY) == pytest.approx(middle, rel=0.02)
    assert int(plunger_class(energy(ORDINARY))) == 1


def test_nothing_stops_the_plunger_where_there_is_no_wall() -> None:
    assert energy(ORDINARY, casing_thickness=0.0, lug_depth=0.0, under_tread=0.0) == 0.0


@given(walls)
def test_the_energy_is_that_of_the_casing_and_that_of_the_rubber(wall: dict[str, Any]) -> None:
    cover = {name: wall[name] for name in ("lug_depth", "land_fraction", "under_tread")}
    rubber = np.pi / 4.0 * PLUNGER_DIAMETER**2 * TREAD_TOUGHNESS * float(tread_cover(**cover))
    casing = float(sidewall_energy(wall["casing_thickness"], heavy_duty=wall["heavy_duty"]))
    assert energy(wall) == pytest.approx(casing + rubber, rel=1e-12, abs=1e-15)


RISING = ("casing_thickness", "lug_depth", "land_fraction", "under_tread")


@given(walls, st.sampled_from(RISING), st.floats(1e-4, 5e-3), inners)
def test_more_of_anything_never_makes_a_tire_weaker(wall: dict[str, Any], name: str, more: float, inner: str) -> None:
    changed = {name: min(wall[name] + more, 1.0)}
    assert energy(wall, **changed) >= energy(wall)
    assert level(wall, inner, **changed) >= level(wall, inner)


@given(walls, inners)
def test_a_heavy_duty_casing_is_tougher_by_its_factor_and_never_lower_in_level(
    wall: dict[str, Any], inner: str
) -> None:
    ordinary, heavy = (float(sidewall_energy(wall["casing_thickness"], heavy_duty=h)) for h in (False, True))
    assert heavy == pytest.approx(HEAVY_DUTY_FACTOR * ordinary, rel=1e-12)
    assert level(wall, inner, heavy_duty=True) >= level(wall, inner, heavy_duty=False)


@given(walls, st.floats(0.1, 5.0))
def test_the_energy_has_the_dimension_of_plunger_area_times_toughness_times_thickness(
    wall: dict[str, Any], unit: float
) -> None:
    scaled = {name: wall[name] * unit for name in ("casing_thickness", "lug_depth", "under_tread")}
    toughness = {"casing_toughness": CASING_TOUGHNESS / unit, "tread_toughness": TREAD_TOUGHNESS / unit}
    assert energy(wall, **scaled, **toughness) == pytest.approx(energy(wall), rel=1e-12, abs=1e-15)


@given(walls)
def test_the_level_counts_the_demands_met_one_after_another(wall: dict[str, Any]) -> None:
    cover = wall["casing_thickness"] + float(
        tread_cover(wall["lug_depth"], land_fraction=wall["land_fraction"], under_tread=wall["under_tread"])
    )
    met = 0
    for hazard in HAZARDS[1:]:
        if cover >= hazard.cover and energy(wall) >= hazard.energy:
            met = hazard.level
        else:
            break
    assert level(wall, "tube") == met
    assert level(wall, "tubeless") == met


@given(walls)
def test_sealant_replaces_thickness_against_thorns_but_not_toughness_against_stones(wall: dict[str, Any]) -> None:
    thin = wall | {"casing_thickness": 1e-3, "lug_depth": 0.0, "under_tread": 0.0}
    assert level(thin, "tube") == 0
    assert level(thin, "sealant") == 1
    assert level(wall, "sealant") >= level(wall, "tubeless")
    if level(wall, "tube") >= 1:
        assert level(wall, "sealant") == level(wall, "tube")


@given(walls)
def test_foam_has_no_air_to_lose_whatever_the_wall(wall: dict[str, Any]) -> None:
    assert level(wall, "foam") == required_level("sharp-rock") == 3


def test_the_levels_of_common_kinds_of_tire_are_in_the_order_of_the_trade() -> None:
    """Light bicycle, ordinary motorcycle, heavy-duty motorcycle casing, all with tubes."""
    levels = protection_level(
        [2.2e-3, 4.2e-3, 5.6e-3],
        lug_depth=[4e-3, 12e-3, 12e-3],
        land_fraction=0.45,
        heavy_duty=[False, False, True],
        inner="tube",
    )
    assert levels.tolist() == [0, 2, 3]


def test_hazards_are_listed_in_the_order_of_what_they_ask_for() -> None:
    assert [h.level for h in HAZARDS] == list(range(len(LEVELS)))
    assert required_level([h.name for h in HAZARDS]).tolist() == [0, 1, 2, 3]
    assert required_level([0, 1, 2, 3]).tolist() == [0, 1, 2, 3]
    for lower, higher in pairwise(HAZARDS):
        assert lower.cover <= higher.cover
        assert lower.energy <= higher.energy


def test_inners_are_listed_in_the_order_of_how_one_gets_home() -> None:
    names = [i.name for i in INNERS]
    assert get_home_rank(names).tolist() == [0, 1, 2, 3]
    assert get_home_rank(np.array([[3, 0]])).tolist() == [[3, 0]]
    masses = repair_kit_mass(names)
    assert np.all(np.diff(masses) <= 0.0)
    assert masses[-1] == 0.0


def test_a_breaking_energy_reaches_a_load_range_exactly_at_its_floor() -> None:
    floors = list(PLUNGER_ENERGY.values())
    assert plunger_class(floors).tolist() == [1, 2, 3]
    assert plunger_class(np.nextafter(floors, 0.0)).tolist() == [0, 1, 2]
    assert int(plunger_class(0.0)) == 0


def test_levels_broadcast_over_tires_and_inners() -> None:
    levels = protection_level(
        np.array([[2e-3], [4e-3]]), lug_depth=8e-3, land_fraction=0.5, heavy_duty=False, inner=[0, 1, 2, 3]
    )
    assert levels.shape == (2, 4)
    assert levels.dtype == np.int64


@pytest.mark.parametrize(
    ("name", "value", "text"),
    [
        ("casing_thickness", [4e-3, -1e-3], r"casing_thickness at index \(1,\) is -0.001 m; allowed is 0 to 0.05 m"),
        ("lug_depth", float("nan"), "lug_depth is nan m; allowed is 0 to 0.2 m"),
        ("land_fraction", 1.1, "land_fraction is 1.1 1; allowed is 0 to 1 1"),
        ("under_tread", 0.1, "under_tread is 0.1 m; allowed is 0 to 0.05 m"),
        ("inner", ["tube", "mousse"], r"inner at index \(1,\) is 'mousse'; allowed are tube, tubeless, sealant, foam"),
        ("inner", 4, "inner is 4 1; allowed is 0 to 3 1"),
        ("inner", 0.5, "distance of inner from a whole number is 0.5 1; allowed is -inf to 0 1"),
    ],
)
def test_an_argument_outside_its_domain_is_named(name: str, value: object, text: str) -> None:
    with pytest.raises(DomainError, match=text):
        protection_level(**(ORDINARY | {"inner": "tube", name: value}))


def test_an_unknown_hazard_and_a_negative_energy_are_named() -> None:
    with pytest.raises(DomainError, match="hazard is 'glass'; allowed are none, thorn, flint, sharp-rock"):
        required_level("glass")
    with pytest.raises(DomainError, match=r"energy at index \(0,\) is -1 J; allowed is 0 to"):
        plunger_class([-1.0, 20.0])
