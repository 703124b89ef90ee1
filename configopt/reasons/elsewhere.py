"""The candidates of a vehicle with one uncertain figure at another value, on which choices keep their numbers."""

from __future__ import annotations

import copy
from collections import Counter
from dataclasses import replace
from typing import Any

import numpy as np

from configopt.appraisal.assumptions import Assumed
from configopt.appraisal.tables import (
    PositionTables,
    brake_table,
    carcass_pressure,
    footing_table,
    riding_pressure,
    wheel_table,
)
from configopt.appraisal.uncertain import UncertainFigure, changed
from configopt.appraisal.vehicle import POSITIONS, VehicleModel
from configopt.catalog.catalog import Catalog
from configopt.catalog.corrections import quantity_of_figure
from configopt.choice.audit import Candidates
from configopt.fit.candidates import PositionCandidates
from configopt.quantities import DIMENSIONS, Figure, to_unit

#: Where the parts of a family stand in the layers of a position.
COLUMNS = {
    "tires": ("mounts", "tire"),
    "inners": ("mounts", "inner"),
    "rim-locks": ("mounts", "lock"),
    "rims": ("wheels", "rim"),
    "spokes": ("wheels", "spokes"),
    "disc-wheels": ("wheels", "disc_wheel"),
    "hubs": ("wheels", "hub"),
    "rotors": ("brakes", "rotor"),
    "calipers": ("brakes", "caliper"),
    "pads": ("brakes", "pad"),
}
#: Figures on which it depends what fits.
ON_FIT = frozenset({"width", "diameter"})
#: Assumed figures that the tables of tires hold.
IN_TABLES = frozenset({"bead_friction", "bead_unevenness"})
#: Two pressures that tell whether all are the same: while riding they are affine in what is set [Pa].
_PRESSURES = np.array([1e5, 2e5])
#: Trade units in which figures are told; a ratio has none.
_UNITS = {
    "mass": "g",
    "length": "mm",
    "pressure": "kPa",
    "torque": "N m",
    "force": "N",
    "angle": "deg",
    "bending_stiffness": "N m2",
    "kc_modulus": "kN/m^(n+1)",
    "kphi_modulus": "kN/m^(n+2)",
    "energy_per_distance": "Wh/km",
    "acceleration": "m/s2",
    "speed": "km/h",
    "price": "currency",
}

_OWN_UNITS = {"tensile_strength": "MPa", "maximum_load": "kg", "tread_life": "km"}


def dimension_of(record: type[Any], name: str) -> str:
    """Dimension of a figure of a record; dots reach into its groups."""
    accepted = quantity_of_figure(record, name)
    return "ratio" if accepted is None else accepted.dimension


def told(value: float, dimension: str, name: str = "") -> tuple[float, str]:
    """A figure in the unit in which the trade thinks, and that unit; some go by their name.

    >>> told(0.412, "mass"), told(0.25, "ratio")
    ((412.0, 'g'), (0.25, '1'))
    """
    unit = _OWN_UNITS.get(name) or _UNITS.get(dimension, "1")
    return (to_unit(value, unit, dimension) if unit in DIMENSIONS[dimension].units else float(value)), unit


def unit_of(figure: UncertainFigure, catalog: Catalog) -> tuple[str, str]:
    """Dimension and trade unit of an uncertain figure."""
    if figure.part is None or figure.name in ("carcass_share", "rolling_exponent"):
        return "ratio", "1"
    if figure.part[0] == "surfaces" and figure.name == "friction":
        return "ratio", "1"
    record = type(catalog.part(*figure.part))
    dimension = dimension_of(record, figure.name)
    return dimension, told(0.0, dimension, figure.name)[1]


def record_with(figure: UncertainFigure, record: Any, value: float) -> Any:
    """The part or surface with the figure at a value."""
    if figure.name == "carcass_share":
        return record.model_copy(update={"carcass_pressure": Figure(carcass_pressure(record)[1] * value)})
    if figure.name == "rolling_exponent":
        return record.model_copy(update={"pressure_exponent": Figure(value)})
    return changed(record, {figure.name: value})


def keeps_numbers(figure: UncertainFigure) -> bool:
    """Whether everything fits as before, whatever the figure is."""
    return figure.name not in ON_FIT


def can_be_moved(candidates: Candidates, figure: UncertainFigure) -> bool:
    """Whether the figure can be moved in a search; not where another condition's tires stand in tables of their own."""
    if figure.part is not None or figure.name not in IN_TABLES:
        return True
    own = riding_pressure(_PRESSURES, candidates.model.vehicle)
    return all((riding_pressure(_PRESSURES, other.vehicle) == own).all() for other in candidates.model.others)


def with_figure(candidates: Candidates, figure: UncertainFigure, value: float) -> Candidates:
    """The candidates with one figure at another value.

    Parameters
    ----------
    candidates : of the vehicle
    figure : one on which it does not depend what fits
    value : what it is instead [SI]

    Returns
    -------
    Candidates
        The same footings, wheels and brake sets under the same numbers; everything computed from figures is new.
    """
    assert keeps_numbers(figure)
    model, other = candidates.model, copy.copy(candidates)
    catalog, assumed = model.catalog, model.assumed
    record: Any = None
    if figure.part is None:
        assumed = replace(assumed, **{figure.name: value})
    else:
        family, identifier = figure.part
        parts = catalog.family(family)
        number = next(i for i, part in enumerate(parts) if part.id == identifier)
        record = record_with(figure, parts[number], value)
        catalog = catalog.with_parts({family: {number: record}})
    other.model = VehicleModel(model.vehicle, catalog, without=model.without, assumed=assumed)
    other.whole, other.mixes, other.missed = [], [], {}
    if figure.part is not None and figure.part[0] in COLUMNS:
        other.of = {p: _with_record(candidates.of[p], figure.part, record) for p in POSITIONS}
    other.tables = {p: _tables(candidates, other.of[p], figure, assumed) for p in POSITIONS}
    return other


def _with_record(of: PositionCandidates, part: tuple[str, str], record: Any) -> PositionCandidates:
    """A position's candidates with another record of a part."""
    layer, column = COLUMNS[part[0]]
    rows = getattr(of, layer)
    old = getattr(rows, column)
    if not any(one.id == part[1] for one in old.parts):
        return of
    parts = tuple(record if one.id == part[1] else one for one in old.parts)
    swapped = replace(rows, **{column: replace(old, parts=parts)})
    return replace(of, removed=Counter(of.removed), **{layer: swapped})


def _tables(
    candidates: Candidates, of: PositionCandidates, figure: UncertainFigure, assumed: Assumed
) -> PositionTables:
    """Tables of a position; those of other layers than the figure's stay."""
    old = candidates.tables[of.position]
    everywhere = figure.part is None and figure.name in IN_TABLES
    if not everywhere and of is candidates.of[of.position]:
        return old
    layer = "mounts" if figure.part is None else COLUMNS[figure.part[0]][0]
    if layer == "mounts":
        return replace(
            old, footings=footing_table(of.mounts, of.footing_mount, of.footing_pressure, of.vehicle, assumed)
        )
    if layer == "wheels":
        return replace(old, wheels=wheel_table(of.wheels))
    return replace(old, brakes=brake_table(of.brakes, of.axle.brake, float(of.vehicle.hand_force)))
