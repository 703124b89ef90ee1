"""The requirement sheet of an own part: within which window of each figure it would be chosen, one figure at a time."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from configopt.appraisal.one_vehicle import appraise_record
from configopt.appraisal.vehicle import VehicleModel
from configopt.choice.alternates import Part
from configopt.choice.audit import Candidates
from configopt.choice.ties import choices_of_record, record_of
from configopt.errors import ConfigoptError
from configopt.fit.layers import rim_class
from configopt.quantities import Figure
from configopt.reasons.asking import Answer, Asking
from configopt.reasons.border import border, last_good
from configopt.reasons.elsewhere import dimension_of, told
from configopt.reasons.telling import aim_of
from configopt.reasons.winning import (
    ASKED,
    COST,
    GRIP,
    MASS,
    PRICE,
    TIE,
    Turned,
    turned_part,
    value_of,
    with_part,
)
from configopt.scenario.records import Aims, VehicleChoiceRecord

#: Steps towards a far factor at which a choice is looked at, short ones first.
STEPS = 24
SPACING, CIRCLE, THICKNESS = "flange_spacing", "flange_circle", "thickness"
#: Figures of a requirement sheet that stand for two of the record.
BOTH = {
    SPACING: ("flange_offset_left", "flange_offset_right"),
    CIRCLE: ("flange_diameter_left", "flange_diameter_right"),
}
#: What is asked about each family; of the others, what can make a part win.
SHEET: dict[str, tuple[Turned, ...]] = {
    "hubs": (
        Turned(SPACING, "flange spacing", "mm", 0.3, 2.0),
        Turned(CIRCLE, "flange circle", "mm", 0.4, 2.0),
        MASS,
        Turned("maximum_torque", "permitted torque", "N m", 0.1, 4.0),
        COST,
    ),
    "rims": (
        Turned("effective_diameter", "effective rim diameter", "mm", 0.9, 1.1),
        MASS,
        Turned("radial_rigidity", "radial rigidity", "N m2", 0.05, 10.0),
        Turned("lateral_rigidity", "lateral rigidity", "N m2", 0.05, 10.0),
        Turned("torsional_rigidity", "torsional rigidity", "N m2", 0.05, 10.0),
        Turned("maximum_spoke_tension", "permitted spoke tension", "N", 0.1, 4.0),
        Turned("maximum_load", "permitted load", "g", 0.2, 4.0),
        COST,
    ),
    "rotors": (
        Turned("diameter", "diameter", "mm", 0.6, 1.6),
        Turned(THICKNESS, "thickness, worn as far as now", "mm", 0.5, 3.0),
        MASS,
        COST,
    ),
}


@dataclass(frozen=True)
class Window:
    """Factors on a figure between which the part would be chosen; ``None`` where no end was found."""

    low: float | None
    high: float | None

    def holds(self, low: float, high: float) -> bool:
        """Whether a range lies inside."""
        return (self.low is None or self.low <= low) and (self.high is None or high <= self.high)


def asked_about(family: str, record: Any) -> Iterator[Turned]:
    """Figures of a record that a requirement sheet holds."""
    for figure in SHEET.get(family, ASKED[family]):
        if figure.name in BOTH:
            if all(getattr(record, name) is not None for name in BOTH[figure.name]):
                # Flanges wider apart than the hub itself are none.
                room = float(record.width) / stated(record, figure, 1) if figure.name == SPACING else math.inf
                yield replace(figure, most=min(figure.most, room))
        elif figure.name == "effective_diameter":
            # The nipples sit below the bead.
            room = rim_class(record).bead_diameter / float(record.effective_diameter)
            yield replace(figure, most=min(figure.most, room))
        elif getattr(record, figure.name, 0.0) is not None:
            yield figure


def stated(record: Any, figure: Turned, quantity: int, end: int | None = None) -> float:
    """A figure as stated [SI], in the middle of its range or at its low (0) or high (1) end."""
    record = record if end is None else settled(record, end)
    if figure.name in BOTH:
        first, second = (float(getattr(record, name)) for name in BOTH[figure.name])
        return first + second if figure.name == SPACING else 0.5 * (first + second)
    return value_of(record, figure, quantity)


def settled(record: Any, end: int) -> Any:
    """A record with every range at its low (0) or high (1) end."""
    update: dict[str, Any] = {}
    for name in type(record).model_fields:
        value = getattr(record, name)
        if isinstance(value, Figure) and value.ends is not None:
            update[name] = Figure(value.ends[end])
        elif isinstance(value, list):
            update[name] = [settled(item, end) if hasattr(item, "model_copy") else item for item in value]
        elif hasattr(value, "model_copy"):
            update[name] = settled(value, end)
    return record.model_copy(update=update)


def turned(record: Any, figure: Turned, factor: float) -> Any:
    """The record with a figure of the sheet times a factor."""
    if figure.name in BOTH:
        return record.model_copy(
            update={name: Figure(float(getattr(record, name)) * factor) for name in BOTH[figure.name]}
        )
    if figure.name == THICKNESS:
        wear = float(record.thickness) - float(record.wear_limit)
        thick = float(record.thickness) * factor
        return record.model_copy(update={"thickness": Figure(thick), "wear_limit": Figure(max(thick - wear, 1e-4))})
    return turned_part(record, figure, factor)


class Wanted:
    """An own part, as if it could be had, against the best choice without it."""

    def __init__(self, asking: Asking, aims: Aims, part: Part, record: Any, without: Answer) -> None:
        """``without`` is the best choice there is today, infinite where nothing meets the limits."""
        self.asking, self.aims, self.part, self.record = asking, aims, part, record
        self.model = asking.candidates.model
        value = without.value
        self.ceiling = value + TIE * max(abs(value), 1.0) if math.isfinite(value) else math.inf

    def asking_with(self, record: Any) -> Asking:
        """Questions about catalogs in which the part can be had as a record has it."""
        catalog = with_part(self.model.catalog, self.part, record)
        return Asking.of(self.model.vehicle, catalog, self.aims, self.asking.left())

    def windows(
        self, figure: Turned, now: VehicleChoiceRecord | None, near: VehicleChoiceRecord | None
    ) -> list[Window]:
        """Where the part would be chosen.

        Parameters
        ----------
        figure : the figure that is turned, all others as stated
        now : a choice with the part as stated that is as good as the best without it, if there is one
        near : the best choice with the part, or one that comes near

        Notes
        -----
        Where the part is not chosen as stated, a window is looked for at both far ends, and before them where the near
        choice is good.

        Raises
        ------
        OutOfTime
            If a search was asked to end.
        """
        if now is not None:
            return [Window(self._end(figure, now, figure.least), self._end(figure, now, figure.most))]
        found = []
        for far, below in ((figure.least, True), (figure.most, False)):
            at = self._first_good(figure, far, near)
            wins = near
            if at is None:
                at, wins = far, self.chosen(figure, far)
            if wins is not None:
                enters, leaves = self._border(figure, wins, at, 1.0), None
                if at != far:
                    leaves = self._end(figure, wins, far, at)
                found.append(Window(leaves, enters) if below else Window(enters, leaves))
        return found

    def _first_good(self, figure: Turned, far: float, near: VehicleChoiceRecord | None) -> float | None:
        """The first step towards a far factor at which a choice is good."""
        for step in range(1, STEPS + 1):
            factor = 1.0 + (far - 1.0) * (step / STEPS) ** 2
            if near is not None and self._good(figure, factor, near):
                return factor
        return None

    def _end(self, figure: Turned, now: VehicleChoiceRecord, far: float, start: float = 1.0) -> float | None:
        """The last factor towards a far one at which the part still is chosen; ``None`` if it is there too."""
        if self._good(figure, far, now) or self.chosen(figure, far) is not None:
            return None
        return self._border(figure, now, start, far)

    def chosen(
        self, figure: Turned, factor: float, start: VehicleChoiceRecord | None = None
    ) -> VehicleChoiceRecord | None:
        """A choice with the part, its figure turned, that is as good as the best without it."""
        try:
            asking = self.asking_with(turned(self.record, figure, factor))
            return self.any(asking, start)
        except ConfigoptError:
            # A part that cannot be computed is none.
            return None

    def any(self, asking: Asking, start: VehicleChoiceRecord | None = None) -> VehicleChoiceRecord | None:
        """Some choice with the part that is as good as the best without it."""
        known = None if start is None else choices_of_record(asking.candidates, start)
        if known is not None:
            asking.keep(known)
        for open_to in asking.using(self.part).values():
            self.asking.searches += 1
            found = asking.any(asking.candidates.model, open_to, cutoff=self.ceiling)
            if found is not None:
                return record_of(asking.candidates, found)
        return None

    def _border(self, figure: Turned, wins: VehicleChoiceRecord, good: float, bad: float) -> float:
        """The last good factor between a good one and a bad one."""

        def last(choice: VehicleChoiceRecord, good: float, bad: float) -> float:
            return last_good(good, bad, lambda factor: self._good(figure, factor, choice))

        return border(wins, good, bad, last=last, some=lambda factor, choice: self.chosen(figure, factor, choice))[0]

    def _good(self, figure: Turned, factor: float, choice: VehicleChoiceRecord) -> bool:
        """Whether a choice with the part fits and is as good as the best without it, by the full model."""
        catalog = with_part(self.model.catalog, self.part, turned(self.record, figure, factor))
        try:
            found = appraise_record(VehicleModel(self.model.vehicle, catalog), choice)
        except ConfigoptError:
            return False
        if found.misfits or found.unmet:
            return False
        return aim_of(found, self.asking.candidates.rates) <= self.ceiling


def sheet(
    wanted: Wanted, original: Any, now: VehicleChoiceRecord | None, near: VehicleChoiceRecord | None
) -> list[dict[str, Any]]:
    """The requirement sheet: the window of each figure, all others as stated.

    Parameters
    ----------
    wanted : the own part
    original : its record in the catalogs, with its ranges
    now : a choice with it as stated that is as good as the best without it, if there is one
    near : the best choice with it, or one that comes near

    Raises
    ------
    OutOfTime
        If a search was asked to end.
    """
    rows, quantity = [], wanted.model.vehicle.quantity
    for figure in asked_about(wanted.part[0], wanted.record):
        if figure.name == PRICE and not _price_counts(wanted.asking.candidates):
            continue
        wanted.asking.say(f"within which {figure.wording} would {wanted.record.id} be chosen?")
        middle, low, high = (stated(original, figure, quantity, end) for end in (None, 0, 1))
        windows = wanted.windows(figure, now, near)
        dimension = _dimension(wanted.record, figure)
        share = (low / middle, high / middle) if middle else (1.0, 1.0)

        def shown(
            factor: float | None, middle: float = middle, dimension: str = dimension, name: str = figure.name
        ) -> float | None:
            return None if factor is None else told(factor * middle, dimension, name)[0]

        rows.append(
            {
                "figure": figure.wording,
                "unit": told(0.0, dimension, figure.name)[1],
                "stated": shown(1.0),
                "stated_low": shown(share[0]),
                "stated_high": shown(share[1]),
                "tried_low": shown(figure.least),
                "tried_high": shown(figure.most),
                "windows": [{"low": shown(one.low), "high": shown(one.high)} for one in windows],
                "stated_inside": any(one.holds(*share) for one in windows),
            }
        )
    return rows


def _price_counts(candidates: Candidates) -> bool:
    keys = {bound.limit.key for bound in candidates.model.bounds}
    return bool(candidates.rates["cost"]) or bool(keys & {"cost", "running_cost"})


def _dimension(record: Any, figure: Turned) -> str:
    if figure.name == PRICE:
        return "price"
    if figure.name == GRIP:
        return "ratio"
    return dimension_of(type(record), BOTH.get(figure.name, (figure.name,))[0])
