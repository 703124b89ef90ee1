"""The reasons behind a choice: what limits it, what comes next, what losing a part costs, what would change it."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

from configopt.appraisal.appraise import made_with
from configopt.appraisal.one_vehicle import appraise_record
from configopt.appraisal.remarks import general_cautions
from configopt.choice.alternates import part_number
from configopt.choice.audit import Choices
from configopt.choice.choose import Interruptible, Settings, require_one_sum, require_one_vehicle
from configopt.choice.removed import removed_rows
from configopt.choice.result import aim_terms
from configopt.errors import ExitCode
from configopt.reasons.asking import Answer, Asking, OutOfTime
from configopt.reasons.concepts import concepts
from configopt.reasons.flipping import flipping
from configopt.reasons.limiting import limiting
from configopt.reasons.losing import losing
from configopt.reasons.part import explain_packages, explain_part
from configopt.reasons.relaxing import relaxing
from configopt.reasons.runners_up import runners_up
from configopt.reasons.telling import main_figures, named_parts
from configopt.scenario.case import Case
from configopt.scenario.records import VehicleChoiceRecord

Status = Literal["optimal", "infeasible", "unknown"]


@dataclass(frozen=True)
class Explanation:
    """What was found out about a choice; a section that was not asked for, or not reached in time, is ``None``."""

    scenario: str
    vehicle: str
    currency: str
    status: Status
    choice: dict[str, Any] | None
    sections: dict[str, Any]
    not_reached: tuple[str, ...]
    counts: dict[str, Any]
    removed: tuple[dict[str, Any], ...]
    cautions: tuple[str, ...]
    made_with: dict[str, Any]

    @property
    def exit_code(self) -> ExitCode:
        """How a command with this answer ends: done whenever it answers."""
        return ExitCode.STOPPED_EARLY if self.not_reached else ExitCode.DONE

    def to_json(self) -> dict[str, Any]:
        """JSON of schema configopt/explanation/1."""
        return {
            "schema": "configopt/explanation/1",
            "scenario": self.scenario,
            "vehicle": self.vehicle,
            "currency": self.currency,
            "status": self.status,
            "choice": self.choice,
            **{name: self.sections.get(name) for name in SECTIONS},
            "not_reached": list(self.not_reached),
            "counts": self.counts,
            "removed": list(self.removed),
            "cautions": list(self.cautions),
            "made_with": self.made_with,
        }


#: Everything an explanation may consist of, in the order of telling.
SECTIONS = ("limits", "runners_up", "losing", "flips", "part", "packages", "concepts", "gives_way")


def explain(
    case: Case,
    *,
    part: str | None = None,
    packages: VehicleChoiceRecord | None = None,
    with_concepts: bool = False,
    every_figure: bool = False,
    time_limit: float | None = None,
    threads: int = 1,
    progress: Callable[[str], None] | None = None,
) -> Explanation:
    """Explain the best choice of the case's one vehicle, or why a part or whole packages are not it.

    Parameters
    ----------
    case : scenario and catalogs
    part : id of a part; without it the choice as a whole is explained
    packages : packages to be set beside the best
    with_concepts : what the catalogs' own parts that are only concepts would be worth
    every_figure : search for every uncertain figure, not only those that threaten the choice most
    time_limit : stop after this time with what is known so far [s]
    threads : of the solver
    progress : called with a line of text now and then

    Returns
    -------
    Explanation
        Also where nothing meets the limits: then which limits have to give way.

    Raises
    ------
    UsageError
        A scenario with several vehicles, shared parts, aims in order or alternates; a part that the catalogs do not
        have; packages that cannot be computed.
    """
    require_one_vehicle(case)
    require_one_sum(case)
    began = time.monotonic()
    settings = Settings(time_limit=time_limit, threads=threads, progress=progress)
    aims = case.scenario.aims
    asked_part = None if part is None else part_number(case.catalog, part)
    with Interruptible(settings.stop):
        asking = Asking.of(case.vehicle, case.catalog, aims, settings)
        # What cannot be computed is refused before any search.
        own = None if packages is None else appraise_record(asking.candidates.model, packages)
        search, proven = asking.first()
        best = Answer(asking.candidates, search.best, Choices.join([]) if search.found is None else search.found)
        every: dict[str, Callable[[], Any]] = {}
        # What takes no search comes first: it is there however soon the rest is stopped.
        if own is not None:
            every["packages"] = lambda: explain_packages(best, own)
        if asked_part is not None:
            every["part"] = lambda: explain_part(asking, best, aims, asked_part)
        if with_concepts:
            every["concepts"] = lambda: concepts(asking, best, aims)
        if proven and not best.found:
            if part is None:
                every["gives_way"] = lambda: relaxing(asking)
        elif not every:
            every = {
                "runners_up": lambda: runners_up(best),
                "limits": lambda: limiting(asking, best),
                "losing": lambda: losing(asking, best),
                "flips": lambda: flipping(asking, best, aims, every=every_figure),
            }
        sections: dict[str, Any] = {}
        missed: list[str] = [] if proven else list(every)
        for name, answer in every.items() if proven else ():
            try:
                asking.left()
                sections[name] = answer()
            except OutOfTime:
                missed.append(name)
    status: Status = "unknown" if not proven else "optimal" if best.found else "infeasible"
    return Explanation(
        scenario=case.name,
        vehicle=case.vehicle.name,
        currency=case.catalog.currency,
        status=status,
        choice=_choice(best) if proven and best.found else None,
        sections=sections,
        not_reached=tuple(name for name in SECTIONS if name in missed),
        counts={
            "packages_that_fit": {p: of.package_count() for p, of in asking.candidates.of.items()},
            "searches": asking.searches,
        },
        removed=() if best.found else tuple(removed_rows(asking.candidates, search.removed)),
        cautions=tuple(general_cautions(case.vehicle)),
        made_with=made_with(case, began),
    )


def _choice(best: Answer) -> dict[str, Any]:
    return {
        "aim": best.value,
        "terms": aim_terms(best.candidates, best.appraised),
        "figures": main_figures(best.appraised),
        "ties": len(best.ties),
        "choice": named_parts(best.appraised),
    }
