"""One vehicle of an answer as text: from the ground up, tire first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from configopt.cli.layout import Page
from configopt.cli.output import counted
from configopt.cli.words import (
    condition_words,
    fixed,
    margin_words,
    number,
    place_words,
    spread_words,
    tightest,
    with_unit,
)
from configopt.sheet.words import CAUSES

Payload = Mapping[str, Any]
#: Least width [characters] at which front and rear stand side by side.
_SIDE_BY_SIDE = 72


def write_vehicle(sheet: Page, vehicle: Payload, *, detail: bool = False) -> None:
    """Packages, what changes, the ground and the limits of one vehicle.

    Parameters
    ----------
    sheet
        The page.
    vehicle
        An entry of ``vehicles``.
    detail
        Every figure and limit instead of the tightest limits.
    """
    write_packages(sheet, vehicle)
    write_change(sheet, vehicle)
    write_conditions(sheet, vehicle)
    write_terrains(sheet, vehicle)
    if not detail:
        write_margins(sheet, vehicle)
        return
    _write_causes(sheet, vehicle)
    _write_table(sheet, "Per wheel", vehicle["packages"], "position")
    _write_table(sheet, "Per terrain", vehicle["terrains"], "name")
    _write_handling(sheet, vehicle)
    _write_chassis(sheet, vehicle)
    sheet.heading("All limits")
    spread = vehicle.get("uncertainty")
    if spread:
        low, high = spread["interval_percent"]
        sheet.text(
            f"The range of each value holds with {fixed(high - low, 0)} %, its risk is the chance of a miss, for what "
            f"{spread['figures']} uncertain figures leave open ({spread['draws']} draws)."
        )
    currency = vehicle.get("currency", "")
    for margin in vehicle["margins"]:
        words = [spread_words(margin, currency), condition_words(margin, currency)]
        sheet.item("; ".join([margin_words(margin, currency), *(text for text in words if text)]))


def write_notes(sheet: Page, payload: Payload, *, detail: bool = False) -> None:
    """Remarks and cautions at the end of an answer: in full, or the cautions alone in few lines.

    Parameters
    ----------
    sheet
        The page.
    payload
        JSON of a choice or an appraisal.
    detail
        All of them, one by one.
    """
    remarks, cautions = payload.get("remarks", ()), payload.get("cautions", ())
    if detail:
        write_list(sheet, "Remarks", remarks)
        write_list(sheet, "Cautions", cautions)
        return
    if cautions:
        sheet.heading("Cautions")
        sheet.text(" ".join(text if text.endswith(".") else f"{text}." for text in cautions))
    if remarks:
        sheet.text(f"{counted(len(remarks), 'remark')} on how far these figures carry: --detail")


def write_packages(sheet: Page, vehicle: Payload) -> None:
    """Front and rear package of a vehicle, tire first."""
    packages = sorted(vehicle["packages"], key=lambda package: package["position"])
    columns = [_package_cells(package) for package in packages]
    if vehicle.get("final_drive"):
        columns[-1]["drive"] = vehicle["final_drive"]
    labels = [label for label in _LABELS if any(cells.get(label) for cells in columns)]
    heads = [
        package["position"] + (f" (each of {package['wheels']} wheels)" if package["wheels"] > 1 else "")
        for package in packages
    ]
    if sheet.width >= _SIDE_BY_SIDE:
        sheet.heading(vehicle["name"])
        rows = [(label, *(cells.get(label, "") for cells in columns)) for label in labels]
        sheet.table(rows, header=("", *heads), flexible=range(1, len(heads) + 1))
    else:
        for head, cells in zip(heads, columns, strict=True):
            sheet.heading(f"{vehicle['name']}, {head}")
            sheet.table([(label, cells[label]) for label in labels if cells.get(label)], flexible=(1,))


_LABELS = ("tire", "pressure", "inner", "rim", "disc wheel", "spokes", "hub", "rotor", "caliper", "drive")


def _package_cells(package: Payload) -> dict[str, str]:
    names: Payload = package.get("names", {})

    def name(key: str) -> str:
        identifier = package.get(key)
        return "" if identifier is None else str(names.get(key) or identifier)

    cells = {label: name(label.replace(" ", "_")) for label in _LABELS}
    pressure = float(package["pressure_kpa"])
    cells["pressure"] = f"{number(pressure)} kPa" if pressure > 0.0 else "none (foam)"
    if package.get("rim_locks"):
        cells["inner"] += f", {package['rim_locks']} x {name('rim_lock')}"
    if package.get("lacing"):
        cells["spokes"] += f", {package['lacing']}"
        lengths = [package.get("spoke_length_left_mm"), package.get("spoke_length_right_mm")]
        if None not in lengths:
            left, right = (fixed(float(length), 0) for length in lengths if length is not None)
            cells["spokes"] += f", {left} mm" if left == right else f", {left}/{right} mm"
    if package.get("pad"):
        cells["caliper"] += f", pad {name('pad')}"
    return cells


_CHANGES = (
    ("mass of the packages", "mass_kg", "kg", 2),
    ("rolling loss", "rolling_loss_wh_per_km", "Wh/km", 1),
    ("energy", "energy_wh_per_km", "Wh/km", 1),
    ("range", "range_km", "km", 1),
    ("cost", "cost", "currency", 0),
)


def write_change(sheet: Page, vehicle: Payload) -> None:
    """Mass, loss, energy, range and cost, beside today's baseline where the scenario has one."""
    against = vehicle.get("against_baseline")
    currency = vehicle.get("currency", "")
    rows = []
    for label, key, unit, places in _CHANGES:
        row = [label, with_unit(fixed(float(vehicle[key]), places), unit, currency)]
        if against:
            today, change = against.get("baseline", {}).get(key), against.get(key)
            row.append("" if today is None else fixed(float(today), places))
            row.append("" if change is None else fixed(float(change), places, sign=True))
        rows.append(tuple(row))
    if not against:
        sheet.heading("What it comes to")
        sheet.table(rows, right=frozenset({1}))
        return
    sheet.heading("What changes")
    sheet.table(rows, header=("", "this choice", "today", "change"), right=frozenset({1, 2, 3}))
    baseline = against.get("baseline", {})
    for key, words in (("limits_not_met", "today misses"), ("misfits", "today does not fit")):
        if baseline.get(key):
            sheet.text(f"{words}: {'; '.join(plain(text) for text in baseline[key])}", hang="    ")


#: Which of the values in several conditions counts.
_OVER = {"worst": "the worst counts", "mean": "their mean by shares counts"}


def write_conditions(sheet: Page, vehicle: Payload) -> None:
    """The aim and the energies in each condition, and which of them decides; nothing without conditions."""
    conditions = vehicle.get("conditions")
    if not conditions:
        return
    part = conditions["worst_share"]
    over = _OVER.get(conditions["over"]) or f"the mean over the worst {fixed(100.0 * part, 0)} % of the distance counts"
    sheet.heading(f"In each condition ({over}; the rest of this page: as stated)")
    rows = []
    for one in conditions["each"]:
        counts, missed = one.get("counts"), one["limits_not_met"]
        notes = [f"misses {counted(missed, 'limit')}"] if missed else []
        if counts:
            notes.append("decides" if counts > 1.0 - 1e-9 else f"counts {fixed(100.0 * counts, 0)} %")
        rows.append(
            (
                one["name"],
                "" if one["share"] is None else f"{fixed(100.0 * one['share'], 0)} %",
                "" if one.get("aim") is None else fixed(one["aim"], 2),
                f"{fixed(one['rolling_loss_wh_per_km'], 1)} Wh/km",
                f"{fixed(one['energy_wh_per_km'], 1)} Wh/km",
                f"{fixed(one['range_km'], 0)} km",
                ", ".join(notes),
            )
        )
    header = ("", "share", "aim", "rolling loss", "energy", "range", "")
    kept = [i for i in range(len(header)) if i in (0, 3, 4, 5) or any(row[i] for row in rows)]
    right = frozenset(number for number, i in enumerate(kept) if 0 < i < 6)
    sheet.table([tuple(row[i] for i in kept) for row in rows], header=tuple(header[i] for i in kept), right=right)


def plain(text: Any) -> str:
    """A limit's key inside a text as words."""
    return str(text).replace("_", " ")


def write_terrains(sheet: Page, vehicle: Payload) -> None:
    """Energy per terrain."""
    sheet.heading("On the ground")
    rows = []
    for terrain in vehicle["terrains"]:
        climb = terrain.get("climb_grade_percent")
        remarks = [
            *([] if terrain["passable"] else ["cannot be passed"]),
            *map(plain, under_one_head(terrain["remarks"])),
        ]
        rows.append(
            (
                terrain["name"],
                f"{fixed(100.0 * terrain['share'], 0)} %",
                f"{fixed(terrain['energy_wh_per_km'], 1)} Wh/km",
                "" if climb is None else f"climbs {fixed(climb, 0)} %",
                "; ".join(remarks),
            )
        )
    sheet.table(rows, right=frozenset({1, 2}), flexible=(4,))


def under_one_head(remarks: Sequence[str]) -> list[str]:
    """Remarks with those of the same position in one.

    >>> under_one_head(["bogged", "rear: too stiff", "rear: rigid"])
    ['bogged', 'rear: too stiff, rigid']
    """
    heads: dict[str, list[str]] = {}
    for remark in remarks:
        head, colon, rest = remark.partition(": ")
        known = colon and head in ("front", "rear", "front and rear")
        heads.setdefault(head if known else remark, []).append(rest if known else "")
    return [f"{head}: {', '.join(rests)}" if rests[0] else head for head, rests in heads.items()]


def write_margins(sheet: Page, vehicle: Payload, count: int = 5) -> None:
    """The margins with the least to spare, and what limits the choice."""
    margins = vehicle["margins"]
    currency = vehicle.get("currency", "")
    rows = tightest(margins, count)
    if rows:
        risk = any(margin.get("chance_missed") for margin in rows)
        sheet.heading("Tightest limits" + (" (risk: chance that the limit is missed)" if risk else ""))
        for margin in rows:
            sheet.item(margin_words(margin, currency))
    binding = [place_words(margin) for margin in margins if margin["binding"]]
    if binding:
        sheet.text(f"What limits the choice: {'; '.join(dict.fromkeys(binding))}", hang="    ")


def write_list(sheet: Page, title: str, texts: Sequence[str]) -> None:
    """A titled list; nothing where it is empty."""
    if texts:
        sheet.heading(title)
        for text in texts:
            sheet.item(plain(text) if "_" in text and " " in text else text)


def _write_causes(sheet: Page, vehicle: Payload) -> None:
    sheet.heading("Where the energy goes")
    causes = vehicle["energy_by_cause_wh_per_km"]
    rows = [(CAUSES.get(key, plain(key)), f"{fixed(value, 1)} Wh/km") for key, value in causes.items()]
    rows.append(("together", f"{fixed(vehicle['energy_wh_per_km'], 1)} Wh/km"))
    sheet.table(rows, right=frozenset({1}))


#: Figures of a package or a terrain: key, what it is called, unit.
_FIGURES = (
    ("mass_kg", "mass", "kg"),
    ("cost", "cost", ""),
    ("static_load_n", "static load", "N"),
    ("unsprung_mass_kg", "unsprung mass", "kg"),
    ("diameter_mm", "diameter", "mm"),
    ("width_mm", "width", "mm"),
    ("loaded_radius_mm", "loaded radius", "mm"),
    ("relative_deflection", "deflection over section height", ""),
    ("tension_ratio", "tension of the slacker spokes over the tighter", ""),
    ("inertia_kg_m2", "moment of inertia", "kg m2"),
    ("creep", "tire on the rim", ""),
    ("creep_torque_low_n_m", "torque that turns it, low end", "N m"),
    ("creep_torque_n_m", "torque that turns it, middle", "N m"),
    ("creep_torque_high_n_m", "torque that turns it, high end", "N m"),
    ("peak_torque_n_m", "peak wheel torque", "N m"),
    ("patch_length_mm", "contact length", "mm"),
    ("patch_area_cm2", "contact area", "cm2"),
    ("tire_stiffness_kn_m", "tire stiffness", "kN/m"),
    ("tire_lateral_stiffness_kn_m", "tire lateral stiffness", "kN/m"),
    ("puncture_protection", "protection against punctures, 0 to 3", ""),
    ("spoke_tension_tight_n", "spoke tension, tighter side", "N"),
    ("spoke_tension_slack_n", "spoke tension, slacker side", "N"),
    ("wheel_lateral_stiffness_kn_m", "wheel lateral stiffness", "kN/m"),
    ("wheel_radial_stiffness_kn_m", "wheel radial stiffness", "kN/m"),
    ("first_slack_load_n", "load of the first slack spoke", "N"),
    ("first_slack_side_load_n", "side load of the first slack spoke", "N"),
    ("first_slack_torque_n_m", "torque of the first slack spoke", "N m"),
    ("rim_folding_reserve", "tension that folds the rim over that of the spokes", ""),
    ("energy_wh_per_km", "energy", "Wh/km"),
    ("rolling_loss_wh_per_km", "rolling loss", "Wh/km"),
    ("slip_percent", "slip", "%"),
    ("sinkage_front_mm", "sinkage front", "mm"),
    ("sinkage_rear_mm", "sinkage rear", "mm"),
    ("ground_pressure_front_kpa", "ground pressure front", "kPa"),
    ("ground_pressure_rear_kpa", "ground pressure rear", "kPa"),
    ("roughness_class", "roughness (ISO 8608 class)", ""),
    ("dynamic_load_front", "load changes front, rms over static", ""),
    ("dynamic_load_rear", "load changes rear, rms over static", ""),
    ("time_off_ground_front_percent", "time off the ground front", "%"),
    ("time_off_ground_rear_percent", "time off the ground rear", "%"),
    ("ride_acceleration_front_m_s2", "ride acceleration front, rms", "m/s2"),
    ("ride_acceleration_rear_m_s2", "ride acceleration rear, rms", "m/s2"),
    ("strike_margin_front", "strikes on the rim front, margin", ""),
    ("strike_margin_rear", "strikes on the rim rear, margin", ""),
    ("deceleration_g", "deceleration with both brakes", "g"),
    ("side_slope_percent", "side slope", "%"),
    ("step_height_mm", "highest step", "mm"),
    ("climb_grade_percent", "steepest climb", "%"),
    ("climb_limited_by", "climb limited by", ""),
)


def _write_table(sheet: Page, title: str, entries: list[Any], head: str) -> None:
    """Figures in rows, one column per package or terrain."""
    rows = []
    for key, words, unit in _FIGURES:
        if any(entry.get(key) is not None for entry in entries):
            cells = [entry.get(key) for entry in entries]
            rows.append((f"{words} [{unit}]" if unit else words, *(_cell(cell) for cell in cells)))
    if rows:
        sheet.heading(title)
        header = ("", *(str(entry[head]) for entry in entries))
        sheet.table(rows, header=header, right=frozenset(range(1, len(header))))


def _cell(value: Any) -> str:
    if value is None:
        return "-"
    return number(value) if isinstance(value, int | float) else str(value)


def _write_handling(sheet: Page, vehicle: Payload) -> None:
    rows = [
        (words, with_unit(number(vehicle[key]), unit, vehicle.get("currency", "")))
        for key, words, unit in (
            ("trail_mm", "trail", "mm"),
            ("ground_clearance_mm", "ground clearance", "mm"),
            ("top_speed_km_h", "top speed", "km/h"),
            ("lift_off_deceleration_g", "deceleration at lift-off", "g"),
            ("front_load_share_percent", "share of the weight in front", "%"),
            ("break_over_angle_deg", "break-over angle", "deg"),
            ("steering_moment_n_m", "steering moment at standstill", "N m"),
            ("lateral_stability", "lateral stability", "1"),
            ("running_cost_per_1000_km", "running cost of 1,000 km", "currency"),
        )
        if vehicle.get(key) is not None
    ]
    if rows:
        sheet.heading("The vehicle on these wheels")
        sheet.table(rows, right=frozenset({1}))


def _write_chassis(sheet: Page, vehicle: Payload) -> None:
    """Where wheelbase and centre of gravity may lie with these wheels, for the chassis designer."""
    chassis = vehicle.get("chassis")
    if not chassis:
        return
    sheet.heading("For the chassis designer")
    climb, slowing = fixed(chassis["asked_climb_percent"], 0), number(chassis["asked_deceleration_g"])
    sheet.text(f"Window for {climb} % of climb and {slowing} g of braking, laden, with the packages:")
    longest = chassis["wheelbase_most_mm"]
    rows = [
        ("centre of gravity ahead of the rear axle", f"{fixed(chassis['cg_from_rear_axle_mm'], 0)} mm", ""),
        ("  at least", f"{fixed(chassis['cg_from_rear_least_mm'], 0)} mm", chassis["cg_from_rear_least_set_by"]),
        ("  at most", f"{fixed(chassis['cg_from_rear_most_mm'], 0)} mm", chassis["cg_from_rear_most_set_by"]),
        ("its height", f"{fixed(chassis['cg_height_mm'], 0)} mm", ""),
        ("wheelbase", f"{fixed(chassis['wheelbase_mm'], 0)} mm", ""),
        ("  at least", f"{fixed(chassis['wheelbase_least_mm'], 0)} mm", chassis["wheelbase_least_set_by"]),
        ("  at most", "no limit" if longest is None else f"{fixed(longest, 0)} mm", "" if longest is None else "crest"),
        ("pitch by the tires, nose up", f"{fixed(chassis['pitch_deg'], 2)} deg", ""),
    ]
    for position in ("front", "rear"):
        rows += [
            (
                f"{position} wheel, inertia about its diameter",
                f"{number(chassis[f'diametral_inertia_{position}_kg_m2'])} kg m2",
                "",
            ),
            (
                f"{position} wheel, mass with its spin",
                f"{number(chassis[f'equivalent_mass_{position}_kg'])} kg",
                "",
            ),
            (
                f"{position} wheel, gyroscopic moment",
                f"{number(chassis[f'gyroscopic_moment_{position}_n_m'])} N m",
                "at 1 rad/s of lean and the fastest terrain's speed",
            ),
        ]
    sheet.table(rows, right=frozenset({1}), flexible=(2,))
