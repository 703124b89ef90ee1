"""Choice files: both forms give the same records, and every mistake has its place."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from configopt.decisions.choice_file import ChoiceFile, load_choice, records_for
from configopt.errors import FindingsError
from configopt.scenario.case import Case, load

ROOT = Path(__file__).parents[2]

YAML = """\
scenario: upland-wardens
vehicles:
  - name: warden-two-wheeler
    final_drive: drive-10-6
    front:
      tire: heron-moor-80-100-21
      pressure: 90 kPa
      inner: hollin-tube-21
      rim: harrow-21-160-36
      spokes: stavenholt-strand-35-30
      crossings: 3
      hub: stavenholt-kvern-f20-36
      rotor: hythe-disc-220-4x80
      caliper: hythe-clasp-4
      pad: hythe-felt-shield
    rear:
      tire: heron-moor-100-100-18
      pressure: 80 kPa
      inner: hollin-tube-18
      rim_lock: clampwell-latch-215
      rim_locks: 1
      rim: harrow-18-215-36
      spokes: stavenholt-strand-35-30
      crossings: 3
      hub: stavenholt-kvern-r20-36
      rotor: hythe-disc-220-4x80
      caliper: hythe-clasp-4
      pad: hythe-felt-shield
"""

PACKAGE: dict[str, Any] = {
    "position": "front",
    "wheels": 1,
    "tire": "heron-moor-80-100-21",
    "pressure_kpa": 90.0,
    "inner": "hollin-tube-21",
    "rim_lock": None,
    "rim_locks": 0,
    "rim": "harrow-21-160-36",
    "spokes": "stavenholt-strand-35-30",
    "lacing": "3-cross",
    "disc_wheel": None,
    "hub": "stavenholt-kvern-f20-36",
    "rotor": "hythe-disc-220-4x80",
    "caliper": "hythe-clasp-4",
    "pad": "hythe-felt-shield",
    "mass_kg": 8.1,
    "cost": 380.0,
}
REAR: dict[str, Any] = {
    **PACKAGE,
    "position": "rear",
    "tire": "heron-moor-100-100-18",
    "pressure_kpa": 80,
    "inner": "hollin-tube-18",
    "rim_lock": "clampwell-latch-215",
    "rim_locks": 1,
    "rim": "harrow-18-215-36",
    "hub": "stavenholt-kvern-r20-36",
}


def answer(*packages: dict[str, Any], **changes: Any) -> dict[str, Any]:
    vehicle = {
        "name": "warden-two-wheeler",
        "final_drive": "drive-10-6",
        "mass_kg": 16.0,
        "packages": list(packages or (PACKAGE, REAR)),
        **changes,
    }
    return {"schema": "configopt/choice/1", "scenario": "upland-wardens", "status": "optimal", "vehicles": [vehicle]}


def write(folder: Path, content: str | dict[str, Any], name: str | None = None) -> Path:
    text = content if isinstance(content, str) else json.dumps(content, indent=2)
    path = folder / (name or ("choice.yaml" if isinstance(content, str) else "choice.json"))
    path.write_text(text)
    return path


def mistakes(path: Path) -> list[str]:
    with pytest.raises(FindingsError) as caught:
        load_choice(path)
    return [str(finding).removeprefix(f"{path}:") for finding in caught.value.findings]


@pytest.fixture(scope="module")
def case() -> Case:
    return load(ROOT / "scenarios" / "upland-wardens.yaml")


def test_both_forms_give_the_same_records(tmp_path: Path) -> None:
    from_yaml = load_choice(write(tmp_path, YAML))
    from_json = load_choice(write(tmp_path, answer()))
    assert from_yaml.vehicles == from_json.vehicles
    assert from_yaml.names == ("warden-two-wheeler",)
    assert from_yaml.scenario == from_json.scenario == "upland-wardens"


def test_a_pressure_goes_through_json_without_rounding(tmp_path: Path) -> None:
    choice = load_choice(write(tmp_path, answer({**PACKAGE, "pressure_kpa": 72.5}, REAR)))
    assert float(choice.vehicles[0].front.pressure) == 72500.0
    assert float(choice.vehicles[0].rear.pressure) == 80000.0


def test_json_in_any_layout_is_read(tmp_path: Path) -> None:
    compact = write(tmp_path, json.dumps(answer(), separators=(",", ":")), "a.json")
    spaced = write(tmp_path, "\n\n  " + json.dumps(answer(), indent="\t"), "b.json")
    assert load_choice(compact).vehicles == load_choice(spaced).vehicles


def test_an_appraisal_can_be_read_back_too(tmp_path: Path) -> None:
    path = write(tmp_path, {**answer(), "schema": "configopt/appraisal/1"})
    assert len(load_choice(path).vehicles) == 1


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ("pressure: 90 kPa", "pressure: 90", "7:17: QUANTITY error: 90 has no unit, expected a pressure"),
        ("      inner: hollin-tube-21\n", "", '5:5: MISSING-KEY error: the key "inner" is missing'),
        ("crossings: 3", "crossings: 3\n      color: red", '12:7: UNKNOWN-KEY error: the key "color" is not known'),
        ("final_drive: drive-10-6", "final_drive: Drive", '4:18: VALUE error: found "Drive"'),
        ("rim_locks: 1", "rim_locks: 0", "17:7: VALUE error: rim_lock and rim_locks belong together"),
        ("scenario: upland-wardens", "schema: 1", '1:1: UNKNOWN-KEY error: the key "schema" is not known'),
        ("    rear:\n", "    front:\n", '16:5: YAML-DUPLICATE error: the key "front" is here twice, first in line 5'),
    ],
)
def test_each_mistake_in_yaml_has_its_place(tmp_path: Path, old: str, new: str, expected: str) -> None:
    assert old in YAML
    found = mistakes(write(tmp_path, YAML.replace(old, new, 1)))
    assert found[0].startswith(expected)


def place(text: str, snippet: str) -> str:
    before = text[: text.index(snippet)]
    return f"{before.count(chr(10)) + 1}:{len(before) - before.rfind(chr(10))}"


@pytest.mark.parametrize(
    ("change", "at", "expected"),
    [
        ({"tire": "Heron Moor"}, '"Heron Moor"', 'VALUE error: found "Heron Moor"'),
        ({"tire": 7}, "7,\n", "TYPE error: expected text, found 7"),
        ({"pressure_kpa": "90 kPa"}, '"90 kPa"', "TYPE error: expected a number of kPa"),
        ({"pressure_kpa": -5}, "-5", 'RANGE error: found "-5 kPa"'),
        ({"lacing": "woven"}, '"woven"', "VALUE error: expected a lacing such as 3-cross or radial"),
        ({"rim_locks": 3}, "3,\n", "RANGE error: found 3, allowed is at most 2"),
        ({"position": "middle"}, '"middle"', "CHOICE error: expected one package with position front"),
        ({"position": "rear"}, "", "CHOICE error: expected one package with position front and one"),
    ],
)
def test_each_mistake_in_json_has_its_place(tmp_path: Path, change: dict[str, Any], at: str, expected: str) -> None:
    path = write(tmp_path, answer({**PACKAGE, **change}, REAR))
    found = mistakes(path)
    assert any(line.split(" ", 1)[1].startswith(expected) for line in found)
    if at:
        assert any(line.startswith(f"{place(path.read_text(), at)}: ") for line in found)


def test_a_missing_package_is_found(tmp_path: Path) -> None:
    assert any('the key "rear" is missing' in line for line in mistakes(write(tmp_path, answer(PACKAGE))))


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ('{"schema": "configopt/choice/1",}', "1:33: JSON-SYNTAX error: not readable as JSON"),
        ('{"schema": "configopt/choice/1",\n "vehicles": [NaN]}', "0:0: JSON-SYNTAX error: NaN is not finite"),
        ('{"schema": 1, "schema": 2}', '0:0: JSON-SYNTAX error: the key "schema" is here twice'),
        ("[" * 100 + "]" * 100, "0:0: JSON-SYNTAX error: values nest at most 30 deep"),
        ("[" * 100_000, "0:0: JSON-SYNTAX error: values nest at most 30 deep"),
        ('{"a": ' + "9" * 5000 + "}", "0:0: JSON-SYNTAX error: a number has too many digits"),
        ("[]", "1:1: CHOICE error: found schema none"),
        ('{"schema": "configopt/parts/1"}', '1:12: CHOICE error: found schema "configopt/parts/1"'),
    ],
)
def test_what_is_no_choice_is_refused(tmp_path: Path, text: str, expected: str) -> None:
    assert mistakes(write(tmp_path, text, "a.json"))[0].startswith(expected)


def test_an_answer_without_a_choice_says_so(tmp_path: Path) -> None:
    path = write(tmp_path, {**answer(), "status": "infeasible", "vehicles": []})
    assert "the file holds no packages: its status is infeasible" in mistakes(path)[0]


def test_bytes_that_are_no_text_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "a.json"
    path.write_bytes(b'{"schema": "\xff"}')
    assert "is not UTF-8" in mistakes(path)[0]


def test_the_records_come_in_the_order_of_the_scenario(tmp_path: Path, case: Case) -> None:
    records = records_for(load_choice(write(tmp_path, YAML)), case)
    assert [record.final_drive for record in records] == ["drive-10-6"]


def refused(choice: ChoiceFile, case: Case) -> list[str]:
    with pytest.raises(FindingsError) as caught:
        records_for(choice, case)
    return [str(finding).removeprefix(f"{choice.path}:") for finding in caught.value.findings]


def test_parts_drives_and_vehicles_that_are_not_there_have_their_place(tmp_path: Path, case: Case) -> None:
    text = YAML.replace("heron-moor-80-100-21", "gone-tire").replace("drive-10-6", "drive-1")
    assert refused(load_choice(write(tmp_path, text)), case) == [
        '4:18: REFERENCE error: there is no final drive "drive-1" (one of '
        f"{', '.join(drive.id for drive in case.vehicle.drive.final_drives)})",
        '6:13: REFERENCE error: there is no "gone-tire" in tires (see configopt parts tires)',
    ]
    text = YAML.replace("warden-two-wheeler", "warden-two-wheler")
    assert [line.split(" (")[0] for line in refused(load_choice(write(tmp_path, text)), case)] == [
        "3:3: MISSING-KEY error: no packages for warden-two-wheeler",
        '3:11: REFERENCE error: the scenario has no vehicle "warden-two-wheler"; it has warden-two-wheeler',
    ]


def test_parts_that_are_not_there_have_their_place_in_json_too(tmp_path: Path, case: Case) -> None:
    path = write(tmp_path, answer(PACKAGE, {**REAR, "hub": "gone-hub"}))
    expected = f'{place(path.read_text(), chr(34) + "gone-hub")}: REFERENCE error: there is no "gone-hub" in hubs'
    assert refused(load_choice(path), case)[0].startswith(expected)


def test_a_vehicle_named_twice_is_refused(tmp_path: Path) -> None:
    again = YAML.split("vehicles:\n")[1]
    assert 'the vehicle "warden-two-wheeler" is here twice' in mistakes(write(tmp_path, YAML + again))[0]


def test_one_vehicle_of_a_family_file_is_picked_by_its_name(tmp_path: Path) -> None:
    case = load(ROOT / "scenarios" / "upland-wardens.yaml")
    both = answer()
    both["vehicles"].insert(0, {**both["vehicles"][0], "name": "porter-two-wheeler", "final_drive": "no-such-drive"})
    choice = load_choice(write(tmp_path, both))
    with pytest.raises(FindingsError, match="porter-two-wheeler"):
        records_for(choice, case)
    (record,) = records_for(choice, case, "warden-two-wheeler")
    assert record.final_drive == "drive-10-6"
    # A file of other vehicles only still says what is missing.
    del both["vehicles"][1]
    with pytest.raises(FindingsError, match="no packages for warden-two-wheeler"):
        records_for(load_choice(write(tmp_path, both)), case, "warden-two-wheeler")
