"""The full model for given packages: its sums, its limits, its reasons, and what it says beside the figures."""

from __future__ import annotations

import dataclasses
import json
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest

from configopt.appraisal.appraise import appraise
from configopt.appraisal.model import Margin
from configopt.appraisal.one_vehicle import VehicleAppraisal, appraise_record, creep_verdict
from configopt.appraisal.remarks import cautions, general_cautions, remarks
from configopt.appraisal.report import finite, margin_report, vehicle_report
from configopt.appraisal.vehicle import Bound, VehicleModel
from configopt.errors import UsageError
from configopt.quantities import Figure
from configopt.scenario.case import Case, load
from configopt.scenario.limits import LIMITS
from configopt.scenario.records import LimitRecord, VehicleChoiceRecord
from configopt.schemas import schema

SCENARIOS = Path(__file__).parents[2] / "scenarios"
NAMES = ("upland-wardens", "coastal-survey")
#: Standard gravity [m/s2], exact by definition.
GRAVITY = 9.80665


@cache
def case_of(name: str) -> Case:
    return load(SCENARIOS / f"{name}.yaml")


@cache
def today(name: str) -> dict[str, Any]:
    """The baseline of a scenario through the full model."""
    case = case_of(name)
    return appraise(case, [baseline(case)]).to_json()


def briefly(case: Case, record: VehicleChoiceRecord) -> dict[str, Any]:
    """An appraisal without how sure each margin is and how each figure comes about, which take most of the time."""
    return appraise(case, [record], explained=False).to_json()


def baseline(case: Case) -> VehicleChoiceRecord:
    assert case.vehicle.baseline is not None
    return case.vehicle.baseline


def changed(record: VehicleChoiceRecord, position: str, **update: Any) -> VehicleChoiceRecord:
    """A choice with some parts of one package exchanged."""
    return record.model_copy(update={position: getattr(record, position).model_copy(update=update)})


def with_vehicle(case: Case, **update: Any) -> Case:
    """The case with its vehicle changed."""
    vehicle = case.vehicle.model_copy(update=update)
    return dataclasses.replace(case, scenario=case.scenario.model_copy(update={"vehicles": [vehicle]}))


def model_of(name: str = "upland-wardens") -> VehicleModel:
    return VehicleModel(case_of(name).vehicle, case_of(name).catalog)


def appraised(name: str = "upland-wardens", position: str = "front", **update: Any) -> VehicleAppraisal:
    """The baseline, with some parts exchanged, through the full model."""
    return appraise_record(model_of(name), changed(baseline(case_of(name)), position, **update))


@pytest.mark.parametrize("name", NAMES)
def test_the_ten_causes_sum_to_the_energy(name: str) -> None:
    vehicle = today(name)["vehicles"][0]
    assert len(vehicle["energy_by_cause_wh_per_km"]) == 10
    assert sum(vehicle["energy_by_cause_wh_per_km"].values()) == pytest.approx(vehicle["energy_wh_per_km"], rel=1e-12)
    for terrain in vehicle["terrains"]:
        causes = terrain["energy_by_cause_wh_per_km"].values()
        assert sum(causes) == pytest.approx(terrain["energy_wh_per_km"], rel=1e-12)


@pytest.mark.parametrize("name", NAMES)
def test_terrains_weighted_by_their_shares_sum_to_the_vehicle(name: str) -> None:
    vehicle = today(name)["vehicles"][0]
    for key in ("energy_wh_per_km", "rolling_loss_wh_per_km"):
        mix = sum(terrain["share"] * terrain[key] for terrain in vehicle["terrains"])
        assert mix == pytest.approx(vehicle[key], rel=1e-12)


@pytest.mark.parametrize("name", NAMES)
def test_range_is_battery_energy_over_energy_per_distance(name: str) -> None:
    vehicle = today(name)["vehicles"][0]
    watt_hours = float(case_of(name).vehicle.battery_energy) / 3600.0
    assert vehicle["range_km"] * vehicle["energy_wh_per_km"] == pytest.approx(watt_hours, rel=1e-12)


@pytest.mark.parametrize("name", NAMES)
def test_packages_sum_to_mass_and_with_the_final_drive_to_cost(name: str) -> None:
    case, vehicle = case_of(name), today(name)["vehicles"][0]
    drive = next(d for d in case.vehicle.drive.final_drives if d.id == vehicle["final_drive"])
    packages = vehicle["packages"]
    assert sum(package["mass_kg"] for package in packages) == pytest.approx(vehicle["mass_kg"], rel=1e-12)
    total = sum(package["cost"] for package in packages) + float(drive.cost)
    assert total == pytest.approx(vehicle["cost"], rel=1e-12)


@pytest.mark.parametrize("name", NAMES)
def test_the_answer_is_json_without_nan_and_follows_its_schema(name: str) -> None:
    text = json.dumps(today(name), allow_nan=False)
    jsonschema.validate(json.loads(text), schema("appraisal"))


@pytest.mark.parametrize("name", NAMES)
def test_a_baseline_fits_its_own_vehicle_and_differs_from_itself_by_nothing(name: str) -> None:
    answer = today(name)
    assert answer["misfits"] == []
    against = answer["vehicles"][0]["against_baseline"]
    assert [against[key] for key in ("mass_kg", "rolling_loss_wh_per_km", "energy_wh_per_km", "range_km", "cost")] == [
        0.0
    ] * 5
    assert against["baseline"]["misfits"] == []


@pytest.mark.parametrize("name", NAMES)
def test_a_ratio_of_at_least_one_means_met(name: str) -> None:
    margins = today(name)["vehicles"][0]["margins"]
    assert margins
    for margin in margins:
        if margin["ratio"] is not None:
            assert margin["met"] == (margin["ratio"] >= 1.0)
        assert margin["binding"] == (margin["ratio"] is not None and margin["ratio"] < 1.005)


def test_wheel_loads_are_those_of_statics() -> None:
    """Moments about the rear contact point, on level ground, on the radii with which the vehicle is stated."""
    case, axles = case_of("upland-wardens"), {}
    for package in today("upland-wardens")["vehicles"][0]["packages"]:
        axle = getattr(case.vehicle, package["position"])
        radius = Figure(package["diameter_mm"] / 2e3)
        axles[package["position"]] = axle.model_copy(update={"reference_radius": radius})
    answer = briefly(with_vehicle(case, **axles), baseline(case))
    vehicle, packages = case.vehicle, answer["vehicles"][0]["packages"]
    drive = next(d for d in vehicle.drive.final_drives if d.id == baseline(case).final_drive)
    laden = float(vehicle.chassis_mass) + float(vehicle.rider_mass) + float(vehicle.cargo_mass)
    front_mass, rear_mass = (package["mass_kg"] for package in packages)
    moment = laden * float(vehicle.cg_from_rear_axle) + front_mass * float(vehicle.wheelbase)
    front = moment * GRAVITY / float(vehicle.wheelbase)
    total = (laden + front_mass + rear_mass + float(drive.mass)) * GRAVITY
    assert packages[0]["static_load_n"] == pytest.approx(front, rel=1e-12)
    assert packages[1]["static_load_n"] == pytest.approx(total - front, rel=1e-12)


def test_both_wheels_of_a_quad_axle_share_its_load_and_count_in_its_mass() -> None:
    case = case_of("coastal-survey")
    packages = today("coastal-survey")["vehicles"][0]["packages"]
    assert [package["wheels"] for package in packages] == [2, 2]
    vehicle = case.vehicle
    drive = next(d for d in vehicle.drive.final_drives if d.id == baseline(case).final_drive)
    mass = sum(package["mass_kg"] for package in packages) + float(drive.mass)
    mass += float(vehicle.chassis_mass) + float(vehicle.rider_mass) + float(vehicle.cargo_mass)
    carried = sum(2 * package["static_load_n"] for package in packages)
    assert carried == pytest.approx(mass * GRAVITY, rel=1e-12)


def test_a_limit_at_the_very_value_is_met_and_binds_and_just_above_it_is_missed() -> None:
    case = case_of("upland-wardens")
    reached = today("upland-wardens")["vehicles"][0]["range_km"]
    for factor, met in ((1.0, True), (1.0 + 1e-6, False)):
        record = LimitRecord(limit="range", at_least=f"{reached * factor:.12f} km")
        answer = briefly(with_vehicle(case, limits=[record]), baseline(case))
        margin = next(row for row in answer["vehicles"][0]["margins"] if row["limit"] == "range")
        assert margin["met"] is met
        assert margin["binding"] is True
        assert (margin["ratio"] >= 1.0) is met
        missed = answer["vehicles"][0]["against_baseline"]["baseline"]["limits_not_met"]
        assert ("range" in missed) is not met


def test_margins_stand_in_the_units_people_use() -> None:
    margins = {(m["limit"], m["terrain"]): m for m in today("upland-wardens")["vehicles"][0]["margins"]}
    shown = {key: (row["required"], row["unit"]) for key, row in margins.items()}
    assert shown["climb_grade", "peat-path"] == (pytest.approx(17.5), "%")
    assert shown["ground_pressure", "peat-path"] == (pytest.approx(85.0), "kPa")
    assert shown["top_speed", None] == (pytest.approx(55.0), "km/h")
    assert shown["range", None] == (pytest.approx(44.0), "km")
    assert shown["cost", None] == (pytest.approx(940.0), "EUR")


def test_a_ratio_needs_both_figures_above_zero() -> None:
    bound = Bound(LIMITS["rotor_temperature"], 263.15, "fell-road", "front")
    row = margin_report(Margin(bound, np.array([False]), np.array([500.0])), "EUR")
    assert row["required"] == pytest.approx(-10.0)
    assert row["ratio"] is None
    assert row["binding"] is False


def test_what_is_met_within_the_slack_reads_one() -> None:
    bound = Bound(LIMITS["creep_margin"], 1.3, None, "front")
    row = margin_report(Margin(bound, np.array([True]), np.array([1.3 * (1.0 - 5e-10)])), "EUR")
    assert row["ratio"] == 1.0


def test_infinity_and_nan_never_leave_the_appraisal() -> None:
    assert finite(np.array([np.inf])) == 1e9
    assert finite(np.array([-np.inf])) == -1e9
    assert finite(np.array([np.nan])) is None


@pytest.mark.parametrize("explained", [False, pytest.param(True, marks=pytest.mark.slow)])
@pytest.mark.parametrize(
    ("position", "update", "reason"),
    [
        ("front", {"tire": "heron-moor-100-100-18"}, "bead seat 533 mm, tire needs 457 mm"),
        ("rear", {"rotor": "hythe-disc-230-4x80"}, "rotor 230 mm is above the frame's 220 mm"),
        ("front", {"pressure": 20e3}, "pressure 20 kPa outside"),
        ("front", {"crossings": 0}, "0 crossings"),
        ("rear", {"inner": "hollin-tube-21"}, "bead diameter"),
    ],
)
def test_what_does_not_fit_is_computed_and_said(
    position: str, update: dict[str, Any], reason: str, explained: bool
) -> None:
    case = case_of("upland-wardens")
    answer = appraise(case, [changed(baseline(case), position, **update)], explained=explained).to_json()
    texts = [row["text"] for row in answer["misfits"] if row["position"] == position]
    assert any(reason in text for text in texts), texts
    json.dumps(answer, allow_nan=False)


def test_a_foam_insert_holds_no_air_and_says_so() -> None:
    answer = appraised(inner="mossgrove-core-21", pressure=0.0, rim_lock=None, rim_locks=0)
    assert not any("pressure" in text for _, text in answer.misfits)
    assert any("foam counts as 95 kPa" in remark for remark in remarks(answer))
    marked = next(text for text in cautions(answer) if "marked pressure" in text)
    assert "front" not in marked
    # 95 kPa of air in the same tire deflects alike; the foam weighs more.
    air = appraised(pressure=95e3)
    foam_footing, air_footing = (a.evaluation.side["front"].footings for a in (answer, air))
    assert float(foam_footing.mass[0]) > float(air_footing.mass[0])


def test_pressure_in_a_foam_insert_is_a_misfit() -> None:
    answer = appraised(inner="mossgrove-core-21", pressure=60e3, rim_lock=None, rim_locks=0)
    assert any("foam insert holds no pressure" in text for _, text in answer.misfits)


def test_every_rim_lock_adds_its_torque_to_what_the_bead_holds() -> None:
    lock = case_of("upland-wardens").catalog.part("rim-locks", "clampwell-latch-185")
    held = [
        float(appraised(rim_lock=lock.id if n else None, rim_locks=n).evaluation.side["front"].footings.bead_torque[0])
        for n in (0, 1, 2)
    ]
    assert np.diff(held) == pytest.approx([float(lock.torque)] * 2, rel=1e-9)


def test_more_pressure_never_worsens_the_hold_on_the_rim() -> None:
    order = ["does not hold", "holds at the middle of the range", "holds"]
    verdicts = [
        order.index(creep_verdict(appraised(rim_lock=None, rim_locks=0, pressure=p * 1e3), "front"))
        for p in (25, 45, 60, 90, 140, 200)
    ]
    assert verdicts == sorted(verdicts)
    assert len(set(verdicts)) > 1


def test_a_bead_that_may_turn_draws_a_caution() -> None:
    loose = appraised(rim_lock=None, rim_locks=0, pressure=45e3)
    assert creep_verdict(loose, "front") != "holds"
    assert any("creep" in text and "front" in text for text in cautions(loose))


def test_a_disc_wheel_without_a_tube_has_no_spokes_in_its_answer() -> None:
    package = today("coastal-survey")["vehicles"][0]["packages"][0]
    assert package["disc_wheel"] is not None
    for key in ("rim", "spokes", "lacing", "spoke_length_left_mm", "spoke_length_right_mm", "tension_ratio"):
        assert package[key] is None
    assert case_of("coastal-survey").catalog.part("inners", package["inner"]).kind == "tubeless"


def test_the_slacker_spokes_have_a_share_of_the_tighter_ones() -> None:
    for package in today("upland-wardens")["vehicles"][0]["packages"]:
        assert 0.0 < package["tension_ratio"] <= 1.0
        assert package["lacing"] == "3-cross"


def test_a_baseline_that_cannot_be_computed_is_said_and_never_fails() -> None:
    case = case_of("upland-wardens")
    bare = changed(baseline(case), "rear", rotor=None, caliper=None, pad=None)
    broken = with_vehicle(case, baseline=bare)
    answer = briefly(broken, baseline(case))
    assert answer["vehicles"][0]["against_baseline"] is None
    assert any("today's packages cannot be compared" in text for text in answer["remarks"])


def test_without_a_baseline_there_is_no_difference_and_no_remark_on_it() -> None:
    case = case_of("upland-wardens")
    answer = briefly(with_vehicle(case, baseline=None), baseline(case))
    assert answer["vehicles"][0]["against_baseline"] is None
    assert not any("today's" in text for text in answer["remarks"])


def test_a_baseline_that_misses_limits_and_does_not_fit_is_still_compared() -> None:
    case = case_of("upland-wardens")
    wrong = changed(baseline(case), "rear", rotor="hythe-disc-230-4x80")
    answer = briefly(with_vehicle(case, baseline=wrong), baseline(case))
    against = answer["vehicles"][0]["against_baseline"]
    assert any(text.startswith("rear: rotor 230 mm") for text in against["baseline"]["misfits"])
    assert against["mass_kg"] == pytest.approx(
        answer["vehicles"][0]["mass_kg"] - against["baseline"]["mass_kg"], abs=1e-12
    )


@pytest.mark.parametrize("name", NAMES)
def test_cautions_are_never_empty_and_every_text_comes_once(name: str) -> None:
    answer = today(name)
    assert any("certifies nothing" in text for text in answer["cautions"])
    assert any("closed ground" in text for text in answer["cautions"])
    for key in ("cautions", "remarks"):
        assert len(set(answer[key])) == len(answer[key])
    assert general_cautions(case_of(name).vehicle)


def test_remarks_name_what_the_model_leaves_out() -> None:
    texts = today("upland-wardens")["remarks"]
    assert "slip on firm ground is not modelled (gravel-track, rock-steps)" in texts
    assert any("85 kPa on peat-path" in text and "60 kPa" in text for text in texts)


def test_a_soft_wheel_on_deep_ground_is_remarked_where_it_stands() -> None:
    case = case_of("coastal-survey")
    hard = baseline(case)
    for position in ("front", "rear"):
        hard = changed(hard, position, pressure=90e3)
    terrains = briefly(case, hard)["vehicles"][0]["terrains"]
    dunes = next(terrain for terrain in terrains if terrain["name"] == "dunes")
    assert any("rigid wheel" in text for text in dunes["remarks"])
    assert dunes["sinkage_rear_mm"] > today("coastal-survey")["vehicles"][0]["terrains"][0]["sinkage_rear_mm"]


def test_a_damper_too_weak_for_the_model_is_remarked() -> None:
    case = case_of("upland-wardens")
    loose = case.vehicle.front.suspension.model_copy(update={"damping": Figure(0.0)})
    front = case.vehicle.front.model_copy(update={"suspension": loose})
    for other, said in ((with_vehicle(case, front=front), True), (case, False)):
        terrains = briefly(other, baseline(case))["vehicles"][0]["terrains"]
        assert any("counts as one of 10 N s/m" in text for row in terrains for text in row["remarks"]) == said


def test_a_cone_index_brings_a_second_opinion() -> None:
    case = case_of("upland-wardens")
    terrains = [case.vehicle.terrains[0].model_copy(update={"surface": "tilled-field", "name": "field", "share": 1.0})]
    other = with_vehicle(case, terrains=terrains, limits=[], descents=[])
    answer = briefly(other, baseline(case))
    texts = answer["vehicles"][0]["terrains"][0]["remarks"]
    assert any("by the cone index" in text for text in texts)
    assert any("Rotor temperature is not checked" in text for text in answer["cautions"])


def test_unknown_names_are_refused_with_what_there_is() -> None:
    case, record = case_of("upland-wardens"), baseline(case_of("upland-wardens"))
    with pytest.raises(UsageError, match='no "no-such-tire" in tires'):
        appraise(case, [changed(record, "front", tire="no-such-tire")])
    with pytest.raises(UsageError, match=r"no final drive .*drive-9-2"):
        appraise(case, [record.model_copy(update={"final_drive": "drive-0"})])
    with pytest.raises(UsageError, match="no vehicle"):
        appraise(case, [record], ["somebody-else"])
    with pytest.raises(UsageError, match="2 choices for 1 vehicles"):
        appraise(case, [record, record])


def test_a_rim_on_a_hub_with_studs_is_refused() -> None:
    studs = next(hub for hub in case_of("upland-wardens").catalog.hubs if hub.kind == "studded")
    with pytest.raises(UsageError, match="needs a hub with spoke flanges"):
        appraised(hub=studs.id)


def test_one_vehicle_reports_alike_alone_and_in_a_whole_appraisal() -> None:
    model = model_of()
    one = appraise_record(model, baseline(case_of("upland-wardens")))
    whole = {key: value for key, value in today("upland-wardens")["vehicles"][0].items() if key != "explanations"}
    assert vehicle_report(model, one.packages, one.drive) == whole
