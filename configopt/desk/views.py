"""What the templates print: an answer as words and figures, every figure with its unit."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from configopt.desk.answer import Laid, Shown
from configopt.desk.candidate_text import text_of
from configopt.desk.movable import POSITIONS, RATES, SLOTS, Bounded, Movable, address_of
from configopt.desk.overlay import scale_of, wheel_picture
from configopt.desk.project import Opened
from configopt.desk.state import State, number
from configopt.sheet.figures import figure_text, unit_words
from configopt.sheet.words import AIMS, CAUSES, PARTS, limit_words, side_words, verdict_words

Payload = Mapping[str, Any]
#: Slots of a package by the step in which they are chosen.
STEPS: Mapping[str, tuple[str, ...]] = {
    "tires": ("tire", "inner", "rim_lock"),
    "wheels": ("rim", "disc_wheel", "spokes", "hub"),
    "brakes": ("rotor", "caliper", "pad"),
}
#: Figures of a package by step: key in the results, words, unit.
FIGURES: Mapping[str, tuple[tuple[str, str, str], ...]] = {
    "tires": (
        ("pressure_kpa", "cold pressure", "kPa"),
        ("static_load_n", "static load of a wheel", "N"),
        ("relative_deflection", "deflection over section height", "1"),
        ("diameter_mm", "diameter", "mm"),
        ("width_mm", "width on this rim", "mm"),
        ("loaded_radius_mm", "radius under load", "mm"),
        ("patch_length_mm", "length of the contact patch", "mm"),
        ("patch_area_cm2", "area of the contact patch", "cm2"),
        ("peak_torque_n_m", "peak torque at the bead", "N m"),
        ("creep_torque_low_n_m", "torque the bead holds at least", "N m"),
    ),
    "wheels": (
        ("spoke_length_left_mm", "spoke length, left", "mm"),
        ("spoke_length_right_mm", "spoke length, right", "mm"),
        ("spoke_tension_tight_n", "tension, tight side", "N"),
        ("spoke_tension_slack_n", "tension, slack side", "N"),
        ("wheel_lateral_stiffness_kn_m", "lateral stiffness of the wheel", "kN/m"),
        ("first_slack_torque_n_m", "torque of the first slack spoke", "N m"),
        ("inertia_kg_m2", "inertia about the axle", "kg m2"),
        ("unsprung_mass_kg", "unsprung mass of a wheel", "kg"),
        ("mass_kg", "mass of the package", "kg"),
        ("cost", "cost of the package", "currency"),
    ),
    "brakes": (),
}
#: Figures of a terrain: key, words, unit.
GROUND_FIGURES = (
    ("energy_wh_per_km", "energy from the battery", "Wh/km"),
    ("rolling_loss_wh_per_km", "rolling loss", "Wh/km"),
    ("climb_grade_percent", "steepest climb", "%"),
    ("step_height_mm", "highest step", "mm"),
    ("sinkage_front_mm", "sinkage, front", "mm"),
    ("sinkage_rear_mm", "sinkage, rear", "mm"),
    ("ground_pressure_front_kpa", "ground pressure, front", "kPa"),
    ("ground_pressure_rear_kpa", "ground pressure, rear", "kPa"),
    ("slip_percent", "slip", "%"),
)
#: Figures of the vehicle: key, words, unit, and whether less is better.
SUMS = (
    ("mass_kg", "mass of the packages", "kg"),
    ("rolling_loss_wh_per_km", "rolling loss", "Wh/km"),
    ("energy_wh_per_km", "energy from the battery", "Wh/km"),
    ("range_km", "range", "km"),
    ("cost", "cost of the packages", "currency"),
)
#: Limits that are about the brakes: their margins stand in that step too.
BRAKE_LIMITS = (
    "brake_torque_reserve", "statutory_deceleration", "deceleration", "rotor_temperature_margin", "rotor_temperature",
    "lift_off_deceleration",
)  # fmt: skip
SLOT_WORDS = {**PARTS, "rim_lock": "rim locks"}


@dataclass(frozen=True)
class Cells:
    """A row of a table: words, then cells."""

    words: str
    cells: tuple[str, ...]
    strong: bool = False


@dataclass(frozen=True)
class PartView:
    """One part of a package on the page."""

    slot: str
    words: str
    id: str
    name: str
    more: str
    held: str
    options: tuple[tuple[str, str], ...]
    """Id and name of every part that fits."""


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


@dataclass(frozen=True)
class LaidView:
    """A candidate that is laid over the choice."""

    text: str
    letter: str
    words: str
    kind: str
    problem: str
    missed: tuple[str, ...]


@dataclass(frozen=True)
class DeskView:
    """Everything of an answer that the page shows and that changes with it."""

    grounds: tuple[str, ...]
    ground_rows: tuple[Cells, ...]
    causes: tuple[Cells, ...]
    parts: Mapping[str, PartView]
    figures: Mapping[str, tuple[Cells, ...]]
    sums: tuple[Cells, ...]
    sum_heads: tuple[str, ...]
    limits: tuple[LimitView, ...]
    other_limits: tuple[Cells, ...]
    pictures: tuple[tuple[str, str], ...]
    """Position and SVG text."""
    laid: tuple[LaidView, ...]
    differences: tuple[Cells, ...]
    headline: str
    aim: str
    counts: tuple[str, ...]
    drive: str


def desk_view(shown: Shown | None, state: State, opened: Opened, fitting: Mapping[str, tuple[str, ...]]) -> DeskView:
    """The answer of a state, or the empty page where there is none."""
    of = opened.movable(state.vehicle)
    currency = opened.case.catalog.currency
    entry = shown.entry if shown is not None else None
    laid = _laid(shown)
    return DeskView(
        grounds=tuple(ground.name for ground in of.grounds),
        ground_rows=_ground_rows(entry),
        causes=_causes(entry),
        parts=_parts(shown, state, opened, fitting),
        figures={step: _package_rows(entry, step, currency) for step in FIGURES},
        sums=_sums(entry, laid, currency),
        sum_heads=("this choice", *(f"{view.letter}, {view.words}" for view, one in laid if one.entry is not None)),
        limits=_limits(entry, state, of, currency),
        other_limits=_other_limits(entry, of, state, currency),
        pictures=_pictures(shown, laid),
        laid=tuple(view for view, _ in laid),
        differences=_differences(shown, laid, opened),
        headline=_headline(shown, state),
        aim=_aim(shown),
        counts=_counts(shown),
        drive="" if entry is None else str(entry["final_drive"]),
    )


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
        f"{_name(opened, part)} is held ({slot.replace('.', ' ').replace('_', ' ')}) and left out at once, so nothing "
        "can be chosen: let go of it, or let it in again"
        for slot, part in state.holds
        if part in state.out
    ]


def _headline(shown: Shown | None, state: State) -> str:
    """The choice in one sentence, read aloud after every change."""
    if shown is None:
        return "No answer yet."
    if shown.entry is None:
        if not shown.proven:
            return "Nothing was found in the time there was; that nothing meets every limit is not proven."
        return f"Proven: nothing in these catalogs meets every limit{narrowed_words(state)}."
    entry = shown.entry
    tires = [package["names"]["tire"] for package in entry["packages"]]
    pressures = [figure_text(package["pressure_kpa"], "kPa") for package in entry["packages"]]
    proof = "Proven best" if shown.proven else "Best found so far, not proven"
    return (
        f"{proof}: {tires[0]} at {pressures[0]} in front, {tires[1]} at {pressures[1]} behind; "
        f"{figure_text(entry['mass_kg'], 'kg')}, {figure_text(entry['rolling_loss_wh_per_km'], 'Wh/km')} lost to the "
        f"ground, {figure_text(entry['cost'], entry['currency'])}."
    )


def _aim(shown: Shown | None) -> str:
    if shown is None or shown.value is None:
        return ""
    terms = [
        f"{AIMS[name]} {figure_text(term['value'], term['unit'])} × {term['rate']:g} per {unit_words(term['unit'])}"
        for name, term in shown.terms.items()
    ]
    return f"What counts, weighed: {shown.value:.4f} (a sum without unit) = {' + '.join(terms)}. Less is better."


def _counts(shown: Shown | None) -> tuple[str, ...]:
    if shown is None:
        return ()
    found = []
    if shown.ties is not None and shown.ties > 1:
        found.append(f"{shown.ties} choices are equally good; the cheapest of them is shown")
    found.append(f"worked out in {shown.seconds:.2f} s")
    return tuple(found)


def _ground_rows(entry: Payload | None) -> tuple[Cells, ...]:
    if entry is None:
        return ()
    rows = []
    for key, words, unit in GROUND_FIGURES:
        values = [terrain[key] for terrain in entry["terrains"]]
        if any(value is not None for value in values):
            cells = tuple("–" if value is None else figure_text(value, unit) for value in values)
            rows.append(Cells(words, cells, key == "energy_wh_per_km"))
    rows.append(Cells("can be ridden", tuple("yes" if one["passable"] else "no" for one in entry["terrains"])))
    return tuple(rows)


def _causes(entry: Payload | None) -> tuple[Cells, ...]:
    if entry is None:
        return ()
    rows = [
        Cells(words, (figure_text(entry["energy_by_cause_wh_per_km"][cause], "Wh/km"),))
        for cause, words in CAUSES.items()
    ]
    return (*rows, Cells("from the battery", (figure_text(entry["energy_wh_per_km"], "Wh/km"),), True))


def _parts(
    shown: Shown | None, state: State, opened: Opened, fitting: Mapping[str, tuple[str, ...]]
) -> dict[str, PartView]:
    found = {}
    holds = dict(state.holds)
    packages = {} if shown is None or shown.entry is None else {p["position"]: p for p in shown.entry["packages"]}
    for position in POSITIONS:
        package = packages.get(position)
        for slot in SLOTS:
            place = f"{position}.{slot}"
            identifier = "" if package is None else package[slot] or ""
            name = "" if package is None or not identifier else package["names"].get(slot, identifier)
            held = holds.get(place, "")
            ids = dict.fromkeys([*fitting.get(place, ()), *([held] if held else [])])
            options = tuple(sorted(((one, _name(opened, one)) for one in ids), key=lambda row: row[1]))
            found[place] = PartView(place, SLOT_WORDS[slot], identifier, name, _more(package, slot), held, options)
    return found


def _name(opened: Opened, identifier: str) -> str:
    part = opened.parts.get(identifier)
    return identifier if part is None else part.name


def _more(package: Payload | None, slot: str) -> str:
    """What is said beside a part's name."""
    if package is None:
        return ""
    if slot == "spokes" and package["lacing"]:
        return str(package["lacing"])
    if slot == "rim_lock" and package["rim_locks"]:
        return f"{package['rim_locks']} per wheel"
    return ""


def _package_rows(entry: Payload | None, step: str, currency: str) -> tuple[Cells, ...]:
    if entry is None:
        return ()
    packages = {package["position"]: package for package in entry["packages"]}
    rows = []
    for key, words, unit in FIGURES[step]:
        values = [packages[position][key] for position in POSITIONS]
        if any(value is not None for value in values):
            shown_unit = currency if unit == "currency" else unit
            cells = tuple("–" if value is None else figure_text(value, shown_unit) for value in values)
            rows.append(Cells(words, cells, key == "pressure_kpa"))
    if step == "tires":
        rows.append(Cells("creep on the rim", tuple(packages[position]["creep"] for position in POSITIONS)))
    if step == "brakes":
        rows += _brake_rows(entry, currency)
    return tuple(rows)


def _brake_rows(entry: Payload, currency: str) -> list[Cells]:
    rows: dict[str, list[str]] = {}
    for margin in entry["margins"]:
        if margin["limit"] in BRAKE_LIMITS:
            words = limit_words({**margin, "position": None})
            text = _limit_figure(margin["value"], margin["unit"], currency)
            cells = rows.setdefault(words, ["–", "–"])
            for at, position in enumerate(POSITIONS):
                if margin["position"] in (None, position):
                    cells[at] = text
    return [Cells(words, tuple(cells)) for words, cells in rows.items()]


def _sums(entry: Payload | None, laid: Sequence[tuple[LaidView, Laid]], currency: str) -> tuple[Cells, ...]:
    """The vehicle's figures, and what each candidate has less or more."""
    if entry is None:
        return ()
    rows = []
    for key, words, unit in SUMS:
        shown_unit = currency if unit == "currency" else unit
        cells = [figure_text(entry[key], shown_unit)]
        for _, one in laid:
            if one.entry is not None:
                mine, its = entry[key], one.entry[key]
                differs = None if mine is None or its is None else its - mine
                cells.append(f"{figure_text(its, shown_unit)} ({figure_text(differs, shown_unit, sign=True)})")
        rows.append(Cells(words, tuple(cells)))
    return tuple(rows)


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


def _limits(entry: Payload | None, state: State, of: Movable, currency: str) -> tuple[LimitView, ...]:
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
            reached = _limit_figure(margin["value"], margin["unit"], currency)
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


def _limit_figure(value: float | None, unit: str, currency: str) -> str:
    """A figure of a limit; one without unit is said to be a ratio.

    >>> _limit_figure(1.25, "1", "EUR"), _limit_figure(None, "1", "EUR")
    ('1.250 (ratio)', 'no figure')
    """
    text = figure_text(value, currency if unit == "currency" else unit)
    return f"{text} (ratio)" if unit == "1" and any(sign.isdigit() for sign in text) else text


def _other_limits(entry: Payload | None, of: Movable, state: State, currency: str) -> tuple[Cells, ...]:
    """Limits that cannot be moved: ratings and laws."""
    if entry is None:
        return ()
    rows = sorted(_margin_rows(entry, of, state)[1], key=_spare)
    return tuple(
        Cells(
            limit_words(margin),
            (
                _limit_figure(margin["value"], margin["unit"], currency),
                f"{side_words(margin['limit'])} {_limit_figure(margin['required'], margin['unit'], currency)}",
                verdict_words(margin),
            ),
        )
        for margin in rows
    )


def _laid(shown: Shown | None) -> list[tuple[LaidView, Laid]]:
    """Candidates in the order of the address, with letters."""
    if shown is None:
        return []
    found: list[tuple[LaidView, Laid]] = []
    for one in shown.laid:
        letter = "ABCD"[len(found)]
        missed = [] if one.entry is None else [row for row in one.entry["margins"] if not row["met"]]
        view = LaidView(
            one.text,
            letter,
            one.words,
            f"laid-{letter.lower()}",
            one.problem,
            tuple(dict.fromkeys(limit_words({**row, "position": None}) for row in missed)),
        )
        found.append((view, one))
    return found


def _pictures(shown: Shown | None, laid: Sequence[tuple[LaidView, Laid]]) -> tuple[tuple[str, str], ...]:
    if shown is None or shown.entry is None:
        return ()
    every = [*shown.shapes.values(), *(shape for _, one in laid for shape in one.shapes.values())]
    scale = scale_of(every)
    packages = {package["position"]: package for package in shown.entry["packages"]}
    found = []
    for position in POSITIONS:
        package, shape = packages[position], shown.shapes[position]
        over = {view.kind: one.shapes[position] for view, one in laid if one.shapes}
        names = package["names"]
        over_words = "".join(f" Laid over as lines: {view.letter}, {view.words}." for view, one in laid if one.shapes)
        found.append(
            (
                position,
                wheel_picture(
                    shape,
                    over,
                    scale=scale,
                    loaded_radius=package["loaded_radius_mm"] or 0.5 * shape.tire_diameter,
                    name=f"wheel-{position}",
                    title=f"{position.capitalize()} wheel, from the rotor’s side and cut through the axle",
                    description=(
                        f"Tire {names['tire']}, {figure_text(shape.tire_diameter, 'mm')} across and "
                        f"{figure_text(shape.tire_width, 'mm')} wide, at {figure_text(package['pressure_kpa'], 'kPa')}."
                        f"{over_words}"
                    ),
                ),
            )
        )
    return tuple(found)


def _differences(shown: Shown | None, laid: Sequence[tuple[LaidView, Laid]], opened: Opened) -> tuple[Cells, ...]:
    """Parts in which a candidate differs from the choice, from the ground up."""
    if shown is None or shown.record is None:
        return ()
    records = [one.record for _, one in laid if one.record is not None]
    rows = []
    for position in POSITIONS:
        for slot in ("tire", "pressure", *(slot for slot in SLOTS if slot != "tire")):
            words = f"{position} {SLOT_WORDS.get(slot, 'cold pressure')}"
            cells = [_part_words(getattr(record, position), slot, opened) for record in (shown.record, *records)]
            if len(set(cells)) > 1:
                rows.append(Cells(words, tuple(cells)))
    drives = [record.final_drive for record in (shown.record, *records)]
    if len(set(drives)) > 1:
        rows.append(Cells("final drive", tuple(drives)))
    return tuple(rows)


def _part_words(package: Any, slot: str, opened: Opened) -> str:
    if slot == "pressure":
        return figure_text(float(package.pressure) / 1e3, "kPa")
    identifier = getattr(package, slot)
    if identifier is None:
        return "none"
    name = _name(opened, identifier)
    if slot == "rim_lock":
        return f"{package.rim_locks} × {name}"
    if slot == "spokes":
        return f"{name}, {package.crossings}-cross" if package.crossings else f"{name}, radial"
    return name


def present_text(shown: Shown | None) -> str:
    """Text of the choice on the page."""
    return "" if shown is None or shown.record is None else text_of(shown.record)


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
        found.append(("price", part, f"price of {_name(opened, part)}: {figure_text(percent, '%')} of the catalog’s"))
    found += [("out", part, f"left out: {_name(opened, part)}") for part in state.out]
    for slot, part in state.holds:
        position, _, kind = slot.partition(".")
        found.append(("hold", slot, f"held: {position} {SLOT_WORDS[kind]} {_name(opened, part)}"))
    for end, pressure in state.pressures:
        position, _, which = end.partition(".")
        side = "at least" if which == "low" else "at most"
        found.append(("press", end, f"cold pressure, {position}: {side} {figure_text(pressure, 'kPa')}"))
    return found


def joined_notes(notes: Iterable[str]) -> list[str]:
    """Notes as sentences."""
    return [f"{note[0].upper()}{note[1:]}." for note in notes]
