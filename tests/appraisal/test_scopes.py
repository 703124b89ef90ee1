"""A stated limit either holds somewhere on the vehicle, or the scenario is refused: nothing is dropped in silence."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from configopt.appraisal.chassis_report import chassis_report
from configopt.appraisal.one_vehicle import VehicleAppraisal, appraise_baseline
from configopt.appraisal.vehicle import Bound, VehicleModel
from configopt.files.yaml_source import parse_yaml
from configopt.scenario.case import Case, load
from configopt.scenario.limit_findings import limit_findings
from configopt.scenario.limits import LIMITS, Limit
from configopt.scenario.records import LimitRecord, Vehicle

SCENARIOS = Path(__file__).parents[2] / "scenarios"
NAMES = ("coastal-survey", "forest-rescue", "upland-wardens")
VARIANTS = ("as it is", "no descents", "neither descents nor stops", "no obstacles", "firm", "soft", "rigid front")


@cache
def case_of(name: str) -> Case:
    return load(SCENARIOS / f"{name}.yaml")


def variant_of(name: str, variant: str) -> Vehicle:
    """A shipped vehicle without some of what limits need."""
    case = case_of(name)
    vehicle = case.vehicle
    soft = {surface.id for surface in case.catalog.surfaces if surface.soil is not None}
    smooth = next(surface.id for surface in case.catalog.surfaces if surface.roughness_class is None)
    changes: dict[str, dict[str, Any]] = {
        "as it is": {},
        "no descents": {"descents": []},
        "neither descents nor stops": {"descents": [], "stops": None, "category": "L1"},
        "no obstacles": {"terrains": [t.model_copy(update={"obstacles": []}) for t in vehicle.terrains]},
        "firm": {"terrains": [t.model_copy(update={"surface": smooth}) for t in vehicle.terrains]},
        "soft": {"terrains": [t.model_copy(update={"surface": min(soft)}) for t in vehicle.terrains]},
        "rigid front": {
            "front": vehicle.front.model_copy(
                update={"suspension": vehicle.front.suspension.model_copy(update={"rigid": True})}
            )
        },
    }
    return vehicle.model_copy(update=changes[variant])


def bound_of(limit: Limit) -> LimitRecord:
    """A limit at the middle of its range, nowhere in particular."""
    number = f"{sum(limit.allowed) / 2:.10g}"
    text = number if limit.unit in ("1", "currency", "g") else f"{number} {limit.unit}"
    return LimitRecord.model_validate({"limit": limit.key, limit.bound: text})


def stated(vehicle: Vehicle, record: LimitRecord, case: Case) -> list[Bound]:
    """Where one limit, stated alone, holds."""
    model = VehicleModel(vehicle.model_copy(update={"limits": [record]}), case.catalog)
    return [bound for bound in model.bounds if bound.stated]


@pytest.mark.parametrize("variant", VARIANTS)
@pytest.mark.parametrize("name", NAMES)
def test_a_limit_is_refused_exactly_where_it_holds_at_no_place(name: str, variant: str) -> None:
    case, vehicle = case_of(name), variant_of(name, variant)
    surfaces = {surface.id: surface for surface in case.catalog.surfaces}
    document = parse_yaml("vehicles: []\n", "case.yaml")
    places = [terrain.name for terrain in vehicle.terrains] + [descent.name for descent in vehicle.descents]
    # The middle of its range lies above the default of the most, which is another mistake.
    for limit in (limit for key, limit in LIMITS.items() if key != "least_relative_deflection"):
        for terrain in (None, *places) if "terrain" in limit.scopes else (None,):
            for position in (None, "front", "rear") if "position" in limit.scopes else (None,):
                record = bound_of(limit).model_copy(update={"terrain": terrain, "position": position})
                alone = vehicle.model_copy(update={"limits": [record]})
                found = limit_findings(document, ("vehicles", 0), alone, surfaces)
                bounds = stated(vehicle, record, case)
                # A limit without a position means both ends, and each must hold it.
                meant = {"front", "rear"} if position is None and "position" in limit.scopes else {position}
                held = {bound.position for bound in bounds} == meant
                assert held == (not found), (limit.key, terrain, position, found)
                assert all(terrain in (None, bound.terrain) for bound in bounds)


@pytest.mark.parametrize("order", [1, -1])
def test_the_limit_that_names_its_place_holds_in_whatever_order(order: int) -> None:
    case = case_of("upland-wardens")
    texts = [{"at_most": "90 kPa"}, {"terrain": "peat-path", "at_most": "70 kPa", "position": "front"}][::order]
    records = [LimitRecord.model_validate({"limit": "ground_pressure", **text}) for text in texts]
    model = VehicleModel(case.vehicle.model_copy(update={"limits": records}), case.catalog)
    required = {b.scope[1:]: b.required for b in model.bounds if b.limit.key == "ground_pressure"}
    assert required["peat-path", "front"] == 70e3
    assert required["peat-path", "rear"] == 90e3


HARD: dict[str, list[dict[str, Any]]] = {
    "ends of the ranges": [
        {"limit": "climb_grade", "at_least": "170 %"},
        {"limit": "deceleration", "at_least": 3},
        {"limit": "front_load_share", "at_least": "99 %"},
        {"limit": "break_over_angle", "at_least": "90 deg"},
    ],
    "beyond them": [
        {"limit": "climb_grade", "at_least": "300 %"},
        {"limit": "lift_off_deceleration", "at_least": 9},
        {"limit": "break_over_angle", "at_least": "100 deg"},
    ],
    "shares crossed": [
        {"limit": "front_load_share", "at_least": "99.5 %"},
        {"limit": "front_load_share_most", "at_most": "0.5 %"},
    ],
}


@pytest.mark.parametrize("limits", HARD.values(), ids=HARD)
def test_a_window_that_nothing_meets_is_reported_as_such(limits: list[dict[str, Any]]) -> None:
    case = case_of("upland-wardens")
    # Unread, for the ranges of the limits would refuse the hardest ones.
    records = [LimitRecord.model_construct(**limit) for limit in limits]
    appraised = appraise_baseline(VehicleModel(case.vehicle.model_copy(update={"limits": records}), case.catalog))
    assert isinstance(appraised, VehicleAppraisal)
    report = chassis_report(appraised)
    assert report["feasible"] is False
    json.dumps(report, allow_nan=False)
