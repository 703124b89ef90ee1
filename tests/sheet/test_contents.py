"""What the sheet says of trade-offs, short lists, reasons, families and conditions, from results made by hand."""

from __future__ import annotations

import copy
import re
from dataclasses import replace
from typing import Any

import html5lib
import pytest
from sheets import ROOT, Sheet, sheet_of

from configopt.appraisal.appraise import appraise
from configopt.appraisal.models import MODELS
from configopt.appraisal.one_vehicle import appraise_record
from configopt.appraisal.vehicle import VehicleModel
from configopt.references import cite
from configopt.scenario.case import load
from configopt.sheet.charts import energy_chart, tradeoff_chart
from configopt.sheet.contents_trade import short_list
from configopt.sheet.figures import Results, figure_text
from configopt.sheet.given import Given
from configopt.sheet.inline import inline_chart
from configopt.sheet.tables import Beside, Table, columns
from configopt.sheet.words import RISKY, asked_words, chance_words, limit_words, proof_words, verdict_words


def words_of(table: Table) -> list[list[str]]:
    """A table as texts."""

    def text(cell: Any) -> str:
        return f"{cell.now}|{cell.was}" if isinstance(cell, Beside) else str(cell)

    return [[text(cell).replace("\N{NO-BREAK SPACE}", " ") for cell in row.cells] for row in table.rows]


def second(vehicle: dict[str, Any]) -> dict[str, Any]:
    """The same vehicle with another front tire, heavier and cheaper."""
    other = copy.deepcopy(vehicle)
    other["packages"][0] |= {"tire": "another-tire", "names": {**other["packages"][0]["names"], "tire": "Another"}}
    other["mass_kg"] += 0.5
    other["cost"] -= 12.0
    return other


@pytest.fixture(scope="module")
def told(two_wheeler: Sheet) -> Sheet:
    """The two-wheeler's sheet with two candidates, a ride, and an explanation."""
    vehicle = two_wheeler.payload["vehicles"][0]
    base = {"scenario": two_wheeler.payload["scenario"], "remarks": [], "made_with": two_wheeler.payload["made_with"]}
    candidates = [
        {"number": 1, "loss_percent": 0.0, "labels": ["best by the aims"], "vehicles": [vehicle]},
        {"number": 2, "loss_percent": 1.26, "labels": list("abcdefg"), "vehicles": [second(vehicle)]},
    ]
    ridden = {"front": False, "rear": True}
    ride = {
        "limit": "sinkage", "position": "rear", "place": "peat-path", "doubt": "sinkage", "first": 1, "second": 2,
        "values": [50.25, None], "required": 54.0, "unit": "mm", "why": "chance of a miss",
    }  # fmt: skip
    listed = {
        "schema": "configopt/shortlist/1", **base, "status": "partial", "within_percent": 3.0, "plan": [ride],
        "candidates": [{**one, "ridden": ridden} for one in candidates],
    }  # fmt: skip
    change = {"mass_kg": 0.4, "rolling_loss_wh_per_km": -1.5, "energy_wh_per_km": 0.0, "range_km": 1.0, "cost": 3.0}
    parts = [
        {"position": "front", "part": "tire", "first": "a", "second": "b-tire"},
        {"position": "front", "part": "crossings", "first": 2, "second": 0},
        {"position": None, "part": "final_drive", "first": "x", "second": "y-drive"},
    ]
    other = {"aim": 40.0, "loss": 0.75, "change": change, "parts": parts}
    tire = vehicle["packages"][0]["tire"]
    flip = {
        "figure": "friction of rock-steps", "unit": "1", "today": 0.7, "low": 0.47, "high": 0.93, "flips_at": 0.703,
        "direction": "at least", "no_longer_fits": False, "instead": other, "exact": False,
        "misses": [{"limit": "creep_margin", "terrain": None, "position": "front"}],
    }  # fmt: skip
    why = {
        "schema": "configopt/explanation/1", **base, "status": "optimal", "not_reached": ["flips"],
        "choice": {"aim": 37.125, "choice": {p["position"]: p for p in vehicle["packages"]}},
        "limits": [
            {
                "limit": "creep_margin", "terrain": None, "positions": ["front", "rear"], "unit": "1", "required": 1.3,
                "at_least": True, "value": 1.308, "step": {"required": 1.25, "gain": 0.8, **other}, "without": other,
            }
        ],
        "runners_up": [
            {"what": "tire", "position": "front", "best": [other]}, {"what": "pad", "position": "rear", "best": []},
        ],
        "losing": [
            {"family": "tires", "part": tire, "positions": ["front"], "instead": other},
            {"family": "pads", "part": vehicle["packages"][0]["pad"], "positions": ["front"], "instead": None},
        ],
        "flips": {"figures": 89, "near_choices": 2827, "rows": [flip]},
    }  # fmt: skip
    records = [record_of(two_wheeler)]
    return sheet_of(two_wheeler.case, two_wheeler.payload, records, searched=True, shortlist=listed, explanation=why)


def record_of(sheet: Sheet) -> Any:
    from configopt.scenario.records import VehicleChoiceRecord

    entry = sheet.payload["vehicles"][0]
    packages = {}
    for package in entry["packages"]:
        mine = {
            key: package[key] for key in ("tire", "inner", "rim_lock", "rim_locks", "rim", "spokes", "hub", "rotor")
        }
        mine |= {key: package[key] for key in ("caliper", "pad", "disc_wheel")}
        mine["pressure"] = f"{package['pressure_kpa']} kPa"
        mine["crossings"] = int(package["lacing"][0]) if package["lacing"] else None
        packages[package["position"]] = mine
    return VehicleChoiceRecord.model_validate({"final_drive": entry["final_drive"], **packages})


def test_candidates_stand_with_what_they_lose_and_are_best_at(told: Sheet) -> None:
    made = told.made.short_list
    assert made is not None
    assert made.proof.startswith("The search was stopped: not every tire was looked at.")
    first, other = words_of(made.candidates)
    assert first[:2] == ["1", "0.0 %"]
    assert other[:2] == ["2", "1.3 %"]
    assert "Another at" in other[6]
    assert other[7].endswith("on the vehicle today")
    assert other[8] == "a, b, c, d, and 3 more"
    # What to buy for a candidate.
    same, parts = words_of(made.parts)
    assert same == ["1", "the same parts", "the same parts", "the same"]
    assert parts == ["2", "tire another-tire", "the same parts", "the same"]
    (ride,) = words_of(made.rides)
    assert ride == [
        "1 and 2",
        "sinkage, rear on peat-path",
        "50.2 mm",
        "no figure",
        "at most 54.0 mm",
        "chance of a miss",
    ]


def test_reasons_say_what_limits_what_flips_and_what_losing_costs(told: Sheet) -> None:
    made = told.made.reasons
    assert made.limits is not None
    assert made.runners_up is not None
    assert made.losing is not None
    assert made.flips is not None
    ((limit, asked, has, step, without),) = words_of(made.limits)
    assert limit == "torque the bead holds over the peak wheel torque, front and rear"
    assert (asked, has) == ("at least 1.300", "1.308")
    assert step.startswith(
        "at 1.250: mass +0.40 kg, rolling loss \N{MINUS SIGN}1.5 Wh/km, cost +3.00 EUR; front tire b-tire"
    )
    assert "front lacing radial" in without
    assert "final drive y-drive" in without
    up, none = words_of(made.runners_up)
    assert up[2] == "+0.750"
    assert none[1] == "none meets every limit"
    lost, nothing = words_of(made.losing)
    assert lost[1] == "+0.750"
    assert made.losing.note == "The aim of the choice is 37.125; it has no unit, and less is better."
    assert nothing[2] == "nothing would meet every limit"
    ((figure, used, border, then, _),) = words_of(made.flips)
    assert (figure, used) == ("friction of rock-steps", "0.700|0.470 to 0.930")
    assert border == "0.703|at least that"
    assert then == "the choice misses torque the bead holds over the peak wheel torque, front"
    assert made.flips_note == (
        "89 figures were moved one at a time. Of some only the 2827 choices nearest to the best were looked at."
    )
    assert made.not_reached == ("which uncertain figure could flip the choice",)
    html5lib.HTMLParser(strict=True).parse(told.html)


def test_what_was_rejected_is_named_with_what_it_would_change(told: Sheet) -> None:
    rejected = [text.replace("\N{NO-BREAK SPACE}", " ") for text in told.made.reasons.rejected]
    assert rejected[0].startswith("Today's packages: ")
    assert rejected[1].startswith("Candidate 2 (Another front and ")
    assert "against the choice mass +0.50 kg, cost \N{MINUS SIGN}12.00 EUR." in rejected[1]


def test_the_buyer_sees_what_takes_the_place_of_a_part(told: Sheet) -> None:
    entry = told.payload["vehicles"][0]
    rows = {row.part: row.alternates.replace("\N{NO-BREAK SPACE}", " ") for row in told.made.bill_rows}
    assert rows[entry["packages"][0]["tire"]] == "front tire b-tire (2 other changes go with it), aim +0.750"
    assert rows[entry["packages"][0]["pad"]] == "none: nothing would meet every limit"


def test_points_with_the_same_tires_are_told_apart_by_their_parts(two_wheeler: Sheet) -> None:
    mine = two_wheeler.payload["vehicles"][0]
    other = copy.deepcopy(mine)
    other["packages"][1] |= {"rim_lock": None, "rim_locks": 0, "hub": "a-hub", "lacing": "radial"}
    other["final_drive"] = "a-drive"
    aims = [{"name": "mass", "unit": "kg", "rate": 1.0}, {"name": "cost", "unit": "currency", "rate": 0.0}]
    points = [
        {"number": number, "values": {"mass": 1.0, "cost": 2.0}, "best_by_rates": number == 1, "vehicles": [vehicle]}
        for number, vehicle in enumerate((mine, other), start=1)
    ]
    traded = {"schema": "configopt/tradeoff/1", "status": "complete", "aims": aims, "points": points}
    made = sheet_of(
        two_wheeler.case, two_wheeler.payload, [record_of(two_wheeler)], searched=True,
        tradeoff={**traded, "scenario": "upland-wardens"},
    ).made.trade  # fmt: skip
    assert made is not None
    first, second = words_of(made.parts)
    assert first[1:] == ["the same parts", "the same parts", "the same"]
    locks = "rim locks none, " if mine["packages"][1]["rim_lock"] else ""
    assert second[2:] == [f"{locks}lacing radial, hub a-hub", "a-drive"]
    # A quantity that is an aim stands once.
    heads = [column.words for column in made.points.columns]
    assert heads.count("cost") == 1
    assert len(heads) == len(set(heads))


def test_the_chart_of_a_stopped_trade_off_claims_no_proof(two_wheeler: Sheet) -> None:
    traded = two_wheeler.made.results.documents["tradeoff"]
    assert "no other choice beats these" in tradeoff_chart(traded)
    stopped = tradeoff_chart({**traded, "status": "partial"})
    assert "no other choice beats these" not in stopped
    assert "found until the search was stopped" in stopped


def test_the_chart_and_the_table_name_causes_alike(quad: Sheet) -> None:
    chart = energy_chart(quad.payload["vehicles"][0], None)
    assert all(name in chart for name in ("sinking into soft ground", "motor and drivetrain"))
    assert "drivetrain<" not in chart.replace("motor and drivetrain<", "")


def test_what_todays_packages_miss_is_told_in_words_with_figures(quad: Sheet) -> None:
    (vehicle,) = quad.payload["vehicles"]
    missed = [row for row in vehicle["margins"] if not row["met"]]
    assert missed
    told = quad.made.vehicles[0].decision.today_fails
    assert len(told) == len(missed) + len(vehicle["against_baseline"]["baseline"]["misfits"])
    for row, text in zip(missed, told, strict=False):
        assert text.startswith(f"misses a limit, {limit_words(row)}: {figure_text(row['value'], row['unit'])} (")
    assert "climb grade" not in quad.html


def test_the_question_holds_the_vehicle_and_what_the_aim_comes_to(two_wheeler: Sheet) -> None:
    vehicle = two_wheeler.case.vehicle
    rows = dict(words_of(two_wheeler.made.vehicles[0].stated))
    assert rows["riders"] == figure_text(float(vehicle.rider_mass), "kg").replace("\N{NO-BREAK SPACE}", " ")
    assert rows["battery"].replace("\N{NARROW NO-BREAK SPACE}", "") == f"{float(vehicle.battery_energy) / 3600:.0f} Wh"
    assert rows["wheelbase"].replace("\N{NARROW NO-BREAK SPACE}", "") == f"{1e3 * float(vehicle.wheelbase):.1f} mm"
    last = words_of(two_wheeler.made.counts)[-1]
    assert last[:2] == ["the aim, less is better", figure_text(two_wheeler.payload["aim"]["value"], "1")]
    counted = [float(row[1].split()[0]) * float(row[2].split()[0]) for row in words_of(two_wheeler.made.counts)[:-1]]
    assert sum(counted) == pytest.approx(float(last[1]), abs=0.05)


def test_what_limits_a_choice_is_ordered_by_urgency(quad: Sheet) -> None:
    payload = copy.deepcopy(quad.payload)
    margins = payload["vehicles"][0]["margins"]
    for margin in margins:
        margin |= {"met": True, "binding": False, "chance_missed": 0.0}
    margins[0] |= {"chance_missed": 0.4}
    margins[1] |= {"binding": True}
    margins[2] |= {"met": False, "ratio": 0.9}
    made = sheet_of(quad.case, payload, [quad.case.vehicle.baseline], searched=False).made.reasons.limiting
    assert len(made) == 3
    assert " is missed: " in made[0]
    assert " is used up: " in made[1]
    assert made[2].endswith("missed in 40 % of the draws.")


def test_a_family_is_bought_together_with_its_spares() -> None:
    case = load(ROOT / "scenarios" / "wardens-family.yaml")
    records = [vehicle.baseline for vehicle in case.scenario.vehicles]
    case = replace(case, scenario=case.scenario.model_copy(update={"vehicles": case.scenario.vehicles[:2]}))
    assert case.scenario.sharing is not None
    family = {
        "vehicles_built": 156, "currency": "EUR", "at_most": {"tires": 2}, "spares": {"tires": 16}, "apart": None,
        "together": {"cost": 1000.0, "different_parts": {"tires": 2, "rims": 1}},
        "vehicles": [
            {
                "name": vehicle.name, "quantity": vehicle.quantity, "same_as_alone": None, "mass_kg": None,
                "rolling_loss_wh_per_km": 0.25, "energy_wh_per_km": None,
            }
            for vehicle in case.scenario.vehicles
        ],
    }  # fmt: skip
    payload = appraise(case, [record for record in records[:2] if record is not None], explained=False).to_json()
    sheet = sheet_of(case, {**payload, "family": family}, records[:2], searched=False)
    quantities = [vehicle.quantity for vehicle in case.scenario.vehicles]
    for row in sheet.made.bill_rows:
        pieces = dict(row.pieces_per_vehicle)
        expected = sum(pieces.get(v.name, 0) * v.quantity for v in case.scenario.vehicles)
        assert row.pieces == expected
        assert row.spares == int(case.scenario.sharing.spares.get(row.family, 0))  # type: ignore[call-overload]
    tires = [row for row in sheet.made.bill_rows if row.family == "tires"]
    assert {row.pieces for row in tires} == {sum(quantities)}
    parts, vehicles = (words_of(table) for table in sheet.made.family)
    assert parts[-1][:3] == ["cost of all parts and drives", "1\N{NARROW NO-BREAK SPACE}000.00 EUR", "\N{EM DASH}"]
    assert vehicles[0][2:] == ["not known", "\N{EM DASH}", "+0.2 Wh/km", "\N{EM DASH}"]
    html5lib.HTMLParser(strict=True).parse(sheet.html)
    names = [vehicle.name for vehicle in case.scenario.vehicles]
    # Today's packages miss limits: they are not headed as a decision.
    assert sheet.made.missed
    for name in names:
        missed = any(text.startswith(f"{name}: ") for text in sheet.made.missed)
        head = "Packages that do not meet what is asked" if missed else "The decision"
        assert f"{head}: {name}</h2>" in sheet.html


def test_conditions_of_a_vehicle_stand_beside_each_other() -> None:
    case = load(ROOT / "scenarios" / "coastal-survey-conditions.yaml")
    today = case.vehicle.baseline
    assert today is not None
    payload = appraise(case, [today], explained=False).to_json()
    sheet = sheet_of(case, payload, [today], searched=False)
    table = sheet.made.vehicles[0].conditions
    assert table is not None
    named = [row[0] for row in words_of(table)]
    assert named == [one["name"] for one in payload["vehicles"][0]["conditions"]["each"]]
    # What is different in them is part of the question.
    asked = sheet.made.vehicles[0].asked_conditions
    assert asked is not None
    wet, passenger = words_of(asked)
    assert wet == ["wet", "air at 6 °C; Wet grass on firm ground in place of Dry meadow; without the limit on steepest "
        "grade that can be climbed"]  # fmt: skip
    assert passenger[1].startswith("cargo 85.00 kg; centre of gravity ahead of the rear axle 535.0 mm")
    # A row of figures holds in one condition, not in the worst of each terrain.
    figures = {row[0]: row[1:] for row in words_of(sheet.made.vehicles[0].ground.figures)}
    reserves = [row for row in payload["vehicles"][0]["margins"] if row["limit"] == "thrust_reserve"]
    as_stated = [figure_text(row.get("by_condition", {}).get("as stated", row["value"]), "1") for row in reserves]
    assert figures["thrust the ground gives, over the need"] == as_stated
    assert any(figure_text(row["value"], "1") != told for row, told in zip(reserves, as_stated, strict=True))
    assert sheet.made.vehicles[0].ground.figures.caption == "On each terrain, the vehicle as stated"
    worst = [margin for margin in payload["vehicles"][0]["margins"] if margin.get("condition")]
    assert worst
    assert f"({worst[0]['condition']})" in sheet.html
    html5lib.HTMLParser(strict=True).parse(sheet.html)


def test_a_table_with_a_missing_cell_is_refused() -> None:
    from configopt.sheet.tables import Row

    with pytest.raises(ValueError, match="has 1 cells, not 2"):
        Table("parts", columns("part", "#mass"), (Row(("tire",)),))


def test_a_figure_that_is_not_there_is_refused() -> None:
    results = Results({"choice": {"vehicles": [{"mass_kg": 1.0}]}})
    assert results.at("choice/vehicles/0/mass_kg") == 1.0
    for path in ("choice/vehicles/1/mass_kg", "choice/vehicles/0/weight", "choice/vehicles/x", "other", "choice/a/b"):
        with pytest.raises(KeyError, match=re.escape(path)):
            results.at(path)


@pytest.mark.parametrize(
    ("status", "aim", "words"),
    [
        ("optimal", {"gap": 0.0}, "Proven: no better choice exists"),
        ("feasible", {"gap": 0.012}, "none in these catalogs is better by more than 1.20 %."),
        ("feasible", {"gap": None}, "Nothing is proven about better ones."),
        ("infeasible", None, "Proven: nothing in these catalogs meets every limit."),
        ("unknown", None, "Nothing is proven."),
    ],
)
def test_the_proof_is_said_in_words(status: str, aim: Any, words: str) -> None:
    assert words in proof_words(status, aim)


def test_limits_are_named_with_place_side_and_verdict() -> None:
    margin = {"limit": "rotor_temperature", "terrain": "fell-road", "position": "front", "condition": "wet"}
    assert limit_words(margin) == "rotor temperature at the end of the descent, front on fell-road (wet)"
    assert (
        asked_words({**margin, "required": 380.0, "unit": "degC"}).replace("\N{NO-BREAK SPACE}", " ")
        == "at most 380 °C"
    )
    assert verdict_words({"met": True, "ratio": None}) == "met"


def test_a_chart_on_the_page_keeps_its_ids_apart_and_its_colours_with_the_page(quad: Sheet) -> None:
    vehicle = quad.payload["vehicles"][0]
    svg = energy_chart(vehicle, quad.made.results.documents["today"]["vehicles"][0])
    one, two = (inline_chart(svg, name=name, title="<b>", description="&") for name in ("a", "b"))
    ids = re.findall(r'\bid="([^"]+)"', one)
    assert ids
    assert all(name.startswith("a-") for name in ids)
    assert not {*ids} & {*re.findall(r'\bid="([^"]+)"', two)}
    assert {name[1:] for name in re.findall(r'href="(#[^"]+)"', one)} <= {*ids}
    assert not re.findall(r"#[0-9a-fA-F]{6}", one)
    assert "<style" not in one
    assert "<metadata" not in one
    assert "&lt;b&gt;" in one
    for terrain in vehicle["terrains"]:
        assert terrain["name"] in one


def test_without_todays_packages_a_chart_has_no_marks_for_them(quad: Sheet) -> None:
    vehicle = quad.payload["vehicles"][0]
    assert "today" not in energy_chart(vehicle, None)
    assert "today" in energy_chart(vehicle, quad.made.results.documents["today"]["vehicles"][0])


def test_no_short_list_is_no_table(quad: Sheet) -> None:
    given = Given(quad.case, (), Results({"choice": quad.payload}), False)
    assert short_list(given) is None


def test_what_is_a_matter_of_safety_is_a_caution(quad: Sheet) -> None:
    cautions = [text.replace("\N{NO-BREAK SPACE}", " ") for text in quad.made.cautions]
    for position in ("front", "rear"):
        (hot,) = [text for text in cautions if text.startswith(f"The {position} rotor reaches about ")]
        assert hot in quad.made.vehicles[0].at_brakes
        margin = next(
            row
            for row in quad.payload["vehicles"][0]["margins"]
            if row["limit"] == "creep_margin" and row["position"] == position
        )
        creep = [text for text in cautions if text.startswith(f"The tire may creep on its rim, {position}: ")]
        assert bool(creep) == (margin["chance_missed"] >= RISKY)
        assert {*creep} <= {*quad.made.vehicles[0].at_tires}
    brakes = " ".join(quad.made.vehicles[0].at_brakes)
    assert "Pad pressure, front and rear: 5." in brakes
    assert "Full hand force: 200 N of hand force locks the front wheel (dunes, " in brakes


def test_rims_that_are_struck_and_tires_that_are_punctured_are_cautions(quad: Sheet) -> None:
    payload = copy.deepcopy(quad.payload)
    dunes, grass = payload["vehicles"][0]["terrains"][0], payload["vehicles"][0]["terrains"][-1]
    grass["strike_margin_rear"] = 0.75
    dunes["remarks"] = ["front: thorns may puncture the tire"]
    made = sheet_of(quad.case, payload, [quad.case.vehicle.baseline], searched=False).made
    assert "Obstacles may strike the rim at the stated speed: rear on dune-grass (reserve 0.750, 1 is the border)." in (
        made.vehicles[0].at_tires
    )
    assert "The tire may be punctured: front: thorns on dunes." in made.vehicles[0].at_tires
    assert {*made.vehicles[0].at_tires} <= {*made.cautions}
    assert not any(text.startswith("Obstacles may strike") for text in quad.made.cautions)


def test_a_rating_says_at_which_pressure_it_holds(two_wheeler: Sheet) -> None:
    rated = [text for text in two_wheeler.made.cautions if text.startswith("Load rating of the tire, ")]
    unrated = [position for position, mount in _mounts(two_wheeler).items() if not mount.tire.load_at_pressure]
    assert bool(rated) == bool(unrated)
    for position in unrated:
        assert f"{position}: the rating holds at " in rated[0]
    rows = [row for row in words_of(two_wheeler.made.vehicles[0].ground.margins) if row[0].startswith("load the tire")]
    assert rows
    for row in rows:
        assert ("the rating holds at " in row[3]) == any(f", {position}" in row[0] for position in unrated)


def _mounts(sheet: Sheet) -> dict[str, Any]:
    one = appraise_record(VehicleModel(sheet.case.vehicle, sheet.case.catalog), record_of(sheet))
    return {position: package.mount for position, package in one.packages.items()}


def test_what_is_not_at_risk_is_said_with_the_share_that_counts(quad: Sheet) -> None:
    payload = copy.deepcopy(quad.payload)
    for margin in payload["vehicles"][0]["margins"]:
        margin |= {"met": True, "binding": False, "chance_missed": RISKY - 0.01}
    html = sheet_of(quad.case, payload, [quad.case.vehicle.baseline], searched=False).html
    assert f"none is missed in {chance_words(RISKY)} of the draws or more." in html


def test_works_stand_once_and_surfaces_name_them_with_those_of_descents(quad: Sheet) -> None:
    made = quad.made.behind
    assert len({*made.bibliography}) == len(made.bibliography)
    rows = {row[0]: row for row in words_of(made.parts)}
    catalog = quad.case.catalog
    vehicle = quad.case.vehicle
    for name in {*(t.surface for t in vehicle.terrains), *(d.surface for d in vehicle.descents)}:
        surface = next(one for one in catalog.surfaces if one.id == name)
        told = [made.bibliography[int(number) - 1] for number in rows[name][-1].split(", ")]
        for text, work in zip(told, dict.fromkeys(cite(key) for key in surface.references), strict=True):
            assert text.startswith(work)


def test_a_work_stands_once_however_often_it_is_cited(quad: Sheet) -> None:
    made = quad.made.behind
    used = {row.cells[0] for row in made.models.rows}
    keys = {cited.key for model in MODELS.values() if model.quantity in used for cited in model.sources} - {None}
    for key in keys:
        assert len([text for text in made.bibliography if text.startswith(cite(str(key)))]) == 1, key
    # Every place that a model cites is still there, and found by its label.
    for row in made.models.rows:
        (model,) = (model for model in MODELS.values() if model.quantity == row.cells[0])
        labels = re.findall(r"(\d+)([a-z]?)", str(row.cells[-1]))
        texts = [made.bibliography[int(number) - 1] for number, _ in labels]
        for cited in model.sources:
            assert any(cited.where in text for text in texts), (model.key, cited.where)
