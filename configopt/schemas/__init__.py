"""JSON Schemas: of the files that people write, made from their records, and of the results, written by hand."""

from __future__ import annotations

import json
import re
from importlib.resources import files
from typing import Any

from configopt.schemas.words import described

#: Files that people write, by the name their schema goes by.
FILE_NAMES = (
    "scenario", "variants", "choice-file", "decision", "sources", "tires", "inners", "rim-locks", "rims", "spokes",
    "hubs", "disc-wheels", "rotors", "calipers", "pads", "surfaces", "mapping", "corrections",
)  # fmt: skip
#: Results that commands write.
RESULT_NAMES = (
    "choice", "tradeoff", "shortlist", "explanation", "whatif", "appraisal", "comparison", "parts", "families", "fits",
    "findings", "terrain", "chassis", "trials", "learning",
)  # fmt: skip
NAMES = (*FILE_NAMES, *RESULT_NAMES)
_DRAFT = "https://json-schema.org/draft/2020-12/schema"


def schema(name: str) -> dict[str, Any]:
    """One JSON Schema.

    Parameters
    ----------
    name
        One of :data:`NAMES`.

    Returns
    -------
    dict
        The schema (draft 2020-12), self-contained.

    Raises
    ------
    KeyError
        If there is no such schema.
    """
    if name in RESULT_NAMES:
        return result_schema(name)
    if name == "scenario":
        from configopt.scenario.records import Scenario

        return _of_record(_generated(Scenario), "a scenario")
    if name == "variants":
        from configopt.scenario.variants import VariantsFile

        return _of_record(_generated(VariantsFile), "variants of a scenario")
    if name == "choice-file":
        from configopt.decisions.records import ChoiceFileRecord

        return _of_record(_generated(ChoiceFileRecord), "a choice file")
    if name == "decision":
        from configopt.decisions.records import DecisionRecord

        return _of_record(_generated(DecisionRecord), "a recorded decision")
    if name == "corrections":
        from configopt.catalog.corrections import CorrectionsFile

        return _of_record(_generated(CorrectionsFile), "corrections learned from tests")
    if name == "mapping":
        from configopt.exchange.mapping import Mapping

        return _of_record(_generated(Mapping), "a mapping file")
    return _family_schema(name)


def result_schema(name: str) -> dict[str, Any]:
    """A schema written by hand; definitions it takes from another result are copied into it."""
    loaded: dict[str, Any] = json.loads((files(__name__) / f"{name}.json").read_text(encoding="utf-8"))
    borrowed = set(re.findall(r'"(\w+)\.json#', json.dumps(loaded)))
    for other in sorted(borrowed):
        definitions = result_schema(other)["$defs"]
        loaded = json.loads(json.dumps(loaded).replace(f"{other}.json#", "#"))
        loaded["$defs"] = {**definitions, **loaded.get("$defs", {})}
    return loaded


def _family_schema(name: str) -> dict[str, Any]:
    from configopt.catalog.records import FAMILIES, Source

    records: dict[str, Any] = {**FAMILIES, "sources": Source}
    part = _generated(records[name])
    definitions = part.pop("$defs", {})
    properties: dict[str, Any] = {
        "family": {"const": name},
        "parts": {"type": "array", "minItems": 1, "items": {"$ref": "#/$defs/part"}},
    }
    priced = name not in ("sources", "surfaces")
    if priced:
        properties["currency"] = {"type": "string", "pattern": "^[A-Z]{3}$", "description": "Of all prices."}
    whole = {
        "type": "object",
        "additionalProperties": False,
        "required": ["family", *(["currency"] if priced else []), "parts"],
        "properties": properties,
        "$defs": {**definitions, "part": part},
    }
    return _of_record(whole, f"the catalog file {name}.yaml")


def _generated(record: Any) -> dict[str, Any]:
    from pydantic.json_schema import GenerateJsonSchema, JsonSchemaWarningKind

    class Generator(GenerateJsonSchema):
        # A default figure is SI, which no file may hold as a bare number: editors do without it.
        def emit_warning(self, kind: JsonSchemaWarningKind, detail: str) -> None:
            if kind != "non-serializable-default":
                super().emit_warning(kind, detail)

    made: dict[str, Any] = record.model_json_schema(schema_generator=Generator)
    return made


def _of_record(made: dict[str, Any], title: str) -> dict[str, Any]:
    """A schema made from records, in the words of the files: no names from the program in it."""
    text = json.dumps(made)
    for old in made.get("$defs", {}):
        text = text.replace(f'"#/$defs/{old}"', f'"#/$defs/{_dashed(old)}"')
    renamed = json.loads(text)
    definitions = {_dashed(old): value for old, value in renamed.pop("$defs", {}).items()}
    bare = _without_titles({**renamed, "$defs": definitions})
    return described({"$schema": _DRAFT, "title": f"configopt: {title}", **bare})


def _dashed(name: str) -> str:
    return re.sub(r"(?<=[a-z])(?=[A-Z])", "-", name).lower()


def _without_titles(node: Any, *, named: bool = False) -> Any:
    """Drop generated titles; a property called title (``named``) stays."""
    if isinstance(node, dict):
        return {
            key: _without_titles(value, named=key in ("properties", "$defs"))
            for key, value in node.items()
            if named or key != "title" or not isinstance(value, str)
        }
    return [_without_titles(item) for item in node] if isinstance(node, list) else node
