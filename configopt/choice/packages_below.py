"""Every package of a position whose bound lies under a ceiling, without looking at all of them.

A package's bound is that of its footing at the rest mass of wheel and brake set, plus what the aim adds for these two.
The range of rest masses is cut into bins.  The least a footing can have within a bin decides which wheels and brake
sets leave room at all, and then, with the pairs of a bin sorted by what they add, which of them a footing can be joined
with.  What is joined is looked at one by one, so bins only spare work: nothing is lost by them, nothing is added.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from configopt.choice.checkpoint import checkpoint
from configopt.choice.context import Nodes
from configopt.choice.terms import Term

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
#: Bins of rest mass.
BINS = 64
#: Rest masses that differ by less count as equal [kg], and so do bounds, relative to the ceiling.
SAME = 1e-9
#: Wheels with brake sets that may be listed, and pairs looked at in one go.
PAIRS_AT_MOST, AT_ONCE = 8_000_000, 2_000_000
#: Footings whose bins are computed in one go, and those of which they are kept rather than computed twice.
FOOTINGS_AT_ONCE, KEPT_AT_MOST = 20_000, 100_000


@dataclass(frozen=True)
class PackageList:
    """Packages of a position that a bound leaves open, local to an instance, by rising bound."""

    footing: Integers
    wheel: Integers
    brake: Integers
    bound: Array
    rest: Array
    cell: Integers

    def __len__(self) -> int:
        return len(self.bound)

    def take(self, rows: NDArray[np.int64] | NDArray[np.bool_]) -> PackageList:
        """Some of them."""
        numbers = self.footing[rows], self.wheel[rows], self.brake[rows]
        return PackageList(*numbers, self.bound[rows], self.rest[rows], self.cell[rows])


@dataclass(frozen=True)
class Layers:
    """The nodes of a position with what the aim asks of each: a term over footings, amounts on wheels and brakes."""

    nodes: Nodes
    grid: Array
    allowed: NDArray[np.bool_]
    """Cells of rest mass in which a footing may be used (footings, cells)."""
    term: Term
    wheel: Array
    brake: Array


@dataclass(frozen=True)
class Bins:
    """The range of rest masses of a position [kg], cut evenly."""

    low: float
    width: float

    @staticmethod
    def of(nodes: Nodes) -> Bins:
        """Bins over all that the nodes can weigh."""
        low = float(nodes.wheel_mass.min() + nodes.brake_mass.min())
        high = float(nodes.wheel_mass.max() + nodes.brake_mass.max())
        return Bins(low, max((high - low) / BINS, 1e-6))

    def at(self, rest: Array) -> Integers:
        """Number of the bin of a rest mass."""
        return np.clip(((rest - self.low) / self.width).astype(np.int64), 0, BINS - 1)

    def least(self, layers: Layers, footings: Integers) -> Array:
        """Least value of the footings' term within each bin (footings, bins); infinite where they cannot lie in it."""
        grid, term = layers.grid[footings], layers.term
        base, slope = term.base[footings], term.slope[footings]
        cells = np.where(layers.allowed[footings], 0.0 if term.cells is None else term.cells[footings], np.inf)
        found = np.full((len(footings), BINS), np.inf)
        for number in range(BINS):
            low = np.maximum(grid[:, 0], self.low + number * self.width - SAME)
            high = np.minimum(grid[:, -1], self.low + (number + 1) * self.width + SAME)
            here = np.flatnonzero(low <= high + SAME)
            if here.size:
                line = base[here] + np.minimum(slope[here] * low[here], slope[here] * high[here])
                if cells.shape[1] == 1:
                    step = cells[here, 0]
                else:
                    met = (grid[here, :-1] <= high[here, None] + SAME) & (grid[here, 1:] >= low[here, None] - SAME)
                    step = np.where(met, cells[here], np.inf).min(axis=1)
                found[here, number] = line + step
        return found


@dataclass(frozen=True)
class Blocks:
    """Footings of one class at a time, with the least of each within every bin."""

    layers: Layers
    bins: Bins
    footings: Integers

    def __iter__(self) -> Iterator[tuple[int, Integers, Array]]:
        classes = self.layers.nodes.footing_class
        ordered = self.footings[np.argsort(classes[self.footings], kind="stable")]
        for start in range(0, len(ordered), FOOTINGS_AT_ONCE):
            checkpoint()
            some = ordered[start : start + FOOTINGS_AT_ONCE]
            least = self.bins.least(self.layers, some)
            found, first = np.unique(classes[some], return_index=True)
            for cls, begin, end in zip(found.tolist(), first, [*first[1:], len(some)], strict=True):
                yield cls, some[begin:end], least[begin:end]


def packages_under(layers: Layers, ceiling: float, most: int) -> PackageList | None:
    """Packages with a bound up to the ceiling, in no order; ``None`` if there are more than ``most``."""
    nodes, grid = layers.nodes, layers.grid
    room = ceiling + SAME * max(abs(ceiling), 1.0)
    footings = np.flatnonzero(layers.term.least(grid) + float(layers.wheel.min() + layers.brake.min()) <= room)
    bins = Bins.of(nodes)
    blocks: Iterable[tuple[int, Integers, Array]] = Blocks(layers, bins, footings)
    if len(footings) <= KEPT_AT_MOST:
        blocks = list(blocks)
    pairs = _pairs_under(layers, bins, blocks, room, max(PAIRS_AT_MOST, most))
    if pairs is None:
        return None
    wheels, brakes = pairs
    rest = nodes.wheel_mass[wheels] + nodes.brake_mass[brakes]
    extra = layers.wheel[wheels] + layers.brake[brakes]
    order = np.lexsort((extra, bins.at(rest)))
    wheels, brakes, rest, extra = wheels[order], brakes[order], rest[order], extra[order]
    found: list[tuple[Array, ...]] = []
    size = 0
    for cls, some, least in blocks:
        fits = np.flatnonzero(nodes.candidates.mounts_fit[cls, nodes.wheel_class[wheels]])
        borders = np.searchsorted(bins.at(rest[fits]), np.arange(BINS + 1))
        for number in np.flatnonzero(np.diff(borders)):
            checkpoint()
            here = fits[borders[number] : borders[number + 1]]
            count = np.zeros(len(some), dtype=np.int64)
            able = np.isfinite(least[:, number])
            count[able] = np.searchsorted(extra[here], room - least[able, number], side="right")
            reach = np.flatnonzero(count)
            # So many footings at a time that their pairs stay few.
            ends = np.cumsum(count[reach])
            begin = 0
            while begin < len(reach):
                past = int(ends[begin - 1]) if begin else 0
                end = max(int(np.searchsorted(ends, past + AT_ONCE, side="right")), begin + 1)
                part = reach[begin:end]
                i = np.repeat(some[part], count[part])
                offset = np.repeat(np.cumsum(count[part]) - count[part], count[part])
                j = here[np.arange(len(i)) - offset]
                rows = _joined(layers, ceiling, i, wheels[j], brakes[j], rest[j], extra[j])
                size += len(rows[0])
                if size > most:
                    return None
                found.append(rows)
                begin = end
    if not found:
        zero = np.zeros(0, dtype=np.int64)
        return PackageList(zero, zero, zero, np.zeros(0), np.zeros(0), zero)
    return PackageList(*(np.concatenate(column) for column in zip(*found, strict=True)))


def _joined(
    layers: Layers, ceiling: float, footing: Integers, wheel: Integers, brake: Integers, rest: Array, extra: Array
) -> tuple[Array, ...]:
    """Of joined footings and pairs those under the ceiling: footing, wheel, brake, bound, rest mass and cell."""
    first, last = layers.grid[footing, 0], layers.grid[footing, -1]
    width, cells = last - first, layers.grid.shape[1] - 1
    share = np.divide(rest - first, width, out=np.zeros_like(rest), where=width > 0.0)
    cell = np.clip((share * cells).astype(np.int64), 0, cells - 1)
    value = layers.term.at(footing, rest, cell) + extra
    good = (rest >= first - SAME) & (rest <= last + SAME) & (value <= ceiling) & layers.allowed[footing, cell]
    return footing[good], wheel[good], brake[good], value[good], rest[good], cell[good]


def _pairs_under(
    layers: Layers, bins: Bins, blocks: Iterable[tuple[int, Integers, Array]], room: float, most: int
) -> tuple[Integers, Integers] | None:
    """Wheels with brake sets that go together and leave room with some footing; ``None`` if more than ``most``."""
    nodes = layers.nodes
    fits, seats = nodes.candidates.mounts_fit, nodes.candidates.seats_fit
    floor = np.full((fits.shape[1], BINS), np.inf)
    for cls, _, least in blocks:
        floor[fits[cls]] = np.minimum(floor[fits[cls]], least.min(axis=0))
    onward = np.minimum.accumulate(floor[:, ::-1], axis=1)[:, ::-1]
    wheels, brakes = [], []
    size = 0
    for seat in np.unique(nodes.wheel_seat):
        of_seat = np.flatnonzero(nodes.wheel_seat == seat)
        braked = np.flatnonzero(seats[seat, nodes.brake_class])
        if not braked.size:
            continue
        # A wheel with the lightest brake set, and with what the aim adds least.
        at = bins.at(nodes.wheel_mass[of_seat] + float(nodes.brake_mass[braked].min()))
        value = onward[nodes.wheel_class[of_seat], at] + layers.wheel[of_seat]
        of_seat = of_seat[value + float(layers.brake[braked].min()) <= room]
        if not of_seat.size:
            continue
        best = onward[np.unique(nodes.wheel_class[of_seat])].min(axis=0)
        at = bins.at(nodes.brake_mass[braked] + float(nodes.wheel_mass[of_seat].min()))
        braked = braked[best[at] + layers.brake[braked] + float(layers.wheel[of_seat].min()) <= room]
        step = max(1, AT_ONCE // max(len(braked), 1))
        for start in range(0, len(of_seat), step):
            checkpoint()
            some = of_seat[start : start + step]
            at = bins.at(nodes.wheel_mass[some, None] + nodes.brake_mass[None, braked])
            value = floor[nodes.wheel_class[some, None], at] + layers.wheel[some, None] + layers.brake[None, braked]
            i, j = np.nonzero(value <= room)
            size += len(i)
            if size > most:
                return None
            wheels.append(some[i])
            brakes.append(braked[j])
    zero = np.zeros(0, dtype=np.int64)
    return np.concatenate([zero, *wheels]), np.concatenate([zero, *brakes])
