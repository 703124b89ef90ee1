"""What vehicles share, as text: how many different parts, what that saves together, and what it costs each."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from configopt.cli.layout import Page
from configopt.cli.output import counted
from configopt.cli.words import fixed, number, with_unit

Payload = Mapping[str, Any]


def write_family(sheet: Page, family: Payload) -> None:
    """Write the part of a choice that is about all its vehicles together.

    Parameters
    ----------
    sheet
        The page.
    family
        ``family`` of a choice's JSON.
    """
    currency = family["currency"]
    together, apart = family["together"], family["apart"]
    sheet.heading(f"What {counted(family['vehicles_built'], 'vehicle')} built share")
    asked = [f"at most {counted(count, f'different {_one(name)}')}" for name, count in family["at_most"].items()]
    asked += [f"{counted(count, 'spare')} of each {_one(name)}" for name, count in family["spares"].items() if count]
    if asked:
        sheet.text(f"Asked: {', '.join(asked)}", hang="    ")
    rows = []
    for name in together["different_parts"]:
        own = "" if apart is None else str(apart["different_parts"].get(name, 0))
        shared = sorted({row["part"] for row in family["parts"] if row["family"] == name})
        rows.append((name, str(together["different_parts"][name]), own, ", ".join(shared)))
    sheet.table(rows, header=("", "together", "apart", "in use"), right=frozenset({1, 2}), flexible=(3,))
    cost = with_unit(number(together["cost"], digits=4), "currency", currency)
    sheet.text(f"All parts and final drives come to {cost}{_saving(together, apart, currency)}.", hang="    ")
    sheet.heading("What sharing costs each vehicle, against its own best choice")
    sheet.table(
        [
            (
                row["name"],
                str(row["quantity"]),
                *_changes(row),
            )
            for row in family["vehicles"]
        ],
        header=("", "built", "mass kg", "rolling loss Wh/km", "energy Wh/km"),
        right=frozenset({1, 2, 3, 4}),
    )


def _one(name: str) -> str:
    """One of a family of parts.

    >>> _one("rotors"), _one("disc-wheels"), _one("spokes")
    ('rotor', 'disc wheel', 'set of spokes')
    """
    return "set of spokes" if name == "spokes" else name.replace("-", " ").removesuffix("s")


def _saving(together: Payload, apart: Payload | None, currency: str) -> str:
    if apart is None:
        return ""
    saved = float(apart["cost"]) - float(together["cost"])
    amount = with_unit(number(abs(saved), digits=4), "currency", currency)
    if abs(saved) < 0.005:
        return ", as much as if each were chosen and bought for itself"
    return f", {amount} {'less' if saved > 0.0 else 'more'} than if each were chosen and bought for itself"


def _changes(row: Payload) -> tuple[str, str, str]:
    if row["same_as_alone"] is None:
        return "unknown", "unknown", "unknown"
    if row["same_as_alone"]:
        return "same", "same", "same"

    def change(key: str) -> str:
        text = fixed(float(row[key]), 2)
        return text if text.startswith("-") else f"+{text}"

    return change("mass_kg"), change("rolling_loss_wh_per_km"), change("energy_wh_per_km")
