"""How sure each margin is: seeded quasi-random draws of every uncertain figure through the full model, at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.model import Outcome
from configopt.appraisal.one_vehicle import VehicleAppraisal
from configopt.appraisal.parts import Orders
from configopt.appraisal.rows import evaluation_of_rows
from configopt.appraisal.uncertain import UncertainFigure, uncertain_figures

Array = NDArray[np.float64]
#: Draws are 2 to this power; the sequence is only balanced for powers of two.
LOG_DRAWS = 9
SEED = 20_260_101
#: Ends of the shown interval, as quantiles.
INTERVAL = (0.05, 0.95)
#: Quantiles one standard uncertainty below and above, at which each figure is moved alone.
ONE_BELOW, ONE_ABOVE = 0.158655, 0.841345


@dataclass(frozen=True)
class Spread:
    """What the uncertain figures make of one value [SI]."""

    low: float
    high: float
    matters: tuple[tuple[UncertainFigure, float], ...]
    """The figures that move it most, with half of what one standard uncertainty up and down changes [SI]."""
    missed: float | None = None
    """Share of the draws that miss the limit, for a limit."""


@dataclass(frozen=True)
class Uncertainty:
    """Spread of every margin, in the order of the outcome's margins, and of the main figures."""

    margins: tuple[Spread, ...]
    rolling_loss: Spread
    energy: Spread
    draws: int
    figures: int


def uncertainty(appraised: VehicleAppraisal) -> Uncertainty:
    """Propagate every uncertain figure through the full model.

    Parameters
    ----------
    appraised : one vehicle with its packages

    Returns
    -------
    Uncertainty
        The same for the same packages on every machine: the draws are a scrambled Sobol sequence with a fixed seed.

    Notes
    -----
    One pass of the full model holds all rows: every figure alone one standard uncertainty up and down, then the draws.
    Figures are independent of each other; a part used at both ends has one value.
    """
    from scipy.stats.qmc import Sobol

    figures = uncertain_figures(appraised.model, appraised.packages)
    count = len(figures)
    alone = np.full((2 * count, count), np.nan)
    alone[np.arange(count), np.arange(count)] = ONE_BELOW
    alone[count + np.arange(count), np.arange(count)] = ONE_ABOVE
    drawn = Sobol(count, scramble=True, rng=SEED).random_base2(LOG_DRAWS)
    shares = np.concatenate([alone, np.clip(drawn, 1e-6, 1.0 - 1e-6)])
    values = np.empty_like(shares)
    for i, figure in enumerate(figures):
        own = np.isnan(shares[:, i])
        values[:, i] = np.where(own, figure.value, figure.at(np.where(own, 0.5, shares[:, i])))
    outcome = _outcome(appraised, figures, values)

    def spread(value: Array, met: NDArray[np.bool_] | None = None) -> Spread:
        low, high = np.quantile(value[2 * count :], INTERVAL)
        moved = 0.5 * np.abs(value[count : 2 * count] - value[:count])
        most = [i for i in np.argsort(-moved, kind="stable")[:2] if moved[i] > 0.0]
        missed = None if met is None else float(1.0 - met[2 * count :].mean())
        return Spread(float(low), float(high), tuple((figures[i], float(moved[i])) for i in most), missed)

    margins = []
    for margin in outcome.margins:
        assert margin.value is not None
        margins.append(spread(np.broadcast_to(margin.value, (len(values),)), np.broadcast_to(margin.met, len(values))))
    return Uncertainty(tuple(margins), spread(outcome.rolling_loss), spread(outcome.energy), len(drawn), count)


def _outcome(appraised: VehicleAppraisal, figures: Sequence[UncertainFigure], values: Array) -> Outcome:
    """The full model with other figures in each row."""
    evaluation = evaluation_of_rows(appraised.model, appraised.packages, appraised.drive, figures, values)
    rows, bought = len(values), appraised.outcome.bought
    same = Orders(
        np.full(rows, bought.cost[0]), np.full(rows, bought.lead_time[0]), np.full(rows, bought.running_cost[0])
    )
    return evaluation.outcome(same, values=True)
