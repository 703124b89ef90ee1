"""Random small cases as scenarios that variants can be made of, and their truth by enumeration."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from random_cases import aims_of, cached_case, case_of, stated, suite

from configopt.choice.audit import Candidates, Choices
from configopt.choice.choose import TIE
from configopt.choice.ties import first_tie, record_of
from configopt.scenario.case import Case
from configopt.scenario.records import Scenario, VehicleChoiceRecord
from configopt.scenario.variants import Planned, Setting
from configopt.sweep.changing import Base, changed
from configopt.sweep.engines import Here
from configopt.sweep.run import Run
from configopt.sweep.store import Store

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Truth:
    """All choices of a variant with their aims, infinite where a limit is missed."""

    candidates: Candidates
    choices: Choices
    aims: Array

    @property
    def best(self) -> float:
        return float(self.aims.min(initial=np.inf))

    def first(self) -> VehicleChoiceRecord | None:
        """The first of the best."""
        if self.best == np.inf:
            return None
        near = np.flatnonzero(self.aims <= self.best + TIE * max(abs(self.best), 1e-9))
        ties = self.choices.take(near)
        return record_of(self.candidates, first_tie(self.candidates, ties))

    def by_parts(self) -> dict[str, float]:
        """Aim of every choice by the parts that make it."""
        return {
            str(record_of(self.candidates, self.choices, row).model_dump(mode="json")): float(self.aims[row])
            for row in range(len(self.choices))
        }


@cache
def base_of(number: int) -> Base:
    """A random case of the suite as a scenario; ``None`` limits are those a scenario may state."""
    drawn = cached_case(*suite()[number])
    case, vehicle = case_of(drawn.scenario), drawn.candidates.model.vehicle
    # Made of bare records, the figures are read again as a file would have them.
    limits = [stated_again(record) for record in vehicle.limits]
    vehicles = [
        {**vehicle.model_copy(update={"limits": [], "baseline": None}).model_dump(mode="json", exclude_none=True)}
    ]
    vehicles[0]["limits"] = limits
    aims = aims_of(drawn.candidates)
    rates = {
        name: rate
        for name, rate in aims.model_dump(mode="json", exclude_none=True).items()
        if float(getattr(aims, name)) > 0.0
    }
    data: dict[str, Any] = {
        "title": drawn.scenario,
        "catalogs": "../catalogs",
        "currency": case.scenario.currency,
        "aims": rates,
        "vehicles": vehicles,
    }
    scenario = Scenario.model_validate(data)
    return Base(Case(Path("small.yaml"), scenario, drawn.candidates.model.catalog), data, "small.variants.yaml")


def stated_again(record: Any) -> dict[str, Any]:
    """A limit record as a file has it."""
    return {key: value for key, value in record.model_dump().items() if value is not None}


def variant(name: str, settings: dict[str, Any]) -> Planned:
    """A variant of addresses and values."""
    return Planned(name, settings=tuple(Setting(field, value) for field, value in settings.items()))


def truth_of(base: Base, one: Planned) -> Truth:
    """Every choice of a variant through the appraisal."""
    case = changed(base, one).case
    candidates = Candidates(case.vehicle, case.catalog, case.scenario.aims)
    every = Choices.join(list(candidates.every_choice())) if candidates.count() else Choices.join([])
    if not len(every):
        return Truth(candidates, every, np.zeros(0))
    aims, met = candidates.appraise(every)
    return Truth(candidates, every, np.where(met, aims, np.inf))


def run_of(base: Base) -> Run:
    """A run in this process that keeps nothing."""
    return Run(base, Here(base), Store(None))


def address(base: Base, *steps: str) -> str:
    """Address of a field of the vehicle."""
    return ".".join(["vehicles", base.case.vehicle.name, *steps])


__all__ = ["Truth", "address", "base_of", "run_of", "stated", "truth_of", "variant"]
