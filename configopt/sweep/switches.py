"""Where the best choice changes along a grid over one field.

Three kinds of fields:

* An exchange rate, or a price factor where cost is weighed but not limited: what meets the limits stays, and every
  choice's aim is a straight line over the field.  The same choice best at both ends is best all along; two choices
  change places where their lines cross, unless a third is better there.
* The bound of a limit: what meets it shrinks as it tightens.  The best choice stays the best until the bound passes its
  own value.
* Anything else: the interval between two values with different answers is halved until it is short.  Whether
  the answer changes and changes back between two values with the same one is not known.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from configopt.scenario.limits import LIMITS, Limit
from configopt.scenario.variants import PRICES, Grid, Planned, Setting, measured, written
from configopt.sweep.answers import EQUAL, Record, aim_of, appraised_in, one_sum, rounded
from configopt.sweep.changing import EVERY, changed
from configopt.sweep.comparing import choice_of, part_changes
from configopt.sweep.run import Run, Solved

#: Share of a grid's range to which a switch is enclosed where it is not found exactly.
RESOLUTION = 0.01
#: Variants that are looked at for one grid beside its own.
MOST_SOLVES = 60
#: Share of a bound by which it is tightened to leave a choice out: more than the slack of a limit.
TIGHTER = 3e-9

Json = dict[str, Any]


@dataclass
class Point:
    """One value of the field with its answer."""

    at: float
    solved: Solved

    @property
    def choice(self) -> Any:
        """What tells one choice from another; nothing where nothing meets the limits."""
        return choice_of(self.solved.answer)


@dataclass
class Switch:
    """A change of the best choice: between two points, the second one beyond it.

    ``at`` is where exactly, ``None`` where it is only known that it lies between.
    """

    before: Point
    after: Point
    at: float | None = None


class Sweep:
    """A grid over one field, and the variants between its values."""

    def __init__(self, run: Run, grid: Grid, every: Sequence[Solved], resolution: float = RESOLUTION) -> None:
        self.run, self.grid, self.resolution = run, grid, resolution
        self.field = grid.vary[0].field
        self.template = every[0].planned
        found = []
        self.unit = ""
        for one in every:
            value = measured(dict(one.planned.values)[self.field])
            assert value is not None
            self.unit = value[1]
            if one.answer["status"] in ("optimal", "nothing meets the limits"):
                found.append(Point(value[0], one))
        self.points = sorted(found, key=lambda point: point.at)
        self.spent = 0
        self.exact = False
        """Whether all switches are found, as :meth:`switches` ends."""
        self.ended = False
        """Whether looking closer was given up because it takes too long."""

    def value(self, at: float) -> str | float:
        """A value of the field as a file has it."""
        return written(at, self.unit)

    def planned(self, at: float) -> Planned:
        """The variant at a value."""
        setting = Setting(self.field, self.value(at), self.template.line, self.template.column)
        return Planned(self.grid.name, self.grid.why, (setting,), self.grid.name, ((self.field, setting.value),))

    def solve(self, values: Sequence[float], ends: Sequence[tuple[Point, Point]]) -> list[Point]:
        """Answers at more values, each between two points whose choices may be good there too.

        None where enough of them were looked at, or one cannot be answered.
        """
        if self.spent + len(values) > MOST_SOLVES:
            self.ended = True
            return []
        self.spent += len(values)
        starts = [tuple(end.solved.record for end in pair if end.solved.record is not None) for pair in ends]
        solved = self.run.solve_all([self.planned(at) for at in values], starts)
        if any(one.answer["status"] not in ("optimal", "nothing meets the limits") for one in solved):
            self.ended = True
            return []
        return [Point(at, one) for at, one in zip(values, solved, strict=True)]

    # Kinds of fields

    def kind(self) -> str:
        """``line``, ``bound`` or ``other``, as this module has it."""
        case = changed(self.run.base, self.planned(self.points[0].at)).case
        if case.together or not one_sum(case) or case.vehicle.conditions:
            return "other"
        steps = self.field.split(".")
        if steps[0] == "aims":
            return "line"
        if steps[0] == PRICES:
            limited = any(record.limit in ("cost", "running_cost") for record in case.vehicle.limits)
            return "other" if limited else "line"
        place = 1 if steps[0] == EVERY else 2
        return "bound" if len(steps) > place + 1 and steps[place] == "limits" else "other"

    def switches(self) -> list[Switch]:
        """All switches that are found, by rising value."""
        kind = self.kind()
        self.exact = kind != "other"
        if kind == "line":
            return self._on_lines()
        if kind == "bound":
            return self._of_bound()
        return self._halved()

    def _aims_at(self, record: Record, point: Point) -> float:
        """Aim of a choice at a point."""
        case = changed(self.run.base, self.planned(point.at)).case
        return aim_of(case, appraised_in(case, record))

    def _on_lines(self) -> list[Switch]:
        found: list[Switch] = []
        for low, high in zip(self.points, self.points[1:], strict=False):
            found += self._crossings(low, high)
        return found

    def _crossings(self, low: Point, high: Point) -> list[Switch]:
        if low.choice == high.choice:
            return []
        mine, theirs = low.solved.record, high.solved.record
        if mine is None or theirs is None:
            # What meets the limits does not depend on such a field.
            return [Switch(low, high)]
        # By how much the choice of the low end is better, at both ends.
        ahead = self._aims_at(theirs, low) - float(low.solved.answer["aim"])
        behind = self._aims_at(mine, high) - float(high.solved.answer["aim"])
        scale = EQUAL * max(abs(float(low.solved.answer["aim"])), 1e-9)
        if ahead + behind <= scale:
            # The same line: equally good all along, and another one comes first.
            return [Switch(low, high)]
        at = low.at + (high.at - low.at) * max(ahead, 0.0) / (max(ahead, 0.0) + max(behind, 0.0))
        if at in (low.at, high.at):
            return [Switch(low, high, at)]
        between = self.solve([at], [(low, high)])
        if not between:
            return [Switch(low, high)]
        if self._aims_at(mine, between[0]) <= float(between[0].solved.answer["aim"]) + scale:
            return [Switch(low, high, at)]
        return self._crossings(low, between[0]) + self._crossings(between[0], high)

    def _of_bound(self) -> list[Switch]:
        """Tighten the bound step by step, each time just beyond what the best choice reaches.

        From every value of the grid to the next one, all at the same time.
        """
        key = self.limit.key
        rising = self.limit.bound == "at_least"
        points = self.points if rising else self.points[::-1]
        found: list[Switch] = []
        ways = list(itertools.pairwise(points))
        while ways:
            steps: list[tuple[Point, Point, float, float]] = []
            for here, end in ways:
                if here.solved.record is None or here.choice == end.choice:
                    continue
                reached = self._reached(here, key)
                if reached is None:
                    return self._halved()
                shown = self._in_unit(reached, here)
                beyond = shown * (1.0 + TIGHTER) if rising else shown * (1.0 - TIGHTER)
                if (beyond >= end.at) if rising else (beyond <= end.at):
                    found.append(Switch(here, end, shown))
                else:
                    steps.append((here, end, shown, beyond))
            ends = [(here, end) for here, end, *_ in steps]
            following = self.solve([beyond for *_, beyond in steps], ends) if steps else []
            if steps and not following:
                found += [Switch(here, end) for here, end, *_ in steps]
                break
            ways = []
            for (here, end, shown, _), after in zip(steps, following, strict=True):
                if after.choice == here.choice:
                    # Its own value is not what leaves it out: another place of the limit does.
                    return self._halved()
                found.append(Switch(here, after, shown))
                ways.append((after, end))
        ordered = found if rising else [Switch(one.after, one.before, one.at) for one in found]
        return sorted(ordered, key=lambda switch: switch.before.at)

    @property
    def limit(self) -> Limit:
        """The limit whose bound is varied."""
        return LIMITS[self.field.split(".")[2 if self.field.startswith(EVERY) else 3]]

    def _reached(self, point: Point, key: str) -> float | None:
        """The value of the limit [SI] that a point's choice reaches at worst, where this bound is asked."""
        assert point.solved.record is not None
        asked = LIMITS[key].parse(self.value(point.at))
        values = [
            float(np.ravel(margin.value)[0])
            for one in appraised_in(changed(self.run.base, self.planned(point.at)).case, point.solved.record)
            for margin in one.outcome.margins
            if margin.bound.limit.key == key and margin.bound.required == asked and margin.value is not None
        ]
        if not values:
            return None
        return min(values) if LIMITS[key].bound == "at_least" else max(values)

    def _in_unit(self, value: float, point: Point) -> float:
        """An SI value in the unit of the field; temperatures have another origin, so two values are compared."""
        limit = self.limit
        first, second = limit.parse(self.value(point.at)), limit.parse(self.value(point.at + 1.0))
        return point.at + (value - first) / (second - first)

    def _halved(self) -> list[Switch]:
        """Halve what lies between different answers until it is short."""
        self.exact = False
        narrow = self.resolution * (self.points[-1].at - self.points[0].at)
        pairs = [(a, b) for a, b in zip(self.points, self.points[1:], strict=False) if a.choice != b.choice]
        done: list[Switch] = []
        while pairs:
            wide = [pair for pair in pairs if pair[1].at - pair[0].at > narrow * (1.0 + 1e-9)]
            done += [Switch(*pair) for pair in pairs if pair not in wide]
            middles = self.solve([0.5 * (a.at + b.at) for a, b in wide], wide) if wide else []
            if not middles:
                done += [Switch(*pair) for pair in wide]
                break
            pairs = []
            for (a, b), middle in zip(wide, middles, strict=True):
                pairs += [pair for pair in ((a, middle), (middle, b)) if pair[0].choice != pair[1].choice]
        return sorted(done, key=lambda switch: switch.before.at)

    # The answer

    def to_json(self) -> Json:
        """Where the answer changes along the grid."""
        row: Json = {"grid": self.grid.name, "field": self.field, "unit": self.unit}
        low, high = self.points[0].at, self.points[-1].at
        found = self.switches()
        exact = self.exact and not self.ended
        # Between two values with the same answer it may change and change back, unless the field says otherwise.
        step = max((b.at - a.at for a, b in zip(self.points, self.points[1:], strict=False)), default=0.0)
        return {
            **row,
            "from": rounded(low),
            "to": rounded(high),
            "exact": exact,
            "resolution": None if exact else rounded(step),
            "gave_up": self.ended,
            "switches": [self._switch(one) for one in found],
            "text": self._text(found, exact, step),
        }

    def _switch(self, one: Switch) -> Json:
        before, after = one.before.solved.answer, one.after.solved.answer
        return {
            "at": None if one.at is None else rounded(one.at),
            "between": None if one.at is not None else [rounded(one.before.at), rounded(one.after.at)],
            "before": before.get("vehicles", []),
            "after": after.get("vehicles", []),
            "parts": part_changes(before, after),
        }

    def _text(self, found: Sequence[Switch], exact: bool, step: float) -> str:
        ends = f"from {self._shown(self.points[0].at)} to {self._shown(self.points[-1].at)}"
        size = self._shown(step)
        if exact:
            return f"{ends}: {'these are all switches' if found else 'proven: the answer stays the same'}"
        if not found:
            return f"{ends}: no switch found at resolution {size}"
        return f"{ends}: further switches between two values with the same answer are possible, at resolution {size}"

    def _shown(self, at: float) -> str:
        return f"{at:.6g} {self.unit}".rstrip()


def sweeps(run: Run, grids: Sequence[tuple[Grid, Sequence[Solved]]], resolution: float = RESOLUTION) -> list[Json]:
    """Switches along grids over one field; grids of which fewer than two values could be answered are left out."""
    found = []
    for grid, every in grids:
        sweep = Sweep(run, grid, every, resolution)
        if len(sweep.points) > 1:
            run.say(f"looking where the answer changes along {grid.name}")
            found.append(sweep.to_json())
    return found
