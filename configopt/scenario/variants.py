"""Variants of a scenario as a file states them: named ones, and grids over some of its values.

A variant sets fields of the scenario by their address, such as ``vehicles.warden-two-wheeler.battery_energy``.  Every
setting keeps the line of the variants file on which it stands, so that whatever is wrong with it is found there.
"""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any

from pydantic import Field, model_validator

from configopt.catalog.records import Identifier, Record
from configopt.errors import Finding, FindingsError
from configopt.files.validation import collect_items, problem, validate
from configopt.files.yaml_source import Document, KeyPath, load_yaml

#: Variants that one file may make, grids written out.
MOST_VARIANTS = 10_000
#: Grids of one file.
MOST_GRIDS = 100
#: Values of one field in a grid.
MOST_VALUES = 1_000
#: What files of variants are called.
ENDING = ".variants.yaml"
#: Beginnings of addresses that are no fields of the scenario: a price factor, a figure of a part, a part that is gone.
PRICES, PARTS, WITHDRAWN = "prices", "parts", "withdrawn"

Factor = Annotated[float, Field(gt=0.0, le=1000.0)]
Value = str | int | float | bool | None
_NUMBER = re.compile(r"\s*([-+]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d+)?)\s*(.*?)\s*")


class Variant(Record):
    """One variant: what is different from the scenario."""

    name: Identifier
    why: str = ""
    """What it stands for, in words."""
    changes: Annotated[dict[str, Value | dict[str, Value]], Field(alias="set")] = Field(default_factory=dict)
    """Fields of the scenario by their address, each with its value here; a field set to null is dropped."""
    withdrawn: list[Identifier] = Field(default_factory=list)
    """Parts that cannot be bought, by id."""
    prices: dict[Identifier, Factor] = Field(default_factory=dict)
    """Parts by id, each with a factor on all its unit prices."""
    parts: dict[Identifier, dict[str, Any]] = Field(default_factory=dict)
    """Parts by id, each with figures of its catalog entry that are different."""

    @model_validator(mode="after")
    def _something(self) -> Variant:
        if not (self.changes or self.withdrawn or self.prices or self.parts):
            raise problem(
                f"variant {self.name} changes nothing", "state set, withdrawn, prices or parts, or remove it", at="name"
            )
        return self


class Vary(Record):
    """One field of a grid, with its values."""

    field: str
    """Address of a field; prices.PART for a factor on the prices of a part."""
    values: Annotated[list[Value], Field(min_length=1, max_length=MOST_VALUES)] | None = None
    start: Annotated[str | float | int | None, Field(alias="from")] = None
    """First of equal steps."""
    to: str | float | int | None = None
    """Last of equal steps."""
    steps: Annotated[int, Field(ge=2, le=MOST_VALUES)] | None = None
    """Values from first to last, both counted."""

    @model_validator(mode="after")
    def _one_way(self) -> Vary:
        range_of = (self.start, self.to, self.steps)
        if (self.values is None) == (None in range_of) or (self.values is not None and range_of != (None, None, None)):
            raise problem("give either values, or from, to and steps", "state one of both", at="field")
        if self.values is None:
            low, high = measured(self.start), measured(self.to)
            if low is None or high is None or low[1] != high[1]:
                raise problem(
                    f'"{self.start}" and "{self.to}" are no two numbers with the same unit',
                    "write both with one unit, such as from: 1200 mm and to: 1400 mm",
                    at="to",
                )
            if low[0] == high[0]:
                raise problem("from and to are the same", "give a range", at="to")
        return self

    def listed(self) -> list[Value]:
        """The values, steps written out."""
        if self.values is not None:
            return list(self.values)
        low, high = measured(self.start), measured(self.to)
        assert low is not None
        assert high is not None
        assert self.steps is not None
        span = high[0] - low[0]
        return [written(low[0] + span * step / (self.steps - 1), low[1]) for step in range(self.steps)]


class Grid(Record):
    """Variants of all combinations of some fields' values."""

    name: Identifier
    why: str = ""
    vary: Annotated[list[Vary], Field(min_length=1, max_length=6)]

    @model_validator(mode="after")
    def _sizes(self) -> Grid:
        if self.size > MOST_VARIANTS:
            raise problem(
                f"the grid makes {self.size:,} variants, allowed are {MOST_VARIANTS:,}", "take fewer values", at="vary"
            )
        fields = [vary.field for vary in self.vary]
        if len(set(fields)) < len(fields):
            raise problem("a field is varied twice", "keep one of them", at="vary")
        return self

    @property
    def size(self) -> int:
        """Number of variants."""
        return math.prod(vary.steps or len(vary.values or ()) for vary in self.vary)


class VariantsFile(Record):
    """Variants of a scenario."""

    title: str
    note: str = ""
    variants: Annotated[list[Variant], Field(max_length=MOST_VARIANTS)] = Field(default_factory=list)
    grids: Annotated[list[Grid], Field(max_length=MOST_GRIDS)] = Field(default_factory=list)


class _Head(Record):
    """The file with its entries unread: a mistake in one must not hide the others."""

    title: str
    note: str = ""
    variants: Annotated[list[Any], Field(max_length=MOST_VARIANTS)] = Field(default_factory=list)
    grids: Annotated[list[Any], Field(max_length=MOST_GRIDS)] = Field(default_factory=list)

    @model_validator(mode="after")
    def _something(self) -> _Head:
        if not self.variants and not self.grids:
            raise problem("there are neither variants nor grids", "state at least one", at="title")
        return self


@dataclass(frozen=True)
class Setting:
    """One field with its value, and where in the variants file it stands."""

    field: str
    value: Any
    line: int = 1
    column: int = 1


@dataclass(frozen=True)
class Planned:
    """One variant as it is to be looked at.

    ``grid`` is the grid it comes from and ``values`` are its fields' values there; ``findings`` are the mistakes of an
    entry that could not be read.
    """

    name: str
    why: str = ""
    settings: tuple[Setting, ...] = ()
    grid: str | None = None
    values: tuple[tuple[str, Any], ...] = ()
    line: int = 1
    column: int = 1
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True)
class Variants:
    """A file of variants: its sound entries by number, and what is wrong with the others."""

    document: Document
    title: str
    variants: dict[int, Variant]
    grids: dict[int, Grid]
    wrong: dict[KeyPath, tuple[Finding, ...]]
    """Findings of each entry that could not be read, by its path."""

    @property
    def path(self) -> str:
        """The file."""
        return self.document.path

    @property
    def findings(self) -> list[Finding]:
        """All that is wrong with entries."""
        return sorted(finding for found in self.wrong.values() for finding in found)

    def __len__(self) -> int:
        """Number of variants, one for an entry that could not be read."""
        return len(self.wrong) + len(self.variants) + sum(grid.size for grid in self.grids.values())

    def planned(self) -> Iterator[Planned]:
        """Every variant in file order, made when it is asked for."""
        for kind, count in (("variants", self._count("variants")), ("grids", self._count("grids"))):
            for number in range(count):
                at: KeyPath = (kind, number)
                if at in self.wrong:
                    line, column = self.document.position(at)
                    name = self._name(kind, number)
                    yield Planned(name, line=line, column=column, findings=self.wrong[at])
                elif kind == "variants":
                    yield self._variant(at, self.variants[number])
                else:
                    yield from self._grid(at, self.grids[number])

    def _count(self, kind: str) -> int:
        entries = self.document.data.get(kind)
        return len(entries) if isinstance(entries, list) else 0

    def _name(self, kind: str, number: int) -> str:
        entry = self.document.data[kind][number]
        name = entry.get("name") if isinstance(entry, dict) else None
        return str(name) if isinstance(name, str) else f"{kind.removesuffix('s')} no. {number + 1}"

    def _variant(self, at: KeyPath, variant: Variant) -> Planned:
        settings = [self._setting(field, value, (*at, "set", field)) for field, value in variant.changes.items()]
        for number, part in enumerate(variant.withdrawn):
            settings.append(self._setting(f"{WITHDRAWN}.{part}", True, (*at, "withdrawn", number)))
        for part, figures in variant.parts.items():
            settings += [
                self._setting(f"{PARTS}.{part}.{figure}", value, (*at, "parts", part, figure))
                for figure, value in figures.items()
            ]
        for part, factor in variant.prices.items():
            settings.append(self._setting(f"{PRICES}.{part}", factor, (*at, "prices", part)))
        line, column = self.document.position((*at, "name"))
        return Planned(variant.name, variant.why, tuple(settings), line=line, column=column)

    def _grid(self, at: KeyPath, grid: Grid) -> Iterator[Planned]:
        line, column = self.document.position((*at, "name"))
        fields = [vary.field for vary in grid.vary]
        places = [self._places((*at, "vary", number), vary) for number, vary in enumerate(grid.vary)]
        for number, combined in enumerate(itertools.product(*places), start=1):
            settings = tuple(
                Setting(field, value, *place) for field, (value, place) in zip(fields, combined, strict=True)
            )
            values = tuple((one.field, one.value) for one in settings)
            yield Planned(f"{grid.name}-{number}", grid.why, settings, grid.name, values, line, column)

    def _places(self, at: KeyPath, vary: Vary) -> list[tuple[Value, tuple[int, int]]]:
        """Values of a field of a grid, each with its place."""
        if vary.values is None:
            return [(value, self.document.position((*at, "field"))) for value in vary.listed()]
        return [(value, self.document.position((*at, "values", number))) for number, value in enumerate(vary.listed())]

    def _setting(self, field: str, value: Any, at: KeyPath) -> Setting:
        return Setting(field, value, *self.document.key_position(at))


def load_variants(path: str | Path) -> Variants:
    """Read a file of variants.

    Parameters
    ----------
    path
        The file.

    Returns
    -------
    Variants
        With what is wrong with single entries inside.

    Raises
    ------
    FindingsError
        If the file as a whole cannot be read.
    """
    return read_variants(load_yaml(path))


def read_variants(document: Document) -> Variants:
    """The same from a loaded document."""
    head = validate(document, _Head)
    variants, wrong = collect_items(document, "variants", Variant) if "variants" in document.data else ({}, [])
    grids, more = collect_items(document, "grids", Grid) if "grids" in document.data else ({}, [])
    by_entry: dict[KeyPath, list[Finding]] = {}
    starts = {
        document.position((kind, number)): (kind, number)
        for kind, entries in (("variants", head.variants), ("grids", head.grids))
        for number in range(len(entries))
    }
    places = sorted(starts)
    for finding in [*wrong, *more]:
        before = [place for place in places if place <= (finding.line, finding.column)]
        by_entry.setdefault(starts[before[-1]] if before else starts[places[0]], []).append(finding)
    _refuse_repeated(document, variants, grids, by_entry)
    size = len(variants) + sum(grid.size for grid in grids.values())
    if size > MOST_VARIANTS:
        message = f"the file makes {size:,} variants, allowed are {MOST_VARIANTS:,}"
        raise FindingsError([document.finding(("grids",), "RANGE", message, "take fewer values")])
    return Variants(document, head.title, variants, grids, {at: tuple(found) for at, found in by_entry.items()})


def _refuse_repeated(
    document: Document,
    variants: dict[int, Variant],
    grids: dict[int, Grid],
    by_entry: dict[KeyPath, list[Finding]],
) -> None:
    """Move entries whose name, or that of one of their variants, is taken, to what is wrong."""
    taken: dict[str, str] = {"as-it-stands": "the scenario itself"}
    kinds: tuple[tuple[str, Any], ...] = (("variants", variants), ("grids", grids))
    for kind, entries in kinds:
        for number, entry in sorted(entries.items()):
            size = entry.size if isinstance(entry, Grid) else 0
            names = [entry.name, *(f"{entry.name}-{count}" for count in range(1, size + 1))]
            twice = next((name for name in names if name in taken), None)
            if twice is not None:
                message = f'the name "{twice}" is taken by {taken[twice]}'
                finding = document.finding((kind, number, "name"), "DUPLICATE-ID", message, "give it another name")
                by_entry.setdefault((kind, number), []).append(finding)
                del entries[number]
                continue
            line = document.position((kind, number, "name"))[0]
            taken.update(dict.fromkeys(names, f"line {line}"))


def measured(value: Any) -> tuple[float, str] | None:
    """Number and unit of a value as written; ``None`` where it is no number.

    >>> measured("1290 mm"), measured(0.8), measured("wet-peat"), measured(True)
    ((1290.0, 'mm'), (0.8, ''), None, None)
    """
    if isinstance(value, bool) or value is None:
        return None
    if isinstance(value, int | float):
        return float(value), ""
    found = _NUMBER.fullmatch(value) if isinstance(value, str) else None
    return (float(found[1]), found[2]) if found else None


def written(number: float, unit: str) -> str | float:
    """A number with its unit as a file has it.

    >>> written(1290.0, "mm"), written(0.8, "")
    ('1290 mm', 0.8)
    """
    text = f"{number:.15g}"
    return f"{text} {unit}" if unit else float(text)


def one_field(grid: Grid) -> tuple[str, Sequence[Value]] | None:
    """Field and values of a grid over one field whose values are numbers of one unit, else ``None``."""
    if len(grid.vary) != 1:
        return None
    values = grid.vary[0].listed()
    found = [measured(value) for value in values]
    units = {one[1] for one in found if one is not None}
    return (grid.vary[0].field, values) if None not in found and len(units) == 1 and len(values) > 1 else None
