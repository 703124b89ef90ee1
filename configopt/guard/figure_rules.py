"""Figures that are not what such figures usually are: a unit mistaken, out of all range, or unlike their peers."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from configopt.catalog.catalog import Catalog
from configopt.guard.rule import Example, Rule
from configopt.guard.shelf import Entry, Shelf
from configopt.guard.usual import PER, Path, Usual, peers, usual
from configopt.guard.waivers import Found
from configopt.quantities import DIMENSIONS, format_quantity, from_unit, to_unit

#: So many parts make a population.
LEAST_PEERS = 8
#: Robust standard deviations beyond which a figure is unlike its peers: B. Iglewicz, D. C. Hoaglin, "How to Detect and
#: Handle Outliers", ASQC 1993, from memory.
OUTLIER = 3.5
#: Median absolute deviation to standard deviation of a normal distribution.
_TO_DEVIATION = 1.4826
#: Least spread of a population, in natural logarithms (common practice, no source): peers that are all alike would
#: make any difference an outlier, and nobody asks about a part that differs by less than two fifths.
LEAST_SPREAD = 0.10
#: The same for prices, which differ by quality as well: what is meant to stand out is the price of ten pieces or of
#: another currency, not the cheap and the dear make.
LEAST_SPREAD_OF_PRICES = 0.30

UNIT_SLIP = Rule(
    "UNIT-SLIP",
    "error",
    "a figure that would be usual in another unit",
    "The figure lies outside what is usual for such parts, or far from its peers in the catalog, but the same number "
    "with another unit lies well inside: psi typed as kPa, grams as kilograms, inches as millimetres. Correct the "
    "unit. What else looks wrong at the entry mostly follows from it and is judged after that.",
    Example("tires", "rated_pressure: 33 kPa", "rated_pressure: 33 psi"),
    waivable=True,
)
UNUSUAL = Rule(
    "UNUSUAL",
    "warning",
    "a figure outside what is usual for such parts",
    "The ranges are wide and common practice without a source; the message states the one that holds. Check the figure "
    "against its source; if it is right, say why in a waiver.",
    Example("rims", "flange_height: 29 mm", "flange_height: 13 mm"),
    waivable=True,
)
_PEERS = (
    f"Parts of one kind are compared in logarithms by median and median absolute deviation, from {LEAST_PEERS} parts "
    f"on; beyond {OUTLIER} robust standard deviations a part is unlike the rest, each taken as at least "
    f"{LEAST_SPREAD:.0%}, of prices {LEAST_SPREAD_OF_PRICES:.0%}, however alike the others are. "
    "Check the figure; if it is right, say why in a waiver."
)
OUTLIER_MASS = Rule(
    "OUTLIER-MASS",
    "warning",
    "a mass unlike that of other parts of this size",
    f"Tires by width times diameter, rims and disc wheels by bead diameter times width, hubs by the torque they carry, "
    f"rotors by the solid disc. {_PEERS}",
    Example("tires", "mass: 4.3 kg", "mass: 2.58 kg +- 0.05 kg"),
    waivable=True,
)
OUTLIER_ROLLING = Rule(
    "OUTLIER-ROLLING",
    "warning",
    "a rolling coefficient unlike that of other tires at one pressure and speed",
    f"Coefficients are brought to one pressure and speed by the rolling model first. {_PEERS}",
    Example("tires", "rolling_coefficient: 0.055", "rolling_coefficient: 0.0209"),
    waivable=True,
)
OUTLIER_PRICE = Rule(
    "OUTLIER-PRICE",
    "warning",
    "a price per kilogram unlike that of other such parts",
    f"The first price tier over the mass: a price per ten pieces, or in another currency, stands out. {_PEERS}",
    Example("tires", "prices: [{quantity: 1, unit_price: 520}]", "prices: [{quantity: 1, unit_price: 52}]"),
    waivable=True,
)
OUTLIER_LOAD = Rule(
    "OUTLIER-LOAD",
    "warning",
    "a load unlike that of other tires of this size and pressure",
    f"The maximum load over what pressure, casing and size carry at one deflection. {_PEERS}",
    Example("tires:adder-57-507", "maximum_load: 185 kg", "maximum_load: 88 kg"),
    waivable=True,
)
RULES = (UNIT_SLIP, UNUSUAL, OUTLIER_MASS, OUTLIER_ROLLING, OUTLIER_PRICE, OUTLIER_LOAD)
_OUTLIERS = {
    ("tires", "mass"): OUTLIER_MASS,
    ("rims", "mass"): OUTLIER_MASS,
    ("hubs", "mass"): OUTLIER_MASS,
    ("disc-wheels", "mass"): OUTLIER_MASS,
    ("rotors", "mass"): OUTLIER_MASS,
    ("tires", "rolling_coefficient"): OUTLIER_ROLLING,
    ("tires", "maximum_load"): OUTLIER_LOAD,
    ("tires", "service_description"): OUTLIER_LOAD,
}
#: Units that nobody writes by mistake on a sheet of such parts; everything else that the program reads may be meant.
_NEVER_MEANT = frozenset({"t", "um", "ft", "hPa", "mbar", "GPa", "daN", "ft/s", "ms", "min", "s"})
_NUMBER = re.compile(r"\s*[+-]?[0-9.]+(?:[eE][+-]?[0-9]+)?\s*")


@dataclass(frozen=True, slots=True)
class Population:
    """Peers of a figure: how many, and median and spread of the logarithms of the quotient.

    Where figures of some peers are in doubt, the median lies from *low* to *high* whatever they are, and *spread* is
    the largest that is possible; so nobody is called unlike the rest because of somebody else's mistake.
    """

    count: int
    low: float
    high: float
    spread: float

    @property
    def middle(self) -> float:
        """The median, or the middle of where it can lie."""
        return (self.low + self.high) / 2

    def deviation(self, quotient: float) -> float:
        """Robust standard deviations from the median."""
        logarithm = math.log(quotient)
        return max(self.low - logarithm, logarithm - self.high, 0.0) / self.spread

    def ends(self) -> tuple[float, float]:
        """Quotients beyond which a figure is unlike its peers."""
        return math.exp(self.low - OUTLIER * self.spread), math.exp(self.high + OUTLIER * self.spread)


def _median(ordered: NDArray[np.float64], below: int, above: int) -> float:
    """Median of figures in order, with so many more below and above all of them."""
    count = len(ordered) + below + above
    return float(ordered[(count - 1) // 2 - below] + ordered[count // 2 - below]) / 2


def population_of(logarithms: NDArray[np.float64], doubtful: int, least_spread: float) -> Population | None:
    """The population that known figures and some that may be anything make.

    Parameters
    ----------
    logarithms
        Of the known quotients, in ascending order, shape (peers,).
    doubtful
        How many peers there are beside them of which the figure is in doubt.
    least_spread
        Least spread, in natural logarithms.

    Returns
    -------
    Population or None
        None for fewer than eight known peers, or where half as many are in doubt as are known.
    """
    if len(logarithms) < LEAST_PEERS or 2 * doubtful >= len(logarithms):
        return None
    low, high = _median(logarithms, doubtful, 0), _median(logarithms, 0, doubtful)
    # The median distance from a point changes by no more than the point moves: between both ends of the median it is
    # at most this.
    at_low, at_high = (_median(np.sort(np.abs(logarithms - end)), 0, doubtful) for end in (low, high))
    spread = _TO_DEVIATION * (at_low + at_high + high - low) / 2
    return Population(len(logarithms), low, high, max(spread, least_spread))


@dataclass
class Peers:
    """Parts that are compared with each other in one figure."""

    known: list[tuple[float, bool]] = field(default_factory=list)
    """Logarithm of each quotient, and whether it stands waived as it is."""
    doubtful: int = 0
    """Peers of which the figure is a mistake."""
    least_spread: float = LEAST_SPREAD
    _outlying: list[tuple[float, int]] | None = None
    """Deviation and place of those that nothing waives and that are unlike the rest, the furthest first."""
    _made: dict[int, Population | None] = field(default_factory=dict)

    def population(self, further: int = 0) -> Population | None:
        """The population; of so many of the furthest figures it is left open what they are."""
        if further not in self._made:
            left_out = {place for _, place in self.outlying()[:further]} if further else set()
            kept = sorted(known for i, (known, _) in enumerate(self.known) if i not in left_out)
            made = population_of(np.array(kept, dtype=np.float64), self.doubtful + further, self.least_spread)
            self._made[further] = made
        return self._made[further]

    def outlying(self) -> list[tuple[float, int]]:
        """Deviation and place of each figure unlike the rest that nothing waives, the furthest first."""
        if self._outlying is None:
            whole = self.population()
            deviations = [] if whole is None else [whole.deviation(math.exp(known)) for known, _ in self.known]
            waived = [stands for _, stands in self.known]
            self._outlying = sorted(
                ((far, i) for i, far in enumerate(deviations) if far > OUTLIER and not waived[i]), reverse=True
            )
        return self._outlying

    def around(self, quotient: float) -> Population | None:
        """The population by which a quotient is judged: what is further out than it may be a mistake itself."""
        whole = self.population()
        if whole is None:
            return None
        deviation = whole.deviation(quotient)
        return self.population(sum(far > deviation * (1 + 1e-9) for far, _ in self.outlying()))


@dataclass(frozen=True, slots=True)
class Judged:
    """What is wrong with one figure."""

    usual: Usual
    path: Path
    value: float
    out_of_range: bool
    """Outside the range of the table; otherwise only unlike its peers."""
    ends: tuple[float, float]
    """What is usual for this part [SI of the figure]."""
    units: tuple[str, ...] = ()
    """Units with which the same number would be usual, the likeliest first."""


@dataclass
class Yardstick:
    """What is usual, from the table and from the parts of a catalog."""

    catalog: Catalog
    unread: Mapping[str, int] = field(default_factory=dict)
    """Entries of each family that could not be read: peers, too, of which nothing is known."""
    _peers: dict[tuple[str, Path, tuple[str, ...]], Peers] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for family, rows in usual().items():
            compared = [row for row in rows if row.population]
            behind = {name for row in compared for name in PER[row.per][2]}
            # What is only thought of says nothing about what is usual.
            parts = [part for part in self.catalog.family(family) if part.status != "concept"] if compared else []
            wrong: list[set[str | int]] = [set() for _ in parts]
            for row in rows:
                if row.population or row.path[0] in behind:
                    self._look(row, parts, wrong)

    def _look(self, row: Usual, parts: list[Any], wrong: list[set[str | int]]) -> None:
        """Gather the peers of one figure; ``wrong`` are the figures of each part that are mistakes, and grows."""
        places: dict[tuple[str, ...], list[int]] = {}
        for place, part in enumerate(parts):
            low, high = row.range(part) or (0.0, math.inf)
            group = peers(row.family, part)
            if row.population and group not in places:
                least = LEAST_SPREAD_OF_PRICES if row.dimension == "price" else LEAST_SPREAD
                self._peers[row.family, row.path, group] = Peers([], self.unread.get(row.family, 0), least)
                places[group] = []
            found = self._peers.get((row.family, row.path, group))
            for path, value in row.figures(part):
                quotient = value / row.scale(part)
                stands = _stands(row.family, path, part)
                if wrong[place].intersection(PER[row.per][2]):
                    doubtful = True
                elif low <= quotient <= high:
                    doubtful = False
                    if found is not None:
                        found.known.append((math.log(quotient), stands))
                        places[group].append(place)
                else:
                    # What is out of all range is a mistake, not a peer; one that is waived is neither.
                    doubtful = not stands
                    if doubtful:
                        wrong[place].add(path[0])
                if doubtful and found is not None:
                    found.doubtful += 1
        for group, at in places.items():
            for _, i in self._peers[row.family, row.path, group].outlying():
                wrong[at[i]].add(row.path[0])

    def population(self, row: Usual, part: object, quotient: float | None = None) -> Population | None:
        """Peers of a part for a figure, all of them or those by which its quotient is judged."""
        found = self._peers.get((row.family, row.path, peers(row.family, part))) if row.population else None
        if found is None:
            return None
        return found.population() if quotient is None else found.around(quotient)

    def judge(self, family: str, part: object, written: Callable[[Path], object]) -> Iterator[Judged]:
        """What is wrong with the figures of a part.

        Parameters
        ----------
        family, part
            The part.
        written
            What the file says at a path; where it says nothing a figure is only judged, not mended.
        """
        wrong: set[str | int] = set()
        for row in usual()[family]:
            span = row.range(part)
            if span is None or wrong.intersection(PER[row.per][2]):
                continue
            scale = row.scale(part)
            if not math.isfinite(scale):
                continue  # what it is compared per is wrong itself
            for path, value in row.figures(part):
                known = self.population(row, part, value / scale)
                if _inside(value / scale, span, known, OUTLIER):
                    continue
                wrong.add(path[0])
                out = not span[0] <= value / scale <= span[1]
                low, high = span if out or known is None else known.ends()
                ends = (low * scale, high * scale)
                # Well inside is nearer to the peers than an outlier by a third, unless the figure is out of all range.
                most = OUTLIER if out else OUTLIER * 2 / 3
                units = [
                    (abs(math.log(quotient) - _middle(span, known)), unit)
                    for unit, quotient in _other_units(row, value, written(path), scale)
                    if _inside(quotient, span, known, most)
                ]
                yield Judged(row, path, value, out, ends, tuple(unit for _, unit in sorted(units)[:2]))


def _inside(quotient: float, span: tuple[float, float], known: Population | None, most: float) -> bool:
    low, high = span
    # Only a quotient within the range has a logarithm for sure.
    within = low * (1 - 1e-9) <= quotient <= high * (1 + 1e-9)
    return within and (known is None or known.deviation(quotient) <= most)


def _middle(span: tuple[float, float], known: Population | None) -> float:
    return known.middle if known is not None else (math.log(span[0]) + math.log(span[1])) / 2


def written_unit(text: object, dimension: str) -> str | None:
    """Unit that a text of a file has, of a range that of its high end; None where it cannot be told."""
    if isinstance(text, int | float):
        return ""
    if not isinstance(text, str):
        return None
    end = re.split(r"\+-|\+/-|±", re.split(r"\s+to\s+", text)[-1])[0]
    name = " ".join(_NUMBER.sub("", end, count=1).split())
    return DIMENSIONS[dimension].units[name].name if name in DIMENSIONS[dimension].units else None


def _other_units(row: Usual, value: float, text: object, scale: float) -> Iterator[tuple[str, float]]:
    """Units in which the number may have been meant, and the quotient it then has."""
    unit = written_unit(text, row.dimension)
    if unit is None or row.dimension == "price":
        return
    number = to_unit(value, unit, row.dimension)
    for other in dict.fromkeys(known.name for known in DIMENSIONS[row.dimension].units.values()):
        if other != unit and other not in _NEVER_MEANT:
            yield other, from_unit(number, other, row.dimension) / scale


def _name(path: Path) -> str:
    """A figure in words."""
    first, *others = (str(step).replace("_", " ") for step in path if not isinstance(step, int))
    return first if not others else others[0] if first == "prices" else f"{others[0]} of {first}"


def _outlier_rule(family: str, path: Path) -> Rule | None:
    return OUTLIER_PRICE if path[0] == "prices" else _OUTLIERS.get((family, str(path[0])))


def _stands(family: str, path: Path, part: Any) -> bool:
    """Whether the part waives what could be said against a figure that is out of range or unlike its peers."""
    rule = _outlier_rule(family, path)
    known = {UNIT_SLIP.id, UNUSUAL.id} | ({rule.id} if rule is not None else set())
    return any(waiver.rule in known for waiver in part.waivers)


def _figure(value: float, dimension: str, unit: str | None, currency: str) -> str:
    """A figure in the unit of the file, or of the trade where that is not known; a price in the catalog's currency."""
    text = format_quantity(value, dimension, unit=unit)
    if dimension == "price":
        return f"{text} {currency}"
    return "1 day" if text == "1 days" else text


def _finding(entry: Entry, judged: Judged, currency: str) -> Found | None:
    row, dimension = judged.usual, judged.usual.dimension
    unit = written_unit(entry.written(*judged.path), dimension)
    number = 0.0 if unit is None else to_unit(judged.value, unit, dimension)
    figure = f"{number:.6g} {unit}".strip()
    if unit is None or dimension == "price":
        figure = _figure(judged.value, dimension, None, currency)
    low, high = (_figure(end, dimension, unit, currency) for end in judged.ends)
    compared = row.compared(entry.part)
    known = "usual" if judged.out_of_range else f"usual among {' '.join(peers(row.family, entry.part))} {row.family}"
    here = f"here {low} to {high} {compared}".rstrip()
    message = f"{_name(judged.path)} {figure} is not {' '.join(known.split())} ({here})"
    if judged.units:
        right = " or ".join(f"{number:.6g} {unit}".strip() for unit in judged.units)
        meant = " or ".join(unit or "a plain number" for unit in judged.units)
        message = f"{message}; {right} would be: was {meant} meant?"
        fix = "correct the unit, or state a waiver with the reason"
        return entry, entry.finding(UNIT_SLIP, judged.path, message, fix)
    fix = "check it against its source, or state a waiver with the reason"
    if judged.out_of_range:
        return entry, entry.finding(UNUSUAL, judged.path, message, fix)
    rule = _outlier_rule(row.family, judged.path)
    return None if rule is None else (entry, entry.finding(rule, judged.path, message, fix))


def _written(entry: Entry, path: Path) -> object:
    return entry.written(*path)


def look(shelf: Shelf) -> Iterator[Found]:
    """Unit slips, figures out of range and figures unlike their peers."""
    listed = {family: document.data.get("parts") or () for family, (document, _) in shelf.reading.documents.items()}
    unread = {family: len(listed[family]) - len(at) for family, (_, at) in shelf.reading.documents.items()}
    yardstick = Yardstick(shelf.catalog, unread)
    for family in usual():
        for entry in shelf.entries(family):
            for judged in yardstick.judge(family, entry.part, partial(_written, entry)):
                if (found := _finding(entry, judged, shelf.catalog.currency)) is not None:
                    yield found
