"""The answer of ``choose`` as text: from the ground up, tire first, on one screen."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from configopt.cli.layout import Page
from configopt.cli.output import counted
from configopt.cli.text_family import write_family
from configopt.cli.text_vehicle import write_notes, write_vehicle
from configopt.cli.words import AIM_WORDS, exchange_words, limit_words, number, percent, proof_words, with_unit

Payload = Mapping[str, Any]
_CLOSEST = 6
_REMOVED = 6
#: Share up to which two aims count as equal in words.
_EQUAL = 1e-9
#: Share up to which an aim counts as proven.
_PROVEN = 1e-6


def write_choice(sheet: Page, payload: Payload, *, detail: bool = False) -> None:
    """Write the whole answer onto a page.

    Parameters
    ----------
    sheet
        An empty page.
    payload
        JSON of a choice (schema configopt/choice/1).
    detail
        Every figure, limit and remark instead of one screen.
    """
    aim = payload["aim"]
    sheet.heading(f"{payload['scenario']}: {proof_words(payload['status'], aim)}")
    _write_weighing(sheet, payload)
    if payload.get("stages"):
        sheet.heading("What counts, in this order, each among what the ones before leave")
        for place, stage in enumerate(payload["stages"], start=1):
            sheet.text(f"{place}. {stage_words(stage)}", hang="   ")
    if not payload["vehicles"]:
        _write_refusal(sheet, payload)
        payload = {**payload, "remarks": []}
    if payload.get("family"):
        write_family(sheet, payload["family"])
    for vehicle in payload["vehicles"]:
        write_vehicle(sheet, vehicle, detail=detail)
    if payload.get("alternates"):
        _write_alternates(sheet, payload["alternates"])
    write_notes(sheet, payload, detail=detail)


def _write_weighing(sheet: Page, payload: Payload) -> None:
    aim, counts = payload["aim"], payload.get("counts") or {}
    if aim is not None:
        rates = [] if payload.get("stages") else exchange_words(aim["terms"])
        ties = counts.get("ties")
        if ties is not None and ties > 1:
            rates.append(f"{counted(ties, 'choice')} are equally good; the cheapest, then lightest, is shown")
        if rates:
            sheet.text("; ".join(rates), hang="    ")
    audit = payload.get("audit")
    if audit and not audit["agrees"]:
        sheet.text(
            f"WARNING: the full model contradicts the search by {number(audit['largest_difference'])}. This is a bug "
            "in this program; please report it.",
            hang="    ",
        )


def stage_words(stage: Payload) -> str:
    """One of several aims in order: the least it can come to, how sure that is, and what is given up of it.

    Examples
    --------
    >>> mass = {"mass": {"value": 11.6, "rate": 1.0, "unit": "kg"}}
    >>> stage_words({"value": 11.15, "bound": 11.15, "gap": 0.0, "give_up": 0.05, "reached": 11.6, "terms": mass})
    'mass: 11.15 kg is the least, proven; 5 % more is allowed, this choice has 11.6 kg, 4 % more'
    """
    terms = stage["terms"]
    base = "mass" if "mass" in terms else next(iter(terms))
    unit, rate = AIM_WORDS[base][1] or terms[base]["unit"], terms[base]["rate"]

    def amount(value: float) -> str:
        return with_unit(number(value / rate, digits=4), unit)

    words = " and ".join(AIM_WORDS[name][0] for name in terms)
    if len(terms) > 1:
        words += f" ({'; '.join(exchange_words(terms))})"
    words += f": {amount(stage['value'])} is the least"
    if stage["gap"] is None:
        words += " found; nothing is proven about less"
    elif stage["gap"] > _PROVEN:
        words += f" found; no choice has less than {amount(stage['bound'])}"
    else:
        words += ", proven"
    if stage["give_up"]:
        words += f"; {percent(stage['give_up'])} more is allowed"
        more = (stage["reached"] - stage["value"]) / max(abs(stage["value"]), _EQUAL)
        taken = f"this choice has {amount(stage['reached'])}, {percent(more)} more"
        words += f", {taken if more > _EQUAL else 'none is taken'}"
    return words


def _write_alternates(sheet: Page, rows: list[Any]) -> None:
    """What each part of the answer could be replaced by, and at what loss."""
    sheet.heading("If a part could not be bought")
    sheet.table(
        [(row["part"], loss_words(row), instead_words(row)) for row in rows],
        header=("without", "the best choice is", "instead"),
        flexible=(2,),
    )
    if any(row["loss"] < -_EQUAL for row in rows):
        sheet.text("What would be better than this choice has no alternate within what is allowed.", hang="    ")


def loss_words(row: Payload) -> str:
    """How much worse the best choice without a part is.

    Examples
    --------
    >>> loss_words({"loss": 0.021, "within": 0.03}), loss_words({"loss": 0.0, "within": 0.03})
    ('2.1 % worse (3 % allowed)', 'as good')
    """
    if abs(row["loss"]) <= _EQUAL:
        return "as good"
    if row["loss"] < 0.0:
        return f"{percent(row['loss'])} better"
    return f"{percent(row['loss'])} worse ({percent(row['within'])} allowed)"


def instead_words(row: Payload) -> str:
    """What takes a part's place, and how much else is different.

    Examples
    --------
    >>> tire = {"position": "front", "what": "tire", "from": "heath-21", "to": "fen-21"}
    >>> pressure = {"position": "front", "what": "pressure", "from": 60.0, "to": 65.0}
    >>> instead_words({"part": "heath-21", "changes": [tire, pressure]})
    'fen-21 (front), 1 other change'
    """
    own = [change for change in row["changes"] if change["from"] == row["part"]]
    words = [f"{change['to'] or 'none'} ({change['position']})" for change in own]
    others = len(row["changes"]) - len(own)
    return ", ".join([*words, *([counted(others, "other change")] if others else [])])


def _write_refusal(sheet: Page, payload: Payload) -> None:
    """Why there is no choice: what is known, what came closest and what the rules of fit took away."""
    for text in payload["remarks"]:
        sheet.text(text, hang="    ")
    closest = payload.get("closest") or []
    if closest:
        sheet.heading("What came closest")
        for row in closest[:_CLOSEST]:
            sheet.item(row.get("text") or _closest_words(row))
    fitting = (payload.get("counts") or {}).get("packages_that_fit") or {}
    if fitting:
        sheet.heading("What fits")
        sheet.table([(position, f"{count:,} packages") for position, count in fitting.items()], right=frozenset({1}))
    removed = sorted(payload.get("removed") or [], key=lambda row: -row["count"])
    if removed:
        sheet.heading("What took the most away")
        rows = [(row["position"] or "", f"{row['count']:,}", row["what"]) for row in removed[:_REMOVED]]
        sheet.table(rows, right=frozenset({1}), flexible=(2,))


def _closest_words(row: Payload) -> str:
    unit = row["unit"]
    return (
        f"{limit_words(row['limit'], row['terrain'], row['position'])}: {with_unit(number(row['reached']), unit)} "
        f"reached, {with_unit(number(row['required']), unit)} asked"
    )
