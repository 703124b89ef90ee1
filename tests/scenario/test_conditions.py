"""Conditions of a vehicle: every mistake at its place, and what a vehicle is in them."""

from __future__ import annotations

from pathlib import Path

import pytest

from configopt.appraisal.conditions import condition_names
from configopt.appraisal.vehicle import VehicleModel
from configopt.errors import FindingsError
from configopt.scenario.case import Case, load
from configopt.scenario.conditions import shares

ROOT = Path(__file__).parents[2]
SOUND = """\
    conditions:
      - name: wet
        surfaces:
          meadow-dry: wet-grass
        without_limits:
          - climb_grade
      - name: passenger
        cargo_mass: 85 kg
        cg_from_rear_axle: 535 mm
        cg_height: 660 mm
"""


def written(tmp_path: Path, conditions: str) -> Path:
    """The coast survey with these conditions."""
    text = (ROOT / "scenarios" / "coastal-survey.yaml").read_text(encoding="utf-8")
    text = text.replace("../catalogs", str(ROOT / "catalogs")).replace(
        "    baseline:\n", f"{conditions}    baseline:\n"
    )
    path = tmp_path / "coast.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def sound(tmp_path: Path, conditions: str = SOUND) -> Case:
    """A sound case with conditions."""
    return load(written(tmp_path, conditions))


#: Text in the sound conditions, what stands in its place, the text at which the finding stands, its rule and words.
MISTAKES = {
    "unknown surface": ("wet-grass", "wet-gras", "wet-gras", "REFERENCE", 'there is no surface "wet-gras"'),
    "surface not ridden on": ("meadow-dry:", "mud:", "wet-grass", "REFERENCE", 'has the surface "mud"'),
    "same name": ("name: passenger", "name: wet", "wet\n        cargo", "VALUE", 'two conditions "wet"'),
    "changes nothing": (
        "surfaces:\n          meadow-dry: wet-grass\n        without_limits:\n          - climb_grade",
        "temperature: 14 °C",
        "name: wet",
        "VALUE",
        "changes nothing",
    ),
    "only leaves limits out": (
        "surfaces:\n          meadow-dry: wet-grass\n        ", "", "- climb_grade", "VALUE", "only leaves limits out",
    ),
    "centre of gravity unknown": (
        "        cg_height: 660 mm\n", "", "85 kg", "VALUE", "cg_height is not stated",
    ),
    "outside the wheelbase": ("535 mm", "1535 mm", "1535 mm", "VALUE", "outside the wheelbase"),
    "unknown limit": ("- climb_grade", "- climb_grad", "climb_grad\n", "REFERENCE", "did you mean 'climb_grade'"),
    "limit on what is the same": ("- climb_grade", "- cost", "cost\n", "LIMIT", "the same in every condition"),
    "limit that always holds": ("- climb_grade", "- tire_load", "tire_load", "LIMIT", "must be met in every condition"),
    "limit that nobody asks": ("- climb_grade", "- trail", "trail\n", "LIMIT", "no limit trail is asked"),
    "one share missing": ("name: wet\n", "name: wet\n        share: 0.2\n", "name: passenger", "VALUE", "others do"),
    "another unit": ("cargo_mass: 85 kg", "temperature: 14 g", "14 g", "QUANTITY", "expected a temperature"),
    "unknown key": ("cargo_mass: 85 kg", "tires: 3", "tires", "UNKNOWN-KEY", "tires"),
}  # fmt: skip


@pytest.mark.parametrize("name", MISTAKES)
def test_each_mistake_is_found_at_its_place(tmp_path: Path, name: str) -> None:
    old, new, at, rule, words = MISTAKES[name]
    conditions = SOUND.replace(old, new, 1)
    assert conditions != SOUND
    path = written(tmp_path, conditions)
    text = path.read_text(encoding="utf-8")
    place = text.index(at, text.index("    conditions:"))
    line, column = text[:place].count("\n") + 1, place - text.rfind("\n", 0, place)
    with pytest.raises(FindingsError) as caught:
        load(path)
    found = {(one.line, one.column, one.rule) for one in caught.value.findings if words in one.message + one.fix}
    assert (line, column, rule) in found, [(o.line, o.column, o.rule, o.message) for o in caught.value.findings]
    assert all(one.fix for one in caught.value.findings)


@pytest.mark.parametrize(
    ("over", "parts", "words"),
    [
        ("mean", (None, None), "over_conditions needs all of them"),
        ("mean", (0.7, 0.6), "sum to 1.3"),
        ("{mean_of_worst: 20 %}", (0.7, None), "over_conditions needs all of them"),
        ("worst", (0.7, None), "others do"),
    ],
)
def test_shares_must_be_stated_and_sum_to_one(
    tmp_path: Path, over: str, parts: tuple[float | None, ...], words: str
) -> None:
    conditions = SOUND + f"    over_conditions: {over}\n"
    for name, part in zip(("wet", "passenger"), parts, strict=True):
        if part is not None:
            conditions = conditions.replace(f"name: {name}\n", f"name: {name}\n        share: {part}\n")
    with pytest.raises(FindingsError, match=words):
        load(written(tmp_path, conditions))


@pytest.mark.parametrize(
    ("over", "words"),
    [
        ("best", 'found "best", allowed: worst, mean'),
        ("{mean_of_worst: 0}", "allowed is above 0 and at most 1"),
        ("{mean_of_worst: 120 %}", "allowed is above 0 and at most 1"),
        ("{worst: 0.2}", 'the key "mean_of_worst" is missing'),
    ],
)
def test_other_ways_to_judge_are_refused(tmp_path: Path, over: str, words: str) -> None:
    with pytest.raises(FindingsError, match=words):
        load(written(tmp_path, SOUND + f"    over_conditions: {over}\n"))


def test_a_rule_without_conditions_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FindingsError, match="stated without conditions"):
        load(written(tmp_path, "    over_conditions: worst\n"))


def test_the_rest_of_the_distance_is_ridden_as_stated(tmp_path: Path) -> None:
    conditions = SOUND.replace("name: wet\n", "name: wet\n        share: 20 %\n")
    conditions = conditions.replace("name: passenger\n", "name: passenger\n        share: 0.3\n")
    vehicle = sound(tmp_path, conditions + "    over_conditions: mean\n").vehicle
    assert shares(vehicle) == pytest.approx((0.5, 0.2, 0.3))
    assert condition_names(vehicle) == ("as stated", "wet", "passenger")


def test_a_condition_changes_what_it_states_and_nothing_else(tmp_path: Path) -> None:
    case = sound(tmp_path)
    model = VehicleModel(case.vehicle, case.catalog)
    wet, passenger = model.others
    assert wet.laden_mass == model.laden_mass
    assert passenger.laden_mass == model.laden_mass + 60.0
    assert float(passenger.chassis.cg_from_rear_axle) == pytest.approx(0.535)
    assert [t.surface for t in wet.vehicle.terrains] == ["dry-sand", "lete-sand", "wet-grass"]
    assert [t.surface for t in passenger.vehicle.terrains] == [t.surface for t in case.vehicle.terrains]
    # Limits that it leaves out or that are the same everywhere are not asked again.
    keys = [{bound.limit.key for bound in one.bounds} for one in (model, wet, passenger)]
    assert keys[1] == keys[0] - {"climb_grade", "cost", "unsprung_mass"}
    assert keys[2] == keys[0] - {"cost", "unsprung_mass"}
    assert {bound.condition for bound in wet.bounds} == {"wet"}
    assert {bound.condition for bound in model.bounds} == {None}


def test_springs_do_not_follow_the_load(tmp_path: Path) -> None:
    text = (ROOT / "scenarios" / "coastal-survey.yaml").read_text(encoding="utf-8")
    assert "stiffness: 6.5 kN/m" in text
    path = written(tmp_path, SOUND)
    path.write_text(path.read_text(encoding="utf-8").replace("        stiffness: 6.5 kN/m\n", ""), encoding="utf-8")
    case = load(path)
    assert case.vehicle.front.suspension.stiffness is None
    model = VehicleModel(case.vehicle, case.catalog)
    assert model.others[1].suspension_stiffness("front") == model.suspension_stiffness("front")


def test_a_limit_may_hold_in_one_condition_only(tmp_path: Path) -> None:
    # The grass has a soil only when it is mud.
    conditions = SOUND.replace("wet-grass", "mud").replace("    conditions:", LIMIT + "    conditions:")
    model = VehicleModel((case := sound(tmp_path, conditions)).vehicle, case.catalog)
    places = [(b.limit.key, b.terrain) for b in model.others[0].bounds]
    soft = {surface.id: surface.soil is not None for surface in case.catalog.surfaces}
    assert soft["mud"]
    assert not soft["meadow-dry"]
    assert ("sinkage", "dune-grass") in places
    assert ("sinkage", "dune-grass") not in [(b.limit.key, b.terrain) for b in model.bounds]
    with pytest.raises(FindingsError, match="soft ground"):
        sound(tmp_path, SOUND.replace("    conditions:", LIMIT + "    conditions:"))


LIMIT = """\
      - limit: sinkage
        terrain: dune-grass
        at_most: 90 mm
"""
