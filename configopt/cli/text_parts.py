"""Columns of the parts tables, family by family."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from configopt.catalog.corrections import Replaced, quantity_of_figure
from configopt.catalog.records import FAMILIES as RECORDS
from configopt.cli.words import fixed
from configopt.quantities import Figure, format_quantity, to_unit


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its heading, what stands in it, and on which side."""

    head: str
    cell: Callable[[Any], str]
    right: bool = True


def part_cells(family: str, part: Any) -> tuple[str, ...]:
    """The cells of one part: its id, the columns of its family, and its status where it is not simply active."""
    status = getattr(part, "status", "active")
    return (part.id, *(column.cell(part) for column in COLUMNS[family]), "" if status == "active" else status)


def replaced_cells(family: str, one: Replaced) -> tuple[str, str, str, str]:
    """The cells of a corrected figure: part, figure, what the catalog says, what counts instead."""
    # Imported here: it brings the model along, which a plain list of parts has no need of.
    from configopt.learning.layer import written_figure

    accepted = quantity_of_figure(RECORDS[family], one.figure)
    assert accepted is not None

    def shown(figure: Figure | None) -> str:
        if figure is None:
            return "-"
        return written_figure(float(figure), figure.uncertainty, accepted.dimension, one.figure)

    return one.part, one.figure, shown(one.before), shown(one.after)


def _mass(part: Any) -> str:
    return format_quantity(part.mass, "mass")


def _price(part: Any) -> str:
    return fixed(float(part.prices[0].unit_price), 2)


def _millimetres(key: str) -> Callable[[Any], str]:
    return lambda part: f"{to_unit(getattr(part, key), 'mm'):.4g}"


def _range(key: str, unit: str, dimension: str) -> Callable[[Any], str]:
    def cell(part: Any) -> str:
        low, high = (to_unit(getattr(part, f"{key}_{end}"), unit, dimension) for end in ("min", "max"))
        return f"{low:.4g}-{high:.4g}"

    return cell


def _text(key: str) -> Callable[[Any], str]:
    def cell(part: Any) -> str:
        value = getattr(part, key)
        return "-" if value is None else str(value)

    return cell


_MASS, _PRICE = Column("mass", _mass), Column("price", _price)
_KILOGRAMS = Column("kg", lambda part: fixed(float(part.mass), 2))

#: Columns after the id.
COLUMNS: dict[str, tuple[Column, ...]] = {
    "tires": (
        Column("size", _text("size"), right=False),
        Column("tread", _text("tread"), right=False),
        _KILOGRAMS,
        Column("kPa", _range("pressure", "kPa", "pressure")),
        Column("roll", lambda part: fixed(float(part.rolling_coefficient), 4)),
        _PRICE,
    ),
    "inners": (
        Column("kind", _text("kind"), right=False),
        Column("tire mm", _range("section_width", "mm", "length")),
        _MASS,
        _PRICE,
    ),
    "rim-locks": (
        Column("rim mm", _range("rim_width", "mm", "length")),
        Column("torque", lambda part: format_quantity(part.torque, "torque")),
        _MASS,
        _PRICE,
    ),
    "rims": (
        Column("size", _text("size"), right=False),
        Column("material", _text("material"), right=False),
        Column("holes", _text("holes")),
        Column("locks", _text("lock_holes")),
        _KILOGRAMS,
        _PRICE,
    ),
    "spokes": (
        Column("end mm", _millimetres("end_diameter")),
        Column("middle mm", _millimetres("middle_diameter")),
        Column("length mm", _range("length", "mm", "length")),
        Column("crossings", lambda part: ", ".join(map(str, part.crossings)), right=False),
        _PRICE,
    ),
    "hubs": (
        Column("end", _text("position"), right=False),
        Column("axle", _millimetres("axle_diameter")),
        Column("width", _millimetres("width")),
        Column("seat", lambda part: str(part.studs or part.holes), right=False),
        Column("rotor", _text("rotor_pattern"), right=False),
        _MASS,
        _PRICE,
    ),
    "disc-wheels": (
        Column("size", _text("size"), right=False),
        Column("studs", _text("studs"), right=False),
        Column("offset mm", _millimetres("offset")),
        _MASS,
        _PRICE,
    ),
    "rotors": (
        Column("mm", _millimetres("diameter")),
        Column("thick mm", _millimetres("thickness")),
        Column("pattern", _text("pattern"), right=False),
        Column("steel", _text("steel"), right=False),
        _MASS,
        _PRICE,
    ),
    "calipers": (
        Column("mount", _text("mount"), right=False),
        Column("pad", _text("pad_shape"), right=False),
        Column("rotor mm", _range("rotor_diameter", "mm", "length")),
        Column("thick mm", _range("rotor_thickness", "mm", "length")),
        _MASS,
        _PRICE,
    ),
    "pads": (
        Column("shape", _text("shape"), right=False),
        Column("compound", _text("compound"), right=False),
        Column("friction", lambda part: fixed(float(part.friction), 2)),
        _MASS,
        _PRICE,
    ),
    "surfaces": (
        Column("name", _text("name"), right=False),
        Column("group", _text("group"), right=False),
        Column("ground", lambda part: "soft" if part.soil is not None else "firm", right=False),
        Column("grip", lambda part: fixed(float(part.friction.medium), 2)),
    ),
}
