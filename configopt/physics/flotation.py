"""Flotation: what the ground carries, wheel by wheel."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from configopt.physics.domain import Array, require


def mean_ground_pressure(load: ArrayLike, area: ArrayLike) -> Array:
    """Mean pressure under a wheel [Pa].

    Parameters
    ----------
    load : wheel load W [N], any shape, >= 0
    area : gross contact area A [m2], above zero where there is a load

    Returns
    -------
    Array
        W/A; zero for a wheel without load.

    Raises
    ------
    DomainError
        Outside the ranges, where an argument is not a number, or where a load stands on no area.

    Notes
    -----
    On firm ground with the firm patch, on soft ground with the area of the soft-ground model.

    >>> float(mean_ground_pressure(1000.0, 0.025))
    40000.0
    """
    w = require("load", load, unit="N", low=0.0, high=1e6)
    a = require("area", area, unit="m2", low=0.0, high=1e3)
    carried = np.where(w > 0.0, require("area", np.where(w > 0.0, a, 1.0), unit="m2", above=0.0), 1.0)
    return np.where(w > 0.0, w / carried, 0.0)


def pressure_margin(pressure: ArrayLike, *, limit: ArrayLike) -> Array:
    """Ratio of a ground's limit pressure to the pressure under the wheel [1]; met where it is at least one.

    Parameters
    ----------
    pressure : under the wheel [Pa], any shape, >= 0
    limit : that the ground states [Pa], above zero

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    A wheel without load has no pressure; its margin is then the limit over the smallest pressure counted, 1 Pa.

    >>> float(pressure_margin(20e3, limit=14e3))
    0.7
    """
    p = require("pressure", pressure, unit="Pa", low=0.0, high=1e9)
    return require("limit", limit, unit="Pa", above=0.0, high=1e9) / np.maximum(p, 1.0)
