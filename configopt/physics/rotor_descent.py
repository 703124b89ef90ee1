"""The long descent and repeated stops: brake power on a slope and the rotor temperature both lead to.

The rotor is one lump that loses heat by convection and radiation.  Regeneration is never counted.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from configopt.physics.constants import STANDARD_GRAVITY, STEFAN_BOLTZMANN
from configopt.physics.domain import Array, require

_NEWTON_ROUNDS = 12
_TIME_STEPS = 8


def worst_descent_speed(terminal_speed: ArrayLike) -> Array:
    """Speed at which holding a descent needs the most brake power.

    Parameters
    ----------
    terminal_speed : speed at which air drag alone balances the slope less rolling loss [m/s]

    Returns
    -------
    speed [m/s], same shape

    Raises
    ------
    DomainError
        Negative speed.

    Notes
    -----
    P = F V (1 - V^2/V_t^2) peaks at V_t/sqrt(3), where it is 2/(3 sqrt 3) F V_t.

    >>> round(float(worst_descent_speed(10.0)), 3)
    5.774
    """
    terminal = require("terminal_speed", terminal_speed, unit="m/s", low=0.0)
    return np.asarray(terminal / np.sqrt(3.0))


def descent_power(
    speed: ArrayLike, *, mass: ArrayLike, slope_angle: ArrayLike, resistance: ArrayLike = 0.0, air_drag: ArrayLike = 0.0
) -> Array:
    """Power all brakes together must take to hold a speed downhill.

    Parameters
    ----------
    speed : held speed [m/s]
    mass : laden mass [kg]
    slope_angle : angle of the descent [rad]
    resistance : resistance of the footings [N]; less rolling loss means a hotter rotor
    air_drag : drag at this speed [N]

    Returns
    -------
    power [W], broadcast shape; 0 where the resistances hold the machine

    Raises
    ------
    DomainError
        Negative argument, mass not above zero, slope of 90 degrees or more.

    Notes
    -----
    P = max(0, m g sin(angle) - R - D) V.
    """
    v = require("speed", speed, unit="m/s", low=0.0)
    m = require("mass", mass, unit="kg", above=0.0)
    angle = require("slope_angle", slope_angle, unit="rad", low=0.0, high=0.5 * np.pi)
    rolling = require("resistance", resistance, unit="N", low=0.0)
    drag = require("air_drag", air_drag, unit="N", low=0.0)
    return np.asarray(np.maximum(m * STANDARD_GRAVITY * np.sin(angle) - rolling - drag, 0.0) * v)


def descent_temperature(
    power: ArrayLike,
    *,
    duration: ArrayLike,
    heat_capacity: ArrayLike,
    convection_conductance: ArrayLike,
    track_area: ArrayLike,
    track_emissivity: ArrayLike = 0.25,
    rest_area: ArrayLike = 0.0,
    rest_emissivity: ArrayLike = 0.8,
    ambient: ArrayLike = 293.15,
    initial: ArrayLike | None = None,
) -> Array:
    """Rotor temperature after a time of constant braking power, convection and radiation on.

    Parameters
    ----------
    power : heat into this rotor [W]
    duration : time of braking [s]
    heat_capacity : of the rotor [J/K]
    convection_conductance : convection coefficient times cooled area [W/K]
    track_area : radiating area of the brake track, BOTH faces together [m^2]
    track_emissivity : of the wiped track [1]
    rest_area : radiating area of carrier and other hot surfaces [m^2]
    rest_emissivity : of these [1]
    ambient : temperature of air and surroundings [K]
    initial : temperature at the start [K]; ``ambient`` where None

    Returns
    -------
    temperature [K], broadcast shape; increases with power

    Raises
    ------
    DomainError
        Negative argument, heat capacity or temperatures not above zero, emissivity outside 0 to 1.

    Notes
    -----
    C dT/dt = P - hA (T - Ta) - sigma (e1 A1 + e2 A2)(T^4 - Ta^4), one lump.  With the end temperature T_e (Newton from
    above on a convex function: monotone), s = ln((T_e - T0)/(T_e - T)) obeys ds/dt = S(T)/C, S the secant
    conductance between T and T_e: smooth, positive and within a factor of about 4 of itself, so a few
    Runge-Kutta steps do, however long the descent is against the time constant.  The solution is monotone in power.

    References
    ----------
    R. Limpert, Brake Design and Safety, continuous braking, with the radiation law added (from memory);
    emissivities are estimates.

    >>> hot = descent_temperature(927.0, duration=1e5, heat_capacity=56.0, convection_conductance=1.046,
    ...                           track_area=0.01743, track_emissivity=0.8)
    >>> round(float(hot) - 273.15)
    555
    """
    heat = require("power", power, unit="W", low=0.0)
    time = require("duration", duration, unit="s", low=0.0)
    rotor = _require_rotor(
        heat_capacity=heat_capacity,
        convection_conductance=convection_conductance,
        track_area=track_area,
        track_emissivity=track_emissivity,
        rest_area=rest_area,
        rest_emissivity=rest_emissivity,
        ambient=ambient,
    )
    start = rotor.ambient if initial is None else require("initial", initial, unit="K", above=0.0)
    return _later(rotor, start, heat=heat, time=time)


class _Rotor(NamedTuple):
    """A lump that cools: capacity [J/K], conductance [W/K], radiation [W/K^4], surroundings [K]."""

    capacity: Array
    convection: Array
    radiation: Array
    ambient: Array


def _require_rotor(
    *,
    heat_capacity: ArrayLike,
    convection_conductance: ArrayLike,
    track_area: ArrayLike,
    track_emissivity: ArrayLike,
    rest_area: ArrayLike,
    rest_emissivity: ArrayLike,
    ambient: ArrayLike,
) -> _Rotor:
    capacity = require("heat_capacity", heat_capacity, unit="J/K", above=0.0)
    convection = require("convection_conductance", convection_conductance, unit="W/K", low=0.0)
    track = require("track_area", track_area, unit="m^2", low=0.0)
    rest = require("rest_area", rest_area, unit="m^2", low=0.0)
    track_grey = require("track_emissivity", track_emissivity, unit="1", low=0.0, high=1.0)
    rest_grey = require("rest_emissivity", rest_emissivity, unit="1", low=0.0, high=1.0)
    around = require("ambient", ambient, unit="K", above=0.0)
    # Without any cooling the end temperature is infinite; a negligible conductance gives P t/C without a branch.
    convection = np.maximum(convection, 1e-9)
    return _Rotor(capacity, convection, STEFAN_BOLTZMANN * (track_grey * track + rest_grey * rest), around)


def _later(rotor: _Rotor, start: Array, *, heat: Array, time: Array) -> Array:
    """Temperature [K] after a time of constant power."""
    capacity, convection, radiation, around = rotor
    end = _end_temperature(heat, convection=convection, radiation=radiation, ambient=around)
    gap = end - start

    def pace(s: Array) -> Array:
        now = start - gap * np.expm1(-s)
        return np.asarray((convection + radiation * (now * now + end * end) * (now + end)) / capacity)

    dt = time / _TIME_STEPS
    s = np.zeros(np.broadcast_shapes(np.shape(gap), np.shape(dt), np.shape(capacity)))
    for _ in range(_TIME_STEPS):
        k1 = pace(s)
        k2 = pace(s + 0.5 * dt * k1)
        k3 = pace(s + 0.5 * dt * k2)
        k4 = pace(s + dt * k3)
        s = s + dt / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4)
    return np.asarray(start - gap * np.expm1(-s))


def stops_temperature(
    rise: ArrayLike,
    *,
    stops: int,
    interval: ArrayLike,
    heat_capacity: ArrayLike,
    convection_conductance: ArrayLike,
    track_area: ArrayLike,
    track_emissivity: ArrayLike = 0.25,
    rest_area: ArrayLike = 0.0,
    rest_emissivity: ArrayLike = 0.8,
    ambient: ArrayLike = 293.15,
) -> Array:
    """Rotor temperature right after the last of n equal stops, convection and radiation on between them.

    Parameters
    ----------
    rise : rise of a single stop [K]
    stops : number of stops n [1]
    interval : time between stops [s]
    heat_capacity, convection_conductance, track_area, track_emissivity, rest_area, rest_emissivity, ambient :
        as in :func:`descent_temperature`

    Returns
    -------
    temperature [K], broadcast shape; increases with the rise of a stop

    Raises
    ------
    DomainError
        Negative argument, fewer than one stop, heat capacity or ambient not above zero.

    Notes
    -----
    Each stop adds its rise at once; between two stops the rotor cools as a lump (`descent_temperature` without
    power).  Without radiation this is the geometric series of `rotor_heat.repeated_stops_rise`.

    References
    ----------
    R. Limpert, Brake Design and Safety, repeated braking, with the radiation law added (from memory).

    >>> round(float(stops_temperature(100.0, stops=2, interval=10.0, heat_capacity=100.0, convection_conductance=10.0,
    ...                               track_area=0.0)) - 293.15, 2)
    136.79
    """
    step = require("rise", rise, unit="K", low=0.0)
    require("stops", stops, unit="1", low=1.0)
    pause = require("interval", interval, unit="s", low=0.0)
    rotor = _require_rotor(
        heat_capacity=heat_capacity,
        convection_conductance=convection_conductance,
        track_area=track_area,
        track_emissivity=track_emissivity,
        rest_area=rest_area,
        rest_emissivity=rest_emissivity,
        ambient=ambient,
    )
    now = rotor.ambient + step
    for _ in range(stops - 1):
        now = step + _later(rotor, now, heat=np.zeros(()), time=pause)
    return now


def _end_temperature(power: Array, *, convection: Array, radiation: Array, ambient: Array) -> Array:
    """Return the temperature at which convection and radiation carry ``power`` away."""
    power, convection, radiation, ambient = np.broadcast_arrays(power, convection, radiation, ambient)
    by_convection = ambient + power / convection
    # Radiation this small bounds nothing, and dividing by it would overflow.
    quotient = np.divide(power, radiation, out=np.full(power.shape, np.inf), where=radiation > 1e-30)
    by_radiation = (quotient + ambient**4) ** 0.25
    # Either mechanism alone needs a hotter rotor than both: an upper bound, from which Newton descends.
    hot = np.minimum(by_convection, by_radiation)
    for _ in range(_NEWTON_ROUNDS):
        excess = convection * (hot - ambient) + radiation * (hot**4 - ambient**4) - power
        hot = hot - excess / (convection + 4.0 * radiation * hot**3)
    return np.asarray(hot)
