"""Two choices compared: the steps lead from one to the other and add up to the whole difference."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from configopt.decisions.comparison import FIGURES, compare, part_differences, walk
from configopt.scenario.case import Case, load
from configopt.scenario.records import VehicleChoiceRecord

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def case() -> Case:
    return load(ROOT / "scenarios" / "upland-wardens.yaml")


@pytest.fixture(scope="module")
def today(case: Case) -> VehicleChoiceRecord:
    assert case.vehicle.baseline is not None
    return case.vehicle.baseline


def changed(record: VehicleChoiceRecord, *, final_drive: str | None = None, **front: Any) -> VehicleChoiceRecord:
    update: dict[str, Any] = {"front": record.front.model_copy(update=front)}
    if final_drive is not None:
        update["final_drive"] = final_drive
    return record.model_copy(update=update)


def another(case: Case, today: VehicleChoiceRecord) -> VehicleChoiceRecord:
    """Another tire of the same seat, softer, another pad and another final drive."""
    tire = case.catalog.part("tires", today.front.tire)
    others = [one for one in case.catalog.tires if one.size == tire.size and one.id != tire.id]
    pad = case.catalog.part("pads", str(today.front.pad))
    pads = [one for one in case.catalog.pads if one.shape == pad.shape and one.id != pad.id]
    drives = [drive.id for drive in case.vehicle.drive.final_drives if drive.id != today.final_drive]
    return changed(today, final_drive=drives[0], tire=others[0].id, pressure=125e3, pad=pads[0].id)


def test_the_same_choice_has_no_steps_and_no_differences(case: Case, today: VehicleChoiceRecord) -> None:
    assert list(walk(case.catalog, ["a"], [today], [today])) == []
    assert part_differences(today, today) == []
    row = compare(case, [today], [today], titles=("one", "other")).to_json()["vehicles"][0]
    assert all(figure["change"] == 0.0 for figure in row["figures"].values())


def test_steps_go_from_the_ground_up_and_end_at_the_second_choice(case: Case, today: VehicleChoiceRecord) -> None:
    second = another(case, today)
    steps = list(walk(case.catalog, ["warden"], [today], [second]))
    assert [step.what for step in steps] == ["front tire", "front brake", "final drive"]
    assert steps[-1].records == (second,)
    assert steps[0].records[0].front.pad == today.front.pad


def test_tire_and_wheel_change_together_where_the_new_tire_does_not_sit_on_the_old_wheel(
    case: Case, today: VehicleChoiceRecord
) -> None:
    old = case.catalog.part("rims", str(today.front.rim))
    rim = next(one for one in case.catalog.rims if one.size.startswith("ISO") and one.id != old.id)
    tire = next(one for one in case.catalog.tires if one.kind == "bicycle")
    second = changed(today, tire=tire.id, rim=rim.id)
    assert [step.what for step in walk(case.catalog, ["a"], [today], [second])] == ["front tire and wheel"]


def test_the_steps_add_up_to_the_whole_difference(case: Case, today: VehicleChoiceRecord) -> None:
    second = another(case, today)
    row = compare(case, [today], [second], titles=("one", "other")).to_json()["vehicles"][0]
    for key in FIGURES:
        assert sum(step[key] for step in row["steps"]) == pytest.approx(row["figures"][key]["change"], abs=1e-9)
    assert sum(row["energy_by_cause_wh_per_km"].values()) == pytest.approx(
        row["figures"]["energy_wh_per_km"]["change"], abs=1e-9
    )
    assert row["figures"]["mass_kg"]["change"] != 0.0


def test_turning_the_comparison_round_turns_every_sign(case: Case, today: VehicleChoiceRecord) -> None:
    second = another(case, today)
    there = compare(case, [today], [second], titles=("one", "other")).to_json()["vehicles"][0]
    back = compare(case, [second], [today], titles=("other", "one")).to_json()["vehicles"][0]
    for key in FIGURES:
        assert back["figures"][key]["change"] == pytest.approx(-there["figures"][key]["change"], abs=1e-12)
    for row, turned in zip(there["limits"], back["limits"], strict=True):
        assert (row["first"], row["second"]) == (turned["second"], turned["first"])


def test_differences_are_listed_from_the_ground_up_with_pressure_in_kilopascals(today: VehicleChoiceRecord) -> None:
    second = changed(today, final_drive="other-drive", pad="other-pad", pressure=125e3)
    assert part_differences(today, second) == [
        {
            "position": "front",
            "part": "pressure_kpa",
            "first": pytest.approx(float(today.front.pressure) / 1e3),
            "second": 125.0,
        },
        {"position": "front", "part": "pad", "first": today.front.pad, "second": "other-pad"},
        {"position": None, "part": "final_drive", "first": today.final_drive, "second": "other-drive"},
    ]
