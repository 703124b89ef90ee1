"""One answer of the page as plain data: the choice through the full model, what it is drawn from, what fits."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from configopt.appraisal.conditions_report import with_aims
from configopt.appraisal.one_vehicle import VehicleAppraisal, appraise_record, appraise_vehicle
from configopt.appraisal.remarks import cautions, remarks
from configopt.appraisal.report import report
from configopt.appraisal.vehicle import VehicleModel
from configopt.choice.choose import Settings
from configopt.choice.result import aim_terms, choose
from configopt.choice.solve import Stop
from configopt.choice.ties import first_tie, packages_of
from configopt.desk.choosing import Choosing, Held
from configopt.desk.movable import POSITIONS, SLOTS
from configopt.desk.state import State
from configopt.errors import ConfigoptError
from configopt.scenario.case import Case
from configopt.scenario.records import VehicleChoiceRecord
from configopt.sheet.wheel_shape import WheelShape, wheel_shape

Payload = Mapping[str, Any]


@dataclass(frozen=True)
class Laid:
    """A candidate that is laid over the choice: its figures in the same scenario, or why there are none."""

    text: str
    words: str
    record: VehicleChoiceRecord | None = None
    entry: Payload | None = None
    """Its entry of ``vehicles`` in the JSON of an appraisal."""
    shapes: Mapping[str, WheelShape] = field(default_factory=dict)
    problem: str = ""


@dataclass(frozen=True)
class Shown:
    """What a state comes to.

    ``entry`` is the vehicle's entry in the JSON of a choice, without the intervals; ``None`` where nothing meets the
    limits or nothing was found in time.
    """

    proven: bool
    value: float | None
    bound: float | None
    terms: Payload
    entry: Payload | None
    record: VehicleChoiceRecord | None
    shapes: Mapping[str, WheelShape]
    today: Laid | None
    remarks: tuple[str, ...]
    cautions: tuple[str, ...]
    seconds: float
    ties: int | None = None
    laid: tuple[Laid, ...] = ()
    """Candidates that are laid over it."""

    @property
    def found(self) -> bool:
        """Whether there is a choice."""
        return self.entry is not None

    @property
    def status(self) -> str:
        """As the JSON of a choice has it."""
        if self.entry is None:
            return "infeasible" if self.proven else "unknown"
        return "optimal" if self.proven else "feasible"


def asked_of(state: State, case: Case) -> Held:
    """What a state asks, of a case whose limits are those of the state."""
    ends = dict(state.pressures)
    ranges: dict[str, tuple[float, float]] = {
        position: (1e3 * ends.get(f"{position}.low", 0.0), 1e3 * ends.get(f"{position}.high", 1e4))
        for position in POSITIONS
        if f"{position}.low" in ends or f"{position}.high" in ends
    }
    holds = {}
    for slot, part in state.holds:
        position, _, kind = slot.partition(".")
        holds[position, SLOTS[kind]] = part
    return Held(
        limits=tuple(case.vehicle.limits),
        prices={part: percent / 100.0 for part, percent in state.prices if percent != 100.0},
        out=state.out,
        holds=holds,
        pressures=ranges,
    )


def chosen(
    choosing: Choosing,
    state: State,
    case: Case,
    stop: Stop,
    time_limit: float,
    progress: Callable[[str], None] | None = None,
) -> Shown:
    """Choose for a state.

    Parameters
    ----------
    choosing
        Made for the vehicle of ``case``, whatever its limits.
    state, case
        What is asked, and the scenario as it has it.
    stop
        Ends the search when asked.
    time_limit
        [s]
    progress
        Is told now and then what is being done.
    """
    began = time.monotonic()
    # The model that checks the answer is not solved: what the bounds leave open is appraised, all of it.
    settings = Settings(solve=False, stop=stop, time_limit=time_limit, progress=progress)
    found = choosing.choose(asked_of(state, case), settings)
    if found.ties is None or not len(found.ties):
        return Shown(found.proven, None, None, {}, None, None, {}, None, (), (), time.monotonic() - began)
    best = first_tie(found.candidates, found.ties)
    packages = packages_of(found.candidates, best)
    appraised = appraise_vehicle(found.candidates.model, packages, int(best.drive[0]))
    entry = with_aims(report(appraised, sure=False), appraised, found.candidates.rates)
    return Shown(
        proven=found.proven,
        value=found.aim,
        bound=found.bound,
        terms=aim_terms(found.candidates, appraised),
        entry=entry,
        record=found.choice,
        shapes=shapes_of(appraised),
        today=today_of(appraised),
        remarks=tuple(remarks(appraised)),
        cautions=tuple(cautions(appraised)),
        seconds=time.monotonic() - began,
        ties=len(found.ties) if found.proven else None,
    )


def chosen_whole(case: Case, time_limit: float, progress: Callable[[str], None] | None = None) -> Shown:
    """Choose for a case that cannot be chosen live: conditions, alternates, aims in order."""
    began = time.monotonic()
    found = choose(case, time_limit=time_limit, progress=progress)
    proven = found.status in ("optimal", "infeasible")
    if not found.vehicles:
        return Shown(proven, None, None, {}, None, None, {}, None, (), (), time.monotonic() - began)
    appraised = appraise_record(VehicleModel(case.vehicle, case.catalog), found.records[0])
    return Shown(
        proven=proven,
        value=found.value,
        bound=found.bound,
        terms=found.terms,
        entry=found.vehicles[0],
        record=found.records[0],
        shapes=shapes_of(appraised),
        today=today_of(appraised),
        remarks=found.remarks,
        cautions=found.cautions,
        seconds=time.monotonic() - began,
        ties=found.counts["ties"],
    )


def fitting(choosing: Choosing) -> dict[str, tuple[str, ...]]:
    """Ids of the parts that fit, by slot such as ``front.tire``."""
    catalog = choosing.candidates.model.catalog
    fits = choosing.fitting()
    return {
        f"{position}.{slot}": tuple(catalog.family(family)[number].id for number in fits.get((position, family), ()))
        for position in POSITIONS
        for slot, family in SLOTS.items()
    }


def shapes_of(appraised: VehicleAppraisal) -> dict[str, WheelShape]:
    """Shapes of both wheels."""
    return {p: wheel_shape(appraised.packages[p], appraised.model.vehicle) for p in POSITIONS}


def today_of(appraised: VehicleAppraisal) -> Laid | None:
    """Today's packages in the same scenario; ``None`` where the file states none."""
    today = appraised.today
    if today is None:
        return None
    if isinstance(today, str):
        return Laid("today", "today’s packages", problem=today)
    record = appraised.model.vehicle.baseline
    return Laid("today", "today’s packages", record, report(today, sure=False), shapes_of(today))


def laid(case: Case, text: str, words: str, record: VehicleChoiceRecord) -> Laid:
    """A candidate through the full model of a case."""
    try:
        appraised = appraise_record(VehicleModel(case.vehicle, case.catalog), record)
    except ConfigoptError as error:
        return Laid(text, words, record, problem=str(error))
    return Laid(text, words, record, report(appraised, sure=False), shapes_of(appraised))
