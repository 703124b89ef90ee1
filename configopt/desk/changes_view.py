"""What a state of the page has different from the scenario's file, in words."""

from __future__ import annotations

from collections.abc import Iterable

from configopt.desk.cells import SLOT_WORDS, part_name
from configopt.desk.movable import RATES, Movable
from configopt.desk.project import Opened
from configopt.desk.state import State, number
from configopt.sheet.figures import figure_text, unit_words
from configopt.sheet.words import AIMS, limit_words


def narrowed_words(state: State) -> str:
    """That nothing was found may come of what is held or left out on the page; empty where nothing is.

    >>> narrowed_words(State("v", out=("a",))), narrowed_words(State("v"))
    (' with what is left out here', '')
    """
    held = "held" if state.holds or state.pressures else ""
    both = " and ".join(filter(None, (held, "left out" if state.out else "")))
    return f" with what is {both} here" if both else ""


def contradictions(state: State, opened: Opened) -> list[str]:
    """Parts that are held and left out at once, so that nothing can be chosen."""
    return [
        f"{part_name(opened, part)} is held ({slot.replace('.', ' ').replace('_', ' ')}) and left out at once, so "
        "nothing can be chosen: let go of it, or let it in again"
        for slot, part in state.holds
        if part in state.out
    ]


def used_shares(state: State, of: Movable) -> dict[str, str]:
    """The share that counts of every ground, where the weights do not add up to 100 %; else nothing.

    >>> from configopt.desk.movable import Ground
    >>> grounds = (Ground("sand", "dry-sand", 60.0, 20.0), Ground("road", "asphalt", 40.0, 40.0))
    >>> of = Movable("v", grounds, {}, {}, False)
    >>> used_shares(State("v", mix=(("sand", 60.0), ("road", 90.0))), of)["sand"].split()
    ['counts', '40.0', '%']
    >>> used_shares(State("v"), of)
    {'sand': '', 'road': ''}
    """
    weights = dict(state.mix) or {ground.name: ground.share for ground in of.grounds}
    total = sum(weights.values())
    whole = abs(total - 100.0) < 0.05
    return {
        name: "" if whole else f"counts {figure_text(100.0 * weight / total, '%')}" for name, weight in weights.items()
    }


def changes(state: State, opened: Opened) -> list[tuple[str, str, str]]:
    """What is different from the file, in words: kind, name and words of each."""
    of = opened.movable(state.vehicle)
    found = []
    if state.mix:
        total = sum(weight for _, weight in state.mix)
        shares = ", ".join(f"{name} {figure_text(100.0 * weight / total, '%')}" for name, weight in state.mix)
        found.append(("mix", "", f"shares: {shares}"))
    for name, speed in state.speeds:
        before = next(ground.speed for ground in of.grounds if ground.name == name)
        found.append(
            ("speed", name, f"speed on {name}: {figure_text(speed, 'km/h')} instead of {figure_text(before, 'km/h')}")
        )
    currency = opened.case.catalog.currency
    for address, value in state.limits:
        limit = of.limit(address)
        assert limit is not None
        words = limit_words({"limit": limit.limit.key, "terrain": limit.terrain, "position": limit.position})
        unit = currency if limit.limit.unit == "currency" else limit.limit.unit
        if value is None:
            default = "" if limit.fallback is None else f"the default, {figure_text(limit.fallback, unit)}"
            found.append(("limit", address, f"{words}: {default or 'not asked'}"))
        else:
            stated = "" if limit.stated is None else f" instead of {figure_text(limit.stated, unit)}"
            side = "at least" if limit.limit.bound == "at_least" else "at most"
            found.append(("limit", address, f"{words}: {side} {figure_text(value, unit)}{stated}"))
    for name, rate in state.rates:
        per = f"per {unit_words(RATES[name]) or currency}"
        stated = number(of.rates.get(name, 0.0))
        found.append(("rate", name, f"{AIMS[name]} counts {number(rate)} {per} instead of {stated} {per}"))
    for part, percent in state.prices:
        found.append(
            ("price", part, f"price of {part_name(opened, part)}: {figure_text(percent, '%')} of the catalog’s")
        )
    found += [("out", part, f"left out: {part_name(opened, part)}") for part in state.out]
    for slot, part in state.holds:
        position, _, kind = slot.partition(".")
        found.append(("hold", slot, f"held: {position} {SLOT_WORDS[kind]} {part_name(opened, part)}"))
    for end, pressure in state.pressures:
        position, _, which = end.partition(".")
        side = "at least" if which == "low" else "at most"
        found.append(("press", end, f"cold pressure, {position}: {side} {figure_text(pressure, 'kPa')}"))
    return found


def joined_notes(notes: Iterable[str]) -> list[str]:
    """Notes as sentences."""
    return [f"{note[0].upper()}{note[1:]}." for note in notes]
