"""Words and numbers for people: what the keys of a result are called, how its figures read."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

#: What a limit is called in an answer; the scenario key is the same with underscores where it says as much.
LIMIT_WORDS = {
    "relative_deflection": "tire deflection",
    "least_relative_deflection": "least tire deflection",
    "tire_load": "tire load rating",
    "wheel_load": "rim or wheel load rating",
    "creep_margin": "hold of the tire on the rim",
    "strike_margin": "strikes on the rim",
    "puncture_protection": "protection against punctures",
    "hub_torque_margin": "hub torque rating",
    "spoke_reserve": "tension left in the spokes",
    "spoke_stress_reserve": "strength of the spokes",
    "wheel_lateral_stiffness": "lateral stiffness of the wheel",
    "brake_torque_reserve": "brake torque",
    "statutory_deceleration": "statutory deceleration",
    "deceleration": "deceleration with both brakes",
    "unsprung_mass": "unsprung mass",
    "steering_moment": "steering moment",
    "lateral_stiffness": "lateral stiffness of the tire",
    "side_slope": "side slope",
    "lateral_stability": "lateral stability",
    "ground_pressure": "ground pressure",
    "sinkage": "sinkage",
    "sinkage_over_passable": "sinkage before bogging",
    "time_off_ground": "time off the ground",
    "dynamic_load": "changes of the wheel load",
    "ride_acceleration": "ride acceleration",
    "thrust_reserve": "thrust",
    "drive_reserve": "motor thrust",
    "climb_grade": "climb",
    "step_height": "step",
    "lift_off_deceleration": "deceleration at lift-off",
    "rotor_temperature_margin": "rotor temperature",
    "rotor_temperature": "rotor temperature",
    "rolling_loss": "rolling loss",
    "energy": "energy",
    "range": "range",
    "top_speed": "top speed",
    "cost": "cost",
    "running_cost": "running cost of 1,000 km",
    "package_mass": "mass of the packages",
    "vehicle_mass": "mass of the vehicle",
    "trail": "trail",
    "trail_most": "most trail",
    "ground_clearance": "ground clearance",
    "break_over_angle": "break-over angle",
    "front_load_share": "share of the weight in front",
    "front_load_share_most": "most share of the weight in front",
    "mean_maximum_pressure": "mean maximum pressure",
    "lead_time": "lead time",
}

#: Limits whose value has to stay below the required one.
MOST = frozenset(
    {
        "relative_deflection", "unsprung_mass", "steering_moment", "ground_pressure", "sinkage", "time_off_ground",
        "dynamic_load", "ride_acceleration", "rotor_temperature", "rolling_loss", "energy", "cost", "running_cost",
        "package_mass", "vehicle_mass", "trail_most", "front_load_share_most", "mean_maximum_pressure", "lead_time",
    }
)  # fmt: skip

#: Aims: what they are called and their unit.
AIM_WORDS = {
    "mass": ("mass", "kg"),
    "rolling_loss": ("rolling loss", "Wh/km"),
    "energy": ("energy", "Wh/km"),
    "cost": ("cost", ""),
}


#: Parts of a package whose key says less than its words.
_PART_WORDS = {"pressure_kpa": "pressure", "rim_locks": "number of rim locks", "crossings": "lacing"}


def number(value: float | None, *, digits: int = 3, sign: bool = False) -> str:
    """A number with about ``digits`` significant digits, whole digits never dropped; ``None`` is no figure.

    Examples
    --------
    >>> number(13.456), number(1234.5), number(0.04321), number(-0.0), number(2.0, sign=True)
    ('13.5', '1234', '0.0432', '0', '+2')
    """
    if value is None or not math.isfinite(value):
        return "no figure"
    rounded = float(f"{value:.{digits - 1}e}") + 0.0
    size = abs(rounded)
    text = f"{value:.0f}" if size >= 10**digits else f"{rounded:.{digits + 1}g}"
    if "e" in text:
        text = f"{rounded:.6f}".rstrip("0").rstrip(".")
    text = "0" if text in ("-0", "") else text
    return f"+{text}" if sign and rounded > 0 else text


def fixed(value: float, places: int, *, sign: bool = False) -> str:
    """A number with a fixed count of decimals, never ``-0``."""
    text = f"{round(value, places) + 0.0:{'+' if sign else ''}.{places}f}"
    return f"{0:.{places}f}" if float(text) == 0.0 else text


def with_unit(text: str, unit: str, currency: str = "") -> str:
    """A number as text with its unit; ratios have none.

    Examples
    --------
    >>> with_unit("24", "%"), with_unit("1.3", "1"), with_unit("880", "currency", "EUR")
    ('24 %', '1.3', '880 EUR')
    """
    shown = {"1": "", "currency": currency, "degC": "°C"}.get(unit, unit)
    return f"{text} {shown}".rstrip()


def limit_words(key: str, terrain: str | None, position: str | None) -> str:
    """A limit with where it holds.

    Examples
    --------
    >>> limit_words("climb_grade", "peat-path", None)
    'climb on peat-path'
    """
    words = LIMIT_WORDS.get(key, key.replace("_", " "))
    if position:
        words = f"{words}, {position}"
    return f"{words} on {terrain}" if terrain else words


def difference_words(part: Mapping[str, Any]) -> str:
    """A part in which a second choice differs, and what it is there.

    Examples
    --------
    >>> difference_words({"position": "front", "part": "pressure_kpa", "second": 180.0})
    'front pressure 180 kPa'
    >>> difference_words({"position": None, "part": "final_drive", "second": "drive-10-6"})
    'final drive drive-10-6'
    """
    words = _PART_WORDS.get(part["part"], part["part"].replace("_", " "))
    return " ".join(filter(None, (part["position"], words, second_words(part))))


def second_words(part: Mapping[str, Any]) -> str:
    """What a part that differs is in the second choice.

    Examples
    --------
    >>> second_words({"part": "crossings", "second": 3}), second_words({"part": "rim_lock", "second": None})
    ('3x', 'none')
    """
    value = part["second"]
    if value is None:
        return "none"
    if part["part"] == "pressure_kpa":
        return f"{number(value)} kPa"
    return f"{value}x" if part["part"] == "crossings" else str(value)


def percent(share: float) -> str:
    """A share as a percentage that is never rounded to nothing.

    Examples
    --------
    >>> percent(0.0213), percent(0.002), percent(0.00001)
    ('2.1 %', '0.2 %', 'less than 0.01 %')
    """
    value = 100.0 * abs(share)
    if value == 0.0:
        return "0 %"
    if value < 0.01:
        return "less than 0.01 %"
    return f"{number(value, digits=2)} %"


def margin_words(margin: Mapping[str, Any], currency: str = "") -> str:
    """One margin as a sentence: what is reached, what is asked, what is left.

    Parameters
    ----------
    margin
        An entry of ``margins``.
    currency
        Of the catalogs.

    Returns
    -------
    str
        For example ``climb on peat-path: 24.6 % (at least 24 %), 2.5 % to spare``.
    """
    unit = margin["unit"]
    value = "no figure" if margin["value"] is None else with_unit(number(margin["value"]), unit, currency)
    required = with_unit(number(margin["required"]), unit, currency)
    asked = f"{'at most' if margin['limit'] in MOST else 'at least'} {required}"
    ratio = margin["ratio"]
    if not margin["met"]:
        left = "not met" if ratio is None else f"misses by {percent(1.0 - ratio)}"
    elif ratio is None:
        left = "met"
    elif ratio - 1.0 < 5e-5:
        left = "nothing to spare"
    elif ratio > 10.0:
        left = "ample"
    else:
        left = f"{percent(ratio - 1.0)} to spare"
    chance = margin.get("chance_missed")
    if chance is not None and 0.0 < chance < 1.0 and margin["met"]:
        left += f", risk {percent(chance)}"
    return f"{place_words(margin)}: {value} ({asked}), {left}"


def place_words(margin: Mapping[str, Any]) -> str:
    """The limit of a margin with where it holds, and the condition that has least to spare.

    Examples
    --------
    >>> place_words({"limit": "climb_grade", "terrain": "dunes", "position": None, "condition": "passenger"})
    'climb on dunes (passenger)'
    """
    words = limit_words(margin["limit"], margin["terrain"], margin["position"])
    return f"{words} ({margin['condition']})" if margin.get("condition") else words


def condition_words(margin: Mapping[str, Any], currency: str = "") -> str:
    """The values of a margin in all conditions; empty where it is the same in all.

    Examples
    --------
    >>> condition_words({"unit": "%", "by_condition": {"as stated": 14.2, "passenger": 11.7}})
    'as stated 14.2 %, passenger 11.7 %'
    """
    return ", ".join(
        f"{name} {'no figure' if value is None else with_unit(number(value), margin['unit'], currency)}"
        for name, value in margin.get("by_condition", {}).items()
    )


def spread_words(margin: Mapping[str, Any], currency: str = "") -> str:
    """Where a value lies for all that is uncertain, and which figures move it most; empty where nothing does.

    Examples
    --------
    >>> spread_words({"unit": "%", "low": 20.04, "high": 31.0, "matters_most": [{"figure": "grip", "moves": 3.2}]})
    '20 to 31 %, moved most by grip (3.2 %)'
    """
    if margin.get("low") is None or not margin.get("matters_most"):
        return ""
    unit = margin["unit"]
    ends = with_unit(f"{number(margin['low'])} to {number(margin['high'])}", unit, currency)
    moved = [f"{row['figure']} ({with_unit(number(row['moves']), unit, currency)})" for row in margin["matters_most"]]
    return f"{ends}, moved most by {' and '.join(moved)}"


def tightest(margins: list[Any], count: int) -> list[Any]:
    """The margins with the least to spare: first what is not met, then by ratio; always the one at most risk."""
    ordered = sorted(margins, key=lambda row: (row["met"], math.inf if row["ratio"] is None else row["ratio"]))
    shown = [row for row in ordered if not row["met"] or row["ratio"] is not None]
    risky = max(ordered, key=lambda row: row.get("chance_missed") or 0.0, default=None)
    if risky is None or not risky.get("chance_missed") or risky in shown[:count]:
        return shown[:count]
    return [*shown[: count - 1], risky]


def proof_words(status: str, aim: Mapping[str, Any] | None) -> str:
    """What is proven, without any word of the search itself."""
    if status == "optimal":
        return "proven: no better choice exists in these catalogs"
    if status == "infeasible":
        return "proven: nothing in these catalogs meets every limit"
    if status == "unknown" or aim is None:
        return "stopped before any choice was found; nothing is proven"
    if aim.get("bound") is None or aim.get("gap") is None:
        return "the best choice found so far; nothing is proven about better ones"
    return f"proven to within {percent(aim['gap'])}: no choice in these catalogs is better by more than that"


def exchange_words(terms: Mapping[str, Any]) -> list[str]:
    """The exchange rates of the aims, against mass where mass counts.

    Examples
    --------
    >>> exchange_words({"mass": {"value": 20, "rate": 1}, "rolling_loss": {"value": 30, "rate": 0.8}})
    ['1 Wh/km of rolling loss counts as 0.8 kg of mass']
    """
    rates = {key: float(term["rate"]) for key, term in terms.items() if term["rate"]}
    if not rates:
        return []
    base = "mass" if "mass" in rates else next(iter(rates))
    name, unit = _aim(base, terms)
    if len(rates) == 1:
        return [f"only {name} counts"]
    lines = []
    for key, rate in rates.items():
        if key != base:
            other, other_unit = _aim(key, terms)
            counts = with_unit(number(rate / rates[base]), unit)
            lines.append(f"{with_unit('1', other_unit)} of {other} counts as {counts} of {name}")
    return lines


def _aim(key: str, terms: Mapping[str, Any]) -> tuple[str, str]:
    name, unit = AIM_WORDS.get(key, (key.replace("_", " "), ""))
    return name, unit or str(terms[key].get("unit", ""))
