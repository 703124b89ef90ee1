"""A part as JSON: every key that has a unit carries it."""

from __future__ import annotations

from typing import Any, get_args

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from configopt.quantities import Figure, Quantity, to_unit

#: Unit in which figures of a dimension leave the process; none for ratios and prices, which have no unit of their own.
_UNITS = {
    "mass": "kg",
    "length": "mm",
    "area": "cm2",
    "pressure": "kPa",
    "force": "N",
    "torque": "N m",
    "speed": "km/h",
    "angle": "deg",
    "time": "days",
    "temperature": "degC",
    "bending_stiffness": "N m2",
    "kc_modulus": "kN/m^(n+1)",
    "kphi_modulus": "kN/m^(n+2)",
}
#: Figures whose size asks for another unit.
_OWN_UNITS = {"tread_life": "km", "life": "km", "tensile_strength": "MPa"}
_SUFFIXES = {"kN/m^(n+1)": "kn_per_m_n1", "kN/m^(n+2)": "kn_per_m_n2", "km/h": "km_h", "N m": "n_m", "N m2": "n_m2"}
#: Fields without a unit in a file, which would lose it on the way out.
_UNIT_FREE = frozenset({"ratio", "price", "count"})


def part_json(part: BaseModel) -> dict[str, Any]:
    """The fields of a part record.

    Parameters
    ----------
    part
        A record of a catalog.

    Returns
    -------
    dict
        Figures in trade units (``mass_kg``, ``pressure_min_kpa``); where a figure states its own standard uncertainty,
        it follows as ``..._uncertainty_...``.  What the catalog does not say is ``None``.
    """
    data: dict[str, Any] = {}
    for name, field in type(part).model_fields.items():
        value = getattr(part, name)
        dimension = _dimension(field)
        if dimension is None or dimension in _UNIT_FREE:
            data[name] = _value(value)
            if isinstance(value, Figure) and value.uncertainty is not None:
                data[f"{name}_uncertainty"] = value.uncertainty
            continue
        unit = _OWN_UNITS.get(name) or _UNITS[dimension]
        suffix = _SUFFIXES.get(unit, unit.lower())
        if isinstance(value, list):
            data[f"{name}_{suffix}"] = [to_unit(item, unit, dimension) for item in value]
            continue
        data[f"{name}_{suffix}"] = None if value is None else to_unit(value, unit, dimension)
        if isinstance(value, Figure) and value.uncertainty is not None:
            zero = to_unit(0.0, unit, dimension)
            data[f"{name}_uncertainty_{suffix}"] = to_unit(value.uncertainty, unit, dimension) - zero
    return data


def _value(value: Any) -> Any:
    if isinstance(value, BaseModel):
        return part_json(value)
    if isinstance(value, list):
        return [_value(item) for item in value]
    if isinstance(value, dict):
        return {key: _value(item) for key, item in value.items()}
    return float(value) if isinstance(value, Figure) else value


def _dimension(field: FieldInfo) -> str | None:
    """Dimension of a field; the metadata stand on the field, or deeper where it may be absent or is a list."""
    waiting: list[Any] = [*field.metadata, field.annotation]
    while waiting:
        item = waiting.pop(0)
        if isinstance(item, Quantity):
            return item.dimension
        if isinstance(item, type) and issubclass(item, BaseModel):
            continue
        waiting += [*getattr(item, "__metadata__", ()), *get_args(item)]
    return None
