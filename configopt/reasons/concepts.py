"""What an own part would be worth that the catalogs hold as a concept, and what it must satisfy to be chosen."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import numpy as np

from configopt.appraisal.one_vehicle import VehicleAppraisal
from configopt.appraisal.parts import FAMILIES
from configopt.appraisal.report import margin_report
from configopt.catalog.records import open_figures
from configopt.choice.alternates import Part
from configopt.choice.audit import Choices
from configopt.choice.ties import choices_of_record, record_of
from configopt.fit.partners import places
from configopt.reasons.asking import Answer, Asking
from configopt.reasons.elsewhere import dimension_of, told
from configopt.reasons.requirements import Wanted, settled, sheet
from configopt.reasons.runners_up import swaps
from configopt.reasons.telling import answer_beside, main_figures, unmet_of
from configopt.reasons.tooling import order_costs, pays
from configopt.scenario.records import Aims

#: Margins that are told, those that change most.
MARGINS = 3
_ENDS = ("low", "high")


def concept_parts(asking: Asking) -> Iterator[tuple[Part, Any]]:
    """Every concept of the catalogs: family and number, and its record."""
    catalog = asking.candidates.model.catalog
    for family in FAMILIES:
        for number, record in enumerate(catalog.family(family)):
            if record.status == "concept":
                yield (family, number), record


def concepts(asking: Asking, best: Answer, aims: Aims) -> list[dict[str, Any]]:
    """Every concept of the catalogs, alone, as if it could be had.

    Parameters
    ----------
    asking : the vehicle
    best : its best choices without any concept; nothing found where nothing meets the limits
    aims : of the scenario

    Returns
    -------
    list of dict
        In the order of the catalogs: where it fits, the best choice with it beside the best without, from which number
        of vehicles it is no dearer, and its requirement sheet.

    Raises
    ------
    OutOfTime
        If a search was asked to end.
    """
    return [_concept(asking, best, aims, part, record) for part, record in concept_parts(asking)]


def _concept(asking: Asking, best: Answer, aims: Aims, part: Part, record: Any) -> dict[str, Any]:
    asking.say(f"what would {record.id} be worth?")
    usable = record.model_copy(update={"status": "active"})
    wanted = Wanted(asking, aims, part, usable, best)
    at = wanted.asking_with(usable)
    model = at.candidates.model
    stands = list(places([model.vehicle], model.catalog, part[0], usable))
    fits = any(place.reason is None for place in stands)
    row: dict[str, Any] = {
        "part": record.id,
        "family": part[0],
        "name": record.name,
        "currency": model.catalog.currency,
        "places": [{"position": one.position, "fits": one.reason is None, "reason": one.reason} for one in stands],
        "fits": fits,
        "ranges": [_range(record, name, figure) for name, figure in open_figures(record)],
        "chosen": False,
        "with_it": None,
        "closest": None,
        "margins": [],
        "at_ends": None,
        "tooling": None,
        "sheet": [],
    }
    if not fits:
        return row
    answer = _best_with(at, best, part)
    chosen = answer.found and answer.value <= wanted.ceiling
    row |= {"chosen": chosen, "with_it": _beside(best, answer), "margins": _margins(best, answer)}
    near = answer if answer.found else _closest(at, best, part)
    if near is not None and not answer.found:
        row["closest"] = {**answer_beside(best, near), "misses": unmet_of(near.appraised)}
    if row["ranges"]:
        row["at_ends"] = {end: _at_end(wanted, best, part, usable, number) for number, end in enumerate(_ENDS)}
    if answer.found and best.found:
        row["tooling"] = _tooling(usable, answer, best)
    now = record_of(answer.candidates, answer.first) if chosen else None
    row["sheet"] = sheet(wanted, record, now, None if near is None else record_of(near.candidates, near.first))
    return row


def _range(record: Any, name: str, figure: Any) -> dict[str, Any]:
    words = [word for word in name.replace("_", " ").split(".") if not word.isdigit()]
    top, _, inner = name.partition(".")
    dimension = "price" if top == "prices" else dimension_of(type(record), f"{top}.{inner}" if inner else top)
    unit = told(0.0, dimension)[1]
    low, high = (told(end, dimension)[0] for end in figure.ends)
    at = f" from {record.prices[int(name.split('.')[1])].quantity}" if top == "prices" else ""
    return {"figure": f"{words[-1]}{at}", "unit": unit, "low": low, "high": high}


def _best_with(at: Asking, best: Answer, part: Part) -> Answer:
    """The best choices with the part, at whichever end, begun from those that differ from the best in it alone."""
    if best.found:
        first = choices_of_record(at.candidates, record_of(best.candidates, best.first))
        if first is not None:
            at.keep(Choices.join([first, *(swap.choices for swap in swaps(at.candidates, first))]))
    return at.best_with(part)


def _at_end(wanted: Wanted, best: Answer, part: Part, usable: Any, end: int) -> dict[str, Any]:
    """The best choice with every range of the part at one end."""
    at = wanted.asking_with(settled(usable, end))
    wanted.asking.searches += 2
    answer = _best_with(at, best, part)
    return {"chosen": answer.found and answer.value <= wanted.ceiling, "with_it": _beside(best, answer)}


def _beside(best: Answer, answer: Answer) -> dict[str, Any] | None:
    """The best choice with the part beside the best without; alone where there is none without."""
    if not answer.found:
        return None
    if best.found:
        return answer_beside(best, answer)
    figures = main_figures(answer.appraised)
    return {
        "aim": answer.value,
        "loss": None,
        "figures": figures,
        "change": dict.fromkeys(figures),
        "parts": [],
    }


def _margins(best: Answer, answer: Answer) -> list[dict[str, Any]]:
    """The margins that change most, without and with the part."""
    if not (best.found and answer.found):
        return []
    before, after = _by_limit(best.appraised), _by_limit(answer.appraised)
    rows = []
    for key, old in before.items():
        new = after.get(key)
        if new is None or old["ratio"] is None or new["ratio"] is None:
            continue
        change = math.log(max(new["ratio"], 1e-9) / max(old["ratio"], 1e-9))
        rows.append((abs(change), {**new, "before": old["value"]}))
    rows.sort(key=lambda row: -row[0])
    return [row for change, row in rows[:MARGINS] if change > 1e-9]


def _by_limit(appraised: VehicleAppraisal) -> dict[Any, dict[str, Any]]:
    currency = appraised.model.catalog.currency
    return {
        (margin.bound.scope, margin.bound.condition): margin_report(margin, currency)
        for one in appraised.in_all
        for margin in one.outcome.margins
    }


def _closest(at: Asking, best: Answer, part: Part) -> Answer | None:
    """Of the choices that differ from the best in the part alone, the one of least aim, though it misses limits."""
    if not best.found:
        return None
    first = choices_of_record(at.candidates, record_of(best.candidates, best.first))
    if first is None:
        return None
    rows = Choices.join([swap.choices for swap in swaps(at.candidates, first)])
    used = np.zeros(len(rows), dtype=bool)
    for of in at.candidates.part_rows(rows).values():
        used |= of.index[part[0]] == part[1]
    rows = rows.take(used)
    if not len(rows):
        return None
    aims, _ = at.candidates.appraise(rows)
    return Answer(at.candidates, float(aims.min()), rows.take(np.array([int(np.argmin(aims))])))


def _tooling(record: Any, answer: Answer, best: Answer) -> dict[str, Any]:
    """From which number of vehicles the part is no dearer, with both choices as they are for the stated number."""
    quantity = answer.candidates.model.vehicle.quantity
    mine, other = (answer.candidates, answer.first), (best.candidates, best.first)
    found, asked = pays(mine, other), np.array([quantity])
    one_off = float(record.one_off_cost)
    dearer = float((order_costs(*mine, asked) - order_costs(*other, asked))[0]) / quantity
    return {
        "one_off_cost": one_off,
        "one_off_per_vehicle": one_off / quantity,
        "vehicles": quantity,
        "cost_change_per_vehicle": dearer,
        "pays_first_at": found.first,
        "pays_from": found.from_,
        "assumption": f"both choices as they are best for {quantity} vehicles, prices by their tiers",
    }
