"""Cautions of the sheet: those of the appraisal, and what its remarks and margins say that is a matter of safety."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from configopt.appraisal.conditions_report import in_all_of_them
from configopt.appraisal.one_vehicle import VehicleAppraisal
from configopt.appraisal.remarks import cautions, general_cautions, remarks
from configopt.appraisal.vehicle import POSITIONS, REPEATED_STOPS
from configopt.physics.constants import CELSIUS_ZERO
from configopt.sheet.figures import figure_text
from configopt.sheet.given import Given
from configopt.sheet.words import RISKY, chance_words, joined

#: Beginnings of cautions that belong beside the tires or the brakes; every other one stands with all of them.
AT_TIRES = (
    "Below the tire's marked pressure",
    "Load rating",
    "Bicycle-derived",
    "Rim locks",
    "The tire may creep",
    "Obstacles may strike the rim",
    "The tire may be punctured",
    "Spokes",
)
AT_BRAKES = ("The front rotor", "The rear rotor", "Rotor temperature", "Pad pressure", "Full hand force", "Braking at")
#: Remarks of the appraisal that are a matter of safety, by a part of them, with the words their caution begins with.
_SAFETY_REMARKS = {
    "of hand force locks the front wheel": "Full hand force: ",
    "lifts the rear wheel": "",
    "above the handbook's": "Pad pressure, ",
    "the spokes under the load go slack at rest": "Spokes, ",
}
_CREEP = "The tire may creep"


def vehicle_cautions(given: Given, number: int) -> tuple[str, ...]:
    """Cautions of one vehicle without the general ones.

    Parameters
    ----------
    given : results and parts
    number : of the vehicle
    """
    one, entry = given.appraised[number], given.choice["vehicles"][number]
    general = general_cautions(one.model.vehicle)
    found = []
    for text in in_all_of_them(one, [cautions(each) for each in one.in_all]):
        if text in general:
            continue
        found.append(_rating(one) if "rated at its reference pressure" in text else text)
    found += _creep(entry, found)
    found += _ground(entry)
    found += _rotors(one, found)
    told = in_all_of_them(one, [remarks(each) for each in one.in_all])
    for text in told:
        for mark, begin in _SAFETY_REMARKS.items():
            if mark in text:
                words = f"{begin}{text.replace(': pad pressure', ':')}."
                found.append(f"{words[0].upper()}{words[1:]}")
    return tuple(dict.fromkeys(found))


def all_cautions(given: Given) -> tuple[str, ...]:
    """Every caution of the sheet; where there are several vehicles, each with the vehicles it is about."""
    several = len(given.appraised) > 1
    whose: dict[str, list[str]] = {}
    general: dict[str, list[str]] = {}
    for number, one in enumerate(given.appraised):
        name = one.model.vehicle.name
        for text in vehicle_cautions(given, number):
            whose.setdefault(text, []).append(name)
        for text in general_cautions(one.model.vehicle):
            general.setdefault(text, []).append(name)
    own = [f"{joined(names)}: {text}" if several else text for text, names in whose.items()]
    every = [
        text if len(names) == len(given.appraised) else f"{joined(names)}: {text}" for text, names in general.items()
    ]
    return (*own, *every)


def rated_at(one: VehicleAppraisal, position: str) -> str:
    """At which pressure a tire's rating holds, where no rating at other pressures is known; else empty."""
    mount, pressure = one.packages[position].mount, one.packages[position].pressure  # type: ignore[index]
    if mount.tire.load_at_pressure:
        return ""
    rated = figure_text(float(mount.tire.rated_pressure) / 1e3, "kPa")
    if mount.inner.kind == "foam":
        return f"the rating holds at {rated} of air and is not known with foam"
    at = figure_text(pressure / 1e3, "kPa")
    return f"the rating holds at {rated}" + ("" if at == rated else f" and is not known at {at}")


def _rating(one: VehicleAppraisal) -> str:
    told = [f"{position}: {words}" for position in POSITIONS if (words := rated_at(one, position))]
    return f"Load rating of the tire, {'; '.join(told)}. Ask the tire's maker."


def _creep(entry: Mapping[str, Any], found: list[str]) -> list[str]:
    """A bead whose hold is missed in many draws, where no caution says that the tire may creep."""
    said = [text for text in found if _CREEP in text]
    made = []
    for position in POSITIONS:
        rows = [
            row
            for row in entry["margins"]
            if row["limit"] == "creep_margin"
            and row["position"] == position
            and (not row["met"] or (row.get("chance_missed") or 0.0) >= RISKY)
        ]
        if not rows or any(position in text for text in said):
            continue
        chance = rows[0].get("chance_missed")
        share = f" in {chance_words(chance)} of the draws" if chance and rows[0]["met"] else ""
        made.append(
            f"{_CREEP} on its rim, {position}: what the bead is asked to hold is missed{share}; mark both and look "
            "after each ride."
        )
    return made


def _ground(entry: Mapping[str, Any]) -> list[str]:
    """Rims that may be struck and tires that may be punctured, with the terrain."""
    struck, punctured = [], []
    for terrain in entry["terrains"]:
        for position in POSITIONS:
            margin = terrain[f"strike_margin_{position}"]
            if margin is not None and margin < 1.0:
                struck.append(f"{position} on {terrain['name']} (reserve {figure_text(margin, '1')}, 1 is the border)")
        punctured += [
            f"{text.removesuffix(' may puncture the tire')} on {terrain['name']}"
            for text in terrain["remarks"]
            if text.endswith("may puncture the tire")
        ]
    found = []
    if struck:
        found.append(f"Obstacles may strike the rim at the stated speed: {'; '.join(struck)}.")
    if punctured:
        found.append(f"The tire may be punctured: {'; '.join(punctured)}.")
    return found


def _rotors(one: VehicleAppraisal, found: list[str]) -> list[str]:
    """The rotors that the appraisal does not name, each with its hottest case."""
    vehicle = one.model.vehicle
    cases = [descent.name for descent in vehicle.descents] + ([REPEATED_STOPS] if vehicle.stops is not None else [])
    made = []
    for position in POSITIONS:
        if not cases or any(text.startswith(f"The {position} rotor") for text in found):
            continue
        hottest, case = max((float(one.evaluation.rotor_temperature(case, position)[0]), case) for case in cases)
        made.append(
            f"The {position} rotor reaches about {hottest - CELSIUS_ZERO:.0f} °C on {case}: do not touch it; fluid and "
            "seals are not modelled."
        )
    return made
