"""Corrections: a reviewed layer of figures over a catalog, learned from tests.

The catalog itself is never rewritten.  A file of corrections names single figures of single parts or surfaces, each
with its new value and standard uncertainty and with what the catalog said when it was learned; a scenario that names
the file computes with the catalog as corrected.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from typing import Annotated, Any, Literal, get_args

from pydantic import Field
from pydantic_core import PydanticCustomError

from configopt.catalog.catalog import Catalog
from configopt.catalog.records import FAMILIES, Day, Identifier, Record, Source, TreadFriction
from configopt.errors import Finding
from configopt.files.yaml_source import Document, KeyPath
from configopt.quantities import Figure, Quantity

CorrectedFamily = Literal[
    "tires", "inners", "rim-locks", "rims", "disc-wheels", "hubs", "rotors", "calipers", "pads", "surfaces"
]
#: Figures that may be corrected; dots reach into groups.  All others are ratings, promises or what a ruler says.
CORRECTABLE: dict[str, tuple[str, ...]] = {
    "tires": (
        "mass",
        "rolling_coefficient",
        "carcass_pressure",
        "pressure_exponent",
        "grip.firm",
        "grip.loose",
        "grip.wet",
        "grip.rock",
        "tread_life",
    ),
    "inners": ("mass", "rolling_factor", "equivalent_pressure"),
    "rim-locks": ("mass",),
    "rims": ("mass",),
    "disc-wheels": ("mass",),
    "hubs": ("mass",),
    "rotors": ("mass", "convection_factor"),
    "calipers": ("mass",),
    "pads": ("friction", "mass"),
    "surfaces": (
        "total_coefficient",
        "texture_factor",
        "friction",
        "cone_index",
        "soil.exponent",
        "soil.cohesive_modulus",
        "soil.frictional_modulus",
        "soil.cohesion",
        "soil.friction_angle",
        "soil.shear_modulus",
    ),
}
#: Figures that a part may lack and a test may add.
_ADDED = frozenset({"carcass_pressure", "pressure_exponent", "convection_factor", "tread_life", "cone_index"})
#: Source under which corrected figures go.
SOURCE = "corrections"


class Correction(Record):
    """One figure of one part or surface."""

    family: CorrectedFamily
    part: Identifier
    figure: str
    """Name of the figure as in the catalog; dots reach into groups: grip.loose, soil.exponent."""
    value: str | float | int
    """New figure with its standard uncertainty: 0.0203 +- 0.0004."""
    instead_of: str | float | int | None = None
    """What the catalog said, or the model assumed, when this was learned."""
    learned_from: str = ""
    note: str = ""


class CorrectionsFile(Record):
    """A file of corrections."""

    day: Day
    """Day on which it was written."""
    corrections: Annotated[list[Correction], Field(max_length=2_000)]
    note: str = ""


def quantity_of_figure(record: type[Record], name: str) -> Quantity | None:
    """What a figure of a record accepts; dots reach into its groups.  None where there is no such figure."""
    top, _, inner = name.partition(".")
    field = record.model_fields.get(top)
    waiting: list[Any] = [] if field is None else [*field.metadata, field.annotation]
    while waiting:
        item = waiting.pop(0)
        if isinstance(item, Quantity) and not inner:
            return item
        if isinstance(item, type) and issubclass(item, Record):
            # Friction stands for all treads in proportion; the figure is that of the medium one.
            return quantity_of_figure(item, inner or "medium")
        waiting += [*getattr(item, "__metadata__", ()), *get_args(item)]
    return None


def figure_of(part: Any, name: str) -> Figure | None:
    """A figure of a part or surface as it stands in the catalog, friction of a surface as that of the medium tread."""
    value: Any = part
    for step in name.split("."):
        value = getattr(value, step) if value is not None else None
    value = getattr(value, "medium", value)
    return None if value is None else value if isinstance(value, Figure) else Figure(value)


def friction_at(own: TreadFriction, medium: float) -> dict[str, float]:
    """Friction of a surface by tread, all in proportion, with another value for the medium tread."""
    return {tread: float(getattr(own, tread)) * medium / float(own.medium) for tread in type(own).model_fields}


def with_figure(part: Any, name: str, value: Figure) -> Any:
    """A copy of a part or surface with another figure, marked as one of :data:`SOURCE`."""
    top, _, inner = name.partition(".")
    own = getattr(part, top)
    new: Any = value
    if inner:
        new = own.model_copy(update={inner: value})
    elif isinstance(own, TreadFriction):
        spread = value.uncertainty
        relative = None if spread is None else spread / abs(float(value))
        new = own.model_copy(
            update={
                tread: Figure(scaled, None if relative is None else relative * abs(scaled))
                for tread, scaled in friction_at(own, float(value)).items()
            }
        )
    return part.model_copy(update={top: new, "figure_sources": {**part.figure_sources, top: SOURCE}})


@dataclass(frozen=True)
class Replaced:
    """One figure of one part as the catalog says and as corrected."""

    part: str
    figure: str
    before: Figure | None
    after: Figure


def replaced(before: Sequence[Any], after: Sequence[Any], family: str) -> list[Replaced]:
    """Which figures of a family's parts a layer of corrections replaces, part by part.

    ``before`` and ``after`` are the parts as the catalog says and as corrected, in the same order.
    """
    found = []
    for own, layered in zip(before, after, strict=True):
        for name in CORRECTABLE.get(family, ()):
            was, now = figure_of(own, name), figure_of(layered, name)
            if now is not None and (was is None or (was, was.uncertainty) != (now, now.uncertainty)):
                found.append(Replaced(own.id, name, was, now))
    return found


def corrected(catalog: Catalog, document: Document, file: CorrectionsFile) -> tuple[Catalog, list[Finding]]:
    """A catalog with its figures corrected.

    Parameters
    ----------
    catalog
        As the files of its folder say.
    document, file
        The file of corrections, as text with positions and as records.

    Returns
    -------
    tuple
        The catalog; its ``sha256`` is that of catalog and corrections.  And what is wrong: parts or figures that are
        not there, values out of range, a figure corrected twice (errors), and figures that the catalog has changed
        since (warnings; the correction counts all the same).
    """
    findings: list[Finding] = []
    changes: dict[str, dict[int, Any]] = {}
    numbers = {family: {part.id: i for i, part in enumerate(catalog.family(family))} for family in CORRECTABLE}
    seen: set[tuple[str, str, str]] = set()
    for index, one in enumerate(file.corrections):
        at: KeyPath = ("corrections", index)
        number = numbers[one.family].get(one.part)
        if number is None:
            hint = _near(one.part, numbers[one.family]) or f"see configopt parts {one.family}"
            message = f'there is no "{one.part}" in {one.family}'
            findings.append(document.finding((*at, "part"), "REFERENCE", message, hint))
            continue
        if one.figure not in CORRECTABLE[one.family]:
            hint = _near(one.figure, CORRECTABLE[one.family]) or f"one of {', '.join(CORRECTABLE[one.family])}"
            message = f'"{one.figure}" of {one.family} cannot be corrected by a test'
            findings.append(document.finding((*at, "figure"), "CORRECTION", message, hint))
            continue
        key = (one.family, one.part, one.figure)
        if key in seen:
            message = f"{one.figure} of {one.part} is corrected twice"
            findings.append(document.finding(at, "CORRECTION", message, "keep one of them"))
            continue
        seen.add(key)
        own = catalog.family(one.family)[number]
        part = changes.setdefault(one.family, {}).get(number, own)
        found = _read(document, at, one, own)
        if isinstance(found, Finding):
            findings.append(found)
            continue
        value, moved = found
        if moved is not None:
            findings.append(moved)
        changes[one.family][number] = with_figure(part, one.figure, value)
    findings += _taken(document, catalog)
    digest = hashlib.sha256(f"{catalog.sha256} {document.sha256}".encode()).hexdigest()
    title = f"corrections learned from tests, {document.path.rpartition('/')[2]}"
    source = Source(id=SOURCE, title=title, grade="measured", date=file.day)
    layered = catalog.with_parts({family: parts for family, parts in changes.items() if parts})
    return replace(layered, sha256=digest, sources=(*catalog.sources, source)), findings


def _read(document: Document, at: KeyPath, one: Correction, own: Any) -> tuple[Figure, Finding | None] | Finding:
    """The new figure, with a warning where the catalog's own has changed since it was learned."""
    accepted = quantity_of_figure(FAMILIES[one.family], one.figure)
    if accepted is None or (figure_of(own, one.figure) is None and one.figure not in _ADDED):
        message = f"{one.part} has no {one.figure}"
        return document.finding((*at, "figure"), "CORRECTION", message, "correct the name of the figure")
    try:
        value = accepted.read(one.value)
    except PydanticCustomError as error:
        context = error.context or {}
        return document.finding((*at, "value"), "CORRECTION", str(context["message"]), str(context["fix"]))
    if value.uncertainty is None:
        fix = f'write for example "{one.value} +- 3 %"'
        return document.finding((*at, "value"), "CORRECTION", "a correction needs its standard uncertainty", fix)
    if one.instead_of is None:
        return value, None
    try:
        before = accepted.read(one.instead_of)
    except PydanticCustomError as error:
        context = error.context or {}
        return document.finding((*at, "instead_of"), "CORRECTION", str(context["message"]), str(context["fix"]))
    now = figure_of(own, one.figure)
    # Six digits are what is written of the figure.
    if now is not None and abs(float(now) - float(before)) > 1e-5 * abs(float(now)):
        message = f"the catalog's {one.figure} of {one.part} is another one now than when this was learned"
        moved = document.finding(
            (*at, "instead_of"), "CORRECTION-STALE", message, "learn again, or remove it", severity="warning"
        )
        return value, moved
    return value, None


def _near(name: str, known: Iterable[str]) -> str:
    close = get_close_matches(name, list(known), n=1, cutoff=0.7)
    return f'did you mean "{close[0]}"?' if close else ""


def _taken(document: Document, catalog: Catalog) -> list[Finding]:
    if all(source.id != SOURCE for source in catalog.sources):
        return []
    message = f'the catalog has a source "{SOURCE}" of its own'
    return [document.finding((), "CORRECTION", message, "rename it in sources.yaml")]
