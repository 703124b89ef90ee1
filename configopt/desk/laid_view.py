"""Candidates that are laid over the choice: their letters, both drawings, and where the parts differ."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from configopt.desk.answer import Laid, Shown
from configopt.desk.candidate_text import text_of
from configopt.desk.cells import SLOT_WORDS, Cells, part_name
from configopt.desk.movable import POSITIONS, SLOTS
from configopt.desk.overlay import scale_of, wheel_picture
from configopt.desk.project import Opened
from configopt.sheet.figures import figure_text
from configopt.sheet.words import limit_words


@dataclass(frozen=True)
class LaidView:
    """A candidate that is laid over the choice."""

    text: str
    letter: str
    words: str
    kind: str
    problem: str
    missed: tuple[str, ...]


def laid_views(shown: Shown | None) -> list[tuple[LaidView, Laid]]:
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


def pictures(shown: Shown | None, laid: Sequence[tuple[LaidView, Laid]]) -> tuple[tuple[str, str], ...]:
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


def differences(shown: Shown | None, laid: Sequence[tuple[LaidView, Laid]], opened: Opened) -> tuple[Cells, ...]:
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
    name = part_name(opened, identifier)
    if slot == "rim_lock":
        return f"{package.rim_locks} × {name}"
    if slot == "spokes":
        return f"{name}, {package.crossings}-cross" if package.crossings else f"{name}, radial"
    return name


def present_text(shown: Shown | None) -> str:
    """Text of the choice on the page."""
    return "" if shown is None or shown.record is None else text_of(shown.record)
