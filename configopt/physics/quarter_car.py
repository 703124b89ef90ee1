"""A suspended wheel on a rough road as long as the tire keeps contact: the quarter car in closed form.

A sprung mass on a spring and a damper, an unsprung mass, a tire that is a spring, and a road whose vertical velocity is
white noise behind the contact patch's low pass: five states.  Seen from the wheel at the patch's corner, spring and
damper take a part of the sprung mass along; that apparent mass is all the loss depends on.  What happens where contact
is lost at times is in :mod:`configopt.physics.rough_ride`.

Where N/P is the transfer function from road velocity to an output and e(s) solves N(s) N(-s) = e(s) P(-s) + e(-s) P(s),
the variance behind a first-order low pass with corner a is S0 a e(a)/P(a).  The variances below come from solving for e
(own derivation); no matrix is left to be solved.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from configopt.physics.constants import STANDARD_GRAVITY
from configopt.physics.domain import Array, require
from configopt.physics.roughness import patch_lag, require_patch_length, require_roughness, road_velocity_intensity


def require_stiffness(stiffness: ArrayLike, name: str = "stiffness") -> Array:
    """Vertical stiffness of a tire [N/m], guarded."""
    return require(name, stiffness, unit="N/m", above=0.0, high=1e9)


def _require_mass(mass: ArrayLike, name: str) -> Array:
    return require(name, mass, unit="kg", above=0.0, high=1e5)


class _Strut(NamedTuple):
    """What the sprung mass, seen through spring and damper at the patch's corner, is to the wheel."""

    dynamic: Array
    """S = m_s + g with g = c/a + k_s/a^2 [kg]; infinite where the patch filters everything."""
    share: Array
    """g/S, the part of the sprung mass that moves with the wheel [1]."""
    apparent: Array
    """A = m_u + m_s g/S [kg]."""

    @classmethod
    def seen(cls, *, unsprung: Array, sprung: Array, rate: Array, damping: Array, lag: Array) -> _Strut:
        # Written so that a lag of zero (point follower) and of infinity (standing wheel) come out exactly.
        with np.errstate(divide="ignore", over="ignore"):
            g = damping * lag + rate * lag * lag
            share = 1.0 / (1.0 + sprung / g)
        return cls(sprung + g, share, unsprung + sprung * share)


def _passed(stiffness: Array, *, apparent: Array, lag: Array) -> Array:
    """R, the share of the point follower's power that enters the tire [1]."""
    with np.errstate(over="ignore"):
        passed: Array = 1.0 / (1.0 + stiffness * lag * lag / apparent)
    return passed


class TireForce(NamedTuple):
    """Tire force variance as a function of the stiffness k alone: R (a k + b (k - x)^2 + d (m_u k - y)^2 - h) + e.

    The letters stand for the attributes in their order, after the common factor and before the lag and apparent mass
    that make up R.
    """

    factor: Array
    linear: Array
    wheel: Array
    wheel_offset: Array
    body: Array
    unsprung: Array
    body_offset: Array
    coupled: Array
    ride: Array
    apparent: Array
    lag: Array

    def at(self, k: Array) -> tuple[Array, Array]:
        """Variance [N^2] and its slope over the stiffness [N m]."""
        passed = _passed(k, apparent=self.apparent, lag=self.lag)
        first, second = k - self.wheel_offset, self.unsprung * k - self.body_offset
        bounces = self.linear * k + self.wheel * first * first + self.body * second * second
        steeper = self.linear + 2.0 * (self.wheel * first + self.body * self.unsprung * second)
        variance = passed * bounces + (self.ride - self.coupled * passed)
        slope = passed * (steeper - (1.0 - passed) * (bounces - self.coupled) / k)
        return self.factor * variance, self.factor * slope

    def rows(self, chosen: NDArray[np.intp]) -> TireForce:
        """The same for chosen elements of arrays of one dimension."""
        return TireForce(*(part[chosen] for part in self))


class RoadWheel(NamedTuple):
    """Everything about a suspended wheel on a road except the stiffness of its tire."""

    unsprung: Array
    sprung: Array
    rate: Array
    damping: Array
    lag: Array
    intensity: Array
    """S0, of the road's velocity noise [m^2/s]."""
    loss: Array
    """pi^2 G [m]: resistance of a point follower per stiffness."""
    dynamic: Array
    share: Array
    apparent: Array

    def passed(self, k: Array) -> Array:
        """R, the share of the point follower's power that enters the tire [1]."""
        return _passed(k, apparent=self.apparent, lag=self.lag)

    def resistance(self, k: Array) -> Array:
        """Power from the road over speed [N]."""
        resistance: Array = self.loss * k * self.passed(k)
        return resistance

    def tire_force(self) -> TireForce:
        """Variance of the tire force, ready for any stiffness."""
        u, m, q, c, ratio = self.unsprung, self.sprung, self.rate, self.damping, 1.0 + self.unsprung / self.sprung
        ride = (q * m * ratio) ** 2 / self.dynamic
        return TireForce(
            factor=self.intensity / (2.0 * c),
            linear=(c * ratio) ** 2,
            wheel=m * u * u / (self.dynamic * self.apparent),
            wheel_offset=q * ratio,
            body=self.share / self.apparent,
            unsprung=u,
            body_offset=q * m * ratio * ratio,
            coupled=ride * (m * self.share / self.apparent),
            ride=ride,
            apparent=self.apparent,
            lag=self.lag,
        )

    def acceleration_variance(self, k: Array) -> Array:
        """Variance of the sprung mass's acceleration [m^2/s^4]."""
        m, q, c, passed = self.sprung, self.rate, self.damping, self.passed(k)
        shaken = passed * (c * c * k + q * q * (self.unsprung + m)) + (q * m) ** 2 * (1.0 - passed) / self.dynamic
        variance: Array = self.intensity / (2.0 * c * m * m) * shaken
        return variance


def _require_suspension(*, suspension_rate: ArrayLike, damping: ArrayLike) -> tuple[Array, Array]:
    return (
        require("suspension_rate", suspension_rate, unit="N/m", above=0.0, high=1e12),
        require("damping", damping, unit="N s/m", above=0.0, high=1e9),
    )


def require_road_wheel(
    *,
    unsprung_mass: ArrayLike,
    sprung_mass: ArrayLike,
    suspension_rate: ArrayLike,
    damping: ArrayLike,
    patch_length: ArrayLike,
    speed: ArrayLike,
    roughness: ArrayLike,
) -> RoadWheel:
    """Guard the arguments of :func:`filtered_resistance` and put them together."""
    unsprung = _require_mass(unsprung_mass, "unsprung_mass")
    sprung = _require_mass(sprung_mass, "sprung_mass")
    rate, c = _require_suspension(suspension_rate=suspension_rate, damping=damping)
    lag = patch_lag(patch_length, speed=speed)
    intensity = road_velocity_intensity(speed, roughness=roughness)
    strut = _Strut.seen(unsprung=unsprung, sprung=sprung, rate=rate, damping=c, lag=lag)
    return RoadWheel(unsprung, sprung, rate, c, lag, intensity, np.pi**2 * require_roughness(roughness), *strut)


def filtered_resistance(
    *,
    stiffness: ArrayLike,
    unsprung_mass: ArrayLike,
    sprung_mass: ArrayLike,
    suspension_rate: ArrayLike,
    damping: ArrayLike,
    patch_length: ArrayLike,
    speed: ArrayLike,
    roughness: ArrayLike,
) -> Array:
    """Resistance of a suspended wheel by the power that its damper takes from a rough road [N].

    Parameters
    ----------
    stiffness : vertical stiffness of the tire k [N/m]; the effective one where contact is lost at times
    unsprung_mass : m_u at this wheel [kg]
    sprung_mass : m_s carried by this wheel [kg]
    suspension_rate : k_s at the wheel [N/m]
    damping : c at the wheel [N s/m]
    patch_length : l [m], >= 0; zero is a point follower
    speed : V [m/s], >= 0
    roughness : roughness constant G of the road [m]

    Returns
    -------
    Array
        P/V.  At zero speed: the limit from above, which is zero for a patch and pi^2 G k for a point follower.

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    Velocity noise with the autocorrelation (S0 a/2) exp(-a|t|) meets the tire's driving-point impedance
    Z(s) = (k/s) D/(D + k), D(s) = m_u s^2 + m_s s^2 (c s + k_s)/(m_s s^2 + c s + k_s).  The mean power is the integral
    of the autocorrelation times the impulse response of Z, (S0 a/2) Z(a), so that with S0 = 2 pi^2 G V

        P/V = pi^2 G k D(a)/(D(a) + k),   a = 2 V/l.

    All of it ends in the damper, since nothing else dissipates.  k and D act as two springs in series, and D is m_u a^2
    plus the series of m_s a^2 and c a + k_s: the resistance grows with every argument except the patch length, with
    which it falls.  A point follower (a to infinity) loses pi^2 G k whatever the masses, the spring and the damper.

    References
    ----------
    L. Zuo, P.-S. Zhang, Journal of Vibration and Acoustics 135(1), 2013, 011002: the limit pi^2 G k, from memory.  The
    filtered form is an own derivation.

    >>> round(float(filtered_resistance(stiffness=60e3, unsprung_mass=14.0, sprung_mass=75.0, suspension_rate=9e3,
    ...     damping=600.0, patch_length=0.12, speed=8.0, roughness=4.096e-5)), 2)
    20.55
    """
    k = require_stiffness(stiffness)
    wheel = require_road_wheel(
        unsprung_mass=unsprung_mass,
        sprung_mass=sprung_mass,
        suspension_rate=suspension_rate,
        damping=damping,
        patch_length=patch_length,
        speed=speed,
        roughness=roughness,
    )
    return wheel.resistance(k)


def rigid_wheel_resistance(
    *, stiffness: ArrayLike, load: ArrayLike, patch_length: ArrayLike, speed: ArrayLike, roughness: ArrayLike
) -> Array:
    """Resistance of a wheel without suspension by the power that its tire takes from a rough road [N].

    Parameters
    ----------
    stiffness : vertical stiffness of the tire k [N/m]
    load : static wheel load W [N]; the mass W/g rides on the tire
    patch_length : l [m], >= 0
    speed : V [m/s], >= 0
    roughness : roughness constant G of the road [m]

    Returns
    -------
    Array
        P/V; at zero speed as in :func:`filtered_resistance`.

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    The formula of :func:`filtered_resistance` with D = (W/g) a^2.  The power ends in the tire's own hysteresis and is
    the same however small that damping is, once the bouncing is steady.  How far the wheel bounces does depend on it;
    contact figures are therefore not given.

    References
    ----------
    Own derivation.

    >>> round(float(rigid_wheel_resistance(stiffness=60e3, load=870.0, patch_length=0.12, speed=8.0,
    ...                                    roughness=4.096e-5)), 2)
    23.37
    """
    k = require_stiffness(stiffness)
    mass = require("load", load, unit="N", above=0.0, high=1e6) / STANDARD_GRAVITY
    passed = _passed(k, apparent=mass, lag=patch_lag(patch_length, speed=speed))
    resistance: Array = np.pi**2 * require_roughness(roughness) * k * passed
    return resistance


def tire_force_variance(
    *,
    stiffness: ArrayLike,
    unsprung_mass: ArrayLike,
    sprung_mass: ArrayLike,
    suspension_rate: ArrayLike,
    damping: ArrayLike,
    patch_length: ArrayLike,
    speed: ArrayLike,
    roughness: ArrayLike,
) -> Array:
    """Variance of the dynamic tire force about the static load [N^2], contact taken as two-sided.

    Parameters and errors are those of :func:`filtered_resistance`.  Zero where the wheel stands.

    Notes
    -----
    With M = m_u + m_s, r = M/m_s, lag t = 1/a, g = c t + k_s t^2, S = m_s + g, n = m_s g/S, A = m_u + n and
    R = A/(A + k t^2),

        sigma^2 = S0/(2 c) [ R (c^2 r^2 k + m_u^2 m_s (k - k_s r)^2/(S A) + g (m_u k - k_s M r)^2/(S A))
                             + k_s^2 M^2/S (1 - R n/A) ].

    Every term is a square or positive.  The variance grows with roughness and speed and falls with the patch length,
    always.  Over k it has no inner maximum: it is a parabola divided by A + k t^2, which is convex or, where it is not,
    growing.  In k, the masses, spring and damper it has no direction that holds everywhere; for a light wheel on a tire
    at least four times as stiff as its suspension, with a above 40 rad/s, it grows with k and m_u (sampled, no proof).

    References
    ----------
    Own derivation; agrees with the Lyapunov equation of the five states.

    >>> round(float(tire_force_variance(stiffness=60e3, unsprung_mass=14.0, sprung_mass=75.0, suspension_rate=9e3,
    ...     damping=600.0, patch_length=0.12, speed=8.0, roughness=2.56e-6)) ** 0.5)
    133
    """
    k = require_stiffness(stiffness)
    wheel = require_road_wheel(
        unsprung_mass=unsprung_mass,
        sprung_mass=sprung_mass,
        suspension_rate=suspension_rate,
        damping=damping,
        patch_length=patch_length,
        speed=speed,
        roughness=roughness,
    )
    return wheel.tire_force().at(k)[0]


def sprung_acceleration_variance(
    *,
    stiffness: ArrayLike,
    unsprung_mass: ArrayLike,
    sprung_mass: ArrayLike,
    suspension_rate: ArrayLike,
    damping: ArrayLike,
    patch_length: ArrayLike,
    speed: ArrayLike,
    roughness: ArrayLike,
) -> Array:
    """Variance of the vertical acceleration of the sprung mass [m^2/s^4], not weighted by frequency.

    Parameters and errors are those of :func:`filtered_resistance`.  Zero where the wheel stands.

    Notes
    -----
    In the symbols of :func:`tire_force_variance`

        S0/(2 c m_s^2) [ R (c^2 k + k_s^2 M) + k_s^2 m_s^2 (1 - R)/S ].

    It grows with roughness and speed and falls with the patch length.

    References
    ----------
    Own derivation; agrees with the Lyapunov equation of the five states.

    >>> round(float(sprung_acceleration_variance(stiffness=60e3, unsprung_mass=14.0, sprung_mass=75.0,
    ...     suspension_rate=9e3, damping=600.0, patch_length=0.12, speed=8.0, roughness=2.56e-6)) ** 0.5, 2)
    1.23
    """
    k = require_stiffness(stiffness)
    wheel = require_road_wheel(
        unsprung_mass=unsprung_mass,
        sprung_mass=sprung_mass,
        suspension_rate=suspension_rate,
        damping=damping,
        patch_length=patch_length,
        speed=speed,
        roughness=roughness,
    )
    return wheel.acceleration_variance(k)


def tire_force_variance_bound(
    *,
    stiffness_low: ArrayLike,
    stiffness_high: ArrayLike,
    unsprung_mass_low: ArrayLike,
    unsprung_mass_high: ArrayLike,
    sprung_mass_low: ArrayLike,
    sprung_mass_high: ArrayLike,
    suspension_rate: ArrayLike,
    damping: ArrayLike,
    patch_length_low: ArrayLike,
    speed: ArrayLike,
    roughness: ArrayLike,
) -> Array:
    """Upper bound of the tire force variance over ranges of stiffness, masses and patch length [N^2].

    Parameters
    ----------
    stiffness_low, stiffness_high : ends of the tire's vertical stiffness [N/m]
    unsprung_mass_low, unsprung_mass_high : ends of m_u [kg]
    sprung_mass_low, sprung_mass_high : ends of m_s [kg]
    suspension_rate, damping : of the suspension at the wheel [N/m], [N s/m]
    patch_length_low : shortest patch [m]; no upper end is needed
    speed : V [m/s]
    roughness : G [m]

    Raises
    ------
    DomainError
        Outside the ranges, where an argument is not a number, or where a low end exceeds its high end.

    Notes
    -----
    The variance falls with the patch length, so the shortest patch is exact.  Of the terms of
    :func:`tire_force_variance` the bound takes each for itself at its worst:

    * c^2 r^2 k R is split: with 1 for r^2 it grows with both masses, with r^2 - 1 it falls with m_s;
    * each square over A + k t^2 is convex in k: the worse end of k.  The factor m_u^2 m_s/(S (A + k t^2)) of the first
      grows with both masses, g/(S (A + k t^2)) of the second falls with both; the brackets take the worse end of their
      range;
    * the last term is k_s^2 M^2/(S + n S/(m_u + k t^2)), growing with k and m_u and convex in m_s: exact.

    It equals the variance where the ends coincide.

    References
    ----------
    Own derivation.

    >>> ends = dict(stiffness_low=58e3, stiffness_high=62e3, unsprung_mass_low=13.6, unsprung_mass_high=14.4,
    ...     sprung_mass_low=73.0, sprung_mass_high=77.0)
    >>> round(float(tire_force_variance_bound(**ends, suspension_rate=9e3, damping=600.0, patch_length_low=0.12,
    ...     speed=8.0, roughness=2.56e-6)) ** 0.5)
    138
    """
    k_low = require_stiffness(stiffness_low, "stiffness_low")
    k_high = require_stiffness(stiffness_high, "stiffness_high")
    u_low = _require_mass(unsprung_mass_low, "unsprung_mass_low")
    u_high = _require_mass(unsprung_mass_high, "unsprung_mass_high")
    m_low = _require_mass(sprung_mass_low, "sprung_mass_low")
    m_high = _require_mass(sprung_mass_high, "sprung_mass_high")
    require("stiffness_high - stiffness_low", k_high - k_low, unit="N/m", low=0.0)
    require("unsprung_mass_high - unsprung_mass_low", u_high - u_low, unit="kg", low=0.0)
    require("sprung_mass_high - sprung_mass_low", m_high - m_low, unit="kg", low=0.0)
    q, c = _require_suspension(suspension_rate=suspension_rate, damping=damping)
    t = patch_lag(require_patch_length(patch_length_low, "patch_length_low"), speed=speed)
    intensity = road_velocity_intensity(speed, roughness=roughness)

    heavy = _Strut.seen(unsprung=u_high, sprung=m_high, rate=q, damping=c, lag=t)
    mixed = _Strut.seen(unsprung=u_high, sprung=m_low, rate=q, damping=c, lag=t)
    light = _Strut.seen(unsprung=u_low, sprung=m_low, rate=q, damping=c, lag=t)
    ratio_low, ratio_high = 1.0 + u_low / m_high, 1.0 + u_high / m_low

    damper = c * c * k_high * _passed(k_high, apparent=heavy.apparent, lag=t)
    damper = damper + c * c * (ratio_high**2 - 1.0) * k_high * _passed(k_high, apparent=mixed.apparent, lag=t)

    def bounces(k: Array) -> Array:
        over_heavy = _passed(k, apparent=heavy.apparent, lag=t) / heavy.apparent
        over_light = _passed(k, apparent=light.apparent, lag=t) / light.apparent
        wheel = np.maximum((k - q * ratio_low) ** 2, (k - q * ratio_high) ** 2)
        # m_u k - k_s M^2/m_s with M^2/m_s = m_s + 2 m_u + m_u^2/m_s.
        net = k - 2.0 * q
        highest = np.maximum(net * u_low, net * u_high) - q * (m_low + u_low * u_low / m_high)
        lowest = np.minimum(net * u_low, net * u_high) - q * (m_high + u_high * u_high / m_low)
        body = np.maximum(highest * highest, lowest * lowest)
        total: Array = m_high * u_high**2 / heavy.dynamic * wheel * over_heavy + light.share * body * over_light
        return total

    def ride(strut: _Strut, m: Array) -> Array:
        passed = _passed(k_high, apparent=strut.apparent, lag=t)
        part: Array = (u_high + m) ** 2 / strut.dynamic * (1.0 - m * strut.share / strut.apparent * passed)
        return part

    worst = damper + np.maximum(bounces(k_low), bounces(k_high))
    worst = worst + q * q * np.maximum(ride(heavy, m_high), ride(mixed, m_low))
    bound: Array = intensity / (2.0 * c) * worst
    return bound
