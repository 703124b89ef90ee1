"""Records checked against a file: every mistake becomes a finding with its line, in plain words."""

from __future__ import annotations

import json
import re
import types
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from functools import lru_cache
from typing import Annotated, Any, Literal, TypeVar, Union, get_args, get_origin

from pydantic import BaseModel, TypeAdapter, ValidationError
from pydantic_core import ErrorDetails, PydanticCustomError

from configopt.errors import ConfigoptError, Finding, FindingsError
from configopt.files.yaml_source import FINDING_LIMIT, Document, KeyPath

#: What to do where only some findings are shown.
_FIRST = "correct the findings listed before this one first"

Record = TypeVar("Record")
Model = TypeVar("Model", bound=BaseModel)


def problem(
    message: str, fix: str = "", *, at: str | int | Sequence[str | int] = (), rule: str = "VALUE"
) -> PydanticCustomError:
    """Make the error that a record's own check raises when it needs more than a plain ValueError.

    Parameters
    ----------
    message
        What was found and what is allowed.
    fix
        What to do.
    at
        The key (or path of keys) inside the record at which the finding stands.
    rule
        The rule id of the finding.

    Returns
    -------
    PydanticCustomError
        To be raised inside a validator.
    """
    path = [at] if isinstance(at, str | int) else list(at)
    return PydanticCustomError("problem", "{message}", {"message": message, "fix": fix, "at": path, "rule": rule})


def validate(document: Document, model: type[Model], *, at: KeyPath = ()) -> Model:
    """Turn a file (or the part of it at a path) into a record.

    Parameters
    ----------
    document
        The loaded file.
    model
        The record type.
    at
        Path of the part to check; the whole file by default.

    Returns
    -------
    BaseModel
        The record.

    Raises
    ------
    FindingsError
        With every mistake, in file order.
    """
    record, findings = _check(document, model, _part(document, at), at)
    if findings:
        raise FindingsError(findings)
    assert isinstance(record, model)
    return record


def validate_items(document: Document, key: str | KeyPath, record_type: Any) -> list[Any]:
    """Turn the list under a key into records; a mistake in one item does not hide those in others.

    Parameters
    ----------
    document
        The loaded file.
    key
        The key of the list, or its path.
    record_type
        The record type of an item, or a discriminated union of several.

    Returns
    -------
    list
        The records in file order.

    Raises
    ------
    FindingsError
        With every mistake of every item, in file order.
    """
    records, findings = collect_items(document, key, record_type)
    if findings:
        raise FindingsError(findings)
    return list(records.values())


def collect_items(document: Document, key: str | KeyPath, record_type: Any) -> tuple[dict[int, Any], list[Finding]]:
    """As :func:`validate_items`, but hand back the sound items (by their place in the list) beside the findings.

    Parameters
    ----------
    document, key, record_type
        As for :func:`validate_items`.

    Returns
    -------
    tuple
        The sound records by index, and the findings of all others in file order.
    """
    at: KeyPath = (key,) if isinstance(key, str) else key
    items = _part(document, at)
    if items is _ABSENT:
        message = f'the key "{at[-1]}" is missing'
        return {}, [document.finding(at[:-1], "MISSING-KEY", message, f'add "{at[-1]}:" with its list')]
    if not isinstance(items, list):
        return {}, [
            document.finding(at, "TYPE", f"expected a list, found {_shown(items)}", 'start each item with "- "')
        ]
    records: dict[int, Any] = {}
    findings: list[Finding] = []
    unseen: list[int] = []
    for index, item in enumerate(items):
        if len(findings) >= FINDING_LIMIT:
            # Only whether they are sound: to say what is wrong with each of very many takes very long.
            record = _sound(record_type, item)
            if record is None:
                unseen.append(index)
                continue
        else:
            record, wrong = _check(document, record_type, item, (*at, index))
            findings += wrong
            if wrong:
                continue
        records[index] = record
    if unseen:
        entries = f"{len(unseen):,} more {'entry' if len(unseen) == 1 else 'entries'}"
        message = f"{entries} from here on {'is' if len(unseen) == 1 else 'are'} wrong"
        findings.append(document.finding((*at, unseen[0]), "MORE", message, _FIRST))
    return records, sorted(findings)


_ABSENT = object()
_PROBLEM_LIMIT = 5_000  # of one record; beyond it nobody corrects them one by one


def _part(document: Document, at: KeyPath) -> Any:
    data = document.data
    for step in at:
        if not _has(data, step):
            return _ABSENT
        data = data[step]
    return data


def _has(data: Any, step: str | int) -> bool:
    if isinstance(data, dict):
        return step in data
    return isinstance(data, list) and isinstance(step, int) and 0 <= step < len(data)


@lru_cache(maxsize=256)
def _adapter(record_type: Any) -> TypeAdapter[Any]:
    return TypeAdapter(record_type)


def _check(document: Document, record_type: Any, data: Any, at: KeyPath) -> tuple[Any, list[Finding]]:
    if data is _ABSENT:
        message = f'the key "{at[-1]}" is missing'
        return None, [document.finding(at[:-1], "MISSING-KEY", message, f'add "{at[-1]}:"')]
    try:
        return _record(record_type, data), []
    except ValidationError as error:
        if error.error_count() > _PROBLEM_LIMIT:
            message = f"{error.error_count():,} values are wrong here: this is a file of another kind"
            return None, [document.finding(at, "VALUE", message, "name the right file, or begin with a sound one")]
        problems = [
            _place(details, data, record_type) for details in error.errors(include_url=False, include_input=False)
        ]
    # In file order before anything is put into words, which takes the most time of all.
    chosen = sorted(_one_branch(problems), key=lambda placed: document.position((*at, *placed.path)))
    findings = sorted({_finding(document, at, placed) for placed in chosen[:FINDING_LIMIT]})
    if len(chosen) > FINDING_LIMIT:
        message = f"and {len(chosen) - FINDING_LIMIT:,} more from here on"
        path = (*at, *chosen[FINDING_LIMIT].path)
        findings.append(document.finding(path, "MORE", message, _FIRST))
    return None, findings


def _record(record_type: Any, data: Any) -> Any:
    # Strict JSON mode is what fits a file: no number becomes text or the other way round, but a list may become a
    # tuple and a text a date or an enumeration.
    source = json.dumps(data, ensure_ascii=False, allow_nan=False)
    return _adapter(record_type).validate_json(source, strict=True)


def _sound(record_type: Any, data: Any) -> Any:
    """The record, or None where something is wrong with it."""
    try:
        return _record(record_type, data)
    except ValidationError:
        return None


@dataclass(frozen=True, slots=True)
class _Placed:
    """An error with its true path in the data, and the branches of unions (path, label) from which it comes."""

    details: ErrorDetails
    path: KeyPath
    branches: tuple[tuple[KeyPath, str], ...]
    value: Any
    candidates: tuple[Any, ...]
    others: tuple[_Placed, ...] = ()  # what the other branches of a union say of the same value


def _place(details: ErrorDetails, data: Any, record_type: Any) -> _Placed:
    steps = details["loc"]
    path, branches = _resolve(steps, data, details["type"] == "missing") or ((), ())
    value = data
    for step in path:
        if not _has(value, step):
            value = None
            break
        value = value[step]
    return _Placed(details, path, branches, value, _types_at(record_type, steps))


def _resolve(
    steps: Sequence[str | int], data: Any, absent: bool, path: KeyPath = ()
) -> tuple[KeyPath, tuple[tuple[KeyPath, str], ...]] | None:
    """Walk the data along an error's location, leaving out the labels that unions put into it."""
    if not steps:
        return path, ()
    step, rest = steps[0], steps[1:]
    if _has(data, step):
        inner = _resolve(rest, data[step], absent, (*path, step))
        if inner is not None:
            return inner
    if absent and not rest:
        return (*path, step), ()
    skipped = _resolve(rest, data, absent, path) if isinstance(step, str) else None
    return None if skipped is None else (skipped[0], ((path, str(step)), *skipped[1]))


def _one_branch(problems: list[_Placed], level: int = 0) -> list[_Placed]:
    """Of a union's branches keep the one that comes closest to what was written: else each would complain."""
    kept = [placed for placed in problems if len(placed.branches) <= level]
    unions: dict[KeyPath, dict[str, list[_Placed]]] = {}
    for placed in problems:
        if len(placed.branches) > level:
            path, label = placed.branches[level]
            unions.setdefault(path, {}).setdefault(label, []).append(placed)
    for path, labelled in unions.items():
        branches = sorted(
            (_one_branch(branch, level + 1) for branch in labelled.values()), key=lambda branch: _rank(branch, path)
        )
        best = branches[0]
        if len(best) == 1 and best[0].path == path:
            others = tuple(branch[0] for branch in branches[1:] if len(branch) == 1)
            best = [replace(best[0], others=others)]
        kept += best
    return kept


def _rank(branch: list[_Placed], union: KeyPath) -> tuple[bool, bool, int]:
    # A branch that fails at the value itself wanted another kind of value; prefer one that looked inside, then one
    # that says more than "another type", and among those the one with the fewest complaints.
    at_value = all(placed.path == union for placed in branch)
    return at_value, at_value and all(_is_type(placed.details["type"]) for placed in branch), len(branch)


def _is_type(kind: str) -> bool:
    return kind in _EXPECTED


_EXPECTED = {
    "string_type": "text",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "int_parsing": "a whole number",
    "float_type": "a number",
    "float_parsing": "a number",
    "decimal_type": "a number",
    "bool_type": "true or false",
    "bool_parsing": "true or false",
    "list_type": "a list",
    "tuple_type": "a list",
    "set_type": "a list",
    "frozen_set_type": "a list",
    "dict_type": "a group of keys",
    "mapping_type": "a group of keys",
    "model_type": "a group of keys",
    "model_attributes_type": "a group of keys",
    "dataclass_type": "a group of keys",
    "none_required": "nothing",
    "date_type": "a date such as 2025-03-31",
    "date_parsing": "a date such as 2025-03-31",
    "date_from_datetime_parsing": "a date such as 2025-03-31",
    "date_from_datetime_inexact": "a date such as 2025-03-31",
    "datetime_type": "a time such as 2025-03-31T14:30:00Z",
    "datetime_parsing": "a time such as 2025-03-31T14:30:00Z",
    "datetime_from_date_parsing": "a time such as 2025-03-31T14:30:00Z",
}

_RANGES = {
    "greater_than": ("gt", "above {}"),
    "greater_than_equal": ("ge", "at least {}"),
    "less_than": ("lt", "below {}"),
    "less_than_equal": ("le", "at most {}"),
    "multiple_of": ("multiple_of", "a multiple of {}"),
    "string_too_short": ("min_length", "at least {} characters"),
    "string_too_long": ("max_length", "at most {} characters"),
    "too_short": ("min_length", "at least {} items"),
    "too_long": ("max_length", "at most {} items"),
}


def _finding(document: Document, at: KeyPath, placed: _Placed) -> Finding:
    finding = _one_finding(document, at, placed)
    others = [_one_finding(document, at, other) for other in placed.others]
    messages = dict.fromkeys([finding.message, *(other.message for other in others)])
    fixes = dict.fromkeys(one.fix for one in [finding, *others] if one.fix)
    return replace(finding, message="; or: ".join(messages), fix=", or ".join(fixes))


def _one_finding(document: Document, at: KeyPath, placed: _Placed) -> Finding:
    kind = placed.details["type"]
    context: dict[str, Any] = placed.details.get("ctx", {})
    path = (*at, *placed.path)
    if kind == "missing":
        return _missing_key(document, path)
    if kind in {"extra_forbidden", "unexpected_keyword_argument"}:
        return _unknown_key(document, path, placed.candidates)
    if kind in {"literal_error", "enum", "union_tag_invalid", "union_tag_not_found"}:
        return _choice(document, path, placed, context)
    if kind in _EXPECTED:
        return _wrong_type(document, path, placed.value, _EXPECTED[kind])
    if kind in _RANGES:
        name, words = _RANGES[kind]
        found = _length_shown(placed.value) if name.endswith("length") else _shown(placed.value)
        bound = words.format(context[name])
        if name.endswith("length") and context[name] == 1:
            bound = bound.removesuffix("s")
        return document.finding(path, "RANGE", f"found {found}, allowed is {bound}")
    if kind == "string_pattern_mismatch":
        message = f"found {_shown(placed.value)}, allowed is text of the form {context['pattern']}"
        return document.finding(path, "VALUE", message)
    return _own_words(document, path, placed, context)


def _own_words(document: Document, path: KeyPath, placed: _Placed, context: dict[str, Any]) -> Finding:
    """An error that a record or a quantity raised itself, in its own words."""
    kind = placed.details["type"]
    error = context.get("error")
    if isinstance(error, Exception):
        message = str(getattr(error, "message", "") or error) or "the value is not allowed"
        fix = str(getattr(error, "fix", "")) if isinstance(error, ConfigoptError) else ""
        return document.finding(path, "VALUE", message, fix)
    message = str(context.get("message") or placed.details["msg"])
    if "message" not in context:
        message = message.replace("Input should be", "the value should be")
        message = f"{message[:1].lower()}{message[1:]}"
    rule = {"quantity": "QUANTITY", "quantity_range": "RANGE"}.get(kind, str(context.get("rule", "VALUE")))
    return document.finding((*path, *context.get("at", ())), rule, message, str(context.get("fix", "")))


def _missing_key(document: Document, path: KeyPath) -> Finding:
    message, fix = f'the key "{path[-1]}" is missing', f'add "{path[-1]}:"'
    return document.finding(path[:-1], "MISSING-KEY", message, fix, at_key=True)


def _unknown_key(document: Document, path: KeyPath, candidates: Iterable[Any]) -> Finding:
    allowed = sorted({name for model in candidates for name in _keys(model)})
    message = f'the key "{_short(str(path[-1]))}" is not known here'
    close = get_close_matches(str(path[-1])[:100], allowed, n=1)
    fix = f'did you mean "{close[0]}"?' if close else "remove it"
    if allowed:
        message += f"; known: {', '.join(allowed)}"
    return document.finding(path, "UNKNOWN-KEY", message, fix, at_key=True)


def _choice(document: Document, path: KeyPath, placed: _Placed, context: dict[str, Any]) -> Finding:
    value = placed.value
    listed = str(context.get("expected_tags") or context.get("expected") or "")
    if "discriminator" in context:
        key = str(context["discriminator"]).strip("'")
        if placed.details["type"] == "union_tag_not_found":
            if not isinstance(value, dict):
                return _wrong_type(document, path, value, "a group of keys")
            fix = f'add "{key}:" with one of {", ".join(_tags(placed.candidates, key))}'
            return document.finding(path, "MISSING-KEY", f'the key "{key}" is missing', fix, at_key=True)
        value = value.get(key) if isinstance(value, dict) else value
        path = (*path, key)
    choices = re.findall(r"'([^']*)'", listed) or [listed]
    close = get_close_matches(value[:100], choices, n=1) if isinstance(value, str) else []
    fix = f'did you mean "{close[0]}"?' if close else ""
    allowed = f"allowed: {', '.join(choices)}" if len(choices) > 1 else f"allowed is {choices[0]}"
    return document.finding(path, "CHOICE", f"found {_shown(value)}, {allowed}", fix)


def _wrong_type(document: Document, path: KeyPath, value: Any, expected: str) -> Finding:
    fix = ""
    if expected == "text" and isinstance(value, bool | int | float):
        fix = "put it in quotes"
    elif expected == "a list" and not isinstance(value, list):
        fix = 'start each item with "- "'
    elif expected in {"a whole number", "a number"} and isinstance(value, str):
        fix = "write the number alone, without quotes or unit"
    return document.finding(path, "TYPE", f"expected {expected}, found {_shown(value)}", fix)


def _short(text: str) -> str:
    return text if len(text) <= 60 else f"{text[:60]}..."


def _shown(value: Any) -> str:
    """Name a value as its writer would."""
    if value is None:
        return "nothing"
    if isinstance(value, dict):
        return "a group of keys"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, str):
        return f'"{_short(value)}"'
    return json.dumps(value)


def _length_shown(value: Any) -> str:
    if isinstance(value, str):
        return f"{len(value)} character{'' if len(value) == 1 else 's'}"
    return f"{len(value)} item{'' if len(value) == 1 else 's'}" if isinstance(value, list | dict) else _shown(value)


def _types_at(record_type: Any, steps: Sequence[str | int]) -> tuple[Any, ...]:
    """The types that a record allows at an error's location; for an unknown key, those of the record around it."""
    around = candidates = _flat(record_type)
    for step in steps:
        inner = tuple(flat for candidate in candidates for flat in _inside(candidate, step))
        if inner:
            around, candidates = candidates, inner
            continue
        branch = tuple(candidate for candidate in candidates if _is_branch(candidate, str(step)))
        around = candidates = branch or candidates
    return candidates if any(_keys(candidate) for candidate in candidates) else around


def _flat(annotation: Any) -> tuple[Any, ...]:
    """The members of an annotation without Annotated, unions and aliases around them."""
    annotation = getattr(annotation, "__value__", annotation)
    origin = get_origin(annotation)
    if origin is Annotated:
        return _flat(get_args(annotation)[0])
    if origin is Union or origin is types.UnionType:
        return tuple(flat for member in get_args(annotation) for flat in _flat(member))
    return (annotation,)


def _inside(candidate: Any, step: str | int) -> tuple[Any, ...]:
    if isinstance(candidate, type) and issubclass(candidate, BaseModel):
        for name, field in candidate.model_fields.items():
            if step in {name, field.alias, field.validation_alias}:
                return _flat(field.annotation)
        return ()
    origin, arguments = get_origin(candidate), get_args(candidate)
    if isinstance(step, int) and origin in {list, tuple, set, frozenset, Sequence}:
        return _flat(arguments[min(step, len(arguments) - 1)] if arguments[-1] is not Ellipsis else arguments[0])
    if isinstance(step, str) and isinstance(origin, type) and issubclass(origin, dict) and len(arguments) == 2:
        return _flat(arguments[1])
    return ()


def _is_branch(candidate: Any, label: str) -> bool:
    if not (isinstance(candidate, type) and issubclass(candidate, BaseModel)):
        return False
    return candidate.__name__ == label or any(
        label in map(str, get_args(field.annotation))
        for field in candidate.model_fields.values()
        if get_origin(field.annotation) is Literal
    )


def _keys(candidate: Any) -> list[str]:
    if not (isinstance(candidate, type) and issubclass(candidate, BaseModel)):
        return []
    return [field.alias or name for name, field in candidate.model_fields.items()]


def _tags(candidates: Iterable[Any], key: str) -> list[str]:
    tags: list[str] = []
    for candidate in candidates:
        if isinstance(candidate, type) and issubclass(candidate, BaseModel) and key in candidate.model_fields:
            tags += map(str, get_args(candidate.model_fields[key].annotation))
    return tags
