"""Choosing again as things are moved, also with parts and pressures held at one end.

Beside what :class:`configopt.choice.live.LiveChoice` keeps, several earlier answers are kept: any of them that was
asked no more strictly, and whose best choices still meet what is asked now, is the answer again.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.vehicle import POSITIONS
from configopt.catalog.catalog import Catalog
from configopt.catalog.records import Position
from configopt.choice.audit import Candidates
from configopt.choice.candidates import OpenTo
from configopt.choice.choose import EXACT, require_one_sum, require_one_vehicle
from configopt.choice.live import Change, LiveChoice, Rechosen, stricter
from configopt.errors import UsageError
from configopt.scenario.case import Case

#: Earlier answers that are looked at.
KEPT = 16
#: Footings and wheels at both ends that the page takes, and what is held in memory for each, as measured [bytes].
MOST_FITTING, BYTES_EACH = 2_000_000, 1_500
#: Half a step of the pressures that a gauge can read [Pa].
_HALF_STEP = 500.0
Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Held(Change):
    """A change in which parts are held at one end, and cold pressures stay within a range there.

    ``holds`` has ids by position and family, ``pressures`` least and most [Pa] by position.
    """

    holds: Mapping[tuple[str, str], str] = field(default_factory=dict)
    pressures: Mapping[str, tuple[float, float]] = field(default_factory=dict)


class Choosing(LiveChoice):
    """One vehicle whose choice is asked for again and again, from the page."""

    def __init__(self, candidates: Candidates) -> None:
        super().__init__(candidates)
        self.answers: deque[tuple[Change, Rechosen]] = deque(maxlen=KEPT)

    @staticmethod
    def of_case(case: Case) -> Choosing:
        """For the one vehicle of a case.

        Raises
        ------
        UsageError
            Several vehicles, aims in order, alternates or conditions, or too much that fits.
        """
        require_one_vehicle(case)
        require_one_sum(case)
        candidates = Candidates(case.vehicle, case.catalog, case.scenario.aims)
        require_size(candidates)
        return Choosing(candidates)

    def begin_near(self, other: Choosing) -> None:
        """Begin with what came close in another, in which the same parts fit; it only spares work."""
        self.close_choices = other.close_choices

    def fitting(self) -> dict[tuple[str, str], list[int]]:
        """Numbers of the parts that fit somewhere, by position and family."""
        found: dict[tuple[str, str], list[int]] = {}
        for position in POSITIONS:
            for layer in self.candidates.parts[position]:
                for family, index in layer.index.items():
                    found[position, family] = [int(one) for one in np.unique(index) if one >= 0]
        return found

    def _changed(self, change: Change) -> Candidates:
        found = super()._changed(change)
        if not isinstance(change, Held) or not (change.holds or change.pressures):
            return found
        return found.variant(open_to=held(found, change))

    def _still(self, candidates: Candidates, change: Change) -> Rechosen | None:
        if self.last is not None and (not self.answers or self.answers[-1] is not self.last):
            self.answers.append(self.last)
        for before, answer in reversed(self.answers):
            found = self._again(before, answer, candidates, change)
            if found is not None:
                return found
        return None

    def _again(self, before: Change, then: Rechosen, candidates: Candidates, change: Change) -> Rechosen | None:
        """An earlier answer where everything asked now is at least as strict, and its best choices still do."""
        if not then.proven or dict(before.prices or {}) != dict(change.prices or {}):
            return None
        if not set(before.out) <= set(change.out) or not within(candidates, then.candidates):
            return None
        if not stricter(candidates.model, then.candidates.model):
            return None
        if then.ties is None:
            return Rechosen(True, None, then.aim, then.bound, candidates, 0)
        if then.bound < then.aim - EXACT * max(abs(then.aim), 1e-9):
            return None
        ties = candidates.opened(then.ties)
        ties = ties.take(candidates.meeting(ties)[0])
        return Rechosen(True, ties, then.aim, then.bound, candidates, len(ties)) if len(ties) else None


def require_size(candidates: Candidates) -> None:
    """Require that what is known of every footing and wheel finds room in memory.

    Raises
    ------
    UsageError
        If too many fit.
    """
    count = sum(len(candidates.of[p].footing_mount) + len(candidates.of[p].wheels) for p in POSITIONS)
    if count > MOST_FITTING:
        raise UsageError(
            f"{count:,} wheels and tires at a pressure fit this vehicle; the page takes up to {MOST_FITTING:,}, for "
            f"which it needs about {BYTES_EACH * MOST_FITTING / 1e9:.0f} GB of memory. Choose from fewer parts, or on "
            "the command line with configopt choose"
        )


def within(candidates: Candidates, others: Candidates) -> bool:
    """Whether everything that is open to some candidates is open to others."""
    for position in POSITIONS:
        wide = others.open_to.get(position)
        if wide is None:
            continue
        narrow = candidates.open_to.get(position)
        if narrow is None:
            return bool(all(mask.all() for mask in wide))
        if any(bool((mine & ~theirs).any()) for mine, theirs in zip(narrow, wide, strict=True)):
            return False
    return True


def held(candidates: Candidates, change: Held) -> OpenTo:
    """What is open where parts are held and pressures stay within a range."""
    found: dict[Position, tuple[Mask, Mask, Mask]] = {}
    catalog = candidates.model.catalog
    for position in POSITIONS:
        of = candidates.of[position]
        layers = candidates.parts[position]
        before = candidates.open_to.get(position)
        footings = np.ones(len(of.footing_mount), dtype=bool)
        if position in change.pressures:
            low, high = change.pressures[position]
            footings &= (of.footing_pressure >= low - _HALF_STEP) & (of.footing_pressure <= high + _HALF_STEP)
        masks: list[Mask] = [footings, np.ones(len(of.wheels), dtype=bool), np.ones(len(of.brakes), dtype=bool)]
        for (place, family), identifier in change.holds.items():
            if place != position:
                continue
            number = number_of(catalog, family, identifier)
            for layer, rows in enumerate(layers):
                if family in rows.index:
                    used = rows.index[family] == number
                    masks[layer] = masks[layer] & (used[of.footing_mount] if layer == 0 else used)
        if before is not None:
            masks = [mine & theirs for mine, theirs in zip(masks, before, strict=True)]
        found[position] = (masks[0], masks[1], masks[2])
    return found


def number_of(catalog: Catalog, family: str, identifier: str) -> int:
    """Number of a part in its family; -1 where the catalogs do not have it."""
    return next((number for number, part in enumerate(catalog.family(family)) if part.id == identifier), -1)
