"""Everything the sheet says, gathered as plain data before anything is laid out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from configopt.quantities import to_unit
from configopt.sheet.bill import BillRow, bill_of_materials
from configopt.sheet.chassis import chassis_data
from configopt.sheet.contents_bill import alternate_words, bill_table, tiers_table
from configopt.sheet.contents_cautions import AT_BRAKES, AT_TIRES, all_cautions, vehicle_cautions
from configopt.sheet.contents_chassis import ChassisTables, chassis_tables
from configopt.sheet.contents_conditions import asked_conditions, in_each_condition, over_words
from configopt.sheet.contents_decision import Decision, decision
from configopt.sheet.contents_family import family_tables
from configopt.sheet.contents_ground import Ground, ground
from configopt.sheet.contents_models import Behind, behind
from configopt.sheet.contents_reasons import Reasons, reasons
from configopt.sheet.contents_riders import riders_said
from configopt.sheet.contents_trade import Candidates, Trade, short_list, trade
from configopt.sheet.contents_vehicle import vehicle_table
from configopt.sheet.figures import Results, figure_text
from configopt.sheet.given import Given
from configopt.sheet.holding import missed_limits
from configopt.sheet.tables import Row, Table, columns
from configopt.sheet.wheel_shape import WheelShape, wheel_shape
from configopt.sheet.words import AIMS, proof_words

#: Where the quantities of the aims stand in a vehicle's figures.
_AIM_KEYS = {
    "mass": ("mass_kg", "kg"),
    "rolling_loss": ("rolling_loss_wh_per_km", "Wh/km"),
    "energy": ("energy_wh_per_km", "Wh/km"),
    "cost": ("cost", ""),
}


@dataclass(frozen=True)
class VehiclePart:
    """What the sheet says about one vehicle."""

    name: str
    quantity: int
    kind: str
    use: str
    heading: str
    """Packages that miss a limit or do not fit are not headed as a decision."""
    decision: Decision
    ground: Ground
    chassis: ChassisTables
    stated: Table
    """The vehicle as the scenario has it."""
    asked_conditions: Table | None
    conditions: Table | None
    at_tires: tuple[str, ...]
    at_brakes: tuple[str, ...]


@dataclass(frozen=True)
class Contents:
    """The whole sheet."""

    scenario: str
    title: str
    question: str
    proof: str
    misfits: tuple[str, ...]
    missed: tuple[str, ...]
    """Limits that are missed."""
    counts: Table
    """What counts in the aim."""
    vehicles: tuple[VehiclePart, ...]
    family: tuple[Table, ...]
    trade: Trade | None
    short_list: Candidates | None
    riders: tuple[str, ...]
    """What riders said of these tires; empty where the scenario names no table."""
    reasons: Reasons
    bill: Table
    tiers: Table
    bill_rows: tuple[BillRow, ...]
    currency: str
    behind: Behind
    remarks: tuple[str, ...]
    cautions: tuple[str, ...]
    left_out: tuple[str, ...]
    shapes: tuple[tuple[str, WheelShape, float], ...]
    """Every wheel with its name and its loaded radius [mm]."""
    results: Results
    """The results behind the figures, now also ``bill`` and ``chassis``."""


def contents(given: Given) -> Contents:
    """Gather the sheet.

    Parameters
    ----------
    given : results and parts; ``given.results`` gains ``bill`` and ``chassis``
    """
    payload = given.choice
    sharing = given.case.scenario.sharing
    spares = {} if sharing is None else {str(family): count for family, count in sharing.spares.items()}
    every_caution = all_cautions(given)
    rows = bill_of_materials(given.appraised, spares=spares, alternates=alternate_words(given))
    extended = {
        **given.results.documents,
        "chassis": chassis_data(payload, given.appraised, every_caution),
        "bill": {"rows": [row.to_json() for row in rows], "cost": sum(row.cost for row in rows)},
    }
    given = replace(given, results=Results(extended))
    scenario = given.case.scenario
    return Contents(
        scenario=payload["scenario"],
        title=scenario.title if given.vehicle is None else f"{given.vehicle} for itself; {scenario.title}",
        question=scenario.description,
        proof=given.recorded or proof_words(payload["status"], payload.get("aim")),
        misfits=tuple(f"{row['vehicle']}, {row['position']}: {row['text']}" for row in payload.get("misfits", ())),
        missed=missed_limits(payload),
        counts=_counts(given),
        vehicles=tuple(_vehicle(given, number) for number in range(len(given.appraised))),
        family=family_tables(given),
        trade=trade(given),
        short_list=short_list(given),
        riders=riders_said(given),
        reasons=reasons(given),
        bill=bill_table(given, rows),
        tiers=tiers_table(rows, given.case.catalog.currency),
        bill_rows=rows,
        currency=given.case.catalog.currency,
        behind=behind(given),
        remarks=tuple(text.replace("+-", "±") for text in payload["remarks"]),
        cautions=every_caution,
        left_out=given.left_out,
        shapes=tuple(_shapes(given)),
        results=given.results,
    )


def _shapes(given: Given) -> Iterator[tuple[str, WheelShape, float]]:
    for one, entry in zip(given.appraised, given.choice["vehicles"], strict=True):
        for package in entry["packages"]:
            shape = wheel_shape(one.packages[package["position"]], one.model.vehicle)
            yield f"{entry['name']}-{package['position']}", shape, package["loaded_radius_mm"]


def _vehicle(given: Given, number: int) -> VehiclePart:
    appraised = given.appraised[number]
    one = appraised.model.vehicle
    mine = vehicle_cautions(given, number)
    fails = bool(missed_limits({"vehicles": [given.choice["vehicles"][number]]}) or appraised.misfits)
    return VehiclePart(
        name=one.name,
        quantity=one.quantity,
        kind=one.kind,
        use=one.use if one.category is None else f"{one.use}, category {one.category}",
        heading="Packages that do not meet what is asked" if fails else "The decision",
        decision=decision(given, number),
        ground=ground(given, number),
        chassis=chassis_tables(given, number),
        stated=vehicle_table(given, number),
        asked_conditions=asked_conditions(given, number),
        conditions=in_each_condition(given, number),
        at_tires=tuple(text for text in mine if _begins(text, AT_TIRES)),
        at_brakes=tuple(text for text in mine if _begins(text, AT_BRAKES)),
    )


def _begins(text: str, heads: tuple[str, ...]) -> bool:
    """Whether a caution begins so, with or without the condition it holds in."""
    return text.startswith(heads) or text.partition(": ")[2].startswith(heads)


def _counts(given: Given) -> Table:
    """The aims with their exchange rates, and what each comes to."""
    stages: Sequence[Mapping[str, Any]] = given.choice.get("stages") or []
    aim = given.choice.get("aim")
    rows = []
    for at, stage in enumerate(stages):
        rows += _terms(given, stage["terms"], f"choice/stages/{at}/terms", f"stage {at + 1}: ")
    if not stages and aim is not None:
        rows = _terms(given, aim["terms"], "choice/aim/terms", "")
    if not rows:
        for name, rate in given.case.scenario.aims.rates.items():
            key, unit = _AIM_KEYS[name]
            unit = unit or given.case.scenario.currency
            one = float(to_unit(1.0, unit)) if name != "cost" else 1.0
            alone = len(given.appraised) == 1
            value = given.results.figure(f"choice/vehicles/0/{key}", unit) if alone else "of each vehicle"
            rows.append(Row((AIMS[name], value, f"{rate / one:g} per {unit}")))
    if aim is not None:
        rows.append(Row(("the aim, less is better", given.results.figure("choice/aim/value", "1"), ""), marked=True))
    return Table("What counts", columns("quantity", "#comes to", "counts"), tuple(rows), _counts_note(given))


def _counts_note(given: Given) -> str:
    """What the quantities are of, and how they make up the aim."""
    told = []
    if len(given.appraised) > 1:
        told.append("Quantities are means over the vehicles built.")
    over = over_words(given, 0) if len(given.appraised) == 1 else ""
    if over:
        told.append(f"What counts is {over}; other figures of this sheet are those of the vehicle as stated.")
    if given.choice.get("aim") is not None:
        last = " of the last stage" if given.choice.get("stages") else ""
        told.append(f"The aim{last} is the sum of each quantity times what it counts, a number without unit.")
    return " ".join(told)


def _terms(given: Given, terms: Mapping[str, Any], path: str, before: str) -> list[Row]:
    rows = []
    for name, term in terms.items():
        value = given.results.figure(f"{path}/{name}/value", term["unit"])
        rows.append(Row((f"{before}{AIMS[name]}", value, f"{term['rate']:g} per {term['unit']}")))
    return rows


def failures(made: Contents) -> list[str]:
    """Rules of fit and limits that the packages miss, for every file that holds these packages."""
    return [*(f"Does not fit: {text}" for text in made.misfits), *(f"Misses a limit: {text}" for text in made.missed)]


def workbook_notes(made: Contents) -> list[str]:
    """What goes with a bill of materials: proof, what it comes to, versions and cautions."""
    total = figure_text(sum(row.cost for row in made.bill_rows), made.currency)
    versions = [f"{row.cells[0]}: {row.cells[1]}" for row in made.behind.made_with.rows]
    return [made.proof, *failures(made), f"everything bought comes to {total}", *versions, *made.cautions]
