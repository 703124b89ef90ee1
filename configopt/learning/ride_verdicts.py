"""What riders said, as plain data: rankings of tires with their uncertainty, what was dropped, what to compare next.

Nothing here enters a choice.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from scipy.special import expit

from configopt.catalog.catalog import Catalog
from configopt.errors import UsageError
from configopt.learning.ranking import NINETY, Comparison, Group, counts, most_telling, ranked
from configopt.learning.verdicts import Verdict, VerdictTable

#: Pressures are told apart in these steps [kPa], as in a choice.
PRESSURE_STEP = 5
#: Where a tire may stand; a row that says neither or both counts for either.
POSITIONS = frozenset({"front", "rear"})
#: Most riders and names with which it is looked at whether the first place hangs on one rider.
_MOST_RIDERS, _MOST_NAMES = 30, 40
NOTE = "Verdicts are shown beside the calculation; they change nothing in the choice."
CAUTIONS = (
    "Verdicts are opinions of few riders on few days. They show which tires to ride again, not which ones are safe.",
    NOTE,
)


@dataclass(frozen=True)
class Ranked:
    """Verdicts on one purpose (None: on all together), ranked."""

    purpose: str | None
    rows: tuple[Verdict, ...]
    groups: tuple[Group, ...]
    by_pressure: bool

    def group_of(self, name: str) -> Group | None:
        """The group in which a name is, or None where it was not compared."""
        return next((group for group in self.groups if name in group.names), None)

    def comparisons(self) -> list[Comparison]:
        """The verdicts, each with its voice: rider and day."""
        return _comparisons(self.rows, self.by_pressure)

    def to_json(self) -> dict[str, Any]:
        """One entry of ``rankings``."""
        told: dict[tuple[str, str], list[int]] = defaultdict(lambda: [0, 0, 0])
        for one in self.comparisons():
            which = ("first", "alike", "second").index(one.outcome)
            told[one.first, one.second][which] += 1
            told[one.second, one.first][2 - which] += 1
        parts = {
            name: part
            for row in self.rows
            for name, part in zip(_names(row, self.by_pressure), _parts(row), strict=True)
        }
        return {
            "for": self.purpose,
            "verdicts": len(self.rows),
            "counted": sum(group.voices for group in self.groups),
            "alike": sum(row.verdict == "alike" for row in self.rows),
            "riders": len(riders(self.rows)),
            "groups": [_group_json(group, told, parts) for group in self.groups],
        }


def _names(row: Verdict, by_pressure: bool) -> tuple[str, str]:
    """What a row compares, by the name under which it is ranked."""
    if not by_pressure:
        return row.tire, row.than
    return tuple(  # type: ignore[return-value]
        f"{tire}, pressure not stated" if pressure is None else f"{tire} at {pressure:.0f} kPa"
        for tire, pressure in _parts(row)
    )


def _parts(row: Verdict) -> tuple[tuple[str, float | None], tuple[str, float | None]]:
    """Tires of a row with their pressures [kPa], in steps."""
    return (row.tire, _step(row.pressure)), (row.than, _step(row.than_pressure))


def _step(pressure: float | None) -> float | None:
    return None if pressure is None else float(PRESSURE_STEP * round(pressure / 1e3 / PRESSURE_STEP))


def riders(rows: Iterable[Verdict]) -> list[str]:
    """Who rode, by name, without regard to capital letters."""
    return sorted({row.who.casefold() for row in rows})


def days(rows: Iterable[Verdict]) -> dict[str, str | None]:
    """First and last day of the rides."""
    found = sorted(row.when.isoformat() for row in rows)
    return {"first_day": found[0] if found else None, "last_day": found[-1] if found else None}


def _comparisons(rows: Iterable[Verdict], by_pressure: bool) -> list[Comparison]:
    outcome: dict[str, Any] = {"better": "first", "worse": "second", "alike": "alike"}
    found = []
    for row in rows:
        first, second = _names(row, by_pressure)
        if first != second and row.verdict is not None:
            found.append(Comparison(first, second, outcome[row.verdict], (row.who.casefold(), row.when.isoformat())))
    return found


def rank_table(table: VerdictTable, purpose: str | None = None, *, by_pressure: bool = False) -> Ranked:
    """Rank what a table compares.

    Parameters
    ----------
    table : of verdicts
    purpose : what was judged, or None for all verdicts together
    by_pressure : whether a tire at another pressure counts as another one

    Raises
    ------
    UsageError
        More tires than can be ranked.
    """
    rows = tuple(
        row for row in table.compared if purpose in (None, row.purpose) and len(set(_names(row, by_pressure))) == 2
    )
    return Ranked(purpose, rows, tuple(ranked(_comparisons(rows, by_pressure))), by_pressure)


def _group_json(
    group: Group,
    told: Mapping[tuple[str, str], Sequence[int]],
    parts: Mapping[str, tuple[str, float | None]],
) -> dict[str, Any]:
    items, pairs = [], []
    for at, name in enumerate(group.names):
        mine = [sum(row[which] for (one, _), row in told.items() if one == name) for which in range(3)]
        items.append(
            {
                "name": name,
                "tire": parts[name][0],
                "pressure_kpa": parts[name][1] if name != parts[name][0] else None,
                "verdicts": sum(mine),
                "better": mine[0],
                "alike": mine[1],
                "worse": mine[2],
                **standing(group, at),
            }
        )
        for other in range(at + 1, len(group.names)):
            direct = told.get((name, group.names[other]))
            if direct is not None or at == 0:
                pairs.append(_pair_json(group, at, other, direct or (0, 0, 0)))
    return {"items": items, "pairs": pairs}


def standing(group: Group, at: int) -> dict[str, float]:
    """Strength of one in its group [log odds], and its chance of a preference over one in the middle of the group."""
    strength, spread = float(group.strength[at]), float(group.spread[at])
    low, high = strength - NINETY * spread, strength + NINETY * spread
    return {
        "strength": strength,
        "strength_low": low,
        "strength_high": high,
        "chance_over_middle": float(expit(strength)),
        "chance_over_middle_low": float(expit(low)),
        "chance_over_middle_high": float(expit(high)),
        "chance_best": float(group.chance_best[at]),
    }


def preferred(group: Group, first: int, second: int) -> dict[str, float]:
    """Chance that one is preferred over another in a decided verdict, and that it is the stronger."""
    found = group.between(first, second)
    return {
        "chance_preferred": found.chance,
        "chance_preferred_low": found.low,
        "chance_preferred_high": found.high,
        "chance_ahead": found.chance_ahead,
    }


def _pair_json(group: Group, first: int, second: int, direct: Sequence[int]) -> dict[str, Any]:
    return {
        "first": group.names[first],
        "second": group.names[second],
        "better": direct[0],
        "alike": direct[1],
        "worse": direct[2],
        **preferred(group, first, second),
    }


def trials_report(
    table: VerdictTable, *, catalog: Catalog | None = None, asked: str | None = None, by_pressure: bool = False
) -> dict[str, Any]:
    """All that a table of verdicts says (schema configopt/trials/1).

    Parameters
    ----------
    table : of verdicts
    catalog : parts on offer; without it every tire of the table may be compared again
    asked : a word; only what was judged for it is ranked
    by_pressure : whether a tire at another pressure counts as another one

    Raises
    ------
    UsageError
        Nothing was judged for the word, or more tires than can be ranked.
    """
    purposes = _purposes(table, asked)
    found = [rank_table(table, purpose, by_pressure=by_pressure) for purpose in purposes]
    if asked is None:
        together = rank_table(table, by_pressure=by_pressure)
        # Where all was judged for the same, that ranking is the one over all.
        if not (len(found) == 1 and found[0].rows == together.rows):
            found.insert(0, together)
    rankings = [one for one in found if one.rows]
    rows = table.rows
    return {
        "schema": "configopt/trials/1",
        "file": table.path,
        "sha256": table.sha256,
        "asked": asked,
        "by_pressure": by_pressure,
        "rides": len(rows),
        "verdicts": len(table.compared),
        "riders": len(riders(rows)),
        **days(rows),
        "rankings": [{**one.to_json(), "teaches_most": _teaches_most(one, table, catalog)} for one in rankings],
        "dropped": dropped(rows),
        "remarks": _remarks(table, rankings, by_pressure),
        "notes": [str(note) for note in table.notes],
        "cautions": list(CAUTIONS),
    }


def _purposes(table: VerdictTable, asked: str | None) -> list[str]:
    """What was judged, as far as it matches a word."""
    known = list(table.purposes)
    if asked is None:
        return known
    word = " ".join(asked.casefold().split())
    found = [word] if word in known else [purpose for purpose in known if word and word in purpose]
    if not found:
        raise UsageError(
            f'nothing was compared for "{asked}"; '
            + (f"there are: {', '.join(known)}" if known else "no row says for what")
        )
    return found


def dropped(rows: Iterable[Verdict], tires: set[str] | None = None) -> list[dict[str, Any]]:
    """Tires that were given up and why, the latest first; all, or of some tires."""
    found = [row for row in rows if row.dropped and (tires is None or row.tire in tires)]
    return [
        {
            "line": row.line,
            "tire": row.tire,
            "pressure_kpa": None if row.pressure is None else row.pressure / 1e3,
            "when": row.when.isoformat(),
            "who": row.who,
            "place": row.place,
            "conditions": row.conditions,
            "why": row.why,
        }
        for row in sorted(found, key=lambda row: (row.when, row.line), reverse=True)
    ]


def _teaches_most(one: Ranked, table: VerdictTable, catalog: Catalog | None) -> list[dict[str, Any]]:
    """Comparisons that would teach most, among tires on offer that nobody gave up and that were ridden at one end."""
    gone = {row.tire for row in table.rows if row.dropped}
    if catalog is not None:
        offered = {tire.id for tire in catalog.tires if tire.status != "withdrawn"}
        gone |= {tire for row in one.rows for tire in (row.tire, row.than) if tire not in offered}
    places: dict[str, set[str]] = defaultdict(set)
    for row in one.rows:
        for name, (tire, _) in zip(_names(row, one.by_pressure), _parts(row), strict=True):
            if tire not in gone:
                places[name] |= POSITIONS if row.position not in POSITIONS else {row.position}
    return [
        {"first": row.first, "second": row.second, "share": row.share, "never_compared": row.joins}
        for row in most_telling(one.groups, {name: frozenset(found) for name, found in places.items()})
    ]


def _remarks(table: VerdictTable, rankings: Sequence[Ranked], by_pressure: bool) -> list[str]:
    found = []
    purposes = {one.purpose for one in rankings}
    alone = sum(row.tire == row.than and (None in purposes or row.purpose in purposes) for row in table.compared)
    if alone and not by_pressure:
        found.append(f"rows that compare one tire with itself at two pressures, ranked by --by-pressure only: {alone}")
    for one in rankings[:1]:
        told = counts(one.comparisons())
        total = sum(sum(row) for row in told.values())
        if total < len(one.rows) - 1e-9:
            found.append(
                f"{len(one.rows)} verdicts count as {total:.0f}: what one rider says of one pair on one day counts "
                "once, in equal parts where it differs"
            )
        found += _one_rider(one)
    return found


def _one_rider(one: Ranked) -> list[str]:
    """Riders without whom another would come first in a group."""
    everybody, names = riders(one.rows), sum(len(group.names) for group in one.groups)
    if not 1 < len(everybody) <= _MOST_RIDERS or names > _MOST_NAMES:
        return []
    found = []
    written = {row.who.casefold(): row.who for row in reversed(one.rows)}
    for rider in everybody:
        rest = ranked(_comparisons((row for row in one.rows if row.who.casefold() != rider), one.by_pressure))
        for group in one.groups:
            first = group.names[0]
            now = next((other for other in rest if first in other.names), None)
            if now is not None and now.names[0] != first:
                found.append(f"without the verdicts of {written[rider]}, {now.names[0]} would come before {first}")
    return found
