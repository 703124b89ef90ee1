"""Rims, spokes, hubs, disc wheels, rotors, calipers, pads and inners: each side of each bound."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest
from laid import SHIPPED, lay

from configopt.catalog.catalog import Catalog, load_catalog
from configopt.fit.layers import rim_class
from configopt.guard import brake_rules, inner_rules, wheel_rules
from configopt.guard.wheel_rules import DEEPEST_SEAT, HOLE_PITCH, circle, section
from configopt.quantities import Figure


@pytest.fixture(scope="module")
def catalog() -> Catalog:
    """The shipped catalogs."""
    return load_catalog(SHIPPED)


def _rules(judge: Any, part: Any, **changes: Any) -> list[str]:
    return [rule.id for rule, *_ in judge(part.model_copy(update=changes))]


@pytest.mark.parametrize(
    ("size", "standard"),
    [
        ("WM 1.60x21", True),
        ("WM 1.65x21", False),
        ("MT 2.15x18", True),
        ("MT 2.20x18", False),
        ("ISO 584x30", True),
        ("ISO 584x30.5", True),
        ("ISO 584x30.7", False),
        ("AT 10x5.5", True),
        ("AT 10x5.25", False),
    ],
)
def test_rim_widths_are_those_of_the_standards(catalog: Catalog, size: str, standard: bool) -> None:
    part = catalog.disc_wheels[0] if size.startswith("AT") else catalog.rims[0]
    assert _rules(wheel_rules._width, part, size=size) == ([] if standard else ["RIM-WIDTH"])


def test_nipple_seats_lie_below_the_bead_seat(catalog: Catalog) -> None:
    for rim in catalog.rims:
        bead = rim_class(rim).bead_diameter
        for seat in (bead, bead - 2 * DEEPEST_SEAT - 0.001):
            assert "RIM-SEAT" in _rules(wheel_rules._rim, rim, effective_diameter=Figure(seat))


def test_a_rim_is_no_stiffer_than_all_its_material_at_the_edge(catalog: Catalog) -> None:
    for rim in catalog.rims[::5]:
        assert not _rules(wheel_rules._rim, rim)
        depth, width = section(rim)
        density, (stretch, shear) = (
            {"aluminium": 2700.0, "carbon": 1600.0}[rim.material],
            wheel_rules.MODULI[rim.material],
        )
        area = rim.mass / (density * math.pi * rim.effective_diameter)
        most = {
            "radial_rigidity": stretch * area * depth**2 / 4,
            "lateral_rigidity": stretch * area * width**2 / 4,
            "torsional_rigidity": shear * area * (depth**2 + width**2) / 4,
        }
        for name, value in most.items():
            assert _rules(wheel_rules._rim, rim, **{name: Figure(1.01 * value)}) == ["RIM-RIGIDITY"]
            assert not _rules(wheel_rules._rim, rim, **{name: Figure(0.99 * value)})


def test_spoke_holes_keep_two_diameters_apart(catalog: Catalog) -> None:
    hub = catalog.hubs[0]
    pitch = math.pi * float(hub.flange_diameter_left or 0) / (int(hub.holes or 0) / 2)
    for factor, wrong in ((1.01, True), (0.99, False)):
        found = _rules(wheel_rules._hub, hub, spoke_hole_diameter=Figure(factor * pitch / HOLE_PITCH))
        assert ("HUB-HOLES" in found) is wrong


def test_circles_lie_around_the_axle(catalog: Catalog) -> None:
    assert circle("6x44") == (6, 0.044)
    studded = next(hub for hub in catalog.hubs if hub.kind == "studded")
    assert _rules(wheel_rules._hub, studded, studs="4x24") == ["HUB-CIRCLE"]
    assert _rules(wheel_rules._hub, catalog.hubs[0], flange_diameter_left=Figure(0.021)) == ["HUB-CIRCLE"]


@pytest.mark.parametrize(
    ("changes", "rule"),
    [
        ({"length_min": 0.32, "ends_length": 0.07}, "SPOKE-LENGTHS"),
        ({"length_step": 0.14}, "SPOKE-LENGTHS"),
        ({"ends_length": 0.181}, "SPOKE-LENGTHS"),
        ({"middle_diameter": 0.0021}, "SPOKE-BUTTING"),
    ],
)
def test_spokes_that_cannot_be_are_found(catalog: Catalog, changes: dict[str, float], rule: str) -> None:
    assert not _rules(wheel_rules._spokes, catalog.spokes[0])
    assert _rules(
        wheel_rules._spokes, catalog.spokes[0], **{name: Figure(value) for name, value in changes.items()}
    ) == [rule]


def test_a_rotor_weighs_between_its_track_half_cut_away_and_a_full_disc(catalog: Catalog) -> None:
    rotor = catalog.rotors[0]  # 180 x 1.8 mm, track 15 mm, steel of 7740 kg/m3
    full = 7740 * math.pi / 4 * 0.18**2 * 0.0018
    track = 7740 * math.pi * 0.165 * 0.015 * 0.0018
    for mass, wrong in ((1.01 * full, True), (0.99 * full, False), (0.51 * track, False), (0.49 * track, True)):
        assert ("ROTOR-MASS" in _rules(brake_rules._rotor, rotor, mass=Figure(mass))) is wrong


def test_rotor_bolts_stay_off_the_track(catalog: Catalog) -> None:
    rotor = catalog.rotors[0]  # bolts on 44 mm with 4 mm of head each side leave 64 mm of track height
    for height, wrong in ((0.0641, True), (0.0639, False)):
        found = _rules(brake_rules._rotor, rotor, track_height=Figure(height), mass=Figure(0.3))
        assert ("ROTOR-TRACK" in found) is wrong


def test_an_inner_has_the_wall_or_density_of_one(catalog: Catalog) -> None:
    for inner in catalog.inners:
        assert not _rules(inner_rules._inner, inner)
        heavy = _rules(inner_rules._inner, inner, mass=Figure(30.0))
        assert heavy == ([] if inner.kind == "tubeless" else ["INNER-MASS"])


@pytest.mark.parametrize(
    ("of", "keys", "words"),
    [
        ("tires", "rim_width_min: 44 mm\nrim_width_max: 45 mm\nmeasuring_rim_width: 44.5 mm", "no rim or disc wheel"),
        ("tires", "width: 63 mm\nsize: 70/100-19", "no inner for bead diameter 483 mm and a tire 63 mm wide"),
        ("rims", "holes: 26", "no hub of 26 holes with spokes of its length"),
        ("spokes", "end_diameter: 5.5 mm", "no rim and hub"),
        ("hubs", "holes: 24", "no rim of 24 holes"),
        ("hubs", "rotor_pattern: 8x44", "no rotor with pattern 8x44"),
        ("hubs:lenmoor-arbor-r25-110", "studs: 5x100", "no disc wheel with studs 5x100"),
        ("disc-wheels", "size: AT 14x8.0", "no tire for bead seat AT 355.6 mm"),
        ("rotors", "pattern: 3x46", "no hub with pattern 3x46"),
        ("calipers", "pad_shape: odd-12", "no pad of shape odd-12"),
        ("pads", "height: 40 mm", "no caliper for shape kite-38 with a track of 40 mm"),
        ("inners", "bead_diameters: [0.34 m]", "no tire of its bead diameters"),
        ("rim-locks", "rim_width_min: 90 mm\nrim_width_max: 95 mm", "no drilled rim of its widths"),
    ],
)
def test_a_part_that_lacks_a_partner_is_an_orphan_and_the_partner_is_named(
    tmp_path: Path, of: str, keys: str, words: str
) -> None:
    laid = lay(tmp_path, of, keys, few=True)
    found = laid.here("ORPHAN")
    assert len(found) == 1
    assert words in found[0].message
    assert found[0].line == laid.lines["id"]
