"""A recorded decision decided again: does it still meet every limit, and is it still the best?"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal

from configopt.appraisal.report import figures
from configopt.decisions.comparison import part_differences
from configopt.errors import AuditError
from configopt.scenario.case import Case
from configopt.scenario.records import VehicleChoiceRecord
from configopt.sweep.answers import EQUAL, Best, Kept, appraised_in, best_of, compared, one_sum, weighed

Status = Literal["best", "beaten", "broken", "without alternates", "unproven", "contradiction"]
#: Share by which aims may differ and still count as equal: recorded figures carry ten digits.
SAME = 1e-7


@dataclass(frozen=True)
class Verdict:
    """What deciding again came to; plain values only, so that it can come from another process."""

    status: Status
    aim: float | None = None
    """Aim of the decision now; of aims in order, of the one that it loses, or the last."""
    best: float | None = None
    """Least aim that was found, which is the best where the status is not ``unproven``."""
    bound: float | None = None
    """No choice goes below this."""
    misses: tuple[dict[str, Any], ...] = ()
    """Limits that the decision misses, and rules of fit that it breaks."""
    instead: tuple[dict[str, Any], ...] = ()
    """What the better choice has in other places: vehicle, position, part, first and second."""
    figures: tuple[dict[str, float], ...] = ()
    """What the decision comes to now, vehicle by vehicle, where it is still the best."""
    reason: str = ""

    @property
    def loss(self) -> float:
        """By which share of the best aim the decision is worse."""
        if self.aim is None or self.best is None:
            return 0.0
        return (self.aim - self.best) / max(abs(self.best), 1e-9)


def judge(
    case: Case,
    records: tuple[VehicleChoiceRecord, ...],
    *,
    accepted_loss: float = 0.0,
    time_limit: float | None = None,
) -> Verdict:
    """Decide a decision again.

    Parameters
    ----------
    case
        The scenario with its catalogs as they are now.
    records
        The decision, one record per vehicle in the order of the scenario; its parts exist.
    accepted_loss
        Share of the best aim by which it may be worse.
    time_limit
        Stop the search for a better one after this time [s].

    Returns
    -------
    Verdict
        Whether it stands.
    """
    kept = compared(case, Kept("decision", records), None)
    if not kept["meets"]:
        return Verdict("broken", kept["aim"], misses=tuple(kept["misses"]))
    try:
        found = best_of(case, [records], time_limit=time_limit)
    except AuditError as error:
        return Verdict("contradiction", kept["aim"], reason=str(error))
    if not found.agrees:
        return Verdict("contradiction", kept["aim"], reason="the full model contradicts the search")
    if found.records is None or found.value is None:
        # The decision meets every limit, so only what the scenario asks beyond limits can leave nothing.
        return Verdict("without alternates" if found.proven else "unproven", kept["aim"])
    for mine, best, allowed, bound in _aims(case, records, found, kept["aim"], accepted_loss):
        if mine > allowed + EQUAL * max(abs(allowed), 1e-9):
            rows = [
                {"vehicle": vehicle.name, **row}
                for vehicle, one, other in zip(case.scenario.vehicles, records, found.records, strict=True)
                for row in part_differences(one, other)
            ]
            return Verdict("beaten", mine, best, bound, instead=tuple(rows))
    if not one_sum(case) and kept["aim"] < found.value - SAME * max(abs(found.value), 1e-9):
        return Verdict("without alternates", kept["aim"], found.value, found.bound)
    # What is accepted to be lost may be more than what is not proven yet.
    within = found.bound is not None and one_sum(case) and kept["aim"] <= found.bound * (1.0 + accepted_loss)
    if not found.proven and not within:
        return Verdict("unproven", kept["aim"], found.value, found.bound)
    totals = tuple(figures(one) for one in appraised_in(case, records))
    return Verdict("best", kept["aim"], found.value, found.bound, figures=totals)


def accepted_loss(case: Case, records: tuple[VehicleChoiceRecord, ...], found: Best, aim: float) -> float:
    """The least loss to accept, as a share, with which the best choice does not beat these packages.

    Parameters
    ----------
    case
        The scenario with its catalogs.
    records
        Packages that meet every limit.
    found
        The best choice.
    aim
        Aim of the packages; of aims in order, of the last one.
    """
    rows = _aims(case, records, found, aim, 0.0)
    loss = max((mine - allowed) / max(abs(allowed), 1e-9) for mine, _, allowed, _ in rows)
    # Rounded up: what is accepted must not be beaten by its own rounding.
    return 0.0 if loss <= EQUAL else math.ceil(loss * 1e7) / 1e7


def _aims(
    case: Case, records: tuple[VehicleChoiceRecord, ...], found: Best, aim: float, accepted_loss: float
) -> list[tuple[float, float, float, float | None]]:
    """Per aim in order: the decision's value, the best, the most that is allowed, and what nothing goes below."""
    slack = 1.0 + accepted_loss
    stages = case.scenario.aims.in_order
    if not stages:
        assert found.value is not None
        return [(aim, found.value, found.value * slack, found.bound)]
    appraised = appraised_in(case, records)[0]
    listed = []
    for stage, row in zip(stages, found.stages, strict=True):
        best = float(row["value"])
        listed.append((weighed(appraised, stage.own_rates), best, best * (1 + row["give_up"]) * slack, row["bound"]))
    return listed
