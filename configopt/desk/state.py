"""The state of the page: what differs from the scenario's file, as it stands in the address.

Whatever an address or a form says is read here, and only here.  Numbers are clamped to their range, names that nothing
has are left out, both with a note; what equals the file is no change.  So every state is sound in form, and its text
is the same however it came about.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from urllib.parse import urlencode

from configopt.desk.movable import POSITIONS, PRESSURE, PRICE, RATE, SHARE, SLOTS, SPEED, Movable, tidy

#: Pairs of an address or form that are read, and characters of one value.
MOST_PAIRS, MOST_LENGTH = 600, 400
#: Parts that may be left out or have another price, and candidates that are laid over at once.
MOST_PARTS, MOST_BESIDE = 40, 4
_NUMBER = re.compile(r"\s*([+-]?[0-9]{1,9}(?:[.,][0-9]{1,20})?)\s*")
Pairs = Sequence[tuple[str, str]]


@dataclass(frozen=True)
class State:
    """What is different from the scenario's file; numbers in the units of the page."""

    vehicle: str
    mix: tuple[tuple[str, float], ...] = ()
    """Weight of every terrain, where they are not as stated."""
    speeds: tuple[tuple[str, float], ...] = ()
    """Speeds by terrain [km/h]."""
    limits: tuple[tuple[str, float | None], ...] = ()
    """Bounds by address in the limit's unit; ``None`` where the limit is not asked."""
    rates: tuple[tuple[str, float], ...] = ()
    prices: tuple[tuple[str, float], ...] = ()
    """Percent of the catalog's price by part."""
    out: tuple[str, ...] = ()
    holds: tuple[tuple[str, str], ...] = ()
    """Parts that are held, by slot such as ``front.tire``."""
    pressures: tuple[tuple[str, float], ...] = ()
    """Least and most cold pressures [kPa], by ``front.low`` and the like."""
    beside: tuple[str, ...] = ()
    """Candidates that are laid over the choice, as their texts."""
    trade: bool = False
    """Whether the trade-off follows every change."""
    notes: tuple[str, ...] = field(default=(), compare=False)
    """What was clamped or left out, in words."""

    @property
    def changed(self) -> bool:
        """Whether the answer may differ from that of the scenario's file."""
        return bool(
            self.mix
            or self.speeds
            or self.limits
            or self.rates
            or self.prices
            or self.out
            or self.holds
            or self.pressures
        )

    def pairs(self, *, shown: bool = True) -> list[tuple[str, str]]:
        """The state as keys and values; without what is only shown, the same for every state of the same answer."""
        found = [("vehicle", self.vehicle)]
        found += [(f"mix.{name}", number(weight)) for name, weight in self.mix]
        found += [(f"speed.{name}", number(speed)) for name, speed in self.speeds]
        found += [(f"limit.{name}", number(value)) for name, value in self.limits if value is not None]
        found += [("off", name) for name, value in self.limits if value is None]
        found += [(f"rate.{name}", number(rate)) for name, rate in self.rates]
        found += [(f"price.{part}", number(percent)) for part, percent in self.prices]
        found += [("out", part) for part in self.out]
        found += [(f"hold.{slot}", part) for slot, part in self.holds]
        found += [(f"press.{end}", number(pressure)) for end, pressure in self.pressures]
        if shown:
            found += [("beside", text) for text in self.beside]
            found += [("trade", "follow")] if self.trade else []
        return found

    def query(self) -> str:
        """The state as it stands in the address."""
        return urlencode(self.pairs(), safe="~")

    def key(self) -> str:
        """The same for every state of the same answer."""
        return urlencode(self.pairs(shown=False))

    def without_shown(self) -> State:
        """The state as far as the answer depends on it."""
        return replace(self, beside=(), trade=False, notes=())


def number(value: float) -> str:
    """A number as an address has it, and as :func:`read_state` reads it: without an exponent.

    >>> number(44.0), number(17.5), number(1e-5), number(-0.0)
    ('44', '17.5', '0.00001', '0')
    """
    return f"{Decimal(f'{value + 0.0:.10g}'):f}"


class _Reader:
    """The pairs of an address by key, with notes of what could not be taken."""

    def __init__(self, pairs: Pairs) -> None:
        self.notes: list[str] = []
        if len(pairs) > MOST_PAIRS:
            self.notes.append(f"the address holds {len(pairs)} values; the first {MOST_PAIRS} were read")
        self.all: dict[str, list[str]] = {}
        for key, value in pairs[:MOST_PAIRS]:
            self.all.setdefault(key[:MOST_LENGTH], []).append(value[:MOST_LENGTH])

    def last(self, key: str) -> str:
        return self.all.get(key, [""])[-1].strip()

    def number(self, key: str, within: tuple[float, float], words: str, unit: str) -> float | None:
        """The last number of a key, clamped to its range; ``None`` where there is none."""
        text = self.last(key)
        if not text:
            return None
        found = _NUMBER.fullmatch(text)
        if found is None:
            self.notes.append(f"{words}: “{plain(text)}” is no number, so it stays as it was")
            return None
        value = float(found[1].replace(",", "."))
        low, high = within
        if not low <= value <= high:
            taken = min(max(value, low), high)
            self.notes.append(
                f"{words}: {number(value)} lies outside {number(low)} to {number(high)} {unit}".rstrip()
                + f"; {number(taken)} {unit}".rstrip()
                + " was taken"
            )
            value = taken
        return value

    def under(self, start: str) -> list[str]:
        """What follows a beginning of keys, in their order."""
        return [key.removeprefix(start) for key in self.all if key.startswith(start)]


def plain(text: str) -> str:
    """A text that came from outside, short enough for a note.

    >>> plain("x" * 60)[-3:]
    'xx…'
    """
    return text if len(text) <= 40 else f"{text[:39]}…"


def read_state(pairs: Pairs, of: Movable, families: Mapping[str, str]) -> State:
    """Read a state.

    Parameters
    ----------
    pairs
        Keys and values of an address or of a form, in their order; of a key that takes one value the last counts.
    of
        What can be moved.
    families
        Family of each part by its id.
    """
    reader = _Reader(pairs)
    bounds = _limits(reader, of)
    return State(
        vehicle=of.vehicle,
        mix=_mix(reader, of),
        speeds=tuple(
            (ground.name, speed)
            for ground in of.grounds
            if (speed := reader.number(f"speed.{ground.name}", SPEED, f"speed on {ground.name}", "km/h")) is not None
            and not _same(speed, ground.speed)
        ),
        limits=tuple(bounds.items()),
        rates=_rates(reader, of),
        prices=_prices(reader, families),
        out=_known_parts(reader, reader.all.get("out", []), families),
        holds=_holds(reader, families),
        pressures=_pressures(reader),
        beside=tuple(dict.fromkeys(text for text in reader.all.get("beside", []) if text))[:MOST_BESIDE],
        trade=reader.last("trade") == "follow",
        notes=tuple(reader.notes[:12]),
    )


def _same(one: float, other: float) -> bool:
    return math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-15)


def _mix(reader: _Reader, of: Movable) -> tuple[tuple[str, float], ...]:
    """Weights of all terrains; none where they stand in the same proportions as the shares stated."""
    found = []
    for ground in of.grounds:
        weight = reader.number(f"mix.{ground.name}", SHARE, f"share of {ground.name}", "%")
        found.append((ground.name, ground.share if weight is None else weight))
    total, stated = sum(weight for _, weight in found), sum(ground.share for ground in of.grounds)
    if all(_same(weight / total, one.share / stated) for (_, weight), one in zip(found, of.grounds, strict=True)):
        return ()
    return tuple(found)


def _limits(reader: _Reader, of: Movable) -> dict[str, float | None]:
    found: dict[str, float | None] = {}
    for address in reader.under("limit."):
        limit = of.limit(address)
        if limit is None:
            reader.notes.append(f"there is no limit “{plain(address)}” here")
            continue
        words = f"{limit.limit.wording}{f' on {limit.terrain}' if limit.terrain else ''}"
        value = reader.number(f"limit.{address}", limit.limit.allowed, words, limit.unit)
        if value is not None and (limit.stated is None or not _same(value, limit.stated)):
            found[address] = value
    for address in reader.all.get("off", []):
        limit = of.limit(address)
        # A default cannot be left out: it holds wherever nothing else is stated.
        if limit is not None and limit.stated is not None and not limit.by_default:
            found[address] = None
        elif limit is not None:
            found.pop(address, None)
    order = list(of.limits)
    return dict(sorted(found.items(), key=lambda row: (order.index(row[0]) if row[0] in order else len(order), row[0])))


def _rates(reader: _Reader, of: Movable) -> tuple[tuple[str, float], ...]:
    if of.in_order:
        return ()
    found = []
    for name in ("mass", "rolling_loss", "energy", "cost"):
        rate = reader.number(f"rate.{name}", RATE, f"what {name.replace('_', ' ')} counts", "")
        if rate is not None and not _same(rate, of.rates.get(name, 0.0)):
            found.append((name, rate))
    after = {**of.rates, **dict(found)}
    if not any(after.values()):
        reader.notes.append("something has to count: what each quantity counts stays as it was")
        return ()
    return tuple(found)


def _known_parts(reader: _Reader, wanted: Iterable[str], families: Mapping[str, str]) -> tuple[str, ...]:
    found = []
    for part in dict.fromkeys(filter(None, wanted)):
        if families.get(part, "surfaces") == "surfaces":
            reader.notes.append(f"there is no part “{plain(part)}” in these catalogs")
        else:
            found.append(part)
    if len(found) > MOST_PARTS:
        reader.notes.append(f"at most {MOST_PARTS} parts can be named; the first {MOST_PARTS} were taken")
    return tuple(sorted(found[:MOST_PARTS]))


def _prices(reader: _Reader, families: Mapping[str, str]) -> tuple[tuple[str, float], ...]:
    found = []
    for part in _known_parts(reader, reader.under("price."), families):
        percent = reader.number(f"price.{part}", PRICE, f"price of {part}", "%")
        if percent is not None:
            found.append((part, percent))
    return tuple(found)


def _holds(reader: _Reader, families: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    found = []
    for position in POSITIONS:
        for slot, family in SLOTS.items():
            part = reader.last(f"hold.{position}.{slot}")
            if part and families.get(part) == family:
                found.append((f"{position}.{slot}", part))
            elif part:
                reader.notes.append(f"there is no “{plain(part)}” among {family}, so nothing is held there")
    return tuple(found)


def _pressures(reader: _Reader) -> tuple[tuple[str, float], ...]:
    found: dict[str, float] = {}
    for position in POSITIONS:
        for end in ("low", "high"):
            words = f"{'least' if end == 'low' else 'most'} cold pressure, {position}"
            value = reader.number(f"press.{position}.{end}", PRESSURE, words, "kPa")
            if value is not None:
                found[f"{position}.{end}"] = value
        low, high = found.get(f"{position}.low"), found.get(f"{position}.high")
        if low is not None and high is not None and low > high:
            reader.notes.append(f"the least pressure, {position}, lay above the most; they were exchanged")
            found[f"{position}.low"], found[f"{position}.high"] = high, low
    return tuple(found.items())


def done(state: State, action: str, of: Movable, families: Mapping[str, str]) -> State:
    """The state after a button was pressed.

    Parameters
    ----------
    state
        Before.
    action
        ``out:PART``, ``in:PART``, ``hold:SLOT:PART``, ``free:SLOT``, ``price:PART``, ``asked:PART`` (the catalog's
        price again), ``ask:LIMIT``, ``unask:LIMIT``, ``beside:TEXT``, ``away:TEXT``; anything else changes nothing.
    of, families
        As for :func:`read_state`.
    """
    kind, _, what = action.partition(":")
    part = families.get(what, "surfaces") != "surfaces"
    if kind == "out" and part:
        kept = tuple((slot, held) for slot, held in state.holds if held != what)
        return replace(state, out=tuple(sorted({*state.out, what}))[:MOST_PARTS], holds=kept)
    if kind == "in":
        return replace(state, out=tuple(one for one in state.out if one != what))
    if kind == "hold":
        slot, _, held = what.partition(":")
        if families.get(held) == SLOTS.get(slot.partition(".")[2]) and slot.partition(".")[0] in POSITIONS:
            holds = {**dict(state.holds), slot: held}
            return replace(state, holds=tuple(holds.items()), out=tuple(one for one in state.out if one != held))
    if kind == "free":
        return replace(state, holds=tuple(row for row in state.holds if row[0] != what))
    if kind == "price" and part and what not in dict(state.prices):
        return replace(state, prices=tuple(sorted([*state.prices, (what, 100.0)]))[:MOST_PARTS])
    if kind == "asked":
        return replace(state, prices=tuple(row for row in state.prices if row[0] != what))
    if kind == "ask":
        limit = of.limit(what)
        if limit is not None and what not in dict(state.limits) and limit.stated is None:
            loose = limit.limit.allowed[0 if limit.limit.bound == "at_least" else 1]
            return replace(state, limits=(*state.limits, (what, loose)))
    if kind == "unask":
        return replace(state, limits=tuple(row for row in state.limits if row[0] != what))
    if kind == "beside" and what and what not in state.beside:
        return replace(state, beside=(*state.beside, what)[-MOST_BESIDE:])
    if kind == "away":
        return replace(state, beside=tuple(one for one in state.beside if one != what))
    return state


def settings(state: State, of: Movable) -> list[tuple[str, object]]:
    """Fields of the scenario that a state sets, by the addresses of :mod:`configopt.sweep.changing`."""
    base = f"vehicles.{state.vehicle}"
    found: list[tuple[str, object]] = []
    if state.mix:
        total = sum(weight for _, weight in state.mix)
        found.append((f"{base}.terrain_mix", {name: weight / total for name, weight in state.mix}))
    found += [(f"{base}.terrains.{name}.speed", f"{number(speed)} km/h") for name, speed in state.speeds]
    for address, value in state.limits:
        limit = of.limit(address)
        assert limit is not None
        found.append((f"{base}.limits.{address}", None if value is None else bound_text(value, limit.limit.unit)))
    for name, rate in state.rates:
        unit = {"mass": " per kg", "rolling_loss": " per Wh/km", "energy": " per Wh/km", "cost": ""}[name]
        found.append((f"aims.{name}", f"{number(rate)}{unit}" if unit else tidy(rate)))
    return found


def bound_text(value: float, unit: str) -> str | float:
    """A bound as a scenario's file has it.

    >>> bound_text(44.0, "km"), bound_text(0.9, "g")
    ('44 km', 0.9)
    """
    return tidy(value) if unit in ("1", "currency", "g") else f"{number(value)} {unit}"
