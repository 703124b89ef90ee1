"""The choice with the least worst regret: whichever variant comes true, it is never much worse than the best one there.

Regret in a variant is a choice's aim less that of the best one.  Some choice is known whose worst regret is R.  A
better one has a regret below R in every variant, so it stands on the list of all choices up to best + R in any one of
them.  The list is made where it is short, and every choice on it appraised in all the others.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from configopt.scenario.variants import Planned
from configopt.sweep.answers import EQUAL, Record, appraised_in, loss, one_sum, rounded, vehicle_row
from configopt.sweep.changing import changed
from configopt.sweep.merging import ground_of
from configopt.sweep.regrets import Numbers, Rows
from configopt.sweep.run import Run, Solved
from configopt.sweep.tasks import Task

Array = NDArray[np.float64]
#: Choices that are listed at most.
LISTED_AT_MOST = 100_000
#: Variants in which a list is tried.
TRIED = 2
#: Variants after which the list is shortened before the next one is looked at.
ONE_BY_ONE = 3
#: Shares of the aim up to which is listed where no known choice meets the limits of all variants.
STEPS = (0.005, 0.01, 0.02, 0.04, 0.08, 0.16, 0.32)
#: Parts of a known worst regret up to which is listed where all of it would be too long.
PARTS = (1.0, 0.5, 0.25, 0.125)

Json = dict[str, Any]


@dataclass(frozen=True)
class Found:
    """Rows that meet the limits of all variants looked at, and their worst regret."""

    rows: Rows
    worst: Array

    def least(self, scale: float) -> tuple[float, Rows]:
        """The least worst regret, infinite without any, and the rows that reach it."""
        if not len(self.worst):
            return np.inf, self.rows
        low = float(self.worst.min())
        return low, self.rows[self.worst <= low + EQUAL * scale]


def least_regret(run: Run, every: Sequence[Solved]) -> Json:
    """Find the choice with the least worst regret over all variants in which something meets the limits.

    Parameters
    ----------
    run : to compute with
    every : all variants, the scenario as it stands among them

    Returns
    -------
    dict
        ``status`` says whether it is proven; ``at_least`` is what no choice goes below.
    """
    base = run.base
    if base.case.together or not one_sum(base.case):
        return nothing(
            "not looked for", "this is found for one vehicle with one weighted sum of aims, without alternates"
        )
    solved = [one for one in every if one.optimal]
    out = [one.planned.name for one in every if not one.optimal]
    if len(solved) < 2:
        return {**nothing("not looked for", "there are not two variants with a best choice"), "left_out": out}
    asking = [one.planned.name for one in solved if any(".alternates" in of.field for of in one.planned.settings)]
    if asking:
        text = f"variant {asking[0]} asks for alternates, so a choice that meets every limit need not be one there"
        return {**nothing("not looked for", text), "left_out": out}
    run.say(f"comparing choices over {len(solved):,} variants")
    search = _Search(run, solved)
    row, worst, bound, listed = search.find()
    if row is None:
        text = "no choice was found that meets the limits of all these variants"
        if bound == np.inf:
            text = "proven: no choice meets the limits of all these variants"
        least = None if bound == np.inf else rounded(bound)
        return {**nothing("none", text), "at_least": least, "left_out": out, "listed": listed}
    proven = worst <= bound + EQUAL * search.scale
    record = (search.numbers.record(row),)
    aims = search.judged(np.array([row]), range(len(solved)))
    regrets = [loss(float(aims[n][0]), float(one.answer["aim"])) for n, one in enumerate(solved)]
    stands = appraised_in(changed(base, Planned("as-it-stands")).case, record)
    text = "proven: no choice in these catalogs does better in its worst variant"
    if not proven:
        text = "the best of what was looked at; that none does better in its worst variant is not proven"
    return {
        "status": "proven" if proven else "not proven",
        "text": text,
        "worst_regret": max(regrets),
        "at_least": rounded(min(max(bound, 0.0), max(regrets))),
        "vehicles": [vehicle_row(one) for one in stands],
        "by_variant": [
            {"name": one.planned.name, "regret": regret} for one, regret in zip(solved, regrets, strict=True)
        ],
        "left_out": out,
        "listed": listed,
    }


def nothing(status: str, text: str) -> Json:
    """The answer where there is no such choice."""
    return {
        "status": status,
        "text": text,
        "worst_regret": None,
        "at_least": None,
        "vehicles": [],
        "by_variant": [],
        "left_out": [],
        "listed": 0,
    }


class _Search:
    """Looks for the least worst regret."""

    def __init__(self, run: Run, solved: Sequence[Solved]) -> None:
        self.run, self.solved, self.numbers = run, solved, Numbers(run.base)
        self.best = np.array([float(one.answer["aim"]) for one in solved])
        self.scale = max(float(np.abs(self.best).max()), 1e-9)
        self.grounds = [ground_of(run.base, one.planned) for one in solved]

    def find(self) -> tuple[Any, float, float, int]:
        """The row, its worst regret, what no choice goes below, and how many choices were listed."""
        merging = self._merged()
        if merging is None:
            return None, np.inf, np.inf, 0
        pool = self._pool(list(merging.values()))
        regrets = np.stack(self.judged(pool, range(len(self.solved)))) - self.best[:, None]
        worst = np.maximum(regrets.max(axis=0), 0.0)
        known = Found(pool[np.isfinite(worst)], worst[np.isfinite(worst)])
        ceiling, rows = known.least(self.scale)
        if ceiling <= EQUAL * self.scale:
            return self._first(rows), ceiling, 0.0, 0
        order = self._order(pool, regrets, merging)
        bound, listed = 0.0, 0
        steps = [part * ceiling for part in PARTS] if ceiling < np.inf else [part * self.scale for part in STEPS]
        for step in steps:
            place, found = self._listed(order, step)
            if found is None:
                if ceiling < np.inf:
                    continue
                break
            listed = len(found[0])
            known = self._screened(place, found, order, step)
            least, mine = known.least(self.scale)
            if least <= step + EQUAL * self.scale:
                return self._first(mine), least, least, listed
            bound = step
            if ceiling < np.inf:
                break
        return (self._first(rows) if ceiling < np.inf else None), ceiling, bound, listed

    def _order(self, pool: Rows, regrets: Array, merging: Mapping[str, Record]) -> list[int]:
        """Variants in which few choices lie within a regret first.

        The more the best choice within the limits of all variants on a variant's ground loses there, the less room is
        left to others; after that, where known choices do worst.
        """
        cap = float(np.max(regrets[np.isfinite(regrets)], initial=self.scale))
        known = np.minimum(regrets, cap).mean(axis=1)
        taken = np.zeros(len(self.solved))
        for n, ground in enumerate(self.grounds):
            row = self.numbers.row(merging[ground][0]) if ground is not None and ground in merging else None
            if row is not None:
                taken[n] = float(regrets[n][(pool == np.array(row)).all(axis=1)].max(initial=0.0))
        return [int(n) for n in np.lexsort((-known, -taken))]

    def _merged(self) -> dict[str, Record] | None:
        """The best choice within the limits of all variants on each ground; ``None`` where one has none."""
        tasks = []
        for members in self._grounds().values():
            if len(members) > 1:
                first, others = self.solved[members[0]], self._others(members[0])
                tasks.append(Task(members[0], "merge", first.planned, (others, self.run.kept, ())))
        found: dict[str, Record] = {}
        for done in self.run.tasks(tasks):
            if _checked(done.answer, done.extra) is None:
                return None
            found[self.grounds[done.task.number] or ""] = done.extra
        return found

    def _grounds(self) -> dict[str, list[int]]:
        """Variants that differ in limits, aims and parts that are gone alone."""
        found: dict[str, list[int]] = {}
        for n, ground in enumerate(self.grounds):
            if ground is not None:
                found.setdefault(ground, []).append(n)
        return found

    def _others(self, n: int) -> tuple[Planned, ...]:
        """The other variants on the ground of one."""
        same = self._grounds().get(self.grounds[n] or "", [])
        return tuple(self.solved[other].planned for other in same if other != n)

    def _pool(self, more: Sequence[Record]) -> Rows:
        """Choices that are known: the best of each variant, and those that are kept."""
        records = [one.record for one in self.solved] + [one.record for one in self.run.kept] + [*more]
        rows = [self.numbers.row(record[0]) for record in records if record is not None]
        return np.unique(np.array([row for row in rows if row is not None], dtype=np.int64), axis=0)

    def _first(self, rows: Rows) -> Any:
        """The first of equally good rows, by the names of their parts."""
        return min(rows.tolist(), key=lambda row: str(self.numbers.record(row).model_dump(mode="json")))

    def judged(self, rows: Rows, of: Sequence[int]) -> list[Array]:
        """Aims of rows in some variants."""
        tasks = [Task(n, "judge", self.solved[n].planned, rows) for n in of]
        return [_checked(done.answer, done.extra) for done in self.run.tasks(tasks)]

    def _listed(self, order: Sequence[int], step: float) -> tuple[int, tuple[Rows, Array] | None]:
        """The shortest list of choices up to a regret in one of some variants, and in which; ``None`` if too long."""
        slack = 2.0 * EQUAL * self.scale
        tasks = [
            Task(
                n,
                "list",
                self.solved[n].planned,
                (self._others(n), float(self.best[n]) + step + slack, LISTED_AT_MOST),
            )
            for n in order[:TRIED]
        ]
        found = [(done.task.number, _checked(done.answer, done.extra)) for done in self.run.tasks(tasks)]
        short = [(n, of) for n, of in found if of is not None]
        return min(short, key=lambda one: len(one[1][0])) if short else (order[0], None)

    def _screened(self, place: int, found: tuple[Rows, Array], order: Sequence[int], step: float) -> Found:
        """Those of a list that stay within a regret in all other variants, with their worst one."""
        rows, worst = found[0], np.maximum(found[1] - self.best[place], 0.0)
        others = [n for n in order if n != place]
        batches = [[n] for n in others[:ONE_BY_ONE]] + ([others[ONE_BY_ONE:]] if others[ONE_BY_ONE:] else [])
        for batch in batches:
            if not len(rows):
                break
            for n, aims in zip(batch, self.judged(rows, batch), strict=True):
                worst = np.maximum(worst, aims - self.best[n])
            near = np.isfinite(worst) & (worst <= step + EQUAL * self.scale)
            rows, worst = rows[near], worst[near]
        return Found(rows, worst)


def _checked(answer: Json, extra: Any) -> Any:
    if answer["status"] in ("failed", "contradiction"):
        raise Uncomparable(answer["reason"])
    return extra


class Uncomparable(Exception):
    """Choices could not be compared over the variants."""
