"""Whether results that were made before still hold: what they state is computed again and set beside it.

A result holds neither its scenario nor a fingerprint of it.  So the rates, the figures and the limits that it does
state are compared, and what cannot be compared is not called proven.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from configopt.appraisal.appraise import appraise
from configopt.appraisal.one_vehicle import appraise_record
from configopt.appraisal.vehicle import VehicleModel
from configopt.choice.result import AIM_UNITS
from configopt.choice.weights import AIMS
from configopt.decisions.choice_file import crossings_of
from configopt.errors import ConfigoptError, UsageError
from configopt.quantities import to_unit
from configopt.reasons.telling import aim_of
from configopt.scenario.case import Case
from configopt.scenario.records import PackageRecord, VehicleChoiceRecord
from configopt.sheet.figures import figure_text
from configopt.sheet.words import asked_words, limit_words

Payload = Mapping[str, Any]
#: Figures that differ by less than this share are the same: other processors round their last digits otherwise.
_SAME = 1e-6
#: What is drawn at random, told of a result and not of its packages, or of what is on the vehicle today.
_NOT_COMPARED = (
    "uncertainty", "low", "high", "chance_missed", "matters_most", "tightest", "riskiest", "names", "against_baseline",
)  # fmt: skip
_MAIN = ("mass_kg", "rolling_loss_wh_per_km", "energy_wh_per_km", "range_km", "cost")
#: What differs is named up to this number.
_NAMED = 3


def missed_limits(payload: Payload) -> tuple[str, ...]:
    """Limits that the packages miss, each with its vehicle, in words.

    Parameters
    ----------
    payload : JSON of a choice or an appraisal
    """
    return tuple(
        f"{entry['name']}: {limit_words(row)}: {figure_text(row['value'], row['unit'])} ({asked_words(row)})"
        for entry in payload["vehicles"]
        for row in entry["margins"]
        if not row["met"]
    )


def recorded_words(case: Case, file: Payload, payload: Payload) -> str:
    """What a choice file says of its proof, and whether that still stands; empty where it says nothing of one.

    Parameters
    ----------
    case : the scenario of the sheet
    file : JSON of the choice file
    payload : JSON of the appraisal of the same packages now
    """
    status, made = file.get("status"), file.get("made_with")
    if status not in ("optimal", "feasible") or not isinstance(made, Mapping):
        return ""
    proven = {
        "optimal": "proven to be the best in the catalogs of then",
        "feasible": "the best found when the search was stopped, without proof,",
    }[status]
    changed = list(_changes(case, file, made, payload))
    if not changed:
        return (
            f"When they were recorded they were {proven}, which have not changed since; exchange rates, limits and "
            "figures computed again are those recorded. Which final drives and parts the scenario offered then, the "
            "file does not hold."
        )
    return f"Whether they are the best is not known: since they were recorded, {'; '.join(changed)}."


def _changes(case: Case, file: Payload, made: Payload, payload: Payload) -> Iterator[str]:
    if made.get("catalogs_sha256") != case.catalog.sha256:
        yield "the catalogs have changed"
    if file.get("scenario") != case.name:
        yield "the scenario is another"
    theirs = {entry.get("name"): entry for entry in file.get("vehicles") or () if isinstance(entry, Mapping)}
    if set(theirs) != {entry["name"] for entry in payload["vehicles"]}:
        yield "the vehicles are others: they were chosen together"
    if not _same(_rates_of_file(file), _rates(case), rel=1e-9):
        yield "the exchange rates have changed"
    differ: list[str] = []
    for entry in payload["vehicles"]:
        differ += _differences(theirs.get(entry["name"], {}), entry)
    if differ:
        yield f"other figures or limits come out now ({_named(differ)})"
    if missed_limits(payload):
        yield "a limit is missed"
    if payload.get("misfits"):
        yield "something does not fit"


def _rates_of_file(file: Payload) -> list[Payload]:
    """Rates by aim, stage by stage, as a choice states them."""
    stages = file.get("stages") or [file.get("aim") or {}]
    return [
        {"give_up": stage.get("give_up", 0.0), **{name: term.get("rate") for name, term in stage["terms"].items()}}
        if isinstance(stage.get("terms"), Mapping)
        else {}
        for stage in stages
    ]


def _rates(case: Case) -> list[Payload]:
    aims = case.scenario.aims
    if aims.in_order:
        return [{"give_up": stage.give_up, **rates_per_unit(stage.own_rates)} for stage in aims.in_order]
    return [{"give_up": 0.0, **rates_per_unit(aims.own_rates)}]


def rates_per_unit(rates: Mapping[str, float]) -> dict[str, float]:
    """Rates above zero by aim, per unit as results state them."""
    return {
        name: rate / (1.0 if AIM_UNITS.get(name) is None else float(to_unit(1.0, str(AIM_UNITS[name]))))
        for name, rate in rates.items()
        if rate
    }


def require_same(case: Case, data: Payload, path: Path) -> None:
    """Refuse a trade-off, short list or explanation of another question.

    Its rates, its figures and the limits it names are computed again for the scenario's one vehicle.

    Raises
    ------
    UsageError
        What differs, or that the file cannot be read.
    """
    try:
        wrong = next(_not_the_same(case, data), "")
    except (KeyError, TypeError, ValueError, AttributeError, StopIteration) as error:
        raise UsageError(f"{path} does not hold what its schema asks for ({error}): make it again") from None
    except ConfigoptError as error:
        raise UsageError(f"{path} cannot be computed again ({error}): make it again") from None
    if wrong:
        raise UsageError(f"{path} answers another question: {wrong}; make it again")


def _not_the_same(case: Case, data: Payload) -> Iterator[str]:
    now = rates_per_unit(case.scenario.aims.rates)
    # A trade-off may weigh further aims than those that count; one without rate has none.
    stated = {row["name"]: row["rate"] for row in data.get("aims") or () if row["rate"]}
    if data["schema"] == "configopt/tradeoff/1" and any(
        not _same(rate, now.get(name), rel=1e-9) for name, rate in stated.items()
    ):
        yield "its exchange rates are others"
    choices = [*data.get("points", ()), *data.get("candidates", ())]
    for one in choices:
        yield from _point(case, one)
    told = data.get("choice")
    if told is not None:
        mine = _again(case, case.vehicle.name, _record_of_parts(told["choice"]))
        if data.get("vehicle", case.vehicle.name) != case.vehicle.name:
            yield f"it is of the vehicle {data['vehicle']}, not of {case.vehicle.name}"
        if not _same(told["figures"], {key: mine[key] for key in told["figures"]}):
            yield "the figures of its choice are others"
        stated = {name: term["rate"] for name, term in told.get("terms", {}).items()}
        if stated and not _same(stated, now, rel=1e-9):
            yield "its exchange rates are others"
        for row in data.get("limits") or ():
            rows = [one for one in mine["margins"] if (one["limit"], one["terrain"]) == (row["limit"], row["terrain"])]
            if not any(_same(one["required"], row["required"]) for one in rows):
                yield f"the limit on {limit_words({**row, 'position': None})} is another"


def _point(case: Case, one: Payload) -> Iterator[str]:
    (theirs,) = one["vehicles"]
    if theirs["name"] != case.vehicle.name:
        yield f"it is of the vehicle {theirs['name']}, not of {case.vehicle.name}"
        return
    record = _record_of(theirs)
    mine = _again(case, theirs["name"], record)
    differ = _differences(theirs, mine, main_only=True)
    if differ:
        yield f"other figures come out of choice {one['number']} now ({_named(differ)})"
    if any(not row["met"] for row in mine["margins"]):
        yield f"its choice {one['number']} misses a limit"
    for row in (*theirs.get("tightest", ()), *filter(None, [theirs.get("riskiest")])):
        found = [other for other in mine["margins"] if _key(other) == _key(row)]
        if not found or not _same(found[0]["required"], row["required"]):
            yield f"the limit on {limit_words(row)} is another"
    if one.get("aim") is not None:
        rates = {name: case.scenario.aims.rates.get(name, 0.0) for name in AIMS}
        appraised = appraise_record(VehicleModel(case.vehicle, case.catalog), record)
        if not _same(one["aim"], aim_of(appraised, rates)):
            yield "its exchange rates are others"


def _again(case: Case, name: str, record: VehicleChoiceRecord) -> Payload:
    found: Payload = appraise(case, [record], [name], explained=False).to_json()["vehicles"][0]
    return found


def _record_of(entry: Payload) -> VehicleChoiceRecord:
    """Packages of a result as a choice file states them."""
    parts: dict[str, Any] = {"final_drive": entry["final_drive"]}
    for package in entry["packages"]:
        lacing = package["lacing"]
        crossings = None if lacing is None else crossings_of(lacing)
        parts[package["position"]] = {**package, "crossings": crossings}
    return _record_of_parts(parts)


def _record_of_parts(parts: Payload) -> VehicleChoiceRecord:
    made: dict[str, Any] = {"final_drive": parts["final_drive"]}
    for position in ("front", "rear"):
        own = {**parts[position], "pressure": f"{parts[position]['pressure_kpa']!r} kPa"}
        made[position] = {key: own[key] for key in PackageRecord.model_fields if key in own}
    return VehicleChoiceRecord.model_validate(made)


def _key(row: Payload) -> tuple[Any, ...]:
    return row["limit"], row.get("terrain"), row.get("position"), row.get("condition")


def _differences(then: Payload, now: Payload, *, main_only: bool = False) -> list[str]:
    """Words for what differs of one vehicle; what is recorded decides what is compared, the limits always are."""
    found = []
    for key in _MAIN if main_only else (*_MAIN, *(key for key in then if key in now and key not in _MAIN)):
        if key != "margins" and key not in _NOT_COMPARED and not _same(then.get(key), now.get(key)):
            found.append(_words(key))
    if main_only:
        return found
    before = {_key(row): row for row in then.get("margins") or ()}
    after = {_key(row): row for row in now["margins"]}
    for limit in dict.fromkeys([*before, *after]):
        row, other = before.get(limit), after.get(limit)
        if row is None or other is None or any(not _same(row[name], other[name]) for name in ("required", "value")):
            found.append(limit_words(other or row or {}))
    return found


def _words(key: str) -> str:
    for ending in ("_wh_per_km", "_kg", "_km", "_mm"):
        key = key.removesuffix(ending)
    return key.replace("_", " ")


def _named(differ: Sequence[str]) -> str:
    rest = len(differ) - _NAMED
    return "; ".join([*differ[:_NAMED], *([f"and {rest} more"] if rest > 0 else [])])


def _same(then: Any, now: Any, *, rel: float = _SAME) -> bool:
    """Whether two values of results are the same, numbers but for their last digits."""
    if isinstance(then, Mapping) and isinstance(now, Mapping):
        keys = {key for key in (*then, *now) if key not in _NOT_COMPARED}
        return all(_same(then.get(key), now.get(key), rel=rel) for key in keys)
    if isinstance(then, list | tuple) and isinstance(now, list | tuple):
        return len(then) == len(now) and all(_same(one, two, rel=rel) for one, two in zip(then, now, strict=True))
    numbers = isinstance(then, int | float) and isinstance(now, int | float)
    if numbers and not isinstance(then, bool) and not isinstance(now, bool):
        return math.isclose(then, now, rel_tol=rel, abs_tol=1e-9)
    return bool(then == now)
