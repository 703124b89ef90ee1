"""What is wrong with the limits of a scenario: those that hold nowhere, stand twice or contradict each other."""

from __future__ import annotations

from configopt.errors import Finding
from configopt.files.yaml_source import Document, KeyPath
from configopt.scenario.limits import LIMITS, PAIRS
from configopt.scenario.records import LimitRecord, Vehicle
from configopt.scenario.scopes import POSITIONS, Surfaces, asked, ends, need_of, places_of

_REMOVE = "remove the limit"
_MOST_OF = dict(PAIRS)


def limit_findings(document: Document, at: KeyPath, vehicle: Vehicle, surfaces: Surfaces) -> list[Finding]:
    """Every mistake in the limits of a vehicle, each at its place in the file.

    Parameters
    ----------
    document
        The scenario's file.
    at
        Path of the vehicle in it.
    vehicle, surfaces
        The vehicle, and the surfaces by id; every surface that the vehicle names must be among them.
    """
    findings = []
    seen = set()
    for number, record in enumerate(vehicle.limits):
        here = (*at, "limits", number)
        place = (record.limit, record.terrain, record.position)
        if place in seen:
            message = f"limit {record.limit} is stated twice for the same place"
            findings.append(document.finding((*here, "limit"), "LIMIT", message, "keep one"))
            continue
        seen.add(place)
        wrong = _nowhere(record, vehicle, surfaces)
        if wrong is not None:
            key, rule, message, fix = wrong
            findings.append(document.finding((*here, key), rule, message, fix))
    return [*findings, *_contradictions(document, at, vehicle, surfaces)]


def _nowhere(record: LimitRecord, vehicle: Vehicle, surfaces: Surfaces) -> tuple[str, str, str, str] | None:
    """Key, rule, message and fix of a stated limit that does not hold wherever it is meant to."""
    limit, terrain = LIMITS[record.limit], record.terrain
    need = need_of(limit)
    known = [ridden.name for ridden in vehicle.terrains] + [descent.name for descent in vehicle.descents]
    able = [name for name in need.find(vehicle, surfaces) if name in known]
    add = f"{need.add}, or {_REMOVE}" if need.add else _REMOVE
    instead = f"name {' or '.join(map(str, able))}, or {_REMOVE}" if able else add
    if terrain is not None and terrain not in known:
        return "terrain", "REFERENCE", f'limit {limit.key} names "{terrain}", which is no terrain or descent', instead
    there = ends(limit, vehicle)
    meant = (record.position,) if record.position is not None else POSITIONS if "position" in limit.scopes else ()
    rigid = [end for end in meant if end not in there]
    if rigid:
        fix = f"state it for position: {there[0]}, or {_REMOVE}" if there else _REMOVE
        return "limit", "LIMIT", f"limit {limit.key} needs a suspension; the {' and the '.join(rigid)} has none", fix
    if places_of(record, vehicle, surfaces):
        return None
    if terrain is not None:
        return "terrain", "LIMIT", f"limit {limit.key} needs {need.what}; {terrain} is none", instead
    return "limit", "LIMIT", f"limit {limit.key} needs {need.what}; {need.missing}", add


def _contradictions(document: Document, at: KeyPath, vehicle: Vehicle, surfaces: Surfaces) -> list[Finding]:
    """Least values above the most that is asked of the same thing, each at the stated limit that comes last."""
    found = {}
    required = asked(vehicle, surfaces)
    for (key, terrain, position), low in required.items():
        most = _MOST_OF.get(key)
        high = required.get((most, terrain, position)) if most is not None else None
        if most is None or high is None or low.required <= high.required:
            continue
        numbers = [one.number for one in (low, high) if one.number is not None]
        default = "" if high.number is not None else " by default"
        message = (
            f"limits {key} and {most} contradict each other: "
            f"at least {LIMITS[key].text(low.required)}, at most {LIMITS[most].text(high.required)}{default}"
        )
        path = (*at, "limits", max(numbers), "limit")
        fix = f"lower {key}, or {'raise' if high.number is not None else 'state'} {most}"
        found[path, message] = document.finding(path, "LIMIT", message, fix)
    return list(found.values())
