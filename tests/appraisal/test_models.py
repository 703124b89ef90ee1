"""The table of models: complete, cited, checked by tests that exist, and honest about what it assumes."""

from __future__ import annotations

import importlib
import inspect
import re
from pathlib import Path
from typing import Any

import pytest

from configopt.appraisal.assumptions import RANGES
from configopt.appraisal.models import LIMIT_MODELS, MODELS, Model
from configopt.references import REFERENCES
from configopt.scenario.limits import LIMITS

PUBLISHED = Path(__file__).parents[1] / "published"
EACH = pytest.mark.parametrize("model", MODELS.values(), ids=MODELS)


def function(name: str) -> Any:
    """What a model names as its code: module and function below the package, or a method of a class in a module."""
    parts = ["configopt", *name.split(".")]
    for end in range(len(parts), 0, -1):
        try:
            found: Any = importlib.import_module(".".join(parts[:end]))
        except ModuleNotFoundError:
            continue
        for part in parts[end:]:
            found = getattr(found, part)
        return found
    raise AssertionError(name)


def covers(text: str, name: str) -> bool:
    """Whether a test imports the module that a model names, or uses its very function."""
    *rooms, module, own = name.split(".")
    whole = ".".join(["configopt", *rooms, module])
    beside = rf"from configopt\.physics import .*\b{module}\b"
    return bool(
        re.search(rf"\b{re.escape(whole)}\b", text) or re.search(beside, text) or re.search(rf"\b{own}\b", text)
    )


def test_every_limit_has_a_model_and_no_other_name_has_one() -> None:
    assert set(LIMIT_MODELS) == set(LIMITS)
    assert set(LIMIT_MODELS.values()) <= set(MODELS)


def test_every_assumed_figure_is_behind_some_model() -> None:
    assert {name for model in MODELS.values() for name in model.assumed} == set(RANGES)


@EACH
def test_a_model_says_what_it_gives_how_and_how_far_it_holds(model: Model) -> None:
    assert model.quantity
    assert model.formula
    assert model.validity
    assert all("\n" not in text for text in (model.quantity, model.formula, model.validity, model.estimates))
    assert re.fullmatch(r"[a-z][a-z_]*", model.key)


@EACH
def test_a_model_cites_works_of_the_bibliography_and_where_in_them(model: Model) -> None:
    assert model.sources
    for cited in model.sources:
        assert cited.key is None or cited.key in REFERENCES
        assert cited.where.endswith("."), cited
        assert cited.text.endswith(cited.where)


@EACH
def test_a_model_names_code_that_exists(model: Model) -> None:
    assert model.functions
    for name in model.functions:
        assert function(name) is not None


@EACH
def test_the_checks_of_a_model_exist_and_test_its_code_or_the_catalog_figures_it_takes(model: Model) -> None:
    for check in model.checks:
        path = PUBLISHED / f"{check}.py"
        assert path.is_file(), check
        text = path.read_text(encoding="utf-8")
        tested = [name for name in model.functions if covers(text, name)]
        assert tested or "catalogs" in text, (check, model.functions)


@EACH
def test_whatever_is_assumed_or_estimated_in_the_code_is_named(model: Model) -> None:
    if model.assumed:
        assert model.estimates, "assumed figures without a word on them"
    for name in model.functions:
        text = inspect.getdoc(function(name)) or ""
        if name.startswith("physics.") and "estimate" in text:
            assert model.estimates, name


@EACH
def test_a_model_from_memory_says_so_where_its_code_does(model: Model) -> None:
    """Where the only source of a function was recalled, the model does not pretend otherwise."""
    physics = [inspect.getdoc(function(name)) or "" for name in model.functions if name.startswith("physics.")]
    recalled = [text for text in physics if "References" in text and text.count("from memory") and len(physics) == 1]
    if recalled:
        assert any("from memory" in cited.where for cited in model.sources)


def test_every_published_test_of_a_wheel_or_vehicle_figure_stands_beside_a_model_or_is_a_second_opinion() -> None:
    """What is checked but stands beside no model: units, sizes, and models that nothing here reports."""
    named = {check for model in MODELS.values() for check in model.checks}
    assert named <= {path.stem for path in PUBLISHED.glob("test_*.py")}
    assert len(named) >= 40
