"""Limits as the page shows them: those that can be moved, with what the choice has of each, and those that stay."""

from __future__ import annotations

from dataclasses import dataclass

from configopt.desk.cells import Cells, Payload, figure_or_ratio
from configopt.desk.movable import Bounded, Movable, address_of
from configopt.desk.state import State, number
from configopt.sheet.figures import unit_words
from configopt.sheet.words import limit_words, side_words, verdict_words


@dataclass(frozen=True)
class LimitView:
    """One limit that can be moved, with what the choice has of it."""

    address: str
    words: str
    side: str
    unit: str
    value: str
    stated: str
    off: bool
    default: bool
    fallback: str
    slider: tuple[str, str, str]
    reached: str
    verdict: str
    kind: str
    """``met``, ``tight``, ``missed`` or nothing."""

    @property
    def id(self) -> str:
        """For the marks of the page."""
        return self.address.replace(".", "-")


def _margin_rows(entry: Payload, of: Movable, state: State) -> tuple[dict[str, Payload], list[Payload]]:
    """Margins by the limit of the page that asks for them, the one with least to spare each, and all others."""
    known = {*of.limits, *(address for address, _ in state.limits)}
    found: dict[str, Payload] = {}
    others = []
    for margin in entry["margins"]:
        key, terrain, position = margin["limit"], margin["terrain"], margin["position"]
        places = (
            address_of(key, terrain, position),
            address_of(key, terrain, None),
            address_of(key, None, position),
            key,
        )
        address = next((place for place in places if place in known), None)
        if address is None:
            others.append(margin)
        elif address not in found or _spare(margin) < _spare(found[address]):
            found[address] = margin
    return found, others


def _spare(margin: Payload) -> float:
    return float("inf") if margin["ratio"] is None else float(margin["ratio"])


def limit_views(entry: Payload | None, state: State, of: Movable, currency: str) -> tuple[LimitView, ...]:
    moved = dict(state.limits)
    margins = {} if entry is None else _margin_rows(entry, of, state)[0]
    every: list[Bounded] = list(of.limits.values())
    every += [limit for address in moved if address not in of.limits and (limit := of.limit(address)) is not None]
    rows = []
    for limit in every:
        off = limit.address in moved and moved[limit.address] is None
        value = moved.get(limit.address, limit.stated)
        shown_value = limit.stated if value is None else value
        margin = margins.get(limit.address)
        unit = currency if limit.limit.unit == "currency" else unit_words(limit.unit)
        reached, verdict, kind = "", "", ""
        if off and limit.fallback is None:
            verdict = "not asked"
        elif margin is not None:
            where = " and ".join(filter(None, (margin["position"], None if limit.terrain else margin["terrain"])))
            reached = figure_or_ratio(margin["value"], margin["unit"], currency)
            reached += f", {where}" if where and not limit.position else ""
            verdict = verdict_words(margin)
            kind = "missed" if not margin["met"] else "tight" if margin["binding"] else "met"
        low, high, step = limit.slider(shown_value)
        rows.append(
            LimitView(
                limit.address,
                limit_words({"limit": limit.limit.key, "terrain": limit.terrain, "position": limit.position}),
                "at least" if limit.limit.bound == "at_least" else "at most",
                unit,
                "" if shown_value is None else number(shown_value),
                "" if limit.stated is None else f"{number(limit.stated)} {unit}".rstrip(),
                off,
                limit.by_default,
                "" if limit.fallback is None else f"{number(limit.fallback)} {unit}".rstrip(),
                (number(low), number(high), number(step)),
                reached,
                verdict,
                kind,
            )
        )
    return tuple(rows)


def other_limits(entry: Payload | None, of: Movable, state: State, currency: str) -> tuple[Cells, ...]:
    """Limits that cannot be moved: ratings and laws."""
    if entry is None:
        return ()
    rows = sorted(_margin_rows(entry, of, state)[1], key=_spare)
    return tuple(
        Cells(
            limit_words(margin),
            (
                figure_or_ratio(margin["value"], margin["unit"], currency),
                f"{side_words(margin['limit'])} {figure_or_ratio(margin['required'], margin['unit'], currency)}",
                verdict_words(margin),
            ),
        )
        for margin in rows
    )
