"""Wheel numerics from the cone index: second opinions beside the pressure-sinkage model.

Every formula here was fitted to tires heavier and wider than those of light vehicles; they rank, they set no limit.
Their motion resistances contain the tire's own share (the constants 0.04, 0.049, 0.017), so they replace a sum of
casing and soil losses and are never added to one.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from configopt.physics.domain import Array, require


@dataclass(frozen=True)
class _Wheel:
    load: Array
    cone_index: Array
    width: Array
    diameter: Array

    @property
    def group(self) -> Array:
        """CI b d/W, the group on which most numerics build."""
        return self.cone_index * self.width * self.diameter / self.load


def _require_wheel(load: ArrayLike, *, cone_index: ArrayLike, width: ArrayLike, diameter: ArrayLike) -> _Wheel:
    return _Wheel(
        require("load", load, unit="N", above=0.0, high=1e6),
        require("cone_index", cone_index, unit="Pa", low=0.0, high=1e8),
        require("width", width, unit="m", above=0.0, high=2.0),
        require("diameter", diameter, unit="m", above=0.0, high=5.0),
    )


def _require_deflection_ratio(deflection_ratio: ArrayLike, *, above: float | None = None) -> Array:
    return require("deflection_ratio", deflection_ratio, unit="1", low=0.0, high=1.0, above=above)


def _require_numeric(numeric: ArrayLike, *, above: float = 0.0) -> Array:
    return require("numeric", numeric, unit="1", above=above, high=1e9)


def _require_slip(slip: ArrayLike) -> Array:
    return require("slip", slip, unit="1", low=0.0, high=1.0)


def wismer_luth_numeric(load: ArrayLike, *, cone_index: ArrayLike, width: ArrayLike, diameter: ArrayLike) -> Array:
    """Wheel numeric C_n = CI b d/W [1].

    Parameters
    ----------
    load : W [N], any shape, above zero
    cone_index : CI [Pa]
    width : section width b [m]
    diameter : overall diameter d [m]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    References
    ----------
    R. D. Wismer, H. J. Luth, "Off-road traction prediction for wheeled vehicles", Trans. ASAE 17 (1974), from memory.
    For b/d near 0.30 and a deflection near 20 % of the section height.

    >>> round(float(wismer_luth_numeric(1000.0, cone_index=400e3, width=0.20, diameter=0.60)), 9)
    48.0
    """
    return _require_wheel(load, cone_index=cone_index, width=width, diameter=diameter).group


def wismer_luth_motion_resistance(numeric: ArrayLike) -> Array:
    """Motion resistance over load, 1.2/C_n + 0.04 [1].

    Parameters
    ----------
    numeric : C_n [1], any shape, above zero

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    References
    ----------
    R. D. Wismer, H. J. Luth, Trans. ASAE 17 (1974), from memory.

    >>> round(float(wismer_luth_motion_resistance(30.0)), 3)
    0.08
    """
    result: Array = 1.2 / _require_numeric(numeric) + 0.04
    return result


def wismer_luth_gross_traction(numeric: ArrayLike, *, slip: ArrayLike) -> Array:
    """Gross traction over load, 0.75 (1 - exp(-0.3 C_n s)) [1].

    Parameters
    ----------
    numeric : C_n [1], any shape, above zero
    slip : s [1]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    References
    ----------
    R. D. Wismer, H. J. Luth, Trans. ASAE 17 (1974), from memory.

    >>> round(float(wismer_luth_gross_traction(30.0, slip=0.10)), 4)
    0.4451
    """
    result: Array = -0.75 * np.expm1(-0.3 * _require_numeric(numeric) * _require_slip(slip))
    return result


def wismer_luth_net_traction(numeric: ArrayLike, *, slip: ArrayLike) -> Array:
    """Net traction over load: gross traction minus motion resistance [1]; arguments as in the gross traction.

    References
    ----------
    R. D. Wismer, H. J. Luth, Trans. ASAE 17 (1974), from memory.

    >>> round(float(wismer_luth_net_traction(30.0, slip=0.10)), 4)
    0.3651
    """
    return wismer_luth_gross_traction(numeric, slip=slip) - wismer_luth_motion_resistance(numeric)


def brixius_numeric(
    load: ArrayLike,
    *,
    cone_index: ArrayLike,
    width: ArrayLike,
    diameter: ArrayLike,
    deflection_ratio: ArrayLike,
) -> Array:
    """Mobility number B_n = (CI b d/W)(1 + 5 delta/h)/(1 + 3 b/d) [1].

    Parameters
    ----------
    load : W [N], any shape, above zero
    cone_index : CI [Pa]
    width : section width b [m]
    diameter : overall diameter d [m]
    deflection_ratio : deflection over section height delta/h [1]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    Stated for b/d of 0.1 to 0.7, delta/h of 0.1 to 0.3 and W/(b d) of 15 to 55 kPa (the last from memory): see
    :func:`brixius_remarks`.

    References
    ----------
    W. W. Brixius, "Traction prediction equations for bias ply tires", ASAE paper 87-1622 (1987); ASAE D497.
    From memory.

    >>> round(float(brixius_numeric(1000.0, cone_index=400e3, width=0.20, diameter=0.60, deflection_ratio=0.2)), 6)
    48.0
    """
    wheel = _require_wheel(load, cone_index=cone_index, width=width, diameter=diameter)
    ratio = _require_deflection_ratio(deflection_ratio)
    numeric: Array = wheel.group * (1.0 + 5.0 * ratio) / (1.0 + 3.0 * wheel.width / wheel.diameter)
    return numeric


def brixius_remarks(
    load: ArrayLike, *, width: ArrayLike, diameter: ArrayLike, deflection_ratio: ArrayLike
) -> dict[str, NDArray[np.bool_]]:
    """Named remarks where a wheel lies outside the ranges stated for the mobility number.

    Parameters
    ----------
    load : W [N], any shape, above zero
    width : b [m]
    diameter : d [m]
    deflection_ratio : delta/h [1]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    References
    ----------
    ASAE D497.4 (February 2003), clause 3; the load range from memory.

    >>> remarks = brixius_remarks(800.0, width=0.05, diameter=0.70, deflection_ratio=0.2)
    >>> [name for name, holds in remarks.items() if holds]
    ['width over diameter outside 0.1 to 0.7']
    """
    wheel = _require_wheel(load, cone_index=0.0, width=width, diameter=diameter)
    ratio = _require_deflection_ratio(deflection_ratio)
    slender = wheel.width / wheel.diameter
    density = wheel.load / (wheel.width * wheel.diameter)
    return {
        "width over diameter outside 0.1 to 0.7": (slender < 0.1) | (slender > 0.7),
        "deflection outside 10 to 30 % of the section height": (ratio < 0.1) | (ratio > 0.3),
        "load over width and diameter outside 15 to 55 kPa": (density < 15e3) | (density > 55e3),
    }


def brixius_gross_traction(numeric: ArrayLike, *, slip: ArrayLike) -> Array:
    """Gross traction over load, 0.88 (1 - exp(-0.1 B_n))(1 - exp(-7.5 s)) + 0.04 [1].

    Parameters
    ----------
    numeric : B_n [1], any shape, above zero
    slip : s [1]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    References
    ----------
    W. W. Brixius, ASAE 87-1622 (1987); ASAE D497 (bias-ply constants).

    >>> round(float(brixius_gross_traction(55.0, slip=0.10)), 4)
    0.5024
    """
    bn = _require_numeric(numeric)
    result: Array = 0.88 * np.expm1(-0.1 * bn) * np.expm1(-7.5 * _require_slip(slip)) + 0.04
    return result


def brixius_motion_resistance(numeric: ArrayLike, *, slip: ArrayLike = 0.0) -> Array:
    """Motion resistance over load, 1/B_n + 0.04 + 0.5 s/sqrt(B_n) [1]; an undriven wheel has no slip.

    Parameters
    ----------
    numeric : B_n [1], any shape, above zero
    slip : s [1]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    References
    ----------
    W. W. Brixius, ASAE 87-1622 (1987); ASAE D497.

    >>> round(float(brixius_motion_resistance(55.0, slip=0.10)), 4)
    0.0649
    """
    bn = _require_numeric(numeric)
    result: Array = 1.0 / bn + 0.04 + 0.5 * _require_slip(slip) / np.sqrt(bn)
    return result


def brixius_net_traction(numeric: ArrayLike, *, slip: ArrayLike) -> Array:
    """Net traction over load: gross traction minus motion resistance [1]; arguments as in the gross traction.

    References
    ----------
    W. W. Brixius, ASAE 87-1622 (1987); ASAE D497.

    >>> round(float(brixius_net_traction(55.0, slip=0.10)), 4)
    0.4375
    """
    return brixius_gross_traction(numeric, slip=slip) - brixius_motion_resistance(numeric, slip=slip)


def brixius_tractive_efficiency(numeric: ArrayLike, *, slip: ArrayLike) -> Array:
    """Tractive efficiency (NT/GT)(1 - s) [1]; arguments as in the gross traction.

    Notes
    -----
    Net over gross traction *at the same slip*; the envelope at infinite slip gives a curve without an optimum.

    References
    ----------
    ASAE D497.

    >>> round(float(brixius_tractive_efficiency(55.0, slip=0.10)), 4)
    0.7837
    """
    net = brixius_net_traction(numeric, slip=slip)
    return net / brixius_gross_traction(numeric, slip=slip) * (1.0 - _require_slip(slip))


def clay_numeric(
    load: ArrayLike,
    *,
    cone_index: ArrayLike,
    width: ArrayLike,
    diameter: ArrayLike,
    deflection_ratio: ArrayLike,
) -> Array:
    """Clay numeric N_c (the mobility number M of Gee-Clough): (CI b d/W) sqrt(delta/h)/(1 + b/(2 d)) [1].

    Parameters
    ----------
    load : W [N], any shape, above zero
    cone_index : CI [Pa]
    width : section width b [m]
    diameter : overall diameter d [m]
    deflection_ratio : delta/h [1]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    References
    ----------
    G. W. Turnage, WES 1972; D. Gee-Clough et al., J. Terramechanics 15 (1978).  From memory.

    >>> round(float(clay_numeric(1000.0, cone_index=400e3, width=0.20, diameter=0.60, deflection_ratio=0.25)), 3)
    20.571
    """
    wheel = _require_wheel(load, cone_index=cone_index, width=width, diameter=diameter)
    ratio = _require_deflection_ratio(deflection_ratio)
    numeric: Array = wheel.group * np.sqrt(ratio) / (1.0 + 0.5 * wheel.width / wheel.diameter)
    return numeric


def sand_numeric(
    load: ArrayLike,
    *,
    cone_index_gradient: ArrayLike,
    width: ArrayLike,
    diameter: ArrayLike,
    deflection_ratio: ArrayLike,
) -> Array:
    """Sand numeric N_s = G (b d)^1.5/W delta/h [1].

    Parameters
    ----------
    load : W [N], any shape, above zero
    cone_index_gradient : G, growth of the cone index with depth [Pa/m]
    width : section width b [m]
    diameter : overall diameter d [m]
    deflection_ratio : delta/h [1]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    References
    ----------
    D. R. Freitag, G. W. Turnage, WES, from memory.

    >>> round(float(sand_numeric(1000.0, cone_index_gradient=3e6, width=0.20, diameter=0.60, deflection_ratio=0.2)), 2)
    24.94
    """
    gradient = require("cone_index_gradient", cone_index_gradient, unit="Pa/m", low=0.0, high=1e9)
    wheel = _require_wheel(load, cone_index=0.0, width=width, diameter=diameter)
    ratio = _require_deflection_ratio(deflection_ratio)
    numeric: Array = gradient * (wheel.width * wheel.diameter) ** 1.5 / wheel.load * ratio
    return numeric


def turnage_rolling_resistance(numeric: ArrayLike) -> Array:
    """Rolling resistance over load, 0.04 + 0.20/(N_c - 2.50) [1].

    Parameters
    ----------
    numeric : N_c [1], any shape, above 2.5

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    References
    ----------
    G. W. Turnage, 6th ISTVS conference, Vienna 1978, from memory.

    >>> round(float(turnage_rolling_resistance(7.5)), 3)
    0.08
    """
    result: Array = 0.04 + 0.20 / (_require_numeric(numeric, above=2.5) - 2.5)
    return result


def gee_clough_maximum_traction(numeric: ArrayLike) -> Array:
    """Largest traction over load, 0.796 - 0.92/M [1]; negative where the ground gives none.

    Parameters
    ----------
    numeric : M of :func:`clay_numeric` [1], any shape, above zero

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    References
    ----------
    D. Gee-Clough et al., "The empirical prediction of tractor-implement field performance", J. Terramechanics 15
    (1978).

    >>> round(float(gee_clough_maximum_traction(10.0)), 3)
    0.704
    """
    result: Array = 0.796 - 0.92 / _require_numeric(numeric)
    return result


def gee_clough_rolling_resistance(numeric: ArrayLike) -> Array:
    """Rolling resistance over load, 0.049 + 0.287/M [1].

    Parameters
    ----------
    numeric : M of :func:`clay_numeric` [1], any shape, above zero

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    References
    ----------
    D. Gee-Clough et al., J. Terramechanics 15 (1978), from memory.

    >>> round(float(gee_clough_rolling_resistance(10.0)), 4)
    0.0777
    """
    result: Array = 0.049 + 0.287 / _require_numeric(numeric)
    return result


def gee_clough_traction(numeric: ArrayLike, *, slip: ArrayLike) -> Array:
    """Traction over load at a slip, C_max (1 - exp(-k s)) with k C_max = 4.838 + 0.061 M [1].

    Parameters
    ----------
    numeric : M of :func:`clay_numeric` [1], any shape, above 0.92/0.796 (below it the ground gives no traction)
    slip : s [1]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    References
    ----------
    D. Gee-Clough et al., J. Terramechanics 15 (1978), from memory.

    >>> round(float(gee_clough_traction(10.0, slip=0.10)), 3)
    0.379
    """
    m = _require_numeric(numeric, above=0.92 / 0.796)
    top = gee_clough_maximum_traction(m)
    rate = (4.838 + 0.061 * m) / top
    result: Array = -top * np.expm1(-rate * _require_slip(slip))
    return result


def gee_clough_tractive_efficiency(numeric: ArrayLike, *, slip: ArrayLike) -> Array:
    """Tractive efficiency C_T (1 - s)/(C_T + C_RR) [1]; arguments as in :func:`gee_clough_traction`.

    References
    ----------
    D. Gee-Clough et al., J. Terramechanics 15 (1978).

    >>> round(float(gee_clough_tractive_efficiency(10.0, slip=0.10)), 3)
    0.747
    """
    traction = gee_clough_traction(numeric, slip=slip)
    return traction * (1.0 - _require_slip(slip)) / (traction + gee_clough_rolling_resistance(numeric))


def maclaurin_numeric(
    load: ArrayLike, *, cone_index: ArrayLike, width: ArrayLike, diameter: ArrayLike, deflection: ArrayLike
) -> Array:
    """Wheel numeric N = CI b^0.8 d^0.8 delta^0.4/W [1].

    Parameters
    ----------
    load : W [N], any shape, above zero
    cone_index : CI [Pa]
    width : section width b [m]
    diameter : overall diameter d [m]
    deflection : delta on firm ground [m]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    References
    ----------
    E. B. Maclaurin, 1990, from memory.

    >>> round(float(maclaurin_numeric(1000.0, cone_index=400e3, width=0.20, diameter=0.635, deflection=0.03)), 2)
    18.88
    """
    wheel = _require_wheel(load, cone_index=cone_index, width=width, diameter=diameter)
    delta = require("deflection", deflection, unit="m", low=0.0, high=2.5)
    numeric: Array = wheel.cone_index * (wheel.width * wheel.diameter) ** 0.8 * delta**0.4 / wheel.load
    return numeric


def maclaurin_sinkage_ratio(numeric: ArrayLike) -> Array:
    """Sinkage over diameter, 0.224/N^1.25 [1].

    Parameters
    ----------
    numeric : N [1], any shape, above zero

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    References
    ----------
    E. B. Maclaurin, 1990, from memory.

    >>> round(float(maclaurin_sinkage_ratio(16.0)), 4)
    0.007
    """
    result: Array = 0.224 / _require_numeric(numeric) ** 1.25
    return result


def maclaurin_rolling_resistance(numeric: ArrayLike) -> Array:
    """Rolling resistance over load, 0.017 + 0.453/N [1].

    Parameters
    ----------
    numeric : N [1], any shape, above zero

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    References
    ----------
    E. B. Maclaurin, 1990, from memory.

    >>> round(float(maclaurin_rolling_resistance(10.0)), 4)
    0.0623
    """
    result: Array = 0.017 + 0.453 / _require_numeric(numeric)
    return result


@dataclass(frozen=True)
class MotionResistanceModel:
    """One second opinion: its function of the numeric, the numeric's name, its lowest value, and the source."""

    function: Callable[[ArrayLike], Array]
    numeric: str
    lowest: float
    reference: str


MOTION_RESISTANCE: dict[str, MotionResistanceModel] = {
    "brixius": MotionResistanceModel(brixius_motion_resistance, "brixius_numeric", 0.0, "ASAE D497"),
    "wismer-luth": MotionResistanceModel(
        wismer_luth_motion_resistance, "wismer_luth_numeric", 0.0, "Wismer and Luth 1974"
    ),
    "turnage": MotionResistanceModel(turnage_rolling_resistance, "clay_numeric", 2.5, "Turnage 1978"),
    "gee-clough": MotionResistanceModel(gee_clough_rolling_resistance, "clay_numeric", 0.0, "Gee-Clough et al. 1978"),
    "maclaurin": MotionResistanceModel(maclaurin_rolling_resistance, "maclaurin_numeric", 0.0, "Maclaurin 1990"),
}
"""Undriven motion resistance over load: name -> model."""
