"""What each condition of a vehicle counts in the lower bound of its aim.

Any weights that the rule of the scenario allows give a bound (:func:`configopt.appraisal.conditions.most_counted`);
those that lift it most over good choices leave the search the least to look at.  Nothing else depends on them.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.conditions import aims_in, most_counted
from configopt.catalog.records import Position
from configopt.choice.audit import Candidates, Choices
from configopt.choice.candidates import Instance
from configopt.choice.incumbent import drawn, ranks, replacements

Array = NDArray[np.float64]
#: Layers of a choice in which one candidate is put in place of another.
LAYERS = 7
#: Choices by which the weights are picked at most.
JUDGED_BY = 20_000


def best_mix(values: Array, most: Array) -> tuple[float, ...]:
    """Weights, each at most so much and summing to 1, whose least weighted value over some choices is largest.

    Parameters
    ----------
    values : of the aim, (choices, conditions)
    most : what each condition can count at most, (conditions,)

    >>> best_mix(np.array([[4.0, 2.0], [2.0, 4.0]]), np.array([1.0, 1.0]))
    (0.5, 0.5)
    """
    from scipy.optimize import linprog

    count, conditions = values.shape
    scale = max(float(np.abs(values).max()), 1e-9)
    solved = linprog(
        np.append(np.zeros(conditions), -1.0),
        A_ub=np.hstack([-values / scale, np.ones((count, 1))]),
        b_ub=np.zeros(count),
        A_eq=np.append(np.ones(conditions), 0.0)[None, :],
        b_eq=[1.0],
        bounds=[*((0.0, float(one)) for one in most), (None, None)],
    )
    found = np.clip(solved.x[:-1], 0.0, most) if solved.status == 0 else most
    # The solver keeps rows within a tolerance, and weights above what may count would bound nothing.
    missing, room = 1.0 - float(found.sum()), most - found
    found = found + room * (missing / room.sum()) if missing > 0.0 and room.sum() > 0.0 else found / found.sum()
    return tuple(float(weight) for weight in np.minimum(found, most))


def with_mix(
    candidates: Candidates, whole: Instance, marginals: dict[Position, Array], good: Choices | None
) -> Candidates:
    """The same candidates with weights of the conditions for their bounds, picked around a good choice if one is known.

    Parameters
    ----------
    candidates : of a vehicle with several conditions; the weights are kept for all their variants
    whole : bounds of everything, with some weights
    marginals : bound of the aim by footing
    good : choices that meet every limit
    """
    if not candidates.mixes:
        ranked = ranks(whole, marginals)
        if good is None or not len(good):
            near = drawn(whole, ranked, np.random.default_rng(2))
        else:
            first = good.take(np.array([0]))
            near = Choices.join([replacements(whole, ranked, first, n) for n in range(LAYERS)])
        near = near.take(slice(0, JUDGED_BY))
        outcomes = candidates.outcomes(near)
        met = np.logical_and.reduce([one.met for one in outcomes])
        values = aims_in(outcomes, candidates.rates)
        candidates.mixes.append(best_mix(values[met] if met.any() else values, most_counted(candidates.model.vehicle)))
    return candidates.variant(weights=replace(candidates.weights, mix=candidates.mixes[0]))
