"""Uncertainties from few readings."""

from __future__ import annotations

#: Between the middle and an end of the interval that holds 95 % of a normal distribution, in standard deviations.
_NORMAL = 1.959964


def student_factor(free: float) -> float:
    """Factor on a standard deviation after which a normal distribution holds 95 % where Student's does.

    Parameters
    ----------
    free
        Degrees of freedom, above 0.

    >>> round(student_factor(4), 3), round(student_factor(1e6), 3)
    (1.417, 1.0)
    """
    from scipy.special import stdtrit

    return float(stdtrit(free, 0.975)) / _NORMAL
