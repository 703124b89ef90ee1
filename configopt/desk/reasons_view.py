"""Answers to long questions in words: why not a part, which limits have to give way."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from configopt.desk.project import Opened
from configopt.sheet.figures import figure_text
from configopt.sheet.words import change_words, differing_words, joined, limit_words

Payload = Mapping[str, Any]
_VERDICTS = {
    "chosen": "It is in the best choice",
    "ties": "Choices with it and without it are equally good",
    "beaten": "It can be used, but better choices exist without it",
    "limits": "It fits, but no choice with it meets every limit",
    "does not fit": "It cannot be used on this vehicle",
}
_GONE = {
    "withdrawn": "It is withdrawn and stays out of every choice",
    "concept": "It is only a concept and stays out of every choice",
}


@dataclass(frozen=True)
class Way:
    """Limits that have to give way together, and what would be chosen then."""

    head: str
    limits: tuple[str, ...]
    then: str


@dataclass(frozen=True)
class WhyView:
    """Why a part is in the choice or not."""

    verdict: str
    reasons: tuple[str, ...]
    ways: tuple[tuple[str, tuple[Way, ...]], ...]
    turns_head: str
    turns: tuple[tuple[str, str, str], ...]
    """Figure, what it is today, and what it would have to be."""


def why_view(told: Payload, opened: Opened) -> WhyView:
    """The answer about one part."""
    currency = told["currency"]
    where = f" ({joined(told['chosen_at'])})" if told["chosen_at"] else ""
    gone = _GONE.get(told["status"])
    reasons = []
    for place in () if gone else told["places"]:
        if place["reason"] is not None:
            reasons.append(f"{place['position'].capitalize()}: {place['reason']}.")
    if told["verdict"] == "beaten":
        reasons.append(f"The best choice with it {_beside(told['best_with_it'], currency)}.")
    elif told["verdict"] in ("chosen", "ties"):
        rest = told["best_without_it"]
        if rest is None:
            reasons.append("Without it nothing would meet every limit.")
        else:
            reasons.append(f"The best choice without it {_beside(rest, currency)}.")
    inside = told["verdict"] in ("chosen", "ties")
    head = "What would drive it out, one figure at a time" if inside else "What it would take, one figure at a time"
    return WhyView(
        f"{gone or _VERDICTS[told['verdict']]}{where}.",
        tuple(reasons),
        tuple((way["position"], ways(way["alternatives"], currency)) for way in told["gives_way"]),
        head,
        tuple(_turn(turn, inside) for turn in told["turns"]),
    )


def _beside(row: Payload, currency: str) -> str:
    return (
        f"is {row['loss']:.4g} worse in what counts: {change_words(row['change'], currency)}; with "
        f"{differing_words(row['parts'])}"
    )


def _turn(turn: Payload, inside: bool) -> tuple[str, str, str]:
    today = figure_text(turn["today"], turn["unit"])
    if turn["why_not"] is not None:
        text = turn["why_not"] if inside else f"no figure helps; {turn['why_not']}"
    elif turn["turns_at"] is None:
        tried = figure_text(turn["tried_to"], turn["unit"])
        text = f"it stays, even at {tried}" if inside else f"it does not win, even at {tried}"
    else:
        bound = f"{turn['turns_at']:.4g} {turn['unit'] if turn['unit'] != '1' else ''}".rstrip()
        text = f"{turn['direction']} {bound} ({turn['change_percent']:+.3g} %)"
    return turn["wording"], today, text


def ways(rows: Sequence[Payload], currency: str) -> tuple[Way, ...]:
    """Sets of limits that have to give way, the least change first."""
    found = []
    for row in rows[:8]:
        limits = []
        for limit in row["limits"]:
            words = limit_words(limit)
            unit = currency if limit["unit"] == "currency" else limit["unit"]
            side = "at least" if limit["at_least"] else "at most"
            limits.append(
                f"{words}: {side} {figure_text(limit['allowed'], unit)} instead of "
                f"{figure_text(limit['required'], unit)}"
            )
        figures, choice = row["figures"], row["choice"]
        tires = joined([f"{choice[p]['tire']} at {figure_text(choice[p]['pressure_kpa'], 'kPa')}" for p in
                        ("front", "rear")])  # fmt: skip
        then = (
            f"then {tires}: {figure_text(figures['mass_kg'], 'kg')}, rolling loss "
            f"{figure_text(figures['rolling_loss_wh_per_km'], 'Wh/km')}, {figure_text(figures['cost'], currency)}"
        )
        found.append(Way(f"{row['change_percent']:.3g} % in all", tuple(limits), then))
    return tuple(found)


@dataclass(frozen=True)
class GivingView:
    """What has to give way."""

    words: str
    ways: tuple[Way, ...]


def giving_view(told: Payload, opened: Opened) -> GivingView:
    """The answer about limits that cannot all be met."""
    found = ways(told["alternatives"], told["currency"])
    if told["found"]:
        return GivingView("Something meets every limit: nothing has to give way.", ())
    if not found:
        return GivingView(
            "No four limits that may be relaxed are enough: parts are missing, or more would have to give way.", ()
        )
    count = len(found[0].limits)
    words = (
        f"At least {count} limit{'s' if count > 1 else ''} {'have' if count > 1 else 'has'} to give way; no smaller "
        "number is enough. The least change first; changes are relative to each limit and summed."
    )
    return GivingView(words, found)
