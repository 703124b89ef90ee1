"""Which figures behind one vehicle's appraisal are uncertain, by how much, and variants of its parts with other values.

Three kinds: figures of the catalog (standard uncertainty as stated, else by the grade of their source), assumed figures
(their ranges), and nothing else: the scenario's own figures are the question and stand as given.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.assumptions import RANGES, Assumed
from configopt.appraisal.packages import Package
from configopt.appraisal.vehicle import POSITIONS, VehicleModel
from configopt.catalog.catalog import Catalog
from configopt.catalog.corrections import figure_of, friction_at, quantity_of_figure
from configopt.catalog.records import UNCERTAINTY_BY_GRADE, Part, Position, Surface, TreadFriction
from configopt.quantities import Figure

Array = NDArray[np.float64]
#: Figures of each family that the physics rests on.  Ratings, ranges of use and prices are not uncertain: they are
#: promises.  Lengths count only where their uncertainty is stated; a grade says nothing about a ruler.
FIGURES: dict[str, tuple[str, ...]] = {
    "tires": (
        "mass",
        "rolling_coefficient",
        "carcass_pressure",
        "pressure_exponent",
        "bead_fit_torque",
        "land_fraction",
        "grip.firm",
        "grip.loose",
        "grip.wet",
        "grip.rock",
        "width",
        "diameter",
        "lug_depth",
        "casing_thickness",
    ),
    "inners": ("mass", "rolling_factor", "equivalent_pressure"),
    "rim-locks": ("mass", "torque"),
    "rims": ("mass", "radial_rigidity", "lateral_rigidity", "torsional_rigidity"),
    "spokes": ("tensile_strength",),
    "disc-wheels": ("mass",),
    "hubs": ("mass",),
    "rotors": ("mass", "convection_factor"),
    "calipers": ("mass",),
    "pads": ("friction", "mass"),
    "surfaces": (
        "total_coefficient",
        "texture_factor",
        "pressure_exponent",
        "friction",
        "soil.exponent",
        "soil.cohesive_modulus",
        "soil.frictional_modulus",
        "soil.cohesion",
        "soil.friction_angle",
        "soil.shear_modulus",
    ),
}
_LENGTHS = ("width", "diameter", "lug_depth", "casing_thickness")
#: Draws beyond so many standard uncertainties are cut: what is known to 8 % is not off by 40 %.
FARTHEST = 3.0
#: Assumed figures that a part's own test replaces, and the field of the tire that holds it.
REPLACED = {"carcass_share": "carcass_pressure", "rolling_exponent": "pressure_exponent"}


@dataclass(frozen=True)
class UncertainFigure:
    """One uncertain figure: ``part`` is the family and id it belongs to, or ``None`` for an assumed figure of all."""

    name: str
    part: tuple[str, str] | None
    value: float
    uncertainty: float
    """Standard uncertainty [SI]; 0 for an assumed figure, which has a range."""
    wording: str

    def at(self, share: Array) -> Array:
        """Values at quantiles between 0 and 1."""
        if self.name in RANGES:
            return RANGES[self.name].at(share)
        from scipy.special import ndtri

        return np.asarray(self.value + self.uncertainty * np.clip(ndtri(share), -FARTHEST, FARTHEST))


def uncertain_figures(model: VehicleModel, packages: dict[Position, Package]) -> list[UncertainFigure]:
    """Every uncertain figure behind a vehicle's appraisal, in a fixed order; a part used twice counts once."""
    found: dict[tuple[Any, str], UncertainFigure] = {}
    for position in POSITIONS:
        for family, part, _count in packages[position].parts(model.vehicle):
            for figure in _of_part(family, part, model.catalog):
                found.setdefault((figure.part, figure.name), figure)
        tire = packages[position].mount.tire
        for name, field in REPLACED.items():
            if getattr(tire, field) is None:
                assumed = RANGES[name]
                key = ("tires", tire.id)
                words = f"{assumed.wording}, {tire.id}"
                found.setdefault((key, name), UncertainFigure(name, key, assumed.middle, 0.0, words))
    used = {ground.surface.id: ground.surface for ground in model.grounds.values()}
    for surface in used.values():
        for figure in _of_part("surfaces", surface, model.catalog):
            found.setdefault((figure.part, figure.name), figure)
    for name, assumed in RANGES.items():
        if name not in REPLACED:
            found[None, name] = UncertainFigure(name, None, assumed.middle, 0.0, assumed.wording)
    return list(found.values())


def known_figure(catalog: Catalog, family: str, part: Part | Surface, name: str) -> UncertainFigure | None:
    """A figure of a part with its standard uncertainty as stated, else by the grade of its source; None: not known.

    A length counts as certain where nothing is stated.
    """
    figure = figure_of(part, name)
    if figure is None:
        return None
    spread = 0.0 if figure.uncertainty is None and name in _LENGTHS else figure.uncertainty
    if spread is None:
        grades = {source.id: source.grade for source in catalog.sources}
        source = part.figure_sources.get(name, part.figure_sources.get(name.partition(".")[0], part.source))
        spread = abs(float(figure)) * UNCERTAINTY_BY_GRADE[grades[source]]
    words = f"{name.replace('.', ' ').replace('_', ' ')} of {part.id}"
    return UncertainFigure(name, (family, part.id), float(figure), spread, words)


def _of_part(family: str, part: Part | Surface, catalog: Catalog) -> list[UncertainFigure]:
    known = (known_figure(catalog, family, part, name) for name in FIGURES.get(family, ()))
    return [figure for figure in known if figure is not None and figure.uncertainty > 0.0]


def _within(record: type[Any], name: str, value: float, fallback: float) -> Figure:
    """A value inside what the record allows; ``fallback`` is the catalog's own, which is.

    A figure above zero keeps a twentieth: from a modulus of 0, which a record may hold beside another, nothing follows.
    """
    low, high = range_of(record, name, fallback)
    return Figure(min(max(value, low), high))


def range_of(record: type[Any], name: str, own: float) -> tuple[float, float]:
    """What a figure may be varied between: what its record allows, and at least a twentieth of its own above zero."""
    accepted = quantity_of_figure(record, name)
    low = -np.inf if accepted is None or accepted.low is None else accepted.low
    high = np.inf if accepted is None or accepted.high is None else accepted.high
    return (min(max(low, 0.05 * own), high) if own > 0.0 else low), high


def changed(part: Any, changes: dict[str, float]) -> Any:
    """A copy of a part with other figures; dotted names reach into its groups."""
    update: dict[str, Any] = {}
    for name, value in changes.items():
        top, _, inner = name.partition(".")
        own = getattr(part, top)
        if inner:
            group = update.get(top, own)
            kept = _within(type(own), inner, value, float(getattr(own, inner)))
            update[top] = group.model_copy(update={inner: kept})
        elif isinstance(own, TreadFriction):
            update[top] = own.model_copy(
                update={
                    tread: _within(type(own), tread, scaled, float(getattr(own, tread)))
                    for tread, scaled in friction_at(own, value).items()
                }
            )
        else:
            update[top] = _within(type(part), top, value, value if own is None else float(own))
    return part.model_copy(update=update)


def variants(part: Any, key: tuple[str, str], figures: Sequence[UncertainFigure], values: Array) -> tuple[Any, ...]:
    """A part once per row of values (rows, figures), with the row's figures; itself where none of them is its own."""
    columns = [(i, figure.name) for i, figure in enumerate(figures) if figure.part == key and figure.name not in RANGES]
    if part is None or not columns:
        return (part,) * len(values)
    made: dict[bytes, Any] = {}
    rows = []
    for row in values[:, [i for i, _ in columns]]:
        mark = row.tobytes()
        if mark not in made:
            made[mark] = changed(part, {name: float(value) for (_, name), value in zip(columns, row, strict=True)})
        rows.append(made[mark])
    return tuple(rows)


def assumed_rows(figures: Sequence[UncertainFigure], values: Array, tire: str | None = None) -> Assumed:
    """Assumed figures, one per row; those of a tire's own where a tire is named."""
    found = {}
    for i, figure in enumerate(figures):
        if figure.name in RANGES and figure.part in (None, ("tires", tire)):
            found[figure.name] = values[:, i]
    return replace(Assumed(), **{f.name: found[f.name] for f in fields(Assumed) if f.name in found})
