"""Recording a decision anew after it was looked at."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Literal

from configopt.appraisal.appraise import appraise
from configopt.choice.result import Choice, choose
from configopt.decisions.choice_file import records_for
from configopt.decisions.decision_file import Decision, decision_text
from configopt.errors import ConfigoptError
from configopt.guard.deciding import case_of
from configopt.guard.verdict import accepted_loss
from configopt.scenario.case import Case
from configopt.sweep.answers import Best, Kept, compared

#: What is recorded: the best choice there is now, or the packages of the decision.
Which = Literal["best", "kept"]


class NothingToAcceptError(ConfigoptError):
    """A decision cannot be recorded anew as asked."""


def accepted_text(
    decision: Decision, case: Case, which: Which, acceptance: Mapping[str, Any], *, time_limit: float | None = None
) -> str:
    """The new text of a decision file.

    Parameters
    ----------
    decision
        As it is recorded.
    case
        Its scenario and catalogs now.
    which
        ``best`` for the best choice there is now; ``kept`` for the packages it has, with the loss that is accepted.
    acceptance
        Who, when and why.
    time_limit
        Of the search [s].

    Returns
    -------
    str
        Strict YAML.

    Raises
    ------
    NothingToAcceptError
        Packages that miss a limit, or a best choice that is not known.
    FindingsError
        A part that is gone.
    """
    case = case_of(decision, case)
    name = decision.path.name
    # Parts of the decision may be gone; the best choice does not need them.
    begin = tuple(records_for(decision.choice, case)) if which == "kept" else ()
    kept = compared(case, Kept(name, begin), None) if begin else None
    if kept is not None and not kept["meets"]:
        raise NothingToAcceptError(f"{name}: its packages miss a limit or do not fit; record the best choice instead")
    best = choose(case, time_limit=time_limit, begin_with=begin)
    if best.status == "infeasible":
        raise NothingToAcceptError(f"{name}: no choice meets every limit any more; nothing is recorded")
    if best.status != "optimal":
        raise NothingToAcceptError(f"{name}: the best choice is not known yet; give it more time: --time-limit")
    if kept is None:
        return decision_text(case, best, acceptance=acceptance, target=decision.path)
    found = Best(best.records, True, value=best.value, bound=best.bound, stages=best.stages)
    loss = accepted_loss(case, begin, found, kept["aim"])
    stated = {**acceptance, "accepted_loss": loss} if loss else dict(acceptance)
    return decision_text(case, _kept(case, best, begin, kept["aim"]), acceptance=stated, target=decision.path)


def _kept(case: Case, best: Choice, records: Any, aim: float) -> Choice:
    """The packages of a decision in place of the best ones."""
    vehicles = appraise(case, records, explained=False).to_json()["vehicles"]
    return replace(best, value=aim, records=tuple(records), vehicles=tuple(vehicles))
