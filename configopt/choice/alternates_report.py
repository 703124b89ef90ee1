"""What is said about alternates: beside an answer, and where no choice has one for each of its parts."""

from __future__ import annotations

from typing import Any

import numpy as np

from configopt.appraisal.report import finite
from configopt.appraisal.vehicle import POSITIONS
from configopt.choice.alternates import Alternate, WithAlternates, parts_used
from configopt.choice.audit import Candidates, Choices
from configopt.choice.ties import first_tie, record_of

#: What one part of a family is called.
ONE_OF = {
    "tires": "tire", "inners": "inner", "rim-locks": "rim lock", "rims": "rim", "spokes": "set of spokes",
    "disc-wheels": "disc wheel", "hubs": "hub", "rotors": "rotor", "calipers": "caliper", "pads": "pad",
}  # fmt: skip


def alternate_rows(found: WithAlternates, answer: Choices) -> list[dict[str, Any]]:
    """The alternate of every part of the asked families in an answer.

    Parameters
    ----------
    found : the search that led to the answer
    answer : one choice

    Returns
    -------
    list of dict
        ``family``, ``part``, ``value`` (aim of the best choice without the part), ``loss`` (by how much that is worse
        than the answer, a share; below 0 where the answer itself gave something up for the sake of its alternates),
        ``within`` (the loss that is allowed) and ``changes``: what is another part or pressure in it, by position.
    """
    candidates = found.plain.candidates
    aim = float(candidates.appraise(answer)[0][0])
    losses = losses_of(candidates)
    rows = []
    for part in parts_used(candidates, answer, losses):
        alternate = found.alternate(part)
        first = first_tie(candidates, alternate.choices)
        rows.append(
            {
                "family": part[0],
                "part": identifier(candidates, alternate),
                "value": alternate.value,
                "loss": alternate.loss(aim),
                "within": losses[part[0]],
                "changes": changes(candidates, answer, first),
            }
        )
    return rows


def losses_of(candidates: Candidates) -> dict[str, float]:
    """The losses that a vehicle allows, by family."""
    return {family: float(loss) for family, loss in (candidates.model.vehicle.alternates or {}).items()}


def identifier(candidates: Candidates, alternate: Alternate) -> str:
    """The id of the part that an alternate goes without."""
    family, number = alternate.part
    return str(candidates.model.catalog.family(family)[number].id)


def changes(candidates: Candidates, one: Choices, other: Choices) -> list[dict[str, Any]]:
    """What differs between two choices: position, what, from, to; pressures in kPa."""
    before, after = record_of(candidates, one), record_of(candidates, other)
    rows = []
    for position in POSITIONS:
        mine, theirs = getattr(before, position), getattr(after, position)
        for field in type(mine).model_fields:
            a, b = getattr(mine, field), getattr(theirs, field)
            if field == "pressure":
                a, b = round(float(a) / 1e3, 3), round(float(b) / 1e3, 3)
            if a != b:
                rows.append({"position": position, "what": field, "from": a, "to": b})
    if before.final_drive != after.final_drive:
        rows.append(
            {"position": None, "what": "final_drive", "from": before.final_drive, "to": after.final_drive},
        )
    return rows


def missing_rows(found: WithAlternates) -> list[dict[str, Any]]:
    """Where no choice qualifies: the parts of the best choice without an alternate, and what loss they would need."""
    candidates = found.plain.candidates
    losses = losses_of(candidates)
    rows = []
    for alternate in sorted(found.missed, key=lambda one: -one.value):
        family = alternate.part[0]
        loss, allowed = alternate.loss(found.plain.best), losses[family]
        if loss <= allowed:
            continue
        name = f"{ONE_OF[family]} {identifier(candidates, alternate)}"
        needed = None if not np.isfinite(loss) else finite(100.0 * loss)
        if needed is None:
            text = f"nothing meets every limit without the {name}: add another to the catalogs, or leave {family} out"
        else:
            text = (
                f"without the {name} the best choice is {needed:.4g} % worse, {100.0 * allowed:.4g} % is allowed: "
                f"the best of all would do with {family}: {np.ceil(needed * 100.0) / 100.0:.4g} %"
            )
        rows.append(
            {
                "limit": "alternate",
                "terrain": None,
                "position": None,
                "required": float(f"{100.0 * allowed:.10g}"),
                "reached": needed,
                "unit": "%",
                "text": text,
            }
        )
    return rows
