"""What went into the spoked wheel as a structure: tension, stiffness, first slack spoke, stress."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from configopt.appraisal.explain_wheel import disc_remarks, spoked_ends
from configopt.appraisal.explained import Input, Place, Reading, Rule, at, given
from configopt.physics.spoke_strength import ENDURANCE_SHARE


def _tensions(reading: Reading, place: Place) -> tuple[float, float]:
    """Tension of the left and right spokes [N]; the flange nearer to the rim's plane has the tighter ones."""
    table, wheel = reading.wheel(at(place)), reading.appraised.packages[at(place)].wheel
    high, low = float(table.tension_high[0]), float(table.tension_low[0])
    left = wheel.length_left / float(wheel.hub.flange_offset_left or 1.0)
    right = wheel.length_right / float(wheel.hub.flange_offset_right or 1.0)
    return (low, high) if left < right else (high, low)


def _built(reading: Reading, place: Place) -> list[Input]:
    """The wheel from rim to hub, with the tension of its spokes."""
    wheel = reading.appraised.packages[at(place)].wheel
    rim, spokes, hub = wheel.rim, wheel.spokes, wheel.hub
    if rim is None or spokes is None:
        return []
    left, right = _tensions(reading, place)
    return [
        given("diameter of the nipple seats", rim.effective_diameter, "mm"),
        given("radial rigidity of the rim", rim.radial_rigidity, "N m2"),
        given("lateral rigidity of the rim", rim.lateral_rigidity, "N m2"),
        given("torsional rigidity of the rim", rim.torsional_rigidity, "N m2"),
        given("spokes on one side", rim.holes // 2, "pieces"),
        given("crossings", wheel.crossings or 0, "pieces"),
        given("diameter of the spokes at their ends", spokes.end_diameter, "mm"),
        given("diameter of the spokes between", spokes.middle_diameter, "mm"),
        given("length of both ends together", spokes.ends_length, "mm"),
        given("spoke length left", wheel.length_left, "mm"),
        given("spoke length right", wheel.length_right, "mm"),
        given("flange offset left", hub.flange_offset_left, "mm"),
        given("flange offset right", hub.flange_offset_right, "mm"),
        given("flange diameter left", hub.flange_diameter_left, "mm"),
        given("flange diameter right", hub.flange_diameter_right, "mm"),
        given("tension of a left spoke", left, "N"),
        given("tension of a right spoke", right, "N"),
    ]


def _torque(reading: Reading, place: Place) -> Iterable[Input]:
    """One flange carries the torque, the left one beside the rotor, unless the hub drives both."""
    wheel = reading.appraised.packages[at(place)].wheel
    if wheel.hub.driven_flanges == 2:
        return _built(reading, place)
    of_left = ("nipple seats", "spokes on one side", "crossings", "flange offset left", "flange diameter left")
    named = (*of_left, "tension of a left spoke")
    return [row for row in _built(reading, place) if row.name.endswith(named)]


def _tight(reading: Reading, place: Place) -> Iterable[Input]:
    rim, table = reading.appraised.packages[at(place)].wheel.rim, reading.wheel(at(place))
    assert rim is not None
    permitted = float(rim.maximum_spoke_tension)
    folding = table.buckling_reserve * table.tension_high / permitted
    return [
        given("tension that the rim permits", permitted, "N"),
        given("tension at which the rim folds over the permitted one", folding),
    ]


def _slack(reading: Reading, place: Place) -> Iterable[Input]:
    table = reading.wheel(at(place))
    return [
        given("tension of the tighter spokes", table.tension_high, "N"),
        given("tension ratio", table.tension_low / table.tension_high),
    ]


def _reserve(reading: Reading, place: Place) -> Iterable[Input]:
    position = at(place)
    table = reading.wheel(position)
    return [
        given("load of the first slack spoke", table.slack_load, "N"),
        given("wheel load", reading.load(position), "N"),
        given("torque of the first slack spoke", table.slack_torque, "N m"),
        given("peak wheel torque", reading.evaluation.peak_torque(position), "N m"),
    ]


def _stress(reading: Reading, place: Place) -> Iterable[Input]:
    position = at(place)
    table = reading.wheel(position)
    return [
        given("tension of the tighter spokes", table.tension_high, "N"),
        given("tension lost over the wheel load", table.load_share),
        given("wheel load", reading.load(position), "N"),
        given("thinnest section of a spoke", table.spoke_section, "mm2"),
        given("tensile strength", table.tensile_strength, "MPa"),
        given("endurance over tensile strength", ENDURANCE_SHARE),
    ]


def _column(name: str) -> Callable[[Reading, Place], Any]:
    return lambda reading, place: getattr(reading.wheel(at(place)), name)


SPOKE_RULES: tuple[Rule, ...] = (
    Rule("spoke_tension_tight", _tight, spoked_ends, "build_tension", _column("tension_high"), "N"),
    Rule("spoke_tension_slack", _slack, spoked_ends, "build_tension", _column("tension_low"), "N"),
    Rule("rim_folding_reserve", _built, spoked_ends, "rim_folding", _column("buckling_reserve"), "1"),
    Rule("wheel_lateral_stiffness", _built, spoked_ends, remarks=disc_remarks),
    Rule("wheel_radial_stiffness", _built, spoked_ends, "wheel_stiffness", _column("radial_stiffness"), "kN/m"),
    Rule("first_slack_load", _built, spoked_ends, "first_slack_spoke", _column("slack_load"), "N"),
    Rule("first_slack_side_load", _built, spoked_ends, "first_slack_spoke", _column("slack_side_load"), "N"),
    Rule("first_slack_torque", _torque, spoked_ends, "first_slack_spoke", _column("slack_torque"), "N m"),
    Rule("spoke_reserve", _reserve, spoked_ends, remarks=disc_remarks),
    Rule("spoke_stress_reserve", _stress, spoked_ends, remarks=disc_remarks),
)
