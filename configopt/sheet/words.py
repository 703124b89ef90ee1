"""Words of the sheet: limits with where they hold, verdicts with their reason, parts, and what differs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from configopt.scenario.limits import LIMITS
from configopt.sheet.figures import figure_text

Payload = Mapping[str, Any]
#: Parts of a package in the order in which they are chosen: from the ground up.
PARTS = {
    "tire": "tire",
    "pressure_kpa": "cold pressure",
    "inner": "inner",
    "rim_lock": "rim locks",
    "rim": "rim",
    "disc_wheel": "disc wheel",
    "spokes": "spokes",
    "lacing": "lacing",
    "hub": "hub",
    "rotor": "rotor",
    "caliper": "caliper",
    "pad": "pad",
}
#: Causes of the energy that a kilometre takes, in the order of the results.
CAUSES = {
    "rolling": "rolling on firm ground",
    "soft_ground": "sinking into soft ground",
    "roughness": "rough ground",
    "obstacles": "obstacles",
    "slip": "slip",
    "grade": "climbing",
    "air": "air",
    "stop_and_go": "stopping and starting",
    "drivetrain": "motor and drivetrain",
    "regeneration": "given back by regeneration",
}
AIMS = {"mass": "mass of the packages", "rolling_loss": "rolling loss", "energy": "energy", "cost": "cost"}
_PART_WORDS = {**PARTS, "rim_locks": "number of rim locks", "crossings": "lacing", "final_drive": "final drive"}
#: A limit with less to spare than this share is called used up: no figure is known so well.
_NOTHING = 0.005
#: From this ratio on a limit has no part in the decision.
AMPLE = 3.0
#: Share of the draws from which a limit that is met is named as one at risk.
RISKY = 0.2
#: Differing parts that are named before the rest is counted.
_NAMED = 4


def limit_words(row: Payload, positions: str | None = None) -> str:
    """A limit with where it holds, and the condition with least to spare.

    >>> limit_words({"limit": "climb_grade", "terrain": "peat-path", "position": None})
    'steepest grade that can be climbed on peat-path'
    """
    limit = LIMITS.get(row["limit"])
    words = row["limit"].replace("_", " ") if limit is None else limit.wording
    where = positions if positions is not None else row.get("position")
    if where:
        words = f"{words}, {where}"
    if row.get("terrain"):
        words = f"{words} on {row['terrain']}"
    return f"{words} ({row['condition']})" if row.get("condition") else words


def asked_words(row: Payload, *, unit: str | None = None) -> str:
    """``at least`` or ``at most``, with the bound."""
    return f"{side_words(row['limit'])} {figure_text(row['required'], row['unit'] if unit is None else unit)}"


def side_words(limit: str) -> str:
    """On which side of its bound a limit is met.

    >>> side_words("range"), side_words("cost")
    ('at least', 'at most')
    """
    known = LIMITS.get(limit)
    return "at most" if known is not None and known.bound == "at_most" else "at least"


def verdict_words(margin: Payload) -> str:
    """Whether a limit is met, and by how much of what is asked.

    >>> verdict_words({"met": True, "ratio": 1.12}).split()
    ['met,', '12.0', '%', 'to', 'spare']
    >>> verdict_words({"met": False, "ratio": 0.9}).split()
    ['missed', 'by', '10.0', '%']
    >>> verdict_words({"met": True, "ratio": 1.002}), verdict_words({"met": True, "ratio": 25.0})
    ('met, used up', 'met, ample')
    """
    ratio = margin["ratio"]
    if ratio is None:
        return "met" if margin["met"] else "missed"
    if not margin["met"]:
        return f"missed by {figure_text(100.0 * (1.0 - ratio), '%')}"
    if ratio - 1.0 < _NOTHING:
        return "met, used up"
    return "met, ample" if ratio > AMPLE else f"met, {figure_text(100.0 * (ratio - 1.0), '%')} to spare"


def chance_words(chance: float | None) -> str:
    """How likely a limit is missed for all that is uncertain, from the share of the draws that miss it.

    >>> chance_words(0.2578), chance_words(0.0), chance_words(0.002)
    ('26 %', 'none seen', 'under 1 %')
    """
    if chance is None:
        return "not computed"
    if chance == 0.0:
        return "none seen"
    return "under 1 %" if chance < 0.01 else f"{100.0 * chance:.0f} %"


def proof_words(status: str, aim: Payload | None) -> str:
    """What is proven, in one sentence."""
    if status == "optimal":
        return "Proven: no better choice exists in these catalogs, under these models."
    if status == "infeasible":
        return "Proven: nothing in these catalogs meets every limit."
    if status == "unknown" or aim is None:
        return "The search was stopped before any choice was found. Nothing is proven."
    if aim.get("gap") is None:
        return "The search was stopped: this is the best choice found so far. Nothing is proven about better ones."
    return (
        "The search was stopped: this is the best choice found so far. Proven: none in these catalogs is better by "
        f"more than {100.0 * float(aim['gap']):.2f} %."
    )


def part_change_words(part: Payload) -> str:
    """A part in which a second choice differs, and what it is there.

    >>> part_change_words({"position": "front", "part": "pressure_kpa", "second": 180.0}).replace(chr(160), " ")
    'front cold pressure 180.0 kPa'
    """
    words, second = _PART_WORDS.get(part["part"], str(part["part"]).replace("_", " ")), part["second"]
    if second is None:
        told = "none"
    elif part["part"] == "pressure_kpa":
        told = figure_text(float(second), "kPa")
    elif part["part"] == "crossings":
        told = f"{second}-cross" if second else "radial"
    else:
        told = str(second)
    return " ".join(filter(None, (part["position"], words, told)))


def differing_words(parts: Sequence[Payload], most: int | None = _NAMED) -> str:
    """All parts that differ; those after the first ``most`` are counted.

    >>> gone = [{"position": "front", "part": "rim_lock", "second": None}]
    >>> differing_words([*gone, {"position": "front", "part": "rim_locks", "second": 0}])
    'front rim locks none'
    """
    # Where there is no lock any more, their number says nothing.
    gone = {part["position"] for part in parts if part["part"] == "rim_lock" and part["second"] is None}
    named = [
        part_change_words(part) for part in parts if not (part["part"] == "rim_locks" and part["position"] in gone)
    ]
    if most is not None and len(named) > most:
        named[most:] = [f"and {len(named) - most} more"]
    return ", ".join(named) or "the same parts"


def change_words(change: Payload, currency: str) -> str:
    """What mass, rolling loss, energy and cost change by, where they do.

    >>> change_words({"mass_kg": 0.41, "rolling_loss_wh_per_km": 0.0, "cost": -3.0}, "EUR").replace(chr(160), " ")
    'mass +0.41 kg, cost −3.00 EUR'
    """
    found = []
    for key, words, unit in (
        ("mass_kg", "mass", "kg"),
        ("rolling_loss_wh_per_km", "rolling loss", "Wh/km"),
        ("energy_wh_per_km", "energy", "Wh/km"),
        ("cost", "cost", currency),
    ):
        value = change.get(key)
        text = figure_text(value, unit, sign=True)
        if value is not None and text != figure_text(0.0, unit, sign=True):
            found.append(f"{words} {text}")
    return ", ".join(found) or "nothing else"


def joined(words: Sequence[str]) -> str:
    """Words in a row.

    >>> joined(["front", "rear"]), joined(["a", "b", "c"])
    ('front and rear', 'a, b and c')
    """
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}" if words else ""
