"""One choice in several conditions of the same vehicle: which value of the aim counts.

The packages serve all conditions, so mass, parts and cost are the same in each; energy, rolling loss and most limits
are not.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from configopt.appraisal.model import Outcome
from configopt.appraisal.one_vehicle import VehicleAppraisal
from configopt.appraisal.vehicle import VehicleModel
from configopt.physics.domain import Array
from configopt.scenario.conditions import AS_STATED, shares
from configopt.scenario.records import MeanOfWorst, Vehicle


def condition_names(vehicle: Vehicle) -> tuple[str, ...]:
    """What the conditions are called, the vehicle as stated first."""
    return (AS_STATED, *(condition.name for condition in vehicle.conditions))


def most_counted(vehicle: Vehicle) -> Array:
    """How much each condition can count in the aim at most, (conditions,) [1].

    The value that counts is the largest sum of weights times values, of all weights up to these that sum to 1: all
    weight on the worst, the shares, or shares of the worst part of the distance over that part (the mean beyond a
    quantile, Rockafellar and Uryasev 2000; from memory).
    """
    over, stated = vehicle.over_conditions, shares(vehicle)
    if over in (None, "worst") or stated is None:
        return np.ones(len(vehicle.conditions) + 1)
    part = float(over.mean_of_worst) if isinstance(over, MeanOfWorst) else 1.0
    return np.minimum(np.array(stated) / part, 1.0)


def condition_weights(values: Array, most: Array) -> Array:
    """What each condition counts for each choice, (choices, conditions): most on the worst, then on the next.

    Parameters
    ----------
    values : of the aim in each condition, (choices, conditions)
    most : what each condition can count at most, (conditions,)

    >>> condition_weights(np.array([[3.0, 5.0, 4.0]]), np.array([1.0, 0.25, 0.5]))
    array([[0.25, 0.25, 0.5 ]])
    """
    order = np.argsort(-values, axis=1, kind="stable")
    ceilings = most[order]
    before = np.cumsum(ceilings, axis=1) - ceilings
    weights = np.empty_like(values)
    np.put_along_axis(weights, order, np.clip(1.0 - before, 0.0, ceilings), axis=1)
    return weights


def aims_in(outcomes: Sequence[Outcome], rates: Mapping[str, float]) -> Array:
    """The weighted aim in each condition, (choices, conditions) [1]."""
    return np.stack(
        [
            rates["mass"] * one.packages_mass
            + rates["rolling_loss"] * one.rolling_loss
            + rates["energy"] * one.energy
            + rates["cost"] * one.cost
            for one in outcomes
        ],
        axis=1,
    )


def over_conditions(model: VehicleModel, outcomes: Sequence[Outcome], rates: Mapping[str, float]) -> Outcome:
    """One outcome of the same choices in all conditions: every limit, and the energies that count in the aim.

    Parameters
    ----------
    model : the vehicle as stated
    outcomes : in each condition, the vehicle as stated first, whose other figures it keeps
    rates : of the aim
    """
    weights = condition_weights(aims_in(outcomes, rates), most_counted(model.vehicle))

    def counted(values: list[Array]) -> Array:
        # What does not count may be infinite.
        return np.asarray(np.where(weights > 0.0, weights * np.stack(values, axis=1), 0.0).sum(axis=1))

    return replace(
        outcomes[0],
        rolling_loss=counted([one.rolling_loss for one in outcomes]),
        energy=counted([one.energy for one in outcomes]),
        margins=[margin for one in outcomes for margin in one.margins],
    )


def judged(appraised: VehicleAppraisal, rates: Mapping[str, float]) -> Outcome:
    """The outcome by which packages are judged: that of the one condition, or of all together."""
    if not appraised.others:
        return appraised.outcome
    return over_conditions(appraised.model, [one.outcome for one in appraised.in_all], rates)
