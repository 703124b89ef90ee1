"""Many variants of a scenario: each answered, compared with today's decision, and what they say together."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from configopt.appraisal.appraise import made_with
from configopt.appraisal.remarks import general_cautions
from configopt.choice.result import AIM_UNITS
from configopt.decisions.choice_file import load_choice, records_for
from configopt.errors import ConfigoptError, ExitCode
from configopt.quantities import to_unit
from configopt.scenario.variants import Planned, Variants, load_variants, one_field
from configopt.sweep.answers import Kept, compared, one_sum
from configopt.sweep.changing import Base, changed
from configopt.sweep.comparing import difference
from configopt.sweep.engines import Engine, Here, Processes, processors
from configopt.sweep.least_regret import Uncomparable, least_regret, nothing
from configopt.sweep.run import Run, Solved
from configopt.sweep.store import Store
from configopt.sweep.switches import RESOLUTION, sweeps

#: The scenario without any change.
AS_IT_STANDS = "as-it-stands"
#: What choices are called that are kept in every variant.
BEST_TODAY, BASELINE = "best as it stands", "baseline"
#: How a variant ends that was not reached.
NOT_COMPUTED = "not computed"
STATUSES = ("optimal", "nothing meets the limits", "not valid", "failed", "contradiction", NOT_COMPUTED)

Json = dict[str, Any]


@dataclass(frozen=True)
class WhatIf:
    """Every variant's answer, the choice with the least worst regret, and where the answer switches."""

    scenario: str
    title: str
    aims: tuple[Json, ...]
    kept: tuple[str, ...]
    variants: tuple[Json, ...]
    least_regret: Json
    switches: tuple[Json, ...]
    stopped: bool
    remarks: tuple[str, ...]
    cautions: tuple[str, ...]
    made_with: Json

    @property
    def counts(self) -> dict[str, int]:
        """Number of variants by how they ended."""
        found = dict.fromkeys(STATUSES, 0)
        for row in self.variants:
            found[row["status"]] += 1
        return found

    @property
    def exit_code(self) -> ExitCode:
        """How a command with this answer ends; variants in which nothing meets the limits are answers."""
        counts = self.counts
        if counts["contradiction"]:
            return ExitCode.AUDIT_CONTRADICTS
        if self.stopped or counts[NOT_COMPUTED]:
            return ExitCode.STOPPED_EARLY
        return ExitCode.FILE_WRONG if counts["not valid"] or counts["failed"] else ExitCode.DONE

    def to_json(self) -> Json:
        """JSON of schema configopt/whatif/1; all but ``made_with`` is the same wherever it was computed."""
        return {
            "schema": "configopt/whatif/1",
            "scenario": self.scenario,
            "title": self.title,
            "status": "stopped early" if self.stopped else "complete",
            "aims": list(self.aims),
            "kept": list(self.kept),
            "counts": self.counts,
            "variants": list(self.variants),
            "least_regret": self.least_regret,
            "switches": list(self.switches),
            "remarks": list(self.remarks),
            "cautions": list(self.cautions),
            "made_with": self.made_with,
        }


def whatif(
    scenario: str | Path,
    variants: str | Path,
    *,
    jobs: int | None = None,
    cluster: str | None = None,
    keep_in: Path | None = None,
    decision: Path | None = None,
    resolution: float = RESOLUTION,
    together: bool = True,
    progress: Callable[[str], None] | None = None,
    engine: Callable[[Base], Engine] | None = None,
) -> WhatIf:
    """Answer every variant of a scenario.

    Parameters
    ----------
    scenario, variants
        The files.
    jobs
        Processes of this machine, one per processor by default; 0 computes in this process.
    cluster
        Address of a Dask scheduler instead.
    keep_in
        Folder in which finished variants are kept; those that are there are not computed again.
    decision
        File of the choice that is kept in every variant; without it, the best one as the scenario stands.
    resolution
        Share of a grid's range to which a switch is enclosed where it is not found exactly.
    together
        Whether to look for the least worst regret and for switches.
    progress
        Called with a line of text now and then.
    engine
        Made in place of the one that ``jobs`` and ``cluster`` ask for.

    Returns
    -------
    WhatIf
        Also where it was stopped by Ctrl-C: with what is finished.

    Raises
    ------
    FindingsError
        If the scenario, its catalogs, the decision or the file of variants as a whole are wrong.
    ConfigoptError
        If the folder or the cluster cannot be used.
    """
    began = time.monotonic()
    read = load_variants(variants)
    base = Base.of(scenario, read.path)
    store = Store(keep_in)
    stated = None if decision is None else _stated(decision, base)
    make = engine or (lambda base: _engine(base, jobs, cluster, len(read) + 1))
    running = make(base)
    every: list[Solved | None] = [None] * (len(read) + 1)
    least, found, stopped = _not_looked_for("this was not reached" if together else "left out, as asked"), [], False
    run = Run(base, running, store, progress=progress)
    try:
        every[0] = _as_it_stands(run, stated)
        for one in run.solve(read.planned(), len(read), first=1):
            every[one.number] = one
        if together:
            done = [one for one in every if one is not None]
            least = _least(run, done)
            found = sweeps(run, _grids(read, done), resolution)
    except KeyboardInterrupt:
        stopped = True
    finally:
        running.close()
    return _result(base, read, run, every, least, found, stopped=stopped, began=began)


def _engine(base: Base, jobs: int | None, cluster: str | None, most: int) -> Engine:
    """Where to compute; never more processes than variants."""
    if cluster is not None:
        from configopt.sweep.cluster import Cluster

        return Cluster(base, cluster)
    return Here(base) if jobs == 0 else Processes(base, min(jobs or processors(), most))


def _stated(decision: Path, base: Base) -> Kept:
    """The choice of a file, under a name that the baseline does not have."""
    name = f"decision {decision.stem}" if decision.stem == BASELINE else decision.stem
    return Kept(name, tuple(records_for(load_choice(decision), base.case)))


def _as_it_stands(run: Run, stated: Kept | None) -> Solved:
    """The scenario's own answer, and with it what is kept in every variant."""
    base = run.base
    baselines = [vehicle.baseline for vehicle in base.case.scenario.vehicles]
    baseline = tuple(one for one in baselines if one is not None)
    others = (Kept(BASELINE, baseline),) if len(baseline) == len(baselines) else ()
    run.kept = (stated, *others) if stated is not None else others
    run.say("choosing for the scenario as it stands")
    (first,) = run.solve_all([Planned(AS_IT_STANDS)])
    if first.answer["status"] == "failed":
        raise ConfigoptError(f"the scenario as it stands could not be computed: {first.answer['reason']}")
    if stated is None and first.record is not None:
        best = Kept(BEST_TODAY, first.record)
        run.kept = (best, *others)
        plain = changed(base, first.planned)
        aim = first.answer["aim"]
        first.answer = {**first.answer, "kept": [compared(plain.case, one, aim, plain.gone) for one in run.kept]}
    return first


def _least(run: Run, done: Sequence[Solved]) -> Json:
    try:
        return least_regret(run, done)
    except Uncomparable as error:
        return _not_looked_for(f"choices could not be compared over the variants: {error}")


def _not_looked_for(why: str) -> Json:
    return nothing("not looked for", why)


def _grids(read: Variants, done: Sequence[Solved]) -> list[tuple[Any, list[Solved]]]:
    """Grids over one number, each with its variants."""
    by_grid: dict[str, list[Solved]] = {}
    for one in done:
        if one.planned.grid is not None:
            by_grid.setdefault(one.planned.grid, []).append(one)
    return [
        (grid, by_grid[grid.name])
        for _, grid in sorted(read.grids.items())
        if grid.name in by_grid and one_field(grid) is not None
    ]


def _result(
    base: Base,
    read: Variants,
    run: Run,
    every: Sequence[Solved | None],
    least: Json,
    found: Sequence[Json],
    *,
    stopped: bool,
    began: float,
) -> WhatIf:
    first = every[0]
    rows = []
    plans = [Planned(AS_IT_STANDS), *read.planned()] if None in every else []
    for number, one in enumerate(every):
        solved = one or Solved(number, plans[number], {"status": NOT_COMPUTED})
        rows.append(_row(solved, None if first is None else first.answer))
    remarks = []
    nowhere = first is not None and first.answer["status"] == "nothing meets the limits"
    if nowhere and (not run.kept or run.kept[0].name == BASELINE):
        remarks.append("nothing meets every limit as the scenario stands, so there is no best choice to keep")
    if not one_sum(base.case):
        remarks.append("aims in order and alternates leave choices out, so no regret is stated against the best")
    cautions = dict.fromkeys(text for v in base.case.scenario.vehicles for text in general_cautions(v))
    made = {**made_with(base.case, began), "computed": run.computed, "from_before": run.from_before}
    return WhatIf(
        scenario=base.case.name,
        title=read.title,
        aims=tuple(_aims(base)),
        kept=tuple(one.name for one in run.kept),
        variants=tuple(rows),
        least_regret=least,
        switches=tuple(found),
        stopped=stopped,
        remarks=tuple(remarks),
        cautions=tuple(cautions),
        made_with=made,
    )


def _aims(base: Base) -> list[Json]:
    """What counts in the scenario as it stands: what one unit of each quantity counts, and in which place."""
    aims = base.case.scenario.aims
    found = []
    for place, stage in enumerate(aims.in_order or [aims], start=1):
        for name, rate in stage.own_rates.items():
            unit = AIM_UNITS.get(name)
            one = 1.0 if unit is None else float(to_unit(1.0, unit))
            unit = unit or base.case.scenario.currency
            found.append({"name": name, "rate": float(f"{rate / one:.12g}"), "unit": unit, "place": place})
    return found


def _row(one: Solved, first: Json | None) -> Json:
    """One variant's entry in the JSON."""
    answer = one.answer
    against = None if first is None or one.number == 0 else difference(first, answer)
    return {
        "name": one.planned.name,
        "why": one.planned.why,
        "grid": one.planned.grid,
        "values": dict(one.planned.values),
        "status": answer["status"],
        "reason": answer.get("reason"),
        "findings": list(answer.get("findings", [])),
        "aim": answer.get("aim"),
        "vehicles": list(answer.get("vehicles", [])),
        "against_as_it_stands": against,
        "kept": list(answer.get("kept", [])),
    }
