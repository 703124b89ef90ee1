"""Two answers beside each other: whether they are the same choice, and which parts and figures differ."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from configopt.scenario.case import PACKAGE_PARTS

#: Figures of a vehicle that an answer keeps.
FIGURES = ("mass_kg", "rolling_loss_wh_per_km", "energy_wh_per_km", "range_km", "cost")
#: What makes a package and tells two choices apart, in the order of the ground up.
PACKAGE = (
    "tire", "pressure_kpa", "inner", "rim_lock", "rim_locks", "rim", "spokes", "lacing", "disc_wheel", "hub", "rotor",
    "caliper", "pad",
)  # fmt: skip
assert set(PACKAGE_PARTS) <= set(PACKAGE)

Answer = Mapping[str, Any]


def choice_of(answer: Answer) -> tuple[Any, ...] | None:
    """What tells the choice of an answer from others; ``None`` where it has none."""
    if not answer.get("vehicles"):
        return None
    return tuple(
        (vehicle["name"], vehicle["final_drive"], *(package[key] for package in vehicle["packages"] for key in PACKAGE))
        for vehicle in answer["vehicles"]
    )


def part_changes(before: Answer, after: Answer) -> list[dict[str, Any]]:
    """Parts and pressures that differ between two answers with choices."""
    found: list[dict[str, Any]] = []
    for old, new in zip(before.get("vehicles", []), after.get("vehicles", []), strict=False):
        rows = [(None, "final_drive", old["final_drive"], new["final_drive"])]
        for mine, theirs in zip(old["packages"], new["packages"], strict=True):
            rows += [(mine["position"], key, mine[key], theirs[key]) for key in PACKAGE]
        found += [
            {"vehicle": new["name"], "position": position, "what": what, "from": was, "to": now}
            for position, what, was, now in rows
            if was != now
        ]
    return found


def difference(before: Answer, after: Answer, digits: int = 10) -> dict[str, Any] | None:
    """What changes from one answer to another: aim, figures of every vehicle, parts; ``None`` without two choices."""
    if not before.get("vehicles") or not after.get("vehicles"):
        return None

    def less(new: float | None, old: float | None) -> float | None:
        return None if new is None or old is None else float(f"{new - old:.{digits}g}")

    return {
        "aim": less(after["aim"], before["aim"]),
        "vehicles": [
            {"name": new["name"], **{key: less(new[key], old[key]) for key in FIGURES}}
            for old, new in zip(before["vehicles"], after["vehicles"], strict=False)
        ],
        "parts": part_changes(before, after),
    }
