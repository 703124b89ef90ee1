"""The trade-off of one vehicle: every choice that no other beats in all aims at once, with its proof."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from configopt.appraisal.appraise import made_with
from configopt.appraisal.one_vehicle import appraise_vehicle
from configopt.appraisal.remarks import general_cautions
from configopt.appraisal.report import report
from configopt.appraisal.vehicle import POSITIONS
from configopt.choice.audit import Candidates, Choices, quantities
from configopt.choice.choose import Interruptible, Settings, require_one_vehicle
from configopt.choice.frontier import EQUAL, MOST_POINTS, FrontierSearch, Point, find_frontier
from configopt.choice.result import AGREE, Audit
from configopt.choice.ties import first_tie, packages_of, record_of
from configopt.choice.weights import AIMS
from configopt.errors import ExitCode, UsageError
from configopt.quantities import to_unit
from configopt.scenario.case import Case
from configopt.scenario.records import VehicleChoiceRecord

Status = Literal["complete", "partial", "infeasible", "unknown"]
#: Unit in which each aim is shown; cost is in the catalogs' currency.
AIM_UNITS = {"mass": "kg", "rolling_loss": "Wh/km", "energy": "Wh/km", "cost": "currency"}
EXITS: dict[Status, ExitCode] = {
    "complete": ExitCode.DONE,
    "partial": ExitCode.STOPPED_EARLY,
    "infeasible": ExitCode.NOTHING_MEETS_THE_LIMITS,
    "unknown": ExitCode.STOPPED_EARLY,
}
#: Parts of a vehicle's report that one of many choices keeps.
KEPT = (
    "name", "final_drive", "mass_kg", "cost", "currency", "rolling_loss_wh_per_km", "energy_wh_per_km", "range_km",
    "packages",
)  # fmt: skip
#: Margins that it keeps, those with least to spare.
MARGINS = 3


@dataclass(frozen=True)
class TradeoffPoint:
    """One point: what each aim comes to, in its unit, and the first of the choices that reach it."""

    values: dict[str, float]
    aim: float
    """Weighted by the scenario's rates; of aims in order, by the first rate that each quantity has."""
    ties: int
    best_by_rates: bool
    """Whether it is the choice that the scenario's rates make; not said while points may be missing."""
    vehicle: dict[str, Any]
    tightest: tuple[dict[str, Any], ...]
    record: VehicleChoiceRecord

    def to_json(self, number: int) -> dict[str, Any]:
        """One entry of ``points``."""
        return {
            "number": number,
            "values": self.values,
            "aim": self.aim,
            "ties": self.ties,
            "best_by_rates": self.best_by_rates,
            "vehicles": [self.vehicle],
            "tightest": list(self.tightest),
        }


@dataclass(frozen=True)
class Tradeoff:
    """All points, lightest (first aim) first; ``complete`` where it is proven that there are no others."""

    scenario: str
    status: Status
    aims: tuple[dict[str, Any], ...]
    points: tuple[TradeoffPoint, ...]
    counts: dict[str, Any]
    audit: Audit
    remarks: tuple[str, ...]
    cautions: tuple[str, ...]
    made_with: dict[str, Any]

    @property
    def exit_code(self) -> ExitCode:
        """How a command with this answer ends."""
        return EXITS[self.status] if self.audit.agrees else ExitCode.AUDIT_CONTRADICTS

    def to_json(self) -> dict[str, Any]:
        """JSON of schema configopt/tradeoff/1."""
        return {
            "schema": "configopt/tradeoff/1",
            "scenario": self.scenario,
            "status": self.status,
            "aims": list(self.aims),
            "points": [point.to_json(number) for number, point in enumerate(self.points, start=1)],
            "counts": self.counts,
            "audit": {
                "agrees": self.audit.agrees,
                "largest_difference": self.audit.largest_difference,
                "rounds": self.audit.rounds,
            },
            "remarks": list(self.remarks),
            "cautions": list(self.cautions),
            "made_with": self.made_with,
        }


def tradeoff(
    case: Case,
    *,
    extra: Sequence[str] = (),
    time_limit: float | None = None,
    threads: int = 1,
    progress: Callable[[str], None] | None = None,
) -> Tradeoff:
    """Find every choice of the case's one vehicle that no other beats in all of the scenario's aims.

    Parameters
    ----------
    case : scenario and catalogs
    extra : further aims beside those with a rate in the scenario: mass, rolling_loss, energy or cost
    time_limit : stop after this time with the points so far [s]
    threads : of the solver
    progress : called with a line of text now and then

    Returns
    -------
    Tradeoff
        Also where nothing meets the limits, and where it was stopped early.

    Raises
    ------
    UsageError
        A scenario with several vehicles or conditions, an unknown aim, or fewer than two aims.
    """
    require_one_vehicle(case)
    if case.vehicle.conditions:
        raise UsageError(
            f"{case.path}: a trade-off weighs one value of each aim, and {case.vehicle.name} has several conditions; "
            "take the conditions out, or state the hardest one as the vehicle"
        )
    began = time.monotonic()
    settings = Settings(time_limit=time_limit, threads=threads, progress=progress)
    with Interruptible(settings.stop):
        candidates = Candidates(case.vehicle, case.catalog, case.scenario.aims)
        aims = aims_of(candidates, extra)
        search = find_frontier(candidates, aims, settings)
        return _answer(case, search, began)


def aims_of(candidates: Candidates, extra: Sequence[str]) -> tuple[str, ...]:
    """The scenario's aims and further ones, in their fixed order.

    Raises
    ------
    UsageError
        An unknown aim, or fewer than two in all.
    """
    for name in extra:
        if name not in AIMS:
            raise UsageError(f'there is no aim "{name}"; there are {", ".join(AIMS)}')
    aims = tuple(name for name in AIMS if candidates.rates[name] or name in extra)
    if len(aims) < 2:
        rest = ", ".join(name for name in AIMS if name not in aims)
        raise UsageError(f"a trade-off needs two aims and the scenario has only {aims[0]}: add one of {rest}")
    return aims


def shown_values(aims: Sequence[str], values: Sequence[float]) -> dict[str, float]:
    """Quantities in the units of :data:`AIM_UNITS`."""
    return {
        name: float(value) if AIM_UNITS[name] == "currency" else float(to_unit(float(value), AIM_UNITS[name]))
        for name, value in zip(aims, values, strict=True)
    }


def _answer(case: Case, search: FrontierSearch, began: float) -> Tradeoff:
    candidates = search.candidates
    one_sum = case.scenario.aims.in_order is None
    best = min((_weighed(candidates, point) for point in search.points), default=0.0) if one_sum else None
    made = [_point(search, point, best) for point in search.points]
    largest = max((difference for _, difference, _ in made), default=0.0)
    agrees = largest <= AGREE and all(sound for _, _, sound in made)
    if search.points:
        status: Status = "complete" if search.complete else "partial"
    else:
        status = "infeasible" if search.complete else "unknown"
    notes = []
    if len(search.points) >= MOST_POINTS and not search.complete:
        notes.append(f"there are more than {MOST_POINTS:,} points; the rest was not looked for")
    return Tradeoff(
        scenario=case.name,
        status=status,
        aims=tuple(
            {"name": name, "unit": _unit(candidates, name), "rate": _rate(candidates, name) if one_sum else None}
            for name in search.aims
        ),
        points=tuple(point for point, _, _ in made),
        counts={
            "packages_that_fit": {p: candidates.of[p].package_count() for p in POSITIONS},
            "points": len(made),
            "choices": sum(len(point.choices) for point in search.points),
        },
        audit=Audit(agrees, largest, search.rounds),
        remarks=tuple(notes),
        cautions=tuple(general_cautions(case.vehicle)),
        made_with=made_with(case, began),
    )


def _unit(candidates: Candidates, name: str) -> str:
    return candidates.model.catalog.currency if AIM_UNITS[name] == "currency" else AIM_UNITS[name]


def _rate(candidates: Candidates, name: str) -> float | None:
    """What one shown unit of an aim counts; ``None`` where the scenario gives it no rate."""
    rate = candidates.rates[name]
    one = shown_values([name], [1.0])[name]
    return float(f"{rate / one:.12g}") if rate else None


def _weighed(candidates: Candidates, point: Point) -> float:
    """The weighted aim of a point's first choice."""
    return float(candidates.appraise(point.choices.take(np.array([0])))[0][0])


def _point(search: FrontierSearch, point: Point, best: float | None) -> tuple[TradeoffPoint, float, bool]:
    """A point through the full model from its parts: how far that is from the search, and whether it is sound.

    ``best`` is the least aim of all points, ``None`` where the scenario has no rates that hold for all aims at once.
    """
    candidates = search.candidates
    first: Choices = first_tie(candidates, point.choices)
    appraised = appraise_vehicle(candidates.model, packages_of(candidates, first), int(first.drive[0]))
    found = quantities(appraised.outcome)
    mine = found[0, search.columns]
    difference = float(np.max(np.abs(mine - point.values) / np.maximum(np.abs(point.values), 1e-9)))
    entry = report(appraised, sure=False)
    margins = [row for row in entry["margins"] if row["ratio"] is not None]
    aim = float(candidates.weighed(first, found)[0])
    made = TradeoffPoint(
        values=shown_values(search.aims, list(mine)),
        aim=aim,
        ties=len(point.choices),
        best_by_rates=search.complete and best is not None and aim <= best + EQUAL * max(abs(best), 1.0),
        vehicle={key: entry[key] for key in KEPT},
        tightest=tuple(sorted(margins, key=lambda row: float(row["ratio"]))[:MARGINS]),
        record=record_of(candidates, first),
    )
    return made, difference, not appraised.unmet and not appraised.misfits
