"""The answer of choose: proof, counts, ties, what is said where nothing meets the limits, and where it is stopped."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest

from configopt.appraisal.appraise import appraise
from configopt.appraisal.one_vehicle import appraise_record
from configopt.appraisal.vehicle import VehicleModel
from configopt.choice import result
from configopt.choice.audit import Candidates
from configopt.choice.choose import Settings, run_search
from configopt.choice.every import every_choice, every_package
from configopt.choice.result import Choice, audit, choose
from configopt.choice.ties import choices_of_record, record_of
from configopt.errors import ExitCode, UsageError
from configopt.quantities import Figure
from configopt.scenario.case import Case, load
from configopt.scenario.records import LimitRecord
from configopt.schemas import schema

SCENARIO = Path(__file__).parents[2] / "scenarios" / "upland-wardens.yaml"
#: Pressures [Pa] of the tires in the small catalog.
PRESSURES = {"heron-moor-80-100-21": (170e3, 185e3), "heron-moor-100-100-18": (145e3, 160e3)}


@cache
def whole() -> Case:
    return load(SCENARIO)


@cache
def small() -> Case:
    """Today's parts with a second rotor and a few pressures, as far as today's range: a few thousand choices."""
    case = whole()
    limits = [limit for limit in case.vehicle.limits if limit.limit != "range"]
    vehicle = case.vehicle.model_copy(update={"limits": limits})
    case = replace(case, scenario=case.scenario.model_copy(update={"vehicles": [vehicle]}))
    today = case.vehicle.baseline
    assert today is not None
    both = (today.front, today.rear)
    keep: dict[str, Iterable[str]] = {
        "tires": {package.tire for package in both},
        "inners": {package.inner for package in both},
        "rim-locks": {str(package.rim_lock) for package in both},
        "rims": {str(package.rim) for package in both},
        "spokes": {str(package.spokes) for package in both},
        "hubs": {package.hub for package in both},
        "rotors": {str(package.rotor) for package in both},
        "calipers": {str(package.caliper) for package in both},
        "pads": {str(package.pad) for package in both},
    }
    catalog = case.catalog.subset(keep)
    tires = tuple(
        tire.model_copy(
            update={"pressure_min": Figure(PRESSURES[tire.id][0]), "pressure_max": Figure(PRESSURES[tire.id][1])}
        )
        for tire in catalog.tires
    )
    return replace(case, catalog=replace(catalog, tires=tires))


def limited(case: Case, *limits: dict[str, Any]) -> Case:
    """The case with more limits."""
    records = [*case.vehicle.limits, *(LimitRecord.model_validate(limit) for limit in limits)]
    vehicle = case.vehicle.model_copy(update={"limits": records})
    return replace(case, scenario=case.scenario.model_copy(update={"vehicles": [vehicle]}))


def twin(case: Case, family: str, identifier: str, new: str, **update: Any) -> Case:
    """The case with a copy of a part under another id."""
    part = case.catalog.part(family, identifier)
    copy = part.model_copy(update={"id": new, **update})
    name = family.replace("-", "_")
    catalog = replace(case.catalog, **{name: (*case.catalog.family(family), copy)})
    return replace(case, catalog=catalog)


@cache
def answer() -> Choice:
    return choose(small())


def test_the_answer_equals_the_enumeration_through_the_full_model() -> None:
    case = small()
    candidates = Candidates(case.vehicle, case.catalog, case.scenario.aims)
    batches = [candidates.appraise(batch) for batch in candidates.every_choice()]
    aims, met = (np.concatenate(column) for column in zip(*batches, strict=True))
    best = aims[met].min()
    found = answer()
    assert found.status == "optimal"
    assert found.exit_code is ExitCode.DONE
    assert found.value == pytest.approx(best, rel=1e-12)
    assert found.counts["choices_that_meet_all"] == int(met.sum())
    assert found.counts["ties"] == int((met & (aims <= best * (1 + 1e-9))).sum())
    assert found.counts["packages_that_fit"] == {
        position: len(candidates.every_package(position))  # type: ignore[arg-type]
        for position in ("front", "rear")
    }


def test_a_proven_answer_has_no_gap_and_a_bound_at_its_value() -> None:
    found = answer()
    assert found.gap is not None
    assert 0.0 <= found.gap <= 1e-6
    assert found.bound is not None
    assert found.value is not None
    assert found.bound <= found.value


def test_values_times_rates_sum_to_the_aim() -> None:
    found = answer()
    assert {name: term["rate"] for name, term in found.terms.items()} == {"mass": 1.0, "rolling_loss": 0.8}
    assert sum(term["value"] * term["rate"] for term in found.terms.values()) == pytest.approx(found.value, rel=1e-12)
    vehicle = found.vehicles[0]
    assert found.terms["mass"]["value"] == pytest.approx(vehicle["mass_kg"], rel=1e-12)
    assert found.terms["rolling_loss"]["value"] == pytest.approx(vehicle["rolling_loss_wh_per_km"], rel=1e-12)


def test_the_answer_is_json_without_nan_and_follows_its_schema() -> None:
    text = json.dumps(answer().to_json(), allow_nan=False)
    jsonschema.validate(json.loads(text), schema("choice"))


def test_the_answer_appraises_to_itself() -> None:
    found = answer()
    again = appraise(small(), found.records)
    plain = [{key: value for key, value in one.items() if key != "explanations"} for one in again.vehicles]
    assert plain == list(found.vehicles)
    assert again.misfits == ()
    assert all(margin["met"] for margin in found.vehicles[0]["margins"])


def test_the_answer_stands_beside_the_baseline() -> None:
    found = choose(limited(small(), {"limit": "range", "at_least": "41.5 km"}))
    against = found.vehicles[0]["against_baseline"]
    for key in ("mass_kg", "energy_wh_per_km", "cost"):
        assert found.vehicles[0][key] - against[key] == pytest.approx(against["baseline"][key], rel=1e-12)
    assert against["baseline"]["limits_not_met"] == ["range"]


def test_every_choice_and_every_package_list_what_fits() -> None:
    case = small()
    counts = answer().counts["packages_that_fit"]
    fronts = list(every_package(case, "warden-two-wheeler", "front"))
    assert len(fronts) == counts["front"]
    texts = {package.model_dump_json() for package in fronts}
    assert len(texts) == len(fronts)
    drives = len(case.vehicle.drive.final_drives)
    first = next(every_choice(case))
    assert sum(1 for _ in every_choice(case)) == counts["front"] * counts["rear"] * drives
    assert appraise_record(VehicleModel(case.vehicle, case.catalog), first).misfits == []
    with pytest.raises(UsageError, match="no vehicle"):
        next(every_package(case, "nobody", "front"))


def test_among_ties_the_cheapest_comes_first() -> None:
    # Cost is no aim here, so a dearer and a cheaper twin tie.
    pad = small().catalog.pads[0]
    dearer = tuple(tier.model_copy(update={"unit_price": Figure(float(tier.unit_price) * 2)}) for tier in pad.prices)
    found = choose(twin(small(), "pads", pad.id, "aaa-dear", prices=list(dearer)))
    assert found.counts["ties"] == 4 * answer().counts["ties"]
    assert [package["pad"] for package in found.vehicles[0]["packages"]] == [pad.id, pad.id]
    assert found.value == pytest.approx(answer().value, rel=1e-12)


def test_among_equally_dear_and_heavy_ties_the_ids_decide() -> None:
    caliper = small().catalog.calipers[0]
    # One order of two is cheaper than two of one, so both ends take the same caliper.
    found = choose(twin(small(), "calipers", caliper.id, "aaa-twin"))
    assert [package["caliper"] for package in found.vehicles[0]["packages"]] == ["aaa-twin", "aaa-twin"]
    assert choose(twin(small(), "calipers", caliper.id, "zzz-twin")).vehicles[0]["packages"][0]["caliper"] == caliper.id


def test_the_order_of_the_catalog_does_not_matter() -> None:
    catalog = small().catalog
    turned = replace(catalog, tires=catalog.tires[::-1], rotors=catalog.rotors[::-1], hubs=catalog.hubs[::-1])
    assert choose(replace(small(), catalog=turned)).records == answer().records


def test_what_the_limits_and_the_fit_take_away_is_counted_in_words() -> None:
    removed = answer().removed
    assert [row["count"] for row in removed] == sorted((row["count"] for row in removed), reverse=True)
    texts = {(row["position"], row["what"]) for row in removed}
    assert ("rear", "rotors: larger than the frame takes") in texts
    assert ("front", "hubs: made for the rear") in texts
    assert not any(" mm" in what or "footing" in what for _, what in texts)


def test_a_limit_out_of_reach_is_named_with_what_can_be_reached_without_it() -> None:
    found = choose(limited(small(), {"limit": "range", "at_least": "90 km"}))
    assert found.status == "infeasible"
    assert found.exit_code is ExitCode.NOTHING_MEETS_THE_LIMITS
    assert (found.value, found.bound, found.gap) == (None, None, None)
    assert found.counts["choices_that_meet_all"] == 0
    (row,) = found.closest
    assert (row["limit"], row["unit"], row["required"]) == ("range", "km", pytest.approx(90.0))
    # At best: the best of all choices that meet the other limits.
    case = small()
    candidates = Candidates(case.vehicle, case.catalog, case.scenario.aims)
    best = 0.0
    for batch in candidates.every_choice():
        outcome = candidates.outcome(batch)
        others = np.logical_and.reduce([m.met for m in outcome.margins if m.bound.limit.key != "range"])
        reach = float(case.vehicle.battery_energy) / outcome.energy[others]
        best = max(best, float(reach.max(initial=0.0)))
    assert row["reached"] == pytest.approx(best / 1e3, rel=1e-9)
    assert "at best" in row["text"]
    assert "90 km required" in row["text"]
    jsonschema.validate(json.loads(json.dumps(found.to_json(), allow_nan=False)), schema("choice"))


def test_limits_out_of_reach_together_are_named_together() -> None:
    case = limited(small(), {"limit": "range", "at_least": "90 km"}, {"limit": "cost", "at_most": 300})
    found = choose(case)
    assert found.status == "infeasible"
    assert {row["limit"] for row in found.closest} == {"range", "cost"}
    assert all("2 limits together" in row["text"] for row in found.closest)


def test_where_nothing_fits_at_all_the_counts_say_why() -> None:
    case = small()
    catalog = replace(case.catalog, hubs=tuple(hub for hub in case.catalog.hubs if hub.position == "rear"))
    found = choose(replace(case, catalog=catalog))
    assert found.status == "infeasible"
    assert found.counts["packages_that_fit"]["front"] == 0
    assert found.closest == ()
    assert any(row["what"] == "hubs: made for the rear" for row in found.removed)
    assert found.cautions


def test_stopped_before_any_answer_it_is_unknown_and_says_so() -> None:
    found = choose(whole(), time_limit=1e-6)
    assert found.status == "unknown"
    assert found.exit_code is ExitCode.STOPPED_EARLY
    assert found.counts["choices_that_meet_all"] is None
    assert found.counts["ties"] is None
    assert found.vehicles == ()
    jsonschema.validate(json.loads(json.dumps(found.to_json(), allow_nan=False)), schema("choice"))


def test_stopped_with_an_answer_it_is_feasible_and_its_bound_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(candidates: Candidates, settings: Settings, **options: Any) -> Any:
        search, _ = run_search(candidates, settings, **options)
        search.bound = 0.9 * search.best
        return search, False

    monkeypatch.setattr(result, "run_search", stopped)
    found = choose(small())
    assert found.status == "feasible"
    assert found.exit_code is ExitCode.STOPPED_EARLY
    assert found.gap == pytest.approx(0.1, rel=1e-9)
    assert found.counts["ties"] is None
    jsonschema.validate(json.loads(json.dumps(found.to_json(), allow_nan=False)), schema("choice"))


def test_an_answer_that_the_full_model_contradicts_ends_as_a_bug(monkeypatch: pytest.MonkeyPatch) -> None:
    def wrong(candidates: Candidates, settings: Settings, **options: Any) -> Any:
        search, proven = run_search(candidates, settings, **options)
        search.best *= 1.001
        return search, proven

    monkeypatch.setattr(result, "run_search", wrong)
    found = choose(small())
    assert not found.audit.agrees
    assert found.audit.largest_difference == pytest.approx(0.001 / 1.001, rel=1e-6)
    assert found.exit_code is ExitCode.AUDIT_CONTRADICTS


def test_a_better_choice_in_the_count_of_all_contradicts_the_search() -> None:
    case = small()
    candidates = Candidates(case.vehicle, case.catalog, case.scenario.aims)
    search, _ = run_search(candidates, Settings())
    appraised = appraise_record(candidates.model, answer().records[0])
    assert audit(search, search.found, appraised, search.best).agrees
    assert not audit(search, search.found, appraised, search.best * (1 - 1e-6)).agrees


def test_progress_is_told_in_plain_lines() -> None:
    lines: list[str] = []
    choose(small(), progress=lines.append)
    assert lines
    assert all(line and "\n" not in line for line in lines)


def test_a_choice_of_an_earlier_run_begins_a_later_one() -> None:
    record = answer().records[0]
    candidates = Candidates(small().vehicle, small().catalog, small().scenario.aims)
    found = choices_of_record(candidates, record)
    assert found is not None
    assert record_of(candidates, found) == record
    again = choose(small(), begin_with=[record])
    assert again.records == answer().records
    assert again.counts == answer().counts
    gone = record.model_copy(update={"final_drive": "no-such-drive"})
    assert choices_of_record(candidates, gone) is None
    # A stopped run keeps what it began with.
    stopped = choose(small(), begin_with=[record], time_limit=1e-9)
    assert stopped.status == "feasible"
    assert stopped.records == answer().records
