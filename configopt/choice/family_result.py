"""The answer for several vehicles that share parts: every vehicle's packages, and what sharing saves and costs."""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from configopt.appraisal.appraise import made_with
from configopt.appraisal.conditions import judged
from configopt.appraisal.one_vehicle import VehicleAppraisal, appraise_vehicle
from configopt.appraisal.remarks import cautions, general_cautions, remarks
from configopt.appraisal.report import finite, report
from configopt.appraisal.vehicle import POSITIONS
from configopt.catalog.records import Position
from configopt.choice.alternates import without
from configopt.choice.audit import Candidates, Choices, quantities
from configopt.choice.choose import Interruptible, Settings, run_search
from configopt.choice.family import EXACT, FamilySearch, Member, Sharing, choices_of, find_family
from configopt.choice.model.sharing import Part
from configopt.choice.removed import removed_rows
from configopt.choice.result import AGREE, AIM_UNITS, Audit, Choice, Status
from configopt.choice.ties import choices_of_record, first_tie, packages_of, record_of
from configopt.choice.weights import AIMS
from configopt.quantities import to_unit
from configopt.scenario.case import Case
from configopt.scenario.records import VehicleChoiceRecord


@dataclass(frozen=True)
class Chosen:
    """One vehicle of the family: its choice, appraised, and its best choice if it were built alone."""

    candidates: Candidates
    member: Member
    choice: Choices
    appraised: VehicleAppraisal
    alone: Choices | None


def choose_family(
    case: Case,
    *,
    time_limit: float | None = None,
    gap: float = 1e-6,
    threads: int = 1,
    begin_with: Sequence[VehicleChoiceRecord] = (),
    progress: Callable[[str], None] | None = None,
) -> Choice:
    """Choose the packages of all vehicles of a case together, and prove that no better family exists.

    Parameters
    ----------
    case : scenario with one or more vehicles, and catalogs
    time_limit : stop after this time with the best so far [s]
    gap : share of the value to which the proof goes
    threads : of the solver
    begin_with : choices of the vehicles known before, in their order
    progress : called with a line of text now and then

    Notes
    -----
    The aim is the mean over all vehicles built.  Its cost is what all parts of the family cost at the quantities of
    the family; a vehicle's own limit on cost is judged as if it were bought alone.
    """
    began = time.monotonic()
    settings = Settings(time_limit=time_limit, gap=gap, threads=threads, progress=progress, solve=False)
    stated = case.scenario.sharing
    sharing = Sharing() if stated is None else Sharing(dict(stated.at_most.items()), dict(stated.spares.items()))
    with Interruptible(settings.stop):
        every = [Candidates(vehicle, case.catalog, case.scenario.aims) for vehicle in case.scenario.vehicles]
        known = [choices_of_record(one, record) for one, record in zip(every, begin_with, strict=False)]
        search = find_family(every, sharing, settings, known)
        if search.found is None:
            return _without(case, search, every, began)
        return _with(case, search, every, settings, began)


def _with(case: Case, search: FamilySearch, every: Sequence[Candidates], settings: Settings, began: float) -> Choice:
    chosen = [_chosen(search, number, candidates, settings, began) for number, candidates in enumerate(every)]
    value = family_value(search, chosen)
    difference = abs(value - search.best) / max(abs(search.best), 1e-9)
    sound = all(not one.appraised.unmet and not one.appraised.misfits for one in chosen)
    exact = search.proven and search.best - search.bound <= EXACT * max(abs(search.best), 1e-9)
    status: Status = "optimal" if exact else "feasible"
    notes, warned = [], []
    if any(one.alone is None for one in chosen):
        notes.append(
            "stopped before the own best choice of every vehicle was known: what sharing costs is not complete"
        )
    for one in chosen:
        notes += [f"{one.appraised.model.vehicle.name}: {text}" for text in remarks(one.appraised)]
        warned += cautions(one.appraised)
    return Choice(
        scenario=case.name,
        status=status,
        value=value,
        bound=None if search.bound == -float("inf") else min(search.bound, value),
        terms=_terms(search, chosen),
        vehicles=tuple(report(one.appraised) for one in chosen),
        records=tuple(record_of(one.candidates, one.choice) for one in chosen),
        packages=tuple(packages_of(one.candidates, one.choice) for one in chosen),
        counts=_counts(every),
        removed=(),
        closest=(),
        audit=Audit(sound and difference <= AGREE, difference, search.rounds),
        remarks=tuple(dict.fromkeys(notes)),
        cautions=tuple(dict.fromkeys(warned)),
        made_with=made_with(case, began),
        stopped=not search.proven,
        family=family_report(search, chosen),
    )


def _chosen(search: FamilySearch, number: int, candidates: Candidates, settings: Settings, began: float) -> Chosen:
    """A vehicle's choice, the first of those with its parts, and its best choice if it were built alone."""
    member = search.members[number]
    assert search.found is not None
    found = choices_of(search.found, number)
    used = {part for one in search.found if one.column.vehicle == number for _, part in one.column.uses}
    others = frozenset(
        (family, index)
        for family in search.counted
        for index in range(len(candidates.model.catalog.family(family)))
        if (family, index) not in used
    )
    # Among choices that only differ in what the family does not count, the first is taken, as for one vehicle.
    exact = replace(settings, gap=EXACT, progress=None)

    def in_time() -> Settings:
        spent = time.monotonic() - began
        return exact if settings.time_limit is None else replace(exact, time_limit=settings.time_limit - spent)

    apart = member.candidates.variant(open_to=without(member.candidates, others))
    same, proven = run_search(apart, in_time(), start=found)
    if proven and same.found is not None:
        rows, mine = candidates.part_rows(same.found), candidates.part_rows(found)
        # Where prices count, the same parts in other numbers are another choice.
        counted = ("index", "pieces") if search.rate else ("index",)
        alike = [
            i
            for i in range(len(same.found))
            if all(
                int(getattr(rows[p], what)[f][i]) == int(getattr(mine[p], what)[f][0])
                for what in counted
                for p in POSITIONS
                for f in search.counted
            )
        ]
        if alike:
            found = first_tie(candidates, same.found.take(np.array(alike)))
    appraised = appraise_vehicle(candidates.model, packages_of(candidates, found), int(found.drive[0]))
    alone, proven = run_search(candidates, in_time())
    best = first_tie(candidates, alone.found) if proven and alone.found is not None else None
    return Chosen(candidates, member, found, appraised, best)


def family_value(search: FamilySearch, chosen: Sequence[Chosen]) -> float:
    """The family's aim from the full model of every vehicle and the cost of all parts."""
    total = 0.0
    for one in chosen:
        total += one.member.share * float(
            one.member.candidates.weighed(one.choice, quantities(judged(one.appraised, one.candidates.rates)))[0]
        )
    return total + search.rate / search.built * sum(
        search.cost_of(part, pieces) for part, pieces in pieces_of(chosen).items()
    )


def pieces_of(chosen: Sequence[Chosen]) -> Counter[Part]:
    """Pieces of every part that the family needs, without spares."""
    needed: Counter[Part] = Counter()
    for one in chosen:
        for position in POSITIONS:
            for family, part, pieces in one.appraised.packages[position].parts(one.appraised.model.vehicle):
                number = one.appraised.model.costs.number(family, part.id)
                needed[family, number] += pieces * one.member.quantity
    return needed


def _users(chosen: Sequence[Chosen]) -> dict[Part, list[str]]:
    """Where each part is used: vehicle and position."""
    users: dict[Part, list[str]] = {}
    for one in chosen:
        for position in POSITIONS:
            for family, part, _ in one.appraised.packages[position].parts(one.appraised.model.vehicle):
                number = one.appraised.model.costs.number(family, part.id)
                users.setdefault((family, number), []).append(f"{one.appraised.model.vehicle.name} {position}")
    return users


def family_report(search: FamilySearch, chosen: Sequence[Chosen]) -> dict[str, Any]:
    """What is shared, what it saves together, and what it costs each vehicle."""
    catalog = search.costs.catalog
    pieces, users = pieces_of(chosen), _users(chosen)
    parts = []
    for part in sorted(pieces, key=lambda one: (one[0], catalog.family(one[0])[one[1]].id)):
        family, number = part
        spares = search.sharing.spares.get(family, 0)
        parts.append(
            {
                "family": family,
                "part": catalog.family(family)[number].id,
                "used_by": users[part],
                "pieces": pieces[part],
                "spares": spares,
                "bought": search.costs.bought(family, number, pieces[part] + spares),
                "cost": search.cost_of(part, pieces[part]),
            }
        )
    together = _together(search, chosen)
    apart = _apart(search, chosen)
    return {
        "vehicles_built": search.built,
        "at_most": dict(search.sharing.at_most),
        "spares": dict(search.sharing.spares),
        "currency": catalog.currency,
        "parts": parts,
        "together": together,
        "apart": apart,
        "vehicles": [_cost_of_sharing(search, one) for one in chosen],
    }


def _different(parts: Sequence[Part]) -> dict[str, int]:
    """Number of different parts by family."""
    found: Counter[str] = Counter(family for family, _ in parts)
    return dict(sorted(found.items()))


def _together(search: FamilySearch, chosen: Sequence[Chosen]) -> dict[str, Any]:
    """What the family comes to: total cost, and the number of different parts."""
    pieces = pieces_of(chosen)
    drives = sum(one.member.quantity * _drive_cost(one, one.choice) for one in chosen)
    return {
        "cost": sum(search.cost_of(part, count) for part, count in pieces.items()) + drives,
        "different_parts": _different(list(pieces)),
    }


def _apart(search: FamilySearch, chosen: Sequence[Chosen]) -> dict[str, Any] | None:
    """The same if every vehicle were chosen and bought for itself, with the same spares kept for each."""
    if any(one.alone is None for one in chosen):
        return None
    cost, used = 0.0, set()
    for one in chosen:
        assert one.alone is not None
        rows = one.candidates.part_rows(one.alone)
        pieces: Counter[Part] = Counter()
        for position in POSITIONS:
            for family, index in rows[position].index.items():
                if int(index[0]) >= 0:
                    pieces[family, int(index[0])] += int(rows[position].pieces[family][0]) * one.member.quantity
        cost += sum(search.cost_of(part, count) for part, count in pieces.items())
        cost += one.member.quantity * _drive_cost(one, one.alone)
        used |= set(pieces)
    return {"cost": cost, "different_parts": _different(sorted(used))}


def _drive_cost(one: Chosen, choice: Choices) -> float:
    return float(one.candidates.model.drive_costs[int(choice.drive[0])])


def _cost_of_sharing(search: FamilySearch, one: Chosen) -> dict[str, Any]:
    """What the family's choice differs by from the vehicle's own best."""
    mine = quantities(judged(one.appraised, one.candidates.rates))[0]
    row: dict[str, Any] = {
        "name": one.appraised.model.vehicle.name,
        "quantity": one.member.quantity,
        "same_as_alone": None,
        "mass_kg": None,
        "rolling_loss_wh_per_km": None,
        "energy_wh_per_km": None,
    }
    if one.alone is None:
        return row
    theirs = one.candidates.quantities(one.alone)[0][0]
    change = dict(zip(AIMS, mine - theirs, strict=True))
    row["same_as_alone"] = record_of(one.candidates, one.alone) == record_of(one.candidates, one.choice)
    row["mass_kg"] = float(change["mass"])
    for name in ("rolling_loss", "energy"):
        row[f"{name}_wh_per_km"] = float(to_unit(float(change[name]), "Wh/km"))
    return row


def _terms(search: FamilySearch, chosen: Sequence[Chosen]) -> dict[str, dict[str, Any]]:
    """What each aim comes to, as a mean over the vehicles built."""
    rates = {**search.members[0].base.rates, "cost": search.rate}
    totals = dict.fromkeys(AIMS, 0.0)
    for one in chosen:
        for name, value in zip(AIMS, quantities(judged(one.appraised, one.candidates.rates))[0], strict=True):
            totals[name] += one.member.share * float(value)
    totals["cost"] = _together(search, chosen)["cost"] / search.built
    terms = {}
    for name, rate in rates.items():
        if rate:
            unit = AIM_UNITS.get(name)
            size = 1.0 if unit is None else float(to_unit(1.0, unit))
            terms[name] = {
                "value": finite(np.array([totals[name] * size])),
                "rate": float(f"{rate / size:.12g}"),
                "unit": unit or search.costs.catalog.currency,
            }
    return terms


def _counts(every: Sequence[Candidates]) -> dict[str, Any]:
    """Packages that fit, over all vehicles; whole families are not counted."""
    fit: dict[Position, int] = {p: sum(one.of[p].package_count() for one in every) for p in POSITIONS}
    return {"packages_that_fit": fit, "choices_that_meet_all": None, "ties": None}


def _without(case: Case, search: FamilySearch, every: Sequence[Candidates], began: float) -> Choice:
    """Nothing found: which vehicle has no choice of its own, or that sharing leaves none."""
    removed: list[dict[str, Any]] = []
    notes = []
    if search.nothing_for is not None:
        one = every[search.nothing_for]
        name = one.model.vehicle.name
        notes.append(f"{name} has no choice that meets every limit, not even alone: --vehicle {name} says why")
        removed = removed_rows(one, search.members[search.nothing_for].candidates.removed_by_limits())
    elif search.proven:
        asked = ", ".join(f"{family} {number}" for family, number in search.sharing.at_most.items())
        notes.append(
            "every vehicle has a choice of its own, but no family meets every limit with so few different parts as "
            f"asked ({asked})"
        )
    return Choice(
        scenario=case.name,
        status="infeasible" if search.proven else "unknown",
        value=None,
        bound=None,
        terms={},
        vehicles=(),
        records=(),
        packages=(),
        counts=_counts(every if search.nothing_for is None else [every[search.nothing_for]]),
        removed=tuple(removed),
        closest=(),
        audit=Audit(True, 0.0, search.rounds),
        remarks=tuple(notes),
        cautions=tuple(dict.fromkeys(text for one in every for text in general_cautions(one.model.vehicle))),
        made_with=made_with(case, began),
        stopped=not search.proven,
    )
