"""The decision on the sheet: parts front and rear beside today's, what changes, and the drawings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from configopt.appraisal.one_vehicle import VehicleAppraisal
from configopt.appraisal.vehicle import POSITIONS
from configopt.catalog.records import Position
from configopt.sheet.drawing import Lettering, WheelDrawing, least_reduction, wheel_drawing
from configopt.sheet.figures import NOT_HERE, Results, Shown, figure_text, shown
from configopt.sheet.given import Given
from configopt.sheet.holding import missed_by
from configopt.sheet.tables import Beside, Cell, Row, Table, columns
from configopt.sheet.wheel_shape import SAME, WheelShape, wheel_shape
from configopt.sheet.words import PARTS, joined

#: What is compared with today: words, key, unit (empty: the currency).
COMPARED = (
    ("mass of the packages", "mass_kg", "kg"),
    ("rolling loss", "rolling_loss_wh_per_km", "Wh/km"),
    ("energy from the battery", "energy_wh_per_km", "Wh/km"),
    ("range", "range_km", "km"),
    ("cost of the packages", "cost", ""),
)


@dataclass(frozen=True)
class Drawing:
    """The drawing of one wheel, and what it shows in words."""

    position: str
    svg: str
    caption: str
    drawn: WheelDrawing


@dataclass(frozen=True)
class Key:
    """A main figure, and what it was."""

    words: str
    figure: Shown
    change: Shown | None
    today: Shown | None


@dataclass(frozen=True)
class Decision:
    """Parts, main figures and drawings of one vehicle."""

    keys: tuple[Key, ...]
    parts: Table
    today_fails: tuple[str, ...]
    """Limits that today's packages miss, and rules of fit they break."""
    drawings: tuple[Drawing, ...]
    spoked: bool
    workshop: Table
    """The figures on the drawings once more, to be read on any screen."""


def decision(given: Given, number: int) -> Decision:
    """The decision for one of the vehicles."""
    results, one = given.results, given.appraised[number]
    entry = given.choice["vehicles"][number]
    base, currency = f"choice/vehicles/{number}", entry["currency"]
    compared = entry["against_baseline"]
    keys = []
    for words, key, unit in COMPARED:
        change = today = None
        if compared is not None:
            change = results.figure(f"{base}/against_baseline/{key}", unit or currency, sign=True)
            today = results.figure(f"{base}/against_baseline/baseline/{key}", unit or currency)
        keys.append(Key(words, results.figure(f"{base}/{key}", unit or currency), change, today))
    fails: tuple[str, ...] = ()
    if compared is not None:
        before = results.documents["today"]["vehicles"][number]
        fails = (
            *(f"misses a limit, {text}" for text in missed_by(before)),
            *(f"does not fit, {text}" for text in compared["baseline"]["misfits"]),
        )
    return Decision(
        keys=tuple(keys),
        parts=_parts(given, number, entry),
        today_fails=fails,
        drawings=_drawings(results, number, entry, one),
        spoked=any(package["rim"] is not None for package in entry["packages"]),
        workshop=_workshop_table(results, number, entry, one),
    )


def _parts(given: Given, number: int, entry: Mapping[str, Any]) -> Table:
    """Part by part, front and rear, with today's below where it is another."""
    results = given.results
    today = results.documents["today"]["vehicles"][number]
    rows = []
    for key, words in PARTS.items():
        cells: list[Cell] = []
        for position in POSITIONS:
            at, mine = _package(entry, position)
            now = _told(results, f"choice/vehicles/{number}/packages/{at}", mine, key)
            if today is None:
                cells.append(now or "none")
                continue
            at, theirs = _package(today, position)
            was = _told(results, f"today/vehicles/{number}/packages/{at}", theirs, key)
            if not now and not was:
                cells.append("none")
            else:
                same = str(now) == str(was)
                cells.append(Beside(now or "none", "as today" if same else f"today: {was or 'none'}"))
        if any(cell != "none" for cell in cells):
            rows.append(Row((words, *cells)))
    vehicle = given.appraised[number].model.vehicle
    driven = vehicle.drive.driven
    ratios = {drive.id: f"{drive.id}, ratio {float(drive.ratio):g}" for drive in vehicle.drive.final_drives}
    final = ratios[entry["final_drive"]]
    if today is not None:
        theirs = ratios.get(today["final_drive"], today["final_drive"])
        changed = Beside(final, "as today" if final == theirs else f"today: {theirs}")
        told: Cell = changed
    else:
        told = final
    rows.append(Row(("final drive", *(told if position == driven else "none" for position in POSITIONS))))
    return Table("Parts, from the ground up", columns("", "front", "rear"), tuple(rows))


def _package(entry: Mapping[str, Any], position: str) -> tuple[int, Mapping[str, Any]]:
    return next((at, row) for at, row in enumerate(entry["packages"]) if row["position"] == position)


def _told(results: Results, path: str, package: Mapping[str, Any], key: str) -> str | Shown:
    if key == "pressure_kpa":
        foam = package["pressure_kpa"] == 0.0
        return "holds no air" if foam else results.figure(f"{path}/pressure_kpa", "kPa")
    if package.get(key) is None:
        return ""
    if key == "lacing":
        return str(package[key])
    name = package["names"].get(key, "")
    several = f"{package['rim_locks']} x " if key == "rim_lock" else ""
    return f"{several}{name} ({package[key]})" if name else f"{several}{package[key]}"


def _drawings(results: Results, number: int, entry: Mapping[str, Any], one: VehicleAppraisal) -> tuple[Drawing, ...]:
    """One drawing per position, both to the same scale."""
    today = one.today if isinstance(one.today, VehicleAppraisal) else None
    shapes = {p: wheel_shape(one.packages[p], one.model.vehicle) for p in POSITIONS}
    before = {p: None if today is None else wheel_shape(today.packages[p], today.model.vehicle) for p in POSITIONS}
    before = {p: None if old is None or old.same_outlines(shapes[p]) else old for p, old in before.items()}
    reduction = max(least_reduction(shapes[p], before[p]) for p in POSITIONS)
    drawings = []
    for position in POSITIONS:
        at, package = _package(entry, position)
        path = f"choice/vehicles/{number}/packages/{at}"
        shape = shapes[position]
        lettering = _lettering(results, path, package, one, position, shape, before[position])
        drawn = wheel_drawing(
            shape,
            lettering,
            loaded_radius=package["loaded_radius_mm"],
            reduction=reduction,
            today=before[position],
            name=f"{entry['name']}-{position}",
        )
        caption = _caption(position, shape, drawn.reduction)
        drawings.append(Drawing(position, drawn.svg, caption, drawn))
    return tuple(drawings)


def _caption(position: str, shape: WheelShape, reduction: float) -> str:
    """What a drawing shows and what in it is an estimate."""
    scale = f"{position.capitalize()} wheel to scale 1:{reduction:g}"
    if shape.rotor_on_axle:
        return (
            f"{scale}, from inside and cut through the axle. Outlines of tire and rim are simplified; the body of the "
            "hub and the caliper's room are estimates, because the catalogs do not state them. The rotor sits on the "
            "solid axle, away from the wheel: the side view shows it, the section does not, for where along the axle "
            "is not known."
        )
    return (
        f"{scale}, from the rotor's side and cut through the axle. Outlines of tire and rim are simplified; the "
        "rotor's place along the axle, the body of the hub and the caliper's room are estimates, because the catalogs "
        "do not state them. Whether a caliper clears the spokes or the disc wheel is not checked."
    )


def _lettering(
    results: Results,
    path: str,
    package: Mapping[str, Any],
    one: VehicleAppraisal,
    position: Position,
    shape: WheelShape,
    today: WheelShape | None,
) -> Lettering:
    figure = results.figure
    words = _numbered(package, one, position, shape)
    title = f"{one.model.vehicle.name}: {position} wheel"
    return Lettering(
        title=title,
        description=f"Two views to one scale with dimensions. {'; '.join(words.values())}.",
        diameter=figure(f"{path}/diameter_mm", "mm"),
        width=figure(f"{path}/width_mm", "mm"),
        loaded_radius=figure(f"{path}/loaded_radius_mm", "mm"),
        bead_seat=shown(shape.bead_diameter, "mm"),
        hub_width=shown(shape.hub_width, "mm"),
        parts=words,
        workshop=_workshop(results, path, package, one, position),
        today="" if today is None else _todays(shape, today),
    )


def _todays(shape: WheelShape, today: WheelShape) -> str:
    """What is drawn dashed: what has another size today."""
    rim = abs(shape.rim_edge - today.rim_edge) > SAME
    rotor = abs(shape.rotor_diameter - today.rotor_diameter) > SAME
    drawn = [("tire", not shape.same_tire(today)), ("rim", rim), ("rotor", rotor)]
    return f"today's {joined([name for name, differs in drawn if differs])}"


def _numbered(
    package: Mapping[str, Any], one: VehicleAppraisal, position: Position, shape: WheelShape
) -> dict[str, str]:
    """The parts that carry a number on the drawing, from the ground up."""
    parts = one.packages[position]
    mount, wheel, brake = parts.mount, parts.wheel, parts.brake
    edge = wheel.rim if wheel.rim is not None else wheel.disc_wheel
    assert edge is not None
    kind = "rim" if wheel.rim is not None else "disc wheel"
    found = {
        "tire": f"tire {mount.tire.name}, lugs {_mm(shape.lug_depth)}",
        "rim": f"{kind} {edge.name}, {edge.size}, {_mm(shape.rim_width)} between flanges",
    }
    hub = wheel.hub
    if wheel.spokes is not None and shape.spoking is not None:
        spoking = shape.spoking
        found["spokes"] = f"{spoking.holes} spokes {wheel.spokes.name}, {package['lacing']}"
        found["hub"] = f"hub {hub.name}, flanges {_mm(spoking.left_offset)} left and {_mm(spoking.right_offset)} right"
    else:
        found["hub"] = f"hub {hub.name}, studs {hub.studs}"
    seat = ", on the solid axle" if shape.rotor_on_axle else ""
    size = f"{_mm(shape.rotor_diameter)} x {_mm(shape.rotor_thickness)}, {brake.rotor.pattern}"
    found["rotor"] = f"rotor {brake.rotor.name}, {size}{seat}"
    found["caliper"] = f"room for caliper {brake.caliper.name} ({brake.caliper.mount}), an estimate"
    found["frame"] = f"room in the frame, {_mm(shape.frame_diameter)} x {_mm(shape.frame_width)}"
    return found


def _workshop(
    results: Results, path: str, package: Mapping[str, Any], one: VehicleAppraisal, position: Position
) -> Sequence[tuple[str, Shown | str]]:
    """What the workshop builds and inflates to."""
    parts = one.packages[position]
    rows: list[tuple[str, Shown | str]] = [
        ("cold pressure", _told(results, path, package, "pressure_kpa") or "none"),
        ("rim locks", f"{package['rim_locks']}" if package["rim_locks"] else "none"),
    ]
    if package["spoke_length_left_mm"] is not None:
        rows += [
            (words, results.figure(f"{path}/{key}", unit))
            for words, key, unit in (
                ("spoke length, left (rotor side)", "spoke_length_left_mm", "mm"),
                ("spoke length, right", "spoke_length_right_mm", "mm"),
                ("tension, tight side", "spoke_tension_tight_n", "N"),
                ("tension, slack side", "spoke_tension_slack_n", "N"),
            )
        ]
    rows += [
        ("rotor worn out at", shown(1e3 * float(parts.brake.rotor.wear_limit), "mm")),
        ("static load per wheel", results.figure(f"{path}/static_load_n", "N")),
    ]
    return rows


def _workshop_table(results: Results, number: int, entry: Mapping[str, Any], one: VehicleAppraisal) -> Table:
    told: dict[str, dict[str, Shown | str]] = {}
    for position in POSITIONS:
        at, package = _package(entry, position)
        for words, figure in _workshop(results, f"choice/vehicles/{number}/packages/{at}", package, one, position):
            told.setdefault(words, {})[position] = figure
    rows = [Row((words, *(by.get(position, NOT_HERE) for position in POSITIONS))) for words, by in told.items()]
    return Table("For the workshop", columns("", *(f"#{position}" for position in POSITIONS)), tuple(rows))


def _mm(length: float) -> str:
    return figure_text(length, "mm")
