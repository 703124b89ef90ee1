"""Small cases from generated parts of size S, every choice of which is appraised: the best must be that of choose."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from cases import SCENARIOS, SHIPPED, anchored, drawn_choices, first_parts, freed_vehicle, wanted_limits, with_limits
from generator import generate
from numpy.typing import NDArray

from configopt.catalog.catalog import Catalog
from configopt.catalog.records import Position
from configopt.choice.audit import Candidates, Choices
from configopt.choice.choose import TIE
from configopt.choice.result import choose
from configopt.fit.rules import PRESSURE_STEP
from configopt.quantities import Figure
from configopt.scenario.case import PACKAGE_PARTS, Case, load

#: Most choices of a small case.
MOST = 8_000
#: How far limits lie off the anchor, so that more than one choice meets them.
LOOSE = 0.02


def parts_of(candidates: Candidates, choices: Choices) -> tuple[dict[str, set[str]], dict[str, list[float]]]:
    """Ids of the parts of some choices by family, and the pressures at which each tire is used, but for foam."""
    keep: dict[str, set[str]] = {family: set() for family in PACKAGE_PARTS.values()}
    pressures: dict[str, list[float]] = {}
    for position, rows in (("front", choices.front), ("rear", choices.rear)):
        of = candidates.of[position]  # type: ignore[index]
        for footing, wheel, brake in rows:
            mount = of.mounts[of.footing_mount[footing]]
            for found in (mount, of.wheels[wheel], of.brakes[brake]):
                for field, family in PACKAGE_PARTS.items():
                    part = getattr(found, "lock" if field == "rim_lock" else field, None)
                    if part is not None:
                        keep[family].add(part.id)
            if mount.inner.kind != "foam":
                pressures.setdefault(mount.tire.id, []).append(float(of.footing_pressure[footing]))
    return keep, pressures


def tire_numbers(candidates: Candidates, choices: Choices, position: Position) -> NDArray[np.int64]:
    """Place of each choice's tire in the catalog."""
    of, place = candidates.of[position], {tire.id: i for i, tire in enumerate(candidates.model.catalog.tires)}
    rows = getattr(choices, position)
    return np.array([place[of.mounts[of.footing_mount[footing]].tire.id] for footing in rows[:, 0]], dtype=np.int64)


def narrowed(catalog: Catalog, keep: dict[str, set[str]], pressures: dict[str, list[float]], steps: int) -> Catalog:
    """Only some parts, and of each tire's pressures only those it is used at, what lies between, and ``steps`` more."""
    part = catalog.subset({family: sorted(ids) for family, ids in keep.items()})
    tires = []
    for tire in part.tires:
        used = pressures.get(tire.id, [float(tire.pressure_min)])
        low, high = min(used), min(max(used) + steps * PRESSURE_STEP, float(tire.pressure_max))
        tires.append(tire.model_copy(update={"pressure_min": Figure(low), "pressure_max": Figure(high)}))
    return replace(part, tires=tuple(tires))


def small_case(seed: int, scenario: str) -> Case:
    """The parts of a few drawn choices, as many as leave no more than :data:`MOST`, with limits some of them meet."""
    case = load(SCENARIOS / f"{scenario}.yaml")
    catalog = first_parts(generate("S", seed))
    wanted = wanted_limits(case.vehicle, catalog, hard=False)
    free, others = freed_vehicle(case.vehicle, catalog, wanted)
    candidates = Candidates(free, catalog, case.scenario.aims)
    good = drawn_choices(candidates, np.random.default_rng([seed, 5775]), 20)
    # A tire that is used at both ends, at pressures far apart, would bring all pressures between.
    good = good.take(np.flatnonzero(tire_numbers(candidates, good, "front") != tire_numbers(candidates, good, "rear")))
    several = [(slice(0, 3), 1), (slice(0, 2), 1), (slice(0, 2), 0)]
    for used, steps in several + [(slice(i, i + 1), steps) for i in range(len(good)) for steps in (1, 0)]:
        part = narrowed(catalog, *parts_of(candidates, good.take(used)), steps)
        small = Candidates(free, part, case.scenario.aims)
        if small.count() <= MOST:
            break
    else:
        raise AssertionError(f"the parts of every drawn choice of {scenario} with seed {seed} leave too many")
    everything = Choices.join(list(small.every_choice()))
    met = everything.take(np.flatnonzero(small.appraise(everything)[1]))
    return with_limits(case, part, anchored(small, met, wanted, LOOSE) + others, f"{scenario}-small-{seed}")


def small_cases(seeds: range) -> Iterator[Case]:
    """A small case of each shipped scenario for each seed."""
    for seed in seeds:
        for scenario in SHIPPED:
            yield small_case(seed, scenario)


def agrees(case: Case) -> bool:
    """Whether the choice has the least aim of all choices that meet every limit, as many ties, and the same count."""
    candidates = Candidates(case.vehicle, case.catalog, case.scenario.aims)
    aims, met = candidates.appraise(Choices.join(list(candidates.every_choice())))
    answer = choose(case)
    if not met.any():
        return answer.status == "infeasible"
    best = float(aims[met].min())
    ties = int((aims[met] <= best + TIE * abs(best)).sum())
    return (
        answer.status == "optimal"
        and answer.value is not None
        and abs(answer.value - best) <= TIE * abs(best)
        and answer.counts["ties"] == ties
        and answer.counts["choices_that_meet_all"] == int(met.sum())
    )
