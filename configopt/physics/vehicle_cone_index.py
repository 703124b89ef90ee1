"""Whole-vehicle measures of soft-ground mobility: vehicle cone index, mean maximum pressure, limiting cone index.

They describe a vehicle with two axles or more, all of the same tires, and were fitted to far heavier machines.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from configopt.physics.domain import Array, require

PSI = 6894.757293168361
"""Pa per psi: a cone index in dial units is a pressure in psi."""

POUND = 4.4482216152605
"""N per pound-force."""

INCH = 0.0254
"""m per inch."""

HORSEPOWER = 745.69987158227022
"""W per mechanical horsepower."""

SHORT_TON = 2000.0 * POUND
"""N per short ton of weight."""

MOBILITY_INDEX_SWITCH = 115.0
"""Mobility index at which the one-pass relation changes its branch."""


def rating_cone_index(cone_index: ArrayLike, *, remolding_index: ArrayLike) -> Array:
    """Strength that fine-grained soil keeps under traffic: cone index times remolding index [Pa].

    Parameters
    ----------
    cone_index : CI [Pa], any shape
    remolding_index : RI [1]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    References
    ----------
    US Army Engineer School, EN5341, p. 3-34.

    >>> float(rating_cone_index(700e3, remolding_index=0.5))
    350000.0
    """
    ci = require("cone_index", cone_index, unit="Pa", low=0.0, high=1e8)
    return ci * require("remolding_index", remolding_index, unit="1", low=0.0, high=10.0)


def mobility_index(
    weight: ArrayLike,
    *,
    axles: ArrayLike,
    wheels: ArrayLike,
    width: ArrayLike,
    diameter: ArrayLike,
    clearance: ArrayLike,
    power: ArrayLike,
    chains: ArrayLike = False,
    manual_transmission: ArrayLike = False,
) -> Array:
    """Mobility index of a self-propelled wheeled vehicle, all axles driven [1].

    Parameters
    ----------
    weight : of the loaded vehicle [N], any shape, above zero
    axles, wheels : their numbers [1]
    width : tire section width [m]
    diameter : overall diameter [m]
    clearance : ground clearance [m]
    power : of the motor [W]
    chains, manual_transmission : bool

    Raises
    ------
    DomainError
        Outside the ranges, where an argument is not a number, or for axle loads above 13,500 lb.

    Notes
    -----
    MI = (CPF WF/(TF GF) + WLF - CF) EF TRF with contact pressure factor W/(b r n) in psi, weight factor 0.553 w below
    2,000 lb of axle load (w in kip) and 0.033 w + 1.05 from there, tire factor (10 + b)/100 with b in inch, grouser
    factor 1.05 with chains, wheel load factor in kip, clearance factor in tens of inches, engine factor 1.05 below
    10 hp per ton, transmission factor 1.05 for a manual gearbox.  Held at zero where a light vehicle with much
    clearance would come out below.

    References
    ----------
    FM 5-430-00-1; TM 5-330.  From memory.

    >>> round(float(mobility_index(
    ...     4000.0, axles=2, wheels=4, width=0.20, diameter=0.635, clearance=0.20, power=10e3)), 2)
    2.61
    """
    w = require("weight", weight, unit="N", above=0.0, high=1e6) / POUND
    n_axles = require("axles", axles, unit="1", low=1.0, high=20.0)
    n_wheels = require("wheels", wheels, unit="1", low=1.0, high=80.0)
    b = require("width", width, unit="m", above=0.0, high=2.0) / INCH
    r = require("diameter", diameter, unit="m", above=0.0, high=5.0) / INCH / 2.0
    tens = require("clearance", clearance, unit="m", low=0.0, high=2.0) / INCH / 10.0
    per_ton = require("power", power, unit="W", low=0.0, high=1e7) / HORSEPOWER / (w * POUND / SHORT_TON)
    axle_load = require("weight per axle", w / n_axles, unit="lb", above=0.0, high=13_500.0)
    kips = axle_load / 1e3
    weight_factor = np.where(axle_load < 2000.0, 0.553 * kips, 0.033 * kips + 1.05)
    grousers = np.where(np.asarray(chains, dtype=bool), 1.05, 1.0)
    engine = np.where(per_ton >= 10.0, 1.0, 1.05)
    gears = np.where(np.asarray(manual_transmission, dtype=bool), 1.05, 1.0)
    contact = w / (b * r * n_wheels) * weight_factor / ((10.0 + b) / 100.0 * grousers)
    return np.maximum((contact + w / n_wheels / 1e3 - tens) * engine * gears, 0.0)


def deflection_correction(deflection_ratio: ArrayLike) -> Array:
    """Correction of the vehicle cone index for tire deflection, (0.15/(delta/h))^0.25 [1].

    Parameters
    ----------
    deflection_ratio : deflection over section height [1], any shape, above zero

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    References
    ----------
    J. D. Priddy, W. E. Willoughby, J. Terramechanics 43 (2006) 85-96.

    >>> float(deflection_correction(0.15))
    1.0
    """
    ratio = require("deflection_ratio", deflection_ratio, unit="1", above=0.0, high=1.0)
    factor: Array = (0.15 / ratio) ** 0.25
    return factor


def one_pass_cone_index(mobility_index: ArrayLike, *, deflection_ratio: ArrayLike = 0.15) -> Array:
    """Rating cone index that a vehicle needs for one pass over fine-grained soil, VCI_1 [Pa].

    Parameters
    ----------
    mobility_index : MI [1], any shape, >= 0
    deflection_ratio : deflection over section height [1]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    In psi: (11.48 + 0.2 MI - 39.2/(MI + 3.74)) DCF up to MI = 115, 4.1 MI^0.446 DCF beyond.

    References
    ----------
    J. D. Priddy, W. E. Willoughby, J. Terramechanics 43 (2006) 85-96.

    >>> round(float(one_pass_cone_index(115.0)) / 6894.757, 2)
    34.15
    """
    index = require("mobility_index", mobility_index, unit="1", low=0.0, high=1e4)
    light = 11.48 + 0.2 * index - 39.2 / (index + 3.74)
    heavy = 4.1 * index**0.446
    pounds = np.where(index <= MOBILITY_INDEX_SWITCH, light, heavy)
    pressure: Array = PSI * pounds * deflection_correction(deflection_ratio)
    return pressure


ROWLAND_AXLE_FACTORS: dict[str, float] = {
    "2 axles, all driven": 3.65,
    "3 axles, all driven": 3.90,
    "4 axles, all driven": 4.10,
    "2 axles, one driven": 4.40,
}
"""Factor K of the mean maximum pressure of wheeled vehicles (Rowland 1975, from memory)."""


def rowland_wheel_pressure(
    weight: ArrayLike,
    *,
    axle_factor: ArrayLike,
    wheels: ArrayLike,
    width: ArrayLike,
    diameter: ArrayLike,
    deflection_ratio: ArrayLike,
) -> Array:
    """Mean maximum pressure of a wheeled vehicle [Pa].

    Parameters
    ----------
    weight : of the loaded vehicle [N], any shape, >= 0
    axle_factor : K, see ``ROWLAND_AXLE_FACTORS`` [1]
    wheels : number of wheels, 2 m [1]
    width : b [m]
    diameter : d [m]
    deflection_ratio : delta/h [1], above zero

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    MMP = K W/(2 m b^0.85 d^1.15 sqrt(delta/h)), m wheels per side.  A later form with delta/d has other constants.

    References
    ----------
    D. Rowland, "A review of vehicle design for soft-ground operation", 5th ISTVS conference, 1975, from memory.

    >>> round(float(rowland_wheel_pressure(4000.0, axle_factor=3.65, wheels=4, width=0.20, diameter=0.635,
    ...                                    deflection_ratio=0.2)))
    54040
    """
    w = require("weight", weight, unit="N", low=0.0, high=1e7)
    k = require("axle_factor", axle_factor, unit="1", above=0.0, high=20.0)
    n = require("wheels", wheels, unit="1", low=1.0, high=80.0)
    b = require("width", width, unit="m", above=0.0, high=2.0)
    d = require("diameter", diameter, unit="m", above=0.0, high=5.0)
    ratio = require("deflection_ratio", deflection_ratio, unit="1", above=0.0, high=1.0)
    pressure: Array = k * w / (n * b**0.85 * d**1.15 * np.sqrt(ratio))
    return pressure


def rowland_track_pressure(
    weight: ArrayLike, *, wheels: ArrayLike, width: ArrayLike, pitch: ArrayLike, diameter: ArrayLike
) -> Array:
    """Mean maximum pressure of a tracked vehicle, for comparison [Pa].

    Parameters
    ----------
    weight : of the loaded vehicle [N], any shape, >= 0
    wheels : number of road wheels, 2 m [1]
    width : of the track b [m]
    pitch : of the track p [m]
    diameter : of the road wheels d [m]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    MMP = 1.26 W/(2 m b sqrt(p d)).

    References
    ----------
    D. Rowland, "Tracked vehicle ground pressure and its effect on soft ground performance", 4th ISTVS conference, 1972.

    >>> round(float(rowland_track_pressure(135e3, wheels=10, width=0.4, pitch=0.15, diameter=0.6)))
    141750
    """
    w = require("weight", weight, unit="N", low=0.0, high=1e7)
    n = require("wheels", wheels, unit="1", low=1.0, high=80.0)
    b = require("width", width, unit="m", above=0.0, high=5.0)
    p = require("pitch", pitch, unit="m", above=0.0, high=5.0)
    d = require("diameter", diameter, unit="m", above=0.0, high=5.0)
    pressure: Array = 1.26 * w / (n * b * np.sqrt(p * d))
    return pressure


@dataclass(frozen=True)
class PressureLimits:
    """Mean maximum pressures [Pa] of one kind of ground: ideal (many passes), satisfactory, maximum (one pass)."""

    ideal: float
    satisfactory: float
    maximum: float


ROWLAND_LIMITS: dict[str, PressureLimits] = {
    "wet fine-grained soil, temperate": PressureLimits(150e3, 200e3, 300e3),
    "wet fine-grained soil, tropical": PressureLimits(90e3, 140e3, 240e3),
    "muskeg": PressureLimits(30e3, 50e3, 60e3),
    "muskeg floating mat, bog": PressureLimits(5e3, 10e3, 15e3),
    "snow": PressureLimits(10e3, 25e3, 40e3),
}
"""Mean maximum pressures of Rowland 1975, from memory; for snow the lower end of 25 to 30 kPa is taken."""


def vehicle_limiting_cone_index(
    weight: ArrayLike, *, wheels: ArrayLike, width: ArrayLike, diameter: ArrayLike, deflection: ArrayLike
) -> Array:
    """Weakest soil, as a cone index, that a wheeled vehicle crosses [Pa].

    Parameters
    ----------
    weight : of the loaded vehicle [N], any shape, >= 0
    wheels : number of wheels, 2 n [1]
    width : b [m]
    diameter : d [m]
    deflection : delta on firm ground [m], above zero

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    VLCI = 1.85 W/(2 n b^0.8 d^0.8 delta^0.4), n axles.

    References
    ----------
    E. B. Maclaurin, 1997, from memory.

    >>> round(float(vehicle_limiting_cone_index(4000.0, wheels=4, width=0.20, diameter=0.635, deflection=0.03)), -2)
    39200.0
    """
    w = require("weight", weight, unit="N", low=0.0, high=1e7)
    n = require("wheels", wheels, unit="1", low=1.0, high=80.0)
    b = require("width", width, unit="m", above=0.0, high=2.0)
    d = require("diameter", diameter, unit="m", above=0.0, high=5.0)
    delta = require("deflection", deflection, unit="m", above=0.0, high=2.5)
    pressure: Array = 1.85 * w / (n * (b * d) ** 0.8 * delta**0.4)
    return pressure
