"""What it takes to get through a tire, what the ground asks for, and what is left when the air has gone.

No published model ties the build of a tire to thorns and stones.  The energy here is an own estimate and the levels are
a declared order: both rank tires against each other and against a kind of ground.  They are no promise that a tire
stays whole.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from configopt.errors import DomainError
from configopt.physics.domain import Array, require

PLUNGER_DIAMETER: Final = 7.94e-3
"""Diameter of the plunger for motorcycle tires [m]; 49 CFR 571.119, Table II."""

PLUNGER_ENERGY: Final = {"A": 16.0, "B": 33.0, "C": 45.0}
"""Least breaking energy of motorcycle tires by load range [J]; 49 CFR 571.119, Table II, from memory."""

CASING_TOUGHNESS: Final = 90e6
"""Energy to push the plunger through a volume of casing as wide as itself [J/m3]: an estimate, range 60e6 to 130e6."""

TREAD_TOUGHNESS: Final = 12e6
"""The same for tread rubber [J/m3]: an estimate, range 6e6 to 20e6."""

HEAVY_DUTY_FACTOR: Final = 1.25
"""Toughness of a heavy-duty casing over that of an ordinary one [1]: an estimate, range 1 to 1.5."""

UNDER_TREAD: Final = 2e-3
"""Rubber between the casing and the ground of the grooves [m]: an estimate, range 0.5e-3 to 4e-3."""

LEVELS: Final = ("below thorns", "thorns", "flint", "sharp rock")
"""What each protection level, 0 to 3, withstands: an order declared here."""


@dataclass(frozen=True, slots=True)
class Hazard:
    """What a kind of ground does to tires.

    ``level`` is the protection level it asks for; ``cover`` the wall thickness [m] and ``energy`` the penetration
    energy [J] that reach this level, both declared here.
    """

    name: str
    level: int
    cover: float
    energy: float
    wording: str


HAZARDS: Final = (
    Hazard("none", 0, 0.0, 0.0, "nothing that pierces or cuts"),
    Hazard("thorn", 1, 7e-3, 0.0, "thorns and burrs: a wall thicker than they are long, or sealant"),
    Hazard("flint", 2, 7e-3, PLUNGER_ENERGY["A"], "loose sharp-edged stones: a wall as tough as load range A asks"),
    Hazard("sharp-rock", 3, 7e-3, PLUNGER_ENERGY["B"], "fixed sharp edges: a wall as tough as load range B asks"),
)
"""Hazards in the order of their levels; thickness and classes are estimates."""


@dataclass(frozen=True, slots=True)
class Inner:
    """What holds the air, and how one gets home without it.

    ``rank`` orders the kinds, 0 worst; ``kit_mass`` is that of the repair kit carried along [kg], an estimate.
    """

    name: str
    rank: int
    wording: str
    kit_mass: float


INNERS: Final = (
    Inner("tube", 0, "wheel out, tire off one side, tube patched or changed", 1.0),
    Inner("tubeless", 1, "hole plugged from outside, tire inflated", 0.5),
    Inner("sealant", 2, "small holes seal themselves; larger ones are plugged, tire inflated", 0.5),
    Inner("foam", 3, "runs on; there is no air to lose", 0.0),
)
"""Kinds of inner in the order of their ranks; their codes are 0 to 3."""

_SEALANT, _FOAM = 2, 3


def codes_of(name: str, value: ArrayLike, kinds: tuple[str, ...]) -> NDArray[np.int64]:
    """Number the kinds named in an array, or pass on numbers that already stand for kinds.

    Parameters
    ----------
    name : name of the argument as the caller knows it
    value : names or their numbers, any shape
    kinds : the names in the order of their numbers

    Raises
    ------
    DomainError
        An unknown name or a number that stands for none.

    >>> codes_of("hazard", ["flint", "none"], ("none", "thorn", "flint")).tolist()
    [2, 0]
    """
    array = np.asarray(value)
    if array.dtype.kind == "U":
        same = array[..., None] == np.array(kinds)
        unknown = np.flatnonzero(~np.ravel(same.any(axis=-1)))
        if unknown.size:
            first = int(unknown[0])
            place = f" at index {tuple(int(i) for i in np.unravel_index(first, array.shape))}" if array.ndim else ""
            raise DomainError(f"{name}{place} is {str(np.ravel(array)[first])[:40]!r}; allowed are {', '.join(kinds)}")
        return np.asarray(np.argmax(same, axis=-1), dtype=np.int64)
    numbers = require(name, array, unit="1", low=0.0, high=len(kinds) - 1.0)
    require(f"distance of {name} from a whole number", np.abs(numbers - np.round(numbers)), unit="1", high=0.0)
    return numbers.astype(np.int64)


def tread_cover(lug_depth: ArrayLike, *, land_fraction: ArrayLike, under_tread: ArrayLike = UNDER_TREAD) -> Array:
    """Mean thickness of rubber over the casing [m]; rises in every argument.

    Parameters
    ----------
    lug_depth : depth of the grooves [m], any shape
    land_fraction : share of the tread that is rubber [1]
    under_tread : rubber between the casing and the ground of the grooves [m]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    under-tread + lug depth x land fraction: a stone meets a lug as often as the land fraction says.

    >>> round(float(tread_cover(0.012, land_fraction=0.45)), 5)
    0.0074
    """
    depth = require("lug_depth", lug_depth, unit="m", low=0.0, high=0.2)
    land = require("land_fraction", land_fraction, unit="1", low=0.0, high=1.0)
    return require("under_tread", under_tread, unit="m", low=0.0, high=0.05) + depth * land


def penetration_energy(
    casing_thickness: ArrayLike,
    *,
    lug_depth: ArrayLike,
    land_fraction: ArrayLike,
    heavy_duty: ArrayLike,
    under_tread: ArrayLike = UNDER_TREAD,
    casing_toughness: ArrayLike = CASING_TOUGHNESS,
    tread_toughness: ArrayLike = TREAD_TOUGHNESS,
) -> Array:
    """Energy that pushes a motorcycle tire's test plunger through the crown [J]: an own estimate, for ranking only.

    Rises in every argument.

    Parameters
    ----------
    casing_thickness : thickness of one wall of the casing [m], any shape
    lug_depth : depth of the grooves [m]
    land_fraction : share of the tread that is rubber [1]
    heavy_duty : whether the casing is a heavy-duty one, bool
    under_tread : rubber between the casing and the ground of the grooves [m]
    casing_toughness, tread_toughness : energy per volume under the plunger [J/m3], estimates

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    pi/4 D^2 (e_c f t_c + e_t t_t): plunger area times energy per volume times thickness of casing and of tread cover,
    f = 1.25 for a heavy-duty casing.  Anchored so that an ordinary motorcycle tire (casing 4.2 mm, under-tread 2 mm,
    lugs 12 mm, land 0.45) lies half way between load ranges A and B in the geometric mean, 23 J.  The plunger of the
    rule meets a lug; a stone need not.  Inflation, speed and shape of the stone do not enter.

    References
    ----------
    The test: 49 CFR 571.119, S7.3 and Table II (energies from memory).  The formula is an own estimate.

    >>> round(float(penetration_energy(0.0042, lug_depth=0.012, land_fraction=0.45, heavy_duty=False)))
    23
    """
    thickness = require("casing_thickness", casing_thickness, unit="m", low=0.0, high=0.05)
    rubber = tread_cover(lug_depth, land_fraction=land_fraction, under_tread=under_tread)
    casing = require("casing_toughness", casing_toughness, unit="J/m3", low=0.0, high=1e10)
    tread = require("tread_toughness", tread_toughness, unit="J/m3", low=0.0, high=1e10)
    factor = np.where(np.asarray(heavy_duty, dtype=bool), HEAVY_DUTY_FACTOR, 1.0)
    area = 0.25 * np.pi * PLUNGER_DIAMETER**2
    return np.asarray(area * (casing * factor * thickness + tread * rubber))


def sidewall_energy(
    casing_thickness: ArrayLike, *, heavy_duty: ArrayLike, casing_toughness: ArrayLike = CASING_TOUGHNESS
) -> Array:
    """Energy that pushes the plunger through the bare sidewall [J], the ranking of cuts: no tread covers the casing.

    Rises in every argument.

    Parameters
    ----------
    casing_thickness, heavy_duty, casing_toughness : as in :func:`penetration_energy`

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    >>> round(float(sidewall_energy(0.0042, heavy_duty=False)), 1)
    18.7
    """
    return penetration_energy(
        casing_thickness,
        lug_depth=0.0,
        land_fraction=0.0,
        heavy_duty=heavy_duty,
        under_tread=0.0,
        casing_toughness=casing_toughness,
    )


def plunger_class(energy: ArrayLike) -> NDArray[np.int64]:
    """Highest load range whose breaking energy is reached: 0 below A, 1 A, 2 B, 3 C; rises in the energy.

    Parameters
    ----------
    energy : breaking energy [J], any shape

    Raises
    ------
    DomainError
        Negative energy, or where it is not a number.

    References
    ----------
    49 CFR 571.119, Table II, motorcycle tires (from memory).

    >>> plunger_class([10.0, 16.0, 40.0, 45.0]).tolist()
    [0, 1, 2, 3]
    """
    reached = require("energy", energy, unit="J", low=0.0, high=1e6)
    floors = np.array(list(PLUNGER_ENERGY.values()))
    return np.asarray(np.searchsorted(floors, reached, side="right"), dtype=np.int64)


def required_level(hazard: ArrayLike) -> NDArray[np.int64]:
    """Protection level that a ground asks for, 0 to 3: an order declared here, see :data:`HAZARDS`.

    Parameters
    ----------
    hazard : "none", "thorn", "flint", "sharp-rock", or their numbers 0 to 3, any shape

    Raises
    ------
    DomainError
        An unknown hazard.

    >>> required_level(["none", "sharp-rock"]).tolist()
    [0, 3]
    """
    codes = codes_of("hazard", hazard, tuple(h.name for h in HAZARDS))
    return np.asarray(np.array([h.level for h in HAZARDS], dtype=np.int64)[codes])


def protection_level(
    casing_thickness: ArrayLike,
    *,
    lug_depth: ArrayLike,
    land_fraction: ArrayLike,
    heavy_duty: ArrayLike,
    inner: ArrayLike,
    under_tread: ArrayLike = UNDER_TREAD,
) -> NDArray[np.int64]:
    """Protection level of a tire with its inner, 0 to 3: an order declared here; it suffices where it reaches
    :func:`required_level`.

    Never falls in any thickness, depth or land fraction, nor from ordinary to heavy-duty, nor along the inners tube =
    tubeless <= sealant <= foam.

    Parameters
    ----------
    casing_thickness, lug_depth, land_fraction, heavy_duty, under_tread : as in :func:`penetration_energy`
    inner : "tube", "tubeless", "sealant", "foam", or their numbers 0 to 3

    Raises
    ------
    DomainError
        Outside the ranges, where an argument is not a number, or where the inner is unknown.

    Notes
    -----
    Level 1: the wall is thicker than thorns are long (casing and mean tread, 7 mm), or sealant closes their holes.
    Level 2: level 1 and a penetration energy of load range A.  Level 3: level 2 and that of load range B.  Foam is
    level 3 whatever the wall: a cut lets nothing out.

    >>> protection_level([0.0042, 0.0056, 0.0022], lug_depth=[0.012, 0.012, 0.004], land_fraction=0.45,
    ...                  heavy_duty=[False, True, False], inner="tube").tolist()
    [2, 3, 0]
    """
    kind = codes_of("inner", inner, tuple(i.name for i in INNERS))
    wall = {"lug_depth": lug_depth, "land_fraction": land_fraction, "under_tread": under_tread}
    energy = penetration_energy(casing_thickness, heavy_duty=heavy_duty, **wall)
    cover = np.asarray(casing_thickness, dtype=np.float64) + tread_cover(**wall)
    _, thorn, flint, rock = HAZARDS
    thorns = (cover >= thorn.cover) | (kind == _SEALANT)
    stones = thorns & (energy >= flint.energy)
    edges = stones & (energy >= rock.energy)
    level = thorns.astype(np.int64) + stones + edges
    return np.asarray(np.where(kind == _FOAM, len(HAZARDS) - 1, level), dtype=np.int64)


def get_home_rank(inner: ArrayLike) -> NDArray[np.int64]:
    """How one gets home once the air has gone, 0 (tube: repair) to 3 (foam: runs on); wording in :data:`INNERS`.

    Parameters
    ----------
    inner : "tube", "tubeless", "sealant", "foam", or their numbers 0 to 3, any shape

    Raises
    ------
    DomainError
        An unknown inner.

    >>> [INNERS[rank].wording for rank in get_home_rank(["foam", "tubeless"])]
    ['runs on; there is no air to lose', 'hole plugged from outside, tire inflated']
    """
    codes = codes_of("inner", inner, tuple(i.name for i in INNERS))
    return np.asarray(np.array([i.rank for i in INNERS], dtype=np.int64)[codes])


def repair_kit_mass(inner: ArrayLike) -> Array:
    """Mass of the repair kit that the inner asks to be carried [kg]: an estimate; falls or stays along the ranks.

    Parameters
    ----------
    inner : "tube", "tubeless", "sealant", "foam", or their numbers 0 to 3, any shape

    Raises
    ------
    DomainError
        An unknown inner.

    >>> float(repair_kit_mass("tube"))
    1.0
    """
    codes = codes_of("inner", inner, tuple(i.name for i in INNERS))
    return np.asarray(np.array([i.kit_mass for i in INNERS])[codes])
