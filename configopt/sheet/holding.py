"""Whether results that were made before still hold: the same question, and the same figures when computed again.

A result holds the hashes of its scenario and its catalogs, so whether it answers this question is known.  Its figures
are computed again all the same: another version of the program may find others.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from configopt.appraisal.appraise import appraise, scenario_sha256
from configopt.decisions.choice_file import crossings_of
from configopt.errors import ConfigoptError, UsageError
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
    return tuple(f"{entry['name']}: {text}" for entry in payload["vehicles"] for text in missed_by(entry))


def missed_by(entry: Payload) -> tuple[str, ...]:
    """Limits that the packages of one vehicle of a result miss, in words."""
    return tuple(
        f"{limit_words(row)}: {figure_text(row['value'], row['unit'])} ({asked_words(row)})"
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
            f"When they were recorded they were {proven}, and neither catalogs nor scenario have changed since; the "
            "figures computed again are those recorded."
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
    elif made.get("scenario_sha256") is None:
        yield "the scenario may have changed, for the file holds no hash of it"
    elif made["scenario_sha256"] != scenario_sha256(case):
        yield "the scenario has changed"
    differ: list[str] = []
    for entry in payload["vehicles"]:
        differ += _differences(theirs.get(entry["name"], {}), entry)
    if differ:
        yield f"other figures or limits come out now ({_named(differ)})"
    if missed_limits(payload):
        yield "a limit is missed"
    if payload.get("misfits"):
        yield "something does not fit"


def require_same(case: Case, data: Payload, path: Path) -> None:
    """Refuse a trade-off, short list or explanation of another question, or whose figures are no longer the same.

    Raises
    ------
    UsageError
        What differs, or that the file cannot be read.
    """
    made = data.get("made_with")
    if not isinstance(made, Mapping):
        raise UsageError(f"{path} does not say what it was made with: make it again")
    if made.get("catalogs_sha256") != case.catalog.sha256:
        raise UsageError(f"{path} was made with other catalogs: make it again")
    if made.get("scenario_sha256") != scenario_sha256(case):
        why = "the scenario has changed since" if "scenario_sha256" in made else "it holds no hash of its scenario"
        raise UsageError(f"{path} is not known to answer this question: {why}; make it again")
    try:
        wrong = next(_not_the_same(case, data), "")
    except (KeyError, TypeError, ValueError, AttributeError, StopIteration) as error:
        raise UsageError(f"{path} does not hold what its schema asks for ({error}): make it again") from None
    except ConfigoptError as error:
        raise UsageError(f"{path} cannot be computed again ({error}): make it again") from None
    if wrong:
        raise UsageError(f"{path} does not hold here: {wrong}; make it again")


def _not_the_same(case: Case, data: Payload) -> Iterator[str]:
    for one in (*data.get("points", ()), *data.get("candidates", ())):
        (theirs,) = one["vehicles"]
        yield from _another_vehicle(case, theirs["name"])
        mine = _again(case, _record_of(theirs))
        differ = _differences(theirs, mine, main_only=True)
        if differ:
            yield f"other figures come out of choice {one['number']} now ({_named(differ)})"
        if any(not row["met"] for row in mine["margins"]):
            yield f"its choice {one['number']} misses a limit"
    told = data.get("choice")
    if told is not None:
        yield from _another_vehicle(case, data.get("vehicle", case.vehicle.name))
        mine = _again(case, _record_of_parts(told["choice"]))
        if not _same(told["figures"], {key: mine[key] for key in told["figures"]}):
            yield "the figures of its choice are others"


def _another_vehicle(case: Case, name: str) -> Iterator[str]:
    if name != case.vehicle.name:
        yield f"it is of the vehicle {name}, not of {case.vehicle.name}"


def _again(case: Case, record: VehicleChoiceRecord) -> Payload:
    found: Payload = appraise(case, [record], [case.vehicle.name], explained=False).to_json()["vehicles"][0]
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
