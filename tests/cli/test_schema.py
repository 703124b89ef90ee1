"""The JSON Schemas: valid, self-contained, and true of the files and results."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from click.testing import Result

from configopt.catalog.records import FAMILIES, Source
from configopt.files.yaml_source import load_yaml
from configopt.scenario.records import Scenario
from configopt.schemas import FILE_NAMES, NAMES, schema
from configopt.schemas.words import DESCRIPTIONS

ROOT = Path(__file__).parents[2]
Run = Callable[..., Result]


@pytest.mark.parametrize("name", NAMES)
def test_each_schema_is_printed_valid_and_self_contained(run: Run, name: str) -> None:
    result = run("schema", name)
    assert result.exit_code == 0
    made = json.loads(result.stdout)
    jsonschema.Draft202012Validator.check_schema(made)
    references = [value for key, value in walk(made) if key == "$ref"]
    assert all(reference.startswith("#/$defs/") for reference in references)
    assert all(reference.removeprefix("#/$defs/") in made["$defs"] for reference in references)


def walk(node: Any) -> list[tuple[str, Any]]:
    if isinstance(node, dict):
        return [pair for key, value in node.items() for pair in ((key, value), *walk(value))]
    return [pair for item in node for pair in walk(item)] if isinstance(node, list) else []


def test_every_command_name_of_a_schema_is_known(run: Run) -> None:
    assert {*FAMILIES, "sources", "scenario"} <= set(FILE_NAMES)
    text = " ".join(run("schema", "--help").stdout.split())
    assert all(name in text for name in NAMES)


@pytest.mark.parametrize("name", [*FAMILIES, "sources"])
def test_the_catalogs_keep_to_the_schema_of_their_family(name: str) -> None:
    data = load_yaml(ROOT / "catalogs" / f"{name}.yaml").data
    jsonschema.validate(data, schema(name))
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({**data, "colour": "green"}, schema(name))
    data["parts"][0]["colour"] = "green"
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(data, schema(name))


@pytest.mark.parametrize("path", sorted((ROOT / "scenarios").glob("*.yaml")), ids=lambda path: path.stem)
def test_the_scenarios_variants_and_decisions_keep_to_their_schema(path: Path) -> None:
    kind = {".variants": "variants", ".decision": "decision"}.get(path.with_suffix("").suffix, "scenario")
    jsonschema.validate(load_yaml(path).data, schema(kind))


def test_the_schemas_of_files_have_the_keys_of_their_records() -> None:
    assert set(schema("scenario")["properties"]) == set(Scenario.model_fields)
    assert set(schema("sources")["$defs"]["part"]["properties"]) == set(Source.model_fields)
    for name, record in FAMILIES.items():
        assert set(schema(name)["$defs"]["part"]["properties"]) == set(record.model_fields)


def test_no_schema_carries_a_name_of_the_program() -> None:
    for name in FILE_NAMES:
        made = schema(name)
        titles = [value for key, value in walk(made) if key == "title" and isinstance(value, str)]
        assert titles == [made["title"]]
        assert all(key == key.lower() for key in made["$defs"])


def test_a_quantity_without_a_unit_breaks_the_schema() -> None:
    data = load_yaml(ROOT / "scenarios" / "upland-wardens.yaml").data
    data["vehicles"][0]["wheelbase"] = 1290
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(data, schema("scenario"))


def test_an_answer_of_choose_keeps_to_its_schema(choice: dict[str, Any], refusal: dict[str, Any]) -> None:
    for payload in (choice, refusal, {**refusal, "status": "unknown", "closest": []}):
        jsonschema.validate(payload, schema("choice"))
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({**choice, "status": "infeasible"}, schema("choice"))
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({**choice, "cautions": []}, schema("choice"))
    del choice["vehicles"][0]["packages"][1]["tire"]
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(choice, schema("choice"))


def test_a_trade_off_without_points_or_with_one_aim_breaks_the_schema(choice: dict[str, Any]) -> None:
    empty = {
        "schema": "configopt/tradeoff/1",
        "scenario": "upland-wardens",
        "status": "infeasible",
        "aims": [{"name": "mass", "unit": "kg", "rate": 1.0}, {"name": "cost", "unit": "EUR", "rate": None}],
        "points": [],
        "counts": {"packages_that_fit": {"front": 0, "rear": 0}, "points": 0, "choices": 0},
        "audit": {"agrees": True, "largest_difference": 0.0, "rounds": 1},
        "remarks": [],
        "cautions": choice["cautions"],
        "made_with": choice["made_with"],
    }
    jsonschema.validate(empty, schema("tradeoff"))
    for wrong in ({"status": "complete"}, {"aims": empty["aims"][:1]}, {"cautions": []}):
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate({**empty, **wrong}, schema("tradeoff"))


SHIPPED = sorted([*(ROOT / "catalogs").glob("*.yaml"), *(ROOT / "scenarios").glob("*.yaml")])


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.name)
def test_the_first_line_of_each_shipped_file_names_the_schema_that_it_keeps_to(path: Path) -> None:
    start = "# yaml-language-server: $schema="
    first = path.read_text().partition("\n")[0]
    assert first.startswith(start)
    named = path.parent / first.removeprefix(start)
    kinds = {".variants.yaml": "variants", ".decision.yaml": "decision"}
    kind = next((kind for ending, kind in kinds.items() if path.name.endswith(ending)), "scenario")
    assert named.name == f"{path.stem if path.parent.name == 'catalogs' else kind}.json"
    # Found without a network, in a fresh clone.
    jsonschema.validate(load_yaml(path).data, json.loads(named.read_text()))


def test_the_schemas_for_editors_are_what_the_command_writes(run: Run, tmp_path: Path) -> None:
    assert run("schema", "--into", tmp_path / "new").exit_code == 0
    written = {path.name: path.read_text() for path in (tmp_path / "new").iterdir()}
    assert set(written) == {f"{name}.json" for name in FILE_NAMES}
    stored = {path.name: path.read_text() for path in (ROOT / ".schemas").iterdir()}
    assert stored == written, "write them anew: configopt schema --into .schemas"


def test_a_schema_is_named_or_a_folder_for_all_and_not_both(run: Run, tmp_path: Path) -> None:
    for arguments in ((), ("tires", "--into", tmp_path), ("--into", tmp_path, "-o", tmp_path / "a.json")):
        assert run("schema", *arguments).exit_code == 2
    assert run("schema", "--into", tmp_path / "not" / "there").exit_code == 2


@pytest.mark.parametrize("name", FILE_NAMES)
def test_every_key_of_a_file_is_described_and_every_figure_has_examples_that_it_accepts(name: str) -> None:
    made = schema(name)
    for group in (made, *made["$defs"].values()):
        for key, form in group.get("properties", {}).items():
            assert form.get("description"), key
            for example in [one for of in (form, *form.get("anyOf", ())) for one in of.get("examples", ())]:
                jsonschema.Draft202012Validator({**form, "$defs": made["$defs"]}).validate(example)
            figures = [one for one in (form, *form.get("anyOf", ())) if "[eE]" in one.get("pattern", "")]
            assert all(one.get("examples") for one in figures), key


def test_no_word_for_editors_is_left_over() -> None:
    used = {
        form["description"]
        for name in FILE_NAMES
        for group in (schema(name), *schema(name)["$defs"].values())
        for form in group.get("properties", {}).values()
    }
    assert set(DESCRIPTIONS.values()) <= used
