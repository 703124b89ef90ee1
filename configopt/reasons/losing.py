"""What losing each part of the choice would cost: the best choice without it, front and rear."""

from __future__ import annotations

from typing import Any

import numpy as np

from configopt.appraisal.parts import FAMILIES
from configopt.choice.alternates import Part, parts_used, uses, without
from configopt.reasons.asking import Answer, Asking
from configopt.reasons.telling import answer_beside


def losing(asking: Asking, best: Answer) -> list[dict[str, Any]]:
    """Every part of the first of the best choices, with the best choice that does without it.

    Parameters
    ----------
    asking : the vehicle
    best : its best choices

    Returns
    -------
    list of dict
        In the order of the families; ``instead`` is ``None`` where nothing meets the limits without the part.

    Raises
    ------
    OutOfTime
        If a search was asked to end.
    """
    rows = []
    catalog = asking.candidates.model.catalog
    used = parts_used(asking.candidates, best.first, FAMILIES)
    for number, part in enumerate(used, start=1):
        record = catalog.family(part[0])[part[1]]
        asking.say(f"part {number} of {len(used)}: the best choice without {record.id}")
        found = best_without(asking, best, part)
        row = {"family": part[0], "part": record.id, "positions": _positions(asking, best, part)}
        rows.append({**row, "instead": answer_beside(best, found) if found.found else None})
    return rows


def best_without(asking: Asking, best: Answer, part: Part) -> Answer:
    """The best choices without a part: of those that tie, the ones that do not use it, else those of a search.

    Raises
    ------
    OutOfTime
        If the search was asked to end.
    """
    rest = np.flatnonzero(~uses(asking.candidates, best.ties, part))
    if rest.size:
        return Answer(best.candidates, best.value, best.ties.take(rest))
    return asking.ask(open_to=without(asking.candidates, [part]))


def _positions(asking: Asking, best: Answer, part: Part) -> list[str]:
    rows = asking.candidates.part_rows(best.first)
    return [position for position in rows if int(rows[position].index[part[0]][0]) == part[1]]
