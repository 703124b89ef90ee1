"""What riders said of the tires of calculated choices, set beside the calculation."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from configopt.learning.ride_verdicts import NOTE, Ranked, days, dropped, preferred, rank_table, riders, standing
from configopt.learning.ride_words import PROBABLE
from configopt.learning.verdicts import VerdictTable
from configopt.scenario.records import Vehicle


@dataclass(frozen=True)
class Calculated:
    """A tire in a calculated choice: where, at which pressure [kPa], and what that choice comes to."""

    position: str
    tire: str
    pressure_kpa: float | None = None
    aim: float | None = None
    mass_kg: float | None = None
    rolling_loss_wh_per_km: float | None = None
    choice: str = ""
    """What the choice is called, such as ``candidate 2``."""


@dataclass
class _Told:
    """Rankings of a table, and which tires are asked about."""

    table: VerdictTable
    together: Ranked = field(init=False)
    by_purpose: list[Ranked] = field(init=False)

    def __post_init__(self) -> None:
        self.together = rank_table(self.table)
        self.by_purpose = [rank_table(self.table, purpose) for purpose in self.table.purposes]

    def tire(self, one: Calculated) -> dict[str, Any]:
        """What riders said of a tire."""
        rows = [row for row in self.together.rows if one.tire in (row.tire, row.than)]
        ridden = [
            pressure
            for row in self.table.rows
            for tire, pressure in ((row.tire, row.pressure), (row.than, row.than_pressure))
            if tire == one.tire and pressure is not None
        ]
        found: dict[str, Any] = {
            "position": one.position,
            "tire": one.tire,
            "choice": one.choice,
            "pressure_kpa": one.pressure_kpa,
            "verdicts": len(rows),
            "riders": len(riders(rows)),
            "ridden_kpa_low": min(ridden) / 1e3 if ridden else None,
            "ridden_kpa_high": max(ridden) / 1e3 if ridden else None,
            "ranked": None,
        }
        group = self.together.group_of(one.tire)
        if group is not None:
            at = group.names.index(one.tire)
            found["ranked"] = {"place": at + 1, "of": len(group.names), **standing(group, at)}
        return found

    def pair(self, first: Calculated, second: Calculated) -> dict[str, Any]:
        """Two tires: what riders prefer, what the calculation says, and whether both point the same way."""
        found = self._preferred(self.together, first.tire, second.tire)
        loss = None
        if first.aim is not None and second.aim is not None:
            loss = 100.0 * (second.aim - first.aim) / max(abs(first.aim), 1e-9)
        return {
            "position": first.position,
            "first": first.tire,
            "second": second.tire,
            "choices": [first.choice, second.choice],
            "preferred": found,
            "for": [
                {"for": one.purpose, **its}
                for one in self.by_purpose
                if (its := self._preferred(one, first.tire, second.tire)) is not None
            ],
            "aim_loss_percent": loss,
            "mass_change_kg": _change(first.mass_kg, second.mass_kg),
            "rolling_loss_change_wh_per_km": _change(first.rolling_loss_wh_per_km, second.rolling_loss_wh_per_km),
            "agree": _agree(found, loss),
        }

    @staticmethod
    def _preferred(one: Ranked, first: str, second: str) -> dict[str, Any] | None:
        group = one.group_of(first)
        if group is None or second not in group.names:
            return None
        return {
            "verdicts": sum({row.tire, row.than} == {first, second} for row in one.rows),
            **preferred(group, group.names.index(first), group.names.index(second)),
        }


def _change(first: float | None, second: float | None) -> float | None:
    return None if first is None or second is None else second - first


def _agree(found: Mapping[str, Any] | None, loss: float | None) -> str | None:
    """Whether riders and the aim point the same way; None where one of them says nothing."""
    if found is None or loss is None:
        return None
    ahead = found["chance_ahead"]
    if abs(loss) < 1e-7 or 1.0 - PROBABLE < ahead < PROBABLE:
        return "open"
    return "same" if (ahead >= PROBABLE) == (loss > 0.0) else "opposite"


def in_vehicle(vehicle: Mapping[str, Any], choice: str, aim: float | None = None) -> list[Calculated]:
    """Tires of one entry of ``vehicles`` of an answer."""
    return [
        Calculated(
            package["position"],
            package["tire"],
            package["pressure_kpa"] or None,
            aim,
            vehicle["mass_kg"],
            vehicle["rolling_loss_wh_per_km"],
            choice,
        )
        for package in sorted(vehicle["packages"], key=lambda package: str(package["position"]))
    ]


def in_shortlist(payload: Mapping[str, Any]) -> list[Calculated]:
    """Tires of the candidates of a short list (JSON)."""
    return [
        tire
        for one in payload["candidates"]
        for tire in in_vehicle(one["vehicles"][0], f"candidate {one['number']}", one["aim"])
    ]


def in_explanation(payload: Mapping[str, Any]) -> list[Calculated]:
    """Tires of an explained choice and of the choices beside it that differ in the tire at one end (JSON)."""
    best = payload["choice"]
    if best is None:
        return []
    found = [
        _of_figures(
            position, best["choice"][position]["tire"], best["choice"][position]["pressure_kpa"], best, "the best"
        )
        for position in ("front", "rear")
    ]
    others = [other for row in payload["runners_up"] or () for other in row["best"]]
    others += [row["instead"] for row in payload["losing"] or () if row["instead"] is not None]
    part = payload["part"]
    if part is not None and part["best_with_it"] is not None:
        others.append(part["best_with_it"])
    for other in others:
        tires = [row for row in other["parts"] if row["part"] == "tire"]
        if len(tires) == 1:
            position = tires[0]["position"]
            pressure = best["choice"][position]["pressure_kpa"]
            for row in other["parts"]:
                pressure = row["second"] if (row["position"], row["part"]) == (position, "pressure_kpa") else pressure
            found.append(_of_figures(position, tires[0]["second"], pressure, other, "another"))
    if part is not None and part["family"] == "tires":
        found += [Calculated(row["position"], part["part"]) for row in part["places"] if row["reason"] is None]
    return found


def _of_figures(position: str, tire: str, pressure: float | None, row: Mapping[str, Any], choice: str) -> Calculated:
    figures = row["figures"]
    loss = figures["rolling_loss_wh_per_km"]
    return Calculated(position, tire, pressure or None, row["aim"], figures["mass_kg"], loss, choice)


def today(vehicle: Vehicle) -> list[Calculated]:
    """Tires of today's vehicle, where it is stated."""
    if vehicle.baseline is None:
        return []
    return [
        Calculated("front", vehicle.baseline.front.tire, choice="today"),
        Calculated("rear", vehicle.baseline.rear.tire, choice="today"),
    ]


def beside(table: VerdictTable, listed: Sequence[Calculated]) -> dict[str, Any]:
    """What riders said of the tires of calculated choices (``ride_verdicts`` of an answer).

    Parameters
    ----------
    table : of verdicts
    listed : tires of the choices, the best choice first; of a tire that is listed twice at a position the first counts

    Returns
    -------
    dict
        The first tire of each position is set against the others there.
    """
    told = _Told(table)
    first_of: dict[tuple[str, str], Calculated] = {}
    for one in listed:
        first_of.setdefault((one.position, one.tire), one)
    unique = list(first_of.values())
    pairs = []
    for position in dict.fromkeys(one.position for one in unique):
        first, *others = (one for one in unique if one.position == position)
        pairs += [told.pair(first, other) for other in others]
    return {
        "file": table.name,
        "rides": len(table.rows),
        "verdicts": len(table.compared),
        "riders": len(riders(table.rows)),
        **days(table.rows),
        "tires": [told.tire(one) for one in unique],
        "pairs": pairs,
        "dropped": dropped(table.rows, {one.tire for one in unique}),
        "note": NOTE,
    }
