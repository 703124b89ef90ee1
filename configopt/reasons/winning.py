"""At which price, mass, rolling coefficient or grip a part enters the best choice, or leaves it: one figure at a time.

A figure of a part touches only the choices that use the part.  So what has to be beaten, the best choice without the
part, stays as it is, and every question is a search among the choices with the part that looks for nothing dearer.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, Literal

from configopt.appraisal.one_vehicle import appraise_vehicle
from configopt.appraisal.packages import Package
from configopt.appraisal.uncertain import changed
from configopt.appraisal.vehicle import POSITIONS, VehicleModel
from configopt.catalog.catalog import Catalog
from configopt.catalog.records import Position
from configopt.choice.alternates import Part
from configopt.choice.ties import packages_of
from configopt.quantities import Figure, to_unit
from configopt.reasons.asking import Answer, Asking
from configopt.reasons.border import border, last_good
from configopt.reasons.telling import aim_of
from configopt.scenario.records import Aims

#: A choice ties where its aim lies within this share.
TIE = 1e-9
GRIP, PRICE = "grip", "price"


@dataclass(frozen=True)
class Turned:
    """A figure of a part that is asked about: its name, unit, and how far it is turned, as factors of today's value."""

    name: str
    wording: str
    unit: str
    least: float
    most: float
    more_is_better: bool = False

    def shown(self, value: float) -> float:
        """A value in the figure's unit."""
        return value if self.unit in ("1", "currency") else float(to_unit(value, self.unit))


MASS = Turned("mass", "mass", "g", 0.2, 4.0)
COST = Turned(PRICE, "unit price", "currency", 0.0, 10.0)
#: What is asked about each family of parts, in the order of telling.
ASKED: dict[str, tuple[Turned, ...]] = {
    "tires": (
        COST,
        MASS,
        Turned("rolling_coefficient", "rolling coefficient", "1", 0.2, 5.0),
        Turned(GRIP, "grip factors, all together", "1", 0.5, 1.5, more_is_better=True),
    ),
    "inners": (COST, MASS, Turned("rolling_factor", "rolling factor", "1", 0.8, 2.0)),
    "rim-locks": (COST, MASS, Turned("torque", "torque it holds", "N m", 0.2, 5.0, more_is_better=True)),
    "rims": (COST, MASS),
    "spokes": (COST,),
    "disc-wheels": (COST, MASS),
    "hubs": (COST, MASS),
    "rotors": (COST, MASS),
    "calipers": (COST, MASS),
    "pads": (COST, MASS, Turned("friction", "friction", "1", 0.3, 2.0, more_is_better=True)),
}


def turned_part(part: Any, figure: Turned, factor: float) -> Any:
    """The part with one figure times a factor; where a record ends, the figure ends with it."""
    if figure.name == PRICE:
        tiers = [
            tier.model_copy(update={"unit_price": Figure(float(tier.unit_price) * factor)}) for tier in part.prices
        ]
        return part.model_copy(update={"prices": tiers})
    names = [f"grip.{group}" for group in type(part.grip).model_fields] if figure.name == GRIP else [figure.name]
    return changed(part, {name: _own(part, name) * factor for name in names})


def _own(part: Any, name: str) -> float:
    value = part
    for step in name.split("."):
        value = getattr(value, step)
    return float(value)


def value_of(part: Any, figure: Turned, quantity: int) -> float:
    """A figure today [SI]; the unit price that a number of pieces gets, and of grip the factor 1."""
    if figure.name == PRICE:
        reached = [tier for tier in part.prices if tier.quantity <= quantity] or part.prices[:1]
        return float(reached[-1].unit_price)
    return 1.0 if figure.name == GRIP else _own(part, figure.name)


def with_part(catalog: Catalog, part: Part, other: Any) -> Catalog:
    """The catalog with another record of a part."""
    return catalog.with_parts({part[0]: {part[1]: other}})


@dataclass(frozen=True)
class Turn:
    """Where a figure makes a part enter or leave the best choice.

    ``factor`` is the one nearest to today's at which it does, ``None`` where no figure down to ``tried`` does;
    ``why_not`` says why a figure cannot matter.
    """

    figure: Turned
    today: float
    factor: float | None
    tried: float
    direction: Literal["at most", "at least", "more than", "less than"]
    answer: Answer | None
    why_not: str | None = None


class Winning:
    """One part against the best choice without it."""

    def __init__(self, asking: Asking, aims: Aims, part: Part, rest: Answer) -> None:
        """``rest`` is the best choice without the part, infinite where there is none."""
        self.asking, self.aims, self.part, self.rest = asking, aims, part, rest
        self.model = asking.candidates.model
        self.record = self.model.catalog.family(part[0])[part[1]]
        self.ceiling = rest.value + TIE * max(abs(rest.value), 1.0) if math.isfinite(rest.value) else math.inf

    def turns(self, with_it: Answer) -> Iterator[Turn]:
        """Every figure of the part.

        Parameters
        ----------
        with_it : the best choices with the part as it is, with nothing found where no limits are met

        Raises
        ------
        OutOfTime
            If a search was asked to end.
        """
        inside = with_it.found and with_it.value <= self.ceiling
        for figure in ASKED[self.part[0]]:
            if getattr(self.record, figure.name, 0.0) is None:
                continue
            yield self._turn(figure, with_it, inside)

    def _turn(self, figure: Turned, with_it: Answer, inside: bool) -> Turn:
        today = value_of(self.record, figure, self.model.vehicle.quantity * self._pieces(with_it))
        better = figure.most if figure.more_is_better else figure.least
        worse = figure.least if figure.more_is_better else figure.most
        far = worse if inside else better
        direction: Any = _direction(figure, inside)
        if figure.name == PRICE and not self._price_counts():
            return Turn(figure, today, None, far, direction, None, "prices count neither in the aims nor in a limit")
        if inside and not self.rest.found:
            return Turn(figure, today, None, far, direction, None, "nothing meets the limits without it")
        self.asking.say(f"how far would the {figure.wording} of {self.record.id} have to change?")
        found = self._leaves(figure, far, with_it) if inside else self._enters(figure, far)
        return Turn(figure, today, found[0], far, direction, found[1])

    def _pieces(self, with_it: Answer) -> int:
        """Pieces per vehicle in the best choice with the part; where there is none, the fewest of any package."""
        family, number = self.part
        if with_it.found:
            rows = with_it.candidates.part_rows(with_it.first).values()
            return sum(int(of.pieces[family][0]) for of in rows if of.index[family][0] == number)
        layers = [rows for of in self.asking.candidates.parts.values() for rows in of if family in rows.index]
        counts = [rows.pieces[family][rows.index[family] == number] for rows in layers]
        return int(min(pieces.min() for pieces in counts if pieces.size))

    def _price_counts(self) -> bool:
        keys = {bound.limit.key for bound in self.model.bounds}
        return bool(self.asking.candidates.rates["cost"]) or bool(keys & {"cost", "running_cost"})

    def at(self, figure: Turned, factor: float) -> Answer | None:
        """Some choice with the part, whose figure is multiplied, that is as good as what has to be beaten."""
        catalog = with_part(self.model.catalog, self.part, turned_part(self.record, figure, factor))
        asking = Asking.of(self.model.vehicle, catalog, self.aims, self.asking.left())
        asking.known = self.asking.known_to(asking.candidates)
        for open_to in asking.using(self.part).values():
            found = asking.any(asking.candidates.model, open_to, cutoff=self.ceiling)
            self.asking.searches += 1
            if found is not None:
                self.asking.keep(asking.known_to(self.asking.candidates, found))
                return Answer(asking.candidates, self.rest.value, found)
        return None

    def _enters(self, figure: Turned, far: float) -> tuple[float | None, Answer | None]:
        """The factor at which some choice with the part becomes as good as the best without it, going towards far."""
        for factor in self._on_the_way(figure, far):
            wins = self.at(figure, factor)
            if wins is not None:
                good, _, wins = self._border(figure, wins, factor, 1.0)
                return good, wins
        return None, None

    def _leaves(self, figure: Turned, far: float, with_it: Answer) -> tuple[float | None, Answer | None]:
        """The factor at which no choice with the part is as good as the best without it any more, going towards far."""
        for factor in self._on_the_way(figure, far):
            if self.at(figure, factor) is None:
                _, bad, _ = self._border(figure, with_it, 1.0, factor)
                return bad, self.rest
        return None, None

    def _on_the_way(self, figure: Turned, far: float) -> tuple[float, ...]:
        """Where it is looked whether anything turns: the far end, and where more may help and then harm, on the way."""
        return (far,) if figure.name == PRICE else tuple(1.0 + share * (far - 1.0) for share in (1.0, 0.25, 0.5, 0.75))

    def _border(self, figure: Turned, wins: Answer, good: float, bad: float) -> tuple[float, float, Answer]:
        """The border between a factor at which a choice with the part is good and one at which none is."""

        def last(wins: Answer, good: float, bad: float) -> float:
            packages, drive = packages_of(wins.candidates, wins.first), int(wins.first.drive[0])
            return last_good(good, bad, lambda factor: self._good(figure, factor, packages, drive))

        return border(wins, good, bad, last=last, some=lambda factor, _: self.at(figure, factor))

    def _good(self, figure: Turned, factor: float, packages: dict[Position, Package], drive: int) -> bool:
        """Whether a choice with the part is as good as the best without it, by the full model."""
        other = turned_part(self.record, figure, factor)
        model = VehicleModel(self.model.vehicle, with_part(self.model.catalog, self.part, other))
        swapped = {p: _swapped(packages[p], self.record.id, other) for p in POSITIONS}
        found = appraise_vehicle(model, swapped, drive)
        return not found.unmet and aim_of(found, self.asking.candidates.rates) <= self.ceiling


def _direction(figure: Turned, inside: bool) -> str:
    if inside:
        return "less than" if figure.more_is_better else "more than"
    return "at least" if figure.more_is_better else "at most"


def _swapped(package: Package, identifier: str, other: Any) -> Package:
    """The package with another record in place of the part of an id."""

    def layer(of: Any, names: tuple[str, ...]) -> Any:
        update = {n: other for n in names if (part := getattr(of, n)) is not None and part.id == identifier}
        return replace(of, **update) if update else of

    return replace(
        package,
        mount=layer(package.mount, ("tire", "inner", "lock")),
        wheel=layer(package.wheel, ("hub", "rim", "spokes", "disc_wheel")),
        brake=layer(package.brake, ("rotor", "caliper", "pad")),
    )
