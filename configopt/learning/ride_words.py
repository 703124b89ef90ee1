"""What riders said, in words: the same for the terminal and the decision sheet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

#: Chance to be the stronger from which riders are said to prefer one clearly, and probably.
CLEAR, PROBABLE = 0.95, 0.8
#: Purposes and dropped rides that are told of one thing.
_PURPOSES, _DROPPED = 3, 4
#: How near a pressure that was ridden counts as the same [kPa]: a step of a choice.
_NEAR = 5.0


def share(value: float) -> str:
    """A chance in whole percent, never rounded to none or all.

    >>> share(0.724), share(0.999), share(0.0004)
    ('72 %', 'over 99 %', 'under 1 %')
    """
    if value > 0.99:
        return "over 99 %"
    return "under 1 %" if value < 0.01 else f"{100 * value:.0f} %"


def between(row: Mapping[str, Any], key: str) -> str:
    """A chance with its 90 % interval.

    >>> between({"c": 0.7, "c_low": 0.41, "c_high": 0.995}, "c")
    '70 % (90 % interval: 41 % to over 99 %)'
    """
    return f"{share(row[key])} (90 % interval: {share(row[f'{key}_low'])} to {share(row[f'{key}_high'])})"


def sureness(ahead: float) -> str:
    """How sure it is that the first of two is the stronger.

    >>> sureness(0.97), sureness(0.85), sureness(0.5), sureness(0.1)
    ('clearly', 'probably', '', 'probably not')
    """
    for least, word in ((CLEAR, "clearly"), (PROBABLE, "probably")):
        if ahead >= least:
            return word
        if ahead <= 1.0 - least:
            return f"{word} not"
    return ""


def counted(number: int, noun: str) -> str:
    """A number with its noun.

    >>> counted(1, "verdict"), counted(3, "rider")
    ('1 verdict', '3 riders')
    """
    return f"{number:,} {noun}{'' if number == 1 else 's'}"


def preference_words(first: str, second: str, found: Mapping[str, Any]) -> str:
    """Which of two riders prefer, how often and how sure."""
    better, worse, row = first, second, dict(found)
    if found["chance_ahead"] < 0.5:
        better, worse = second, first
        row["chance_preferred"] = 1.0 - found["chance_preferred"]
        row["chance_preferred_low"] = 1.0 - found["chance_preferred_high"]
        row["chance_preferred_high"] = 1.0 - found["chance_preferred_low"]
    sure = sureness(max(found["chance_ahead"], 1.0 - found["chance_ahead"]))
    how = f"riders {sure} prefer {better} to {worse}" if sure else f"open whether riders prefer {better} to {worse}"
    return f"{how}: {between(row, 'chance_preferred')} of decided verdicts"


def said(told: Mapping[str, Any]) -> list[str]:
    """What an answer's ``ride_verdicts`` say, a sentence or two each."""
    if not told["rides"]:
        return [f"{told['file']} holds no ride yet."]
    rides, compared = counted(told["rides"], "ride"), counted(told["verdicts"], "comparison")
    head = (
        f"{told['file']}: {rides} by {counted(told['riders'], 'rider')}, {told['first_day']} to {told['last_day']}, "
        f"{compared}."
    )
    lines = [head, *_firsts(told["tires"])]
    lines += [_pair(row) for row in told["pairs"] if row["preferred"] is not None]
    apart = [f"{row['position']} {row['second']}" for row in told["pairs"] if row["preferred"] is None]
    if apart:
        lines.append(f"Never compared with what is chosen there, not even through others: {', '.join(apart)}.")
    lines += [f"{row['position']} {row['tire']}: {other}." for row in told["tires"] if (other := _elsewhere(row))]
    lines += [f"Dropped: {dropped_words(row)}." for row in told["dropped"][:_DROPPED]]
    if len(told["dropped"]) > _DROPPED:
        lines.append(f"And {len(told['dropped']) - _DROPPED} more rides on which one of these tires was dropped.")
    return [*lines, told["note"]]


def _firsts(tires: Sequence[Mapping[str, Any]]) -> list[str]:
    """The tire chosen at each end; where it is the same, once."""
    rows: dict[str, list[Mapping[str, Any]]] = {}
    for position in dict.fromkeys(row["position"] for row in tires):
        row = next(row for row in tires if row["position"] == position)
        rows.setdefault(row["tire"], []).append(row)
    return [_tire(" and ".join(row["position"] for row in mine), mine[0]) for mine in rows.values()]


def _tire(where: str, row: Mapping[str, Any]) -> str:
    name = f"{where} {row['tire']}"
    if row["ranked"] is None:
        return f"{name}: nobody has compared it yet."
    found = row["ranked"]
    return (
        f"{name}: {counted(row['verdicts'], 'verdict')} of {counted(row['riders'], 'rider')}; place {found['place']} "
        f"of {found['of']}, preferred to the middle of them in {between(found, 'chance_over_middle')}; the best of "
        f"them with a chance of {share(found['chance_best'])}."
    )


def _elsewhere(row: Mapping[str, Any]) -> str:
    """Where a tire was ridden at other pressures than it has in the choice."""
    low, high, here = row["ridden_kpa_low"], row["ridden_kpa_high"], row["pressure_kpa"]
    if low is None or here is None or low - _NEAR <= here <= high + _NEAR:
        return ""
    ridden = f"{low:.0f} kPa" if low == high else f"{low:.0f} to {high:.0f} kPa"
    return f"ridden at {ridden}, calculated at {here:.0f} kPa; what riders said may not hold there"


def _pair(row: Mapping[str, Any]) -> str:
    first, second, found = row["first"], row["second"], row["preferred"]
    text = f"{row['position']}, {preference_words(first, second, found)}"
    text += f", {counted(found['verdicts'], 'verdict')} on these two" if found["verdicts"] else ", through others"
    for one in [one for one in row["for"] if sureness(one["chance_ahead"])][:_PURPOSES]:
        ahead = one["chance_ahead"]
        better = first if ahead > 0.5 else second
        text += f"; for {one['for']} {sureness(max(ahead, 1.0 - ahead))} {better}"
    return " ".join(filter(None, (f"{text}.", _calculated(row))))


def _calculated(row: Mapping[str, Any]) -> str:
    loss = row["aim_loss_percent"]
    if loss is None:
        return ""
    better, worse = (row["first"], row["second"]) if loss >= 0.0 else (row["second"], row["first"])
    changes = [
        f"{words} {value:+.{places}f} {unit}"
        for words, value, unit, places in (
            ("mass", row["mass_change_kg"], "kg", 2),
            ("rolling loss", row["rolling_loss_change_wh_per_km"], "Wh/km", 1),
        )
        if value is not None
    ]
    of = f" (with {row['second']} {', '.join(changes)})" if changes else ""
    speaks = f"By calculation the aim is {abs(loss):.2g} % worse with {worse} than with {better}{of}"
    agree = {
        "same": "riders and calculation point the same way.",
        "opposite": "riders and calculation point opposite ways: ride these two again.",
        "open": "riders have not decided between them.",
    }
    return f"{speaks}; {agree[row['agree']]}" if row["agree"] else f"{speaks}."


def dropped_words(row: Mapping[str, Any]) -> str:
    """A tire that was given up: when, by whom, where, why."""
    pressure = "" if row["pressure_kpa"] is None else f" at {row['pressure_kpa']:.0f} kPa"
    where = ", ".join(filter(None, (row["place"], row["conditions"])))
    return f"{row['tire']}{pressure}, {row['when']} by {row['who']}{f', {where}' if where else ''}: {row['why']}"
