"""Stopping distances and decelerations in the form of the braking regulations, and their requirements as data."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from configopt.errors import DomainError
from configopt.physics.constants import KMH
from configopt.physics.domain import Array, require


def stopping_distance(speed: ArrayLike, *, coefficient: ArrayLike, reaction: ArrayLike = 0.36) -> Array:
    """Stopping distance in the form of the braking regulations.

    Parameters
    ----------
    speed : speed at the start [m/s]
    coefficient : b of S = 0.1 V + b V^2, in the regulations' own unit [m/(km/h)^2], V in km/h
    reaction : time from touching the control to full effect [s]; 0.36 s is the regulations' 0.1 V with V in km/h

    Returns
    -------
    distance [m], broadcast shape

    Raises
    ------
    DomainError
        Negative speed, coefficient or time.

    References
    ----------
    Council Directive 93/14/EEC, Annex, Appendix 1, sections 1.1.2 and 2.1.2.

    >>> round(float(stopping_distance(60 / 3.6, coefficient=1 / 115)), 1)
    37.3
    """
    v = require("speed", speed, unit="m/s", low=0.0)
    b = require("coefficient", coefficient, unit="m/(km/h)^2", low=0.0)
    delay = require("reaction", reaction, unit="s", low=0.0)
    return np.asarray(delay * v + b * (3.6 * v) ** 2)


def equivalent_deceleration(coefficient: ArrayLike) -> Array:
    """Constant deceleration behind a regulation's distance coefficient.

    Parameters
    ----------
    coefficient : b of S = 0.1 V + b V^2 [m/(km/h)^2]

    Returns
    -------
    deceleration [m/s^2], same shape

    Raises
    ------
    DomainError
        Coefficient not above zero.

    Notes
    -----
    a = 1/(25.92 b), 25.92 = 2 x 3.6^2.  Its own inverse up to the factor: b = 1/(25.92 a).

    References
    ----------
    Council Directive 93/14/EEC as amended by 2006/27/EC, Annex, Appendix 1, section 1.1.2.

    >>> round(float(equivalent_deceleration(1 / 115)), 2)
    4.44
    """
    b = require("coefficient", coefficient, unit="m/(km/h)^2", above=0.0)
    return np.asarray(1.0 / (25.92 * b))


def mean_developed_deceleration(*, begin_speed: ArrayLike, end_speed: ArrayLike, distance: ArrayLike) -> Array:
    """Mean fully developed deceleration between two speeds of one stop.

    Parameters
    ----------
    begin_speed : speed at the start of the measured stretch [m/s], 0.8 of the initial speed in the regulations
    end_speed : speed at its end [m/s], 0.1 of the initial speed
    distance : length of the stretch [m]

    Returns
    -------
    deceleration [m/s^2], broadcast shape

    Raises
    ------
    DomainError
        Negative speed, end above begin, distance not above zero.

    Notes
    -----
    d_m = (V_b^2 - V_e^2)/(2 s); the regulations print 25.92 for 2 because they state V in km/h.

    References
    ----------
    Council Directive 93/14/EEC as amended by 2006/27/EC, Annex, Appendix 1, section 1.1.2.
    """
    begin = require("begin_speed", begin_speed, unit="m/s", low=0.0)
    end = require("end_speed", end_speed, unit="m/s", low=0.0)
    length = require("distance", distance, unit="m", above=0.0)
    require("begin_speed - end_speed", begin - end, unit="m/s", low=0.0)
    return np.asarray((begin * begin - end * end) / (2.0 * length))


@dataclass(frozen=True, slots=True)
class StatutoryRow:
    """One requirement: either criterion, deceleration or distance, satisfies it.

    ``category`` is the UN vehicle category, ``control`` the brake that acts ("front" or "rear" alone, "both" for a
    combined or split service brake worked by one control), ``deceleration`` the mean fully developed deceleration
    [m/s^2], ``distance_coefficient`` b of S = 0.1 V + b V^2 [m/(km/h)^2], ``test_speed`` the speed of the test [m/s]
    (a slower machine is tested at 0.9 of its top speed), all laden, on a surface with a peak coefficient of 0.9.
    """

    category: str
    control: str
    deceleration: float
    distance_coefficient: float
    test_speed: float
    source: str


_DIRECTIVE: Final = "Council Directive 93/14/EEC, Annex, Appendix 1, section 2.1.2"
_REGULATION: Final = "UN Regulation No. 78, 03 series, Annex 3, section 3.3 (from memory)"
_SLOW: Final = 40.0 * KMH
_FAST: Final = 60.0 * KMH

STATUTORY_ROWS: Final = (
    StatutoryRow("L1", "front", 3.4, 1 / 90, _SLOW, _DIRECTIVE),
    StatutoryRow("L1", "rear", 2.7, 1 / 70, _SLOW, _DIRECTIVE),
    StatutoryRow("L1", "both", 4.4, 0.0087, _SLOW, _REGULATION),
    StatutoryRow("L2", "front", 2.7, 1 / 70, _SLOW, _DIRECTIVE),
    StatutoryRow("L2", "rear", 2.7, 1 / 70, _SLOW, _DIRECTIVE),
    StatutoryRow("L2", "both", 4.4, 0.0087, _SLOW, _REGULATION),
    StatutoryRow("L3", "front", 4.4, 1 / 115, _FAST, _DIRECTIVE),
    StatutoryRow("L3", "rear", 2.9, 1 / 75, _FAST, _DIRECTIVE),
    StatutoryRow("L3", "both", 5.1, 0.0076, _FAST, _REGULATION),
    StatutoryRow("L4", "front", 3.6, 1 / 95, _FAST, _DIRECTIVE),
    StatutoryRow("L4", "rear", 3.6, 1 / 95, _FAST, _DIRECTIVE),
    StatutoryRow("L4", "both", 5.4, 0.0071, _FAST, _REGULATION),
    StatutoryRow("L5", "front", 3.7, 0.0105, _FAST, _REGULATION),
    StatutoryRow("L5", "rear", 3.7, 0.0105, _FAST, _REGULATION),
    StatutoryRow("L5", "both", 5.0, 0.0077, _FAST, _REGULATION),
)
"""Stopping requirements on a dry road, one row per category and control; see :func:`statutory_row`."""

_SAME_AS: Final = {"L6": "L2", "L7": "L5"}


def statutory_row(category: str, control: str) -> StatutoryRow:
    """Return the requirement for a vehicle category and a brake control.

    Parameters
    ----------
    category : "L1" to "L7"; light quadricycles (L6) follow three-wheel mopeds, heavy ones (L7) tricycles
    control : "front", "rear" or "both"

    Raises
    ------
    DomainError
        A category or control the regulations do not name.

    References
    ----------
    Council Directive 93/14/EEC as summarised by the European Union for quadricycles.

    >>> statutory_row("L3", "front").deceleration
    4.4
    """
    wanted = _SAME_AS.get(category, category)
    for row in STATUTORY_ROWS:
        if row.category == wanted and row.control == control:
            return row
    raise DomainError(
        f"no braking requirement for category {category!r}, control {control!r}; allowed are L1 to L7 "
        "and front, rear, both"
    )
