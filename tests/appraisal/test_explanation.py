"""Explanations: every number of an appraisal has one, with the same value, its model and what it rests on."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from configopt.appraisal.appraise import appraise
from configopt.appraisal.assumptions import MIDDLE, RANGES
from configopt.appraisal.explanation import Explanation, explain_figures
from configopt.appraisal.models import LIMIT_MODELS, MODELS
from configopt.appraisal.one_vehicle import VehicleAppraisal, appraise_record
from configopt.appraisal.report import report
from configopt.appraisal.vehicle import VehicleModel
from configopt.quantities import Figure
from configopt.scenario.case import Case, load
from configopt.schemas import schema

SCENARIOS = Path(__file__).parents[2] / "scenarios"
NAMES = ("upland-wardens", "coastal-survey", "forest-rescue")
EACH = pytest.mark.parametrize("name", NAMES)
ENDS = ("front", "rear")
#: Units at the end of a report's keys, the longest first.
UNITS = (
    "_per_1000_km", "_wh_per_km", "_percent", "_kg_m2", "_kn_m", "_m_s2", "_km_h", "_n_m", "_deg", "_kpa", "_cm2",
    "_mm", "_km", "_kg", "_n", "_g",
)  # fmt: skip
#: Numbers of a report that are no results: what was given, or counted.
GIVEN = {
    "wheels", "pressure_kpa", "rim_locks", "share", "wheelbase_mm", "asked_climb_percent", "asked_deceleration_g",
}  # fmt: skip
#: Figures whose key in the report is not that of the limit.
LIMITS_KEYS = {"tire_lateral_stiffness": "lateral_stiffness"}


@cache
def case_of(name: str) -> Case:
    return load(SCENARIOS / f"{name}.yaml")


def appraised(name: str, **assumed: float) -> VehicleAppraisal:
    """The baseline of a scenario, with assumed figures moved."""
    case = case_of(name)
    assert case.vehicle.baseline is not None
    model = VehicleModel(case.vehicle, case.catalog, assumed=replace(MIDDLE, **assumed))
    return appraise_record(model, case.vehicle.baseline)


@cache
def explained(name: str) -> dict[tuple[str, str | None, str | None], Explanation]:
    return {(one.figure, one.position, one.terrain): one for one in explain_figures(appraised(name))}


@cache
def whole(name: str) -> str:
    """A whole appraisal as JSON text."""
    case = case_of(name)
    assert case.vehicle.baseline is not None
    text = json.dumps(appraise(case, [case.vehicle.baseline]).to_json(), allow_nan=False)
    jsonschema.validate(json.loads(text), schema("appraisal"))
    return text


@cache
def vehicle(name: str) -> dict[str, Any]:
    """The vehicle of a whole appraisal, as JSON has it."""
    found: dict[str, Any] = json.loads(whole(name))["vehicles"][0]
    return found


@EACH
def test_each_figure_is_explained_once_per_place(name: str) -> None:
    assert len(explained(name)) == len(explain_figures(appraised(name)))


@EACH
def test_every_margin_is_explained_with_its_own_value_unit_and_model(name: str) -> None:
    for margin in vehicle(name)["margins"]:
        one = explained(name)[margin["limit"], margin["position"], margin["terrain"]]
        assert (one.value, one.unit) == (margin["value"], margin["unit"])
        assert one.model == LIMIT_MODELS[margin["limit"]]


def results(name: str) -> list[tuple[str, str | None, str | None, float]]:
    """Every number that a report computes: figure, position, terrain, value."""
    own = vehicle(name)
    found = []

    def collect(part: dict[str, Any], position: str | None, terrain: str | None) -> None:
        for key, value in part.items():
            if isinstance(value, int | float) and not isinstance(value, bool) and key not in GIVEN:
                unit = next((unit for unit in UNITS if key.endswith(unit)), "")
                figure = key.removesuffix(unit)
                end = next((end for end in ENDS if figure.endswith(f"_{end}")), None)
                figure = figure.removesuffix(f"_{end}")
                found.append((LIMITS_KEYS.get(figure, figure), end or position, terrain, float(value)))

    collect({key: value for key, value in own.items() if key != "mass_kg"}, None, None)
    found.append(("package_mass", None, None, own["mass_kg"]))
    collect(own["chassis"], None, None)
    for package in own["packages"]:
        collect(package, package["position"], None)
    for part in (own, *own["terrains"]):
        terrain = part["name"] if part is not own else None
        if part is not own:
            collect(part, None, terrain)
        causes = part["energy_by_cause_wh_per_km"]
        collect({"slip_loss" if key == "slip" else key: value for key, value in causes.items()}, None, terrain)
    return found


@EACH
def test_every_number_of_the_report_is_explained_with_the_same_value(name: str) -> None:
    numbers = results(name)
    assert len(numbers) > 100
    for figure, position, terrain, value in numbers:
        one = explained(name).get((figure, position, terrain))
        if one is None:
            # A cause that a terrain does not have needs no words.
            assert value == 0.0, (figure, position, terrain)
            continue
        assert one.value == pytest.approx(value, rel=1e-12), (figure, position, terrain)


@EACH
def test_what_goes_into_a_figure_is_named_once_and_with_a_unit(name: str) -> None:
    for one in explained(name).values():
        names = [row.name for row in one.inputs]
        assert names, one.figure
        assert len(set(names)) == len(names), one
        assert all(row.unit for row in one.inputs), one


@pytest.mark.parametrize("name", [NAMES[0], *(pytest.param(name, marks=pytest.mark.slow) for name in NAMES[1:])])
@pytest.mark.parametrize("field", RANGES)
def test_a_figure_that_an_assumed_figure_moves_names_it(name: str, field: str) -> None:
    for end in (RANGES[field].low, RANGES[field].high):
        for one in explain_figures(appraised(name, **{field: end})):
            before = explained(name)[one.figure, one.position, one.terrain]
            if one.value != pytest.approx(before.value, rel=1e-12, abs=1e-12):
                assert field in one.assumed, (one.figure, one.position, one.terrain)


def test_every_assumed_figure_that_is_named_moves_a_figure_of_its_model() -> None:
    """Over the scenarios together: where a margin is far off, one figure may not move."""
    idle = {(one.model, field) for name in NAMES for one in explained(name).values() for field in one.assumed}
    for name in NAMES:
        for field, span in RANGES.items():
            for end in (span.low, span.high):
                if not any(field == other for _, other in idle):
                    break
                for one in explain_figures(appraised(name, **{field: end})):
                    if one.value != explained(name)[one.figure, one.position, one.terrain].value:
                        idle.discard((one.model, field))
    # No crest is asked for; grip and not the brake decides; no terrain is soft and steep enough to hold back on.
    far = {("chassis_window", "carcass_share"), ("statutory_deceleration", "carcass_share")}
    assert idle == far | {("grade_energy", "rut_factor")}


def test_a_tires_own_readings_leave_nothing_to_assume() -> None:
    case = case_of("upland-wardens")
    assert case.vehicle.baseline is not None
    read = {"carcass_pressure": Figure(20e3), "pressure_exponent": Figure(-0.4)}
    tires = [tire.model_copy(update=read) for tire in case.catalog.tires]
    model = VehicleModel(case.vehicle, replace(case.catalog, tires=tuple(tires)))
    names = {name for one in explain_figures(appraise_record(model, case.vehicle.baseline)) for name in one.assumed}
    assert names.isdisjoint({"carcass_share", "rolling_exponent"})
    assert "envelopment" in names


def test_remarks_stand_beside_the_figures_they_are_about() -> None:
    own = explained("upland-wardens")
    assert "rated at its reference pressure" in own["tire_load", "front", None].remarks
    assert any("pad pressure" in text for text in own["brake_torque", "front", None].remarks)
    assert any("lift" in text or "locks" in text for text in own["brake_torque_reserve", "front", "rock-steps"].remarks)
    assert own["range", None, None].remarks == ()
    sand = explained("coastal-survey")
    assert not any("rated" in text for text in sand["sinkage", "rear", "dunes"].remarks)
    worn = explained("forest-rescue")["running_cost", None, None]
    assert (worn.value == 1e6) == any("no tread life" in text for text in worn.remarks)


def test_only_a_whole_appraisal_explains() -> None:
    """Choices of a search carry many vehicles; their figures are explained by appraising one of them."""
    assert "explanations" not in report(appraised("upland-wardens"))
    assert vehicle("upland-wardens")["explanations"]


@EACH
def test_the_json_carries_what_is_known_about_each_model(name: str) -> None:
    for row in vehicle(name)["explanations"]:
        model = MODELS[row["model"]]
        assert row["formula"] == model.formula
        assert row["sources"] == [cited.text for cited in model.sources]
        assert row["checks"] == list(model.checks)
        for assumed in row["assumed"]:
            span = RANGES[assumed["name"]]
            assert assumed["low"] <= assumed["value"] <= assumed["high"]
            assert (assumed["low"], assumed["high"]) == (span.low, span.high)


def test_an_explanation_without_its_inputs_breaks_the_schema() -> None:
    answer = json.loads(whole("upland-wardens"))
    del answer["vehicles"][0]["explanations"][0]["inputs"]
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(answer, schema("appraisal"))
    del answer["vehicles"][0]["explanations"]
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(answer, schema("appraisal"))
