"""A whole choice as a short text, so that an address can hold it."""

from __future__ import annotations

from collections.abc import Mapping

from pydantic import ValidationError

from configopt.desk.movable import POSITIONS, SLOTS
from configopt.scenario.records import PackageRecord, VehicleChoiceRecord

_FIELDS = (
    "tire", "pressure", "inner", "rim_lock", "rim_locks", "rim", "spokes", "crossings", "disc_wheel", "hub", "rotor",
    "caliper", "pad",
)  # fmt: skip
_NUMBERS = ("pressure", "rim_locks", "crossings")


def text_of(record: VehicleChoiceRecord) -> str:
    """Final drive, front and rear, with ``~`` between, what each consists of with ``_``; pressures in kPa.

    No browser writes any of these characters in another way.
    """
    return "~".join([record.final_drive, *(_package(getattr(record, position)) for position in POSITIONS)])


def _package(package: PackageRecord) -> str:
    found = []
    for name in _FIELDS:
        value = getattr(package, name)
        if name == "pressure":
            found.append(f"{float(value) / 1e3:g}")
        elif name == "rim_locks":
            found.append(str(value or ""))
        else:
            found.append("" if value is None else str(value))
    return "_".join(found)


def record_from(text: str, families: Mapping[str, str], drives: list[str]) -> VehicleChoiceRecord | None:
    """The choice of a text; ``None`` where it is none, or names what the catalogs do not have.

    Parameters
    ----------
    text
        As :func:`text_of` writes it, or anything else.
    families
        Family of each part by its id.
    drives
        Final drives on offer.
    """
    drive, *ends = text.split("~")
    if drive not in drives or len(ends) != len(POSITIONS):
        return None
    packages = []
    for end in ends:
        values = end.split("_")
        if len(values) != len(_FIELDS):
            return None
        stated = {name: value for name, value in zip(_FIELDS, values, strict=True) if value}
        if any(families.get(value) != SLOTS[name] for name, value in stated.items() if name not in _NUMBERS):
            return None
        if not all(_is_number(stated[name]) for name in _NUMBERS if name in stated):
            return None
        numbers = {name: int(float(stated[name])) for name in _NUMBERS[1:] if name in stated}
        try:
            pressure = f"{stated.get('pressure', '')} kPa"
            packages.append(PackageRecord.model_validate({**stated, **numbers, "pressure": pressure}))
        except (ValidationError, ValueError):
            return None
    return VehicleChoiceRecord.model_construct(final_drive=drive, front=packages[0], rear=packages[1])


def _is_number(text: str) -> bool:
    return len(text) <= 8 and text.replace(".", "", 1).isdecimal() and text.isascii()
