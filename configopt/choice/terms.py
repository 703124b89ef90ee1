"""Lower bounds that hold over a range of masses: what the optimisation model knows of the full model.

A term bounds a quantity of one position from below for every footing, as a function of the *rest mass* r of the axle
(wheels and brakes; with the footing's own mass this is the package mass).  It has an affine part, exact or a chord of a
concave function, and a staircase over cells of r for everything else.  A cell's value takes every argument at its most
favourable end, by the direction each physical piece declares; switches need no care because the pieces stay monotone
across them.  No curvature is assumed anywhere.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from configopt.catalog.records import Position

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Term:
    """Lower bound base + slope r + cells[k] for r in cell k.

    Shapes: ``base`` and ``slope`` (footings,), ``cells`` (footings, cells) or ``None`` for none.
    """

    base: Array
    slope: Array
    cells: Array | None = None

    def __add__(self, other: Term) -> Term:
        cells = self.cells
        if other.cells is not None:
            cells = other.cells if cells is None else cells + other.cells
        return Term(self.base + other.base, self.slope + other.slope, cells)

    def scaled(self, factor: float) -> Term:
        """The term times a factor >= 0."""
        return Term(self.base * factor, self.slope * factor, None if self.cells is None else self.cells * factor)

    def affine(self, grid: Array) -> tuple[Array, Array]:
        """One affine lower bound (constant, slope) per footing, valid on the whole grid range."""
        if self.cells is None:
            return self.base, self.slope
        points = np.concatenate(
            [self.cells[:, :1], np.minimum(self.cells[:, 1:], self.cells[:, :-1]), self.cells[:, -1:]], axis=1
        )
        width = grid[:, -1] - grid[:, 0]
        slope = np.divide(points[:, -1] - points[:, 0], width, out=np.zeros_like(width), where=width > 0.0)
        line = points[:, :1] + slope[:, None] * (grid - grid[:, :1])
        drop = np.min(points - line, axis=1)
        constant = points[:, 0] + drop - slope * grid[:, 0]
        return self.base + constant, self.slope + slope

    def at(self, footing: NDArray[np.int64], rest: Array, cell: NDArray[np.int64]) -> Array:
        """Value for footings with a rest mass each, whose cell is known."""
        value = self.base[footing] + self.slope[footing] * rest
        return value if self.cells is None else value + self.cells[footing, cell]

    def least(self, grid: Array) -> Array:
        """Least value per footing over the grid range."""
        if self.cells is None:
            return np.asarray(self.base + np.minimum(self.slope * grid[:, 0], self.slope * grid[:, -1]))
        ends = self.slope[:, None] * grid
        lowest = np.minimum(ends[:, 1:], ends[:, :-1]) + self.cells
        return np.asarray(self.base + lowest.min(axis=1))

    def greatest(self, grid: Array) -> float:
        """Largest value of the bound over footings and the grid range."""
        ends = np.maximum(self.slope[:, None] * grid[:, :-1], self.slope[:, None] * grid[:, 1:])
        return float((self.base[:, None] + ends + (self.cells if self.cells is not None else 0.0)).max())

    def take(self, index: NDArray[np.int64]) -> Term:
        """Some footings."""
        return Term(self.base[index], self.slope[index], None if self.cells is None else self.cells[index])


def chord(grid: Array, low: Array, high: Array) -> Term:
    """The straight line through values at both ends of the grid range, as a term."""
    width = grid[:, -1] - grid[:, 0]
    slope = np.divide(high - low, width, out=np.zeros_like(width), where=width > 0.0)
    return Term(low - slope * grid[:, 0], slope)


def constant(values: Array) -> Term:
    """A term that does not depend on the rest mass."""
    return Term(values, np.zeros_like(values))


def staircase(cells: Array) -> Term:
    """A term that is only a staircase."""
    zero = np.zeros(cells.shape[0])
    return Term(zero, zero, cells)


@dataclass(frozen=True)
class Row:
    """One linear row over the choice: sum of all parts <= ``rhs``; every part is a lower bound of the full model.

    ``wheel`` and ``brake`` hold one coefficient per node of a position, ``drive`` one per final drive.  ``limit`` is
    empty where the row is for an aim that must not be exceeded.
    ``unit`` is that of the row.
    """

    name: str
    limit: str
    unit: str
    terms: dict[Position, Term]
    wheel: dict[Position, Array]
    brake: dict[Position, Array]
    drive: Array | None
    rhs: float
    scale: float = 1.0
    """Size of what is compared, so that the slack the solver gets is relative."""
    modelled: bool = True
    """Whether the model holds this row; others only drop nodes, where the model has a sharper form."""

    def layer_parts(self, position: Position, grid: Array, sizes: tuple[int, int, int]) -> tuple[Array, Array, Array]:
        """Least part of every footing, wheel and brake node of a position."""
        footing = self.terms[position].least(grid) if position in self.terms else np.zeros(sizes[0])
        wheel = self.wheel.get(position, np.zeros(sizes[1]))
        brake = self.brake.get(position, np.zeros(sizes[2]))
        return footing, wheel, brake


#: A row may be exceeded by this share of its scale before anything is dropped for it; more than rounding can do.
ROW_SLACK = 1e-6


@dataclass(frozen=True)
class BadPairs:
    """Pairs of nodes that cannot go together: those where what the right one asks for exceeds what the left one has."""

    name: str
    left: str
    right: str
    has: Array
    """(left nodes,)"""
    needs: Array
    """(right nodes,)"""

    def forbidden(self, left: NDArray[np.int64], right: NDArray[np.int64]) -> NDArray[np.bool_]:
        """Which pairs of nodes cannot go together."""
        return np.asarray(self.needs[right] > self.has[left])

    def groups(self) -> Iterator[tuple[NDArray[np.int64], NDArray[np.int64]]]:
        """Left nodes that forbid the same right nodes, with these."""
        order = np.argsort(self.needs, kind="stable")
        # A left node forbids the right nodes with the largest needs; how many they are tells which.
        first = np.searchsorted(self.needs[order], self.has, side="right")
        for number in np.unique(first):
            if number < len(order):
                yield np.flatnonzero(first == number), np.sort(order[number:])
