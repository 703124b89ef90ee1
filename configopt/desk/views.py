"""What the templates print: an answer as words and figures, every figure with its unit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from configopt.desk.answer import Laid, Shown
from configopt.desk.cells import SLOT_WORDS, Cells, Payload, figure_or_ratio, part_name
from configopt.desk.changes_view import narrowed_words
from configopt.desk.laid_view import LaidView, differences, laid_views, pictures
from configopt.desk.limits_view import LimitView, limit_views, other_limits
from configopt.desk.movable import POSITIONS, SLOTS
from configopt.desk.project import Opened
from configopt.desk.state import State
from configopt.sheet.figures import figure_text, unit_words
from configopt.sheet.words import AIMS, CAUSES, limit_words

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
    laid = laid_views(shown)
    return DeskView(
        grounds=tuple(ground.name for ground in of.grounds),
        ground_rows=_ground_rows(entry),
        causes=_causes(entry),
        parts=_parts(shown, state, opened, fitting),
        figures={step: _package_rows(entry, step, currency) for step in FIGURES},
        sums=_sums(entry, laid, currency),
        sum_heads=("this choice", *(f"{view.letter}, {view.words}" for view, one in laid if one.entry is not None)),
        limits=limit_views(entry, state, of, currency),
        other_limits=other_limits(entry, of, state, currency),
        pictures=pictures(shown, laid),
        laid=tuple(view for view, _ in laid),
        differences=differences(shown, laid, opened),
        headline=_headline(shown, state),
        aim=_aim(shown),
        counts=_counts(shown),
        drive="" if entry is None else str(entry["final_drive"]),
    )


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
            options = tuple(sorted(((one, part_name(opened, one)) for one in ids), key=lambda row: row[1]))
            found[place] = PartView(place, SLOT_WORDS[slot], identifier, name, _more(package, slot), held, options)
    return found


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
            cells = tuple("–" if value is None else figure_or_ratio(value, unit, currency) for value in values)
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
            text = figure_or_ratio(margin["value"], margin["unit"], currency)
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
