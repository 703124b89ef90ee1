"""How each figure of an appraisal comes about, as text: by subject, then by model, then figure by figure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import groupby
from typing import Any

from configopt.cli.layout import Page
from configopt.cli.words import limit_words, number, with_unit

Payload = Mapping[str, Any]
#: Significant digits of a figure, and of what goes into it: enough to draw the figure up again.
FIGURE_DIGITS, INPUT_DIGITS = 4, 6
#: What figures are called that are no limits and whose keys do not say it; limits have words of their own.
FIGURE_WORDS = {
    "cg_from_rear_axle": "centre of gravity ahead of the rear axle",
    "cg_height": "height of the centre of gravity",
    "cg_from_rear_least": "least distance of the centre of gravity from the rear axle",
    "cg_from_rear_most": "largest distance of the centre of gravity from the rear axle",
    "wheelbase_least": "shortest wheelbase",
    "wheelbase_most": "longest wheelbase",
    "creep_torque_low": "hold of bead and rim locks, low end",
    "creep_torque": "hold of bead and rim locks, middle",
    "creep_torque_high": "hold of bead and rim locks, high end",
    "peak_torque": "peak wheel torque",
    "tension_ratio": "tension of the slacker spokes over the tighter",
    "spoke_tension_tight": "tension of the tighter spokes",
    "spoke_tension_slack": "tension of the slacker spokes",
    "first_slack_load": "load at the first slack spoke",
    "first_slack_side_load": "side load at the first slack spoke",
    "first_slack_torque": "torque at the first slack spoke",
    "wheel_radial_stiffness": "radial stiffness of the wheel",
    "tire_stiffness": "vertical stiffness of the tire",
    "inertia": "inertia about the axle",
    "diametral_inertia": "inertia about the diameter",
    "equivalent_mass": "mass that resists speeding up",
    "mass": "mass of the packages",
}
_MODEL, _FACT, _FIGURE, _INPUT = "  ", "    ", "    - ", "      "


def write_explanations(sheet: Page, vehicle: Payload) -> None:
    """Write the explanations of one vehicle; nothing where it has none.

    Parameters
    ----------
    sheet
        The page.
    vehicle
        An entry of ``vehicles`` of an appraisal.

    Notes
    -----
    What holds for a model stands once over its figures; figures with the same inputs share their line.
    """
    explanations: Sequence[Payload] = vehicle.get("explanations") or ()
    subject = ""
    for _, rows in groupby(explanations, key=lambda row: row["model"]):
        figures = list(rows)
        if figures[0]["subject"] != subject:
            subject = figures[0]["subject"]
            sheet.heading(f"How it comes about: {subject} ({vehicle['name']})")
        else:
            sheet.lines.append("")
        _write_model(sheet, figures[0], _all_assumed(figures))
        for alike in _alike(figures):
            _write_figures(sheet, alike)


def _write_model(sheet: Page, model: Payload, assumed: Sequence[Payload]) -> None:
    """What is known about a model, over its figures."""
    quantity = model["quantity"]
    sheet.text(f"{quantity[0].upper()}{quantity[1:]}", indent=_MODEL)
    checks = ", ".join(check.removeprefix("test_") for check in model["checks"])
    ranges = "; ".join(
        f"{row['wording']} {number(row['value'])} ({number(row['low'])} to {number(row['high'])})" for row in assumed
    )
    for label, words in (
        ("formula", model["formula"]),
        ("source", " ".join(model["sources"])),
        ("holds for", model["validity"]),
        ("assumed", ranges),
        ("estimated", model["estimates"]),
        ("left out", model["not_modelled"]),
        ("checked in tests/published", checks or "no published value was found"),
    ):
        if words:
            sheet.text(f"{label}: {words}", indent=_FACT, hang=f"{_FACT}  ")


def _all_assumed(figures: Sequence[Payload]) -> list[Payload]:
    """Assumed figures behind any of some figures, each once."""
    return list({row["name"]: row for figure in figures for row in figure["assumed"]}.values())


def _alike(figures: Sequence[Payload]) -> list[list[Payload]]:
    """Figures of one model put together where the same inputs went into them."""
    groups: dict[Any, list[Payload]] = {}
    for figure in figures:
        inputs = tuple((row["name"], row["value"], row["unit"]) for row in figure["inputs"])
        groups.setdefault((inputs, tuple(figure["remarks"])), []).append(figure)
    return list(groups.values())


def _write_figures(sheet: Page, figures: Sequence[Payload]) -> None:
    """Figures that share inputs and remarks: each with its value, then what went into them."""
    for figure in figures:
        key: str = figure["figure"]
        name = limit_words(FIGURE_WORDS.get(key, key), figure["terrain"], figure["position"])
        sheet.text(f"{name}: {_shown(figure, FIGURE_DIGITS)}", indent=_FIGURE, hang=_INPUT)
    inputs = "; ".join(f"{row['name']} = {_shown(row, INPUT_DIGITS)}" for row in figures[0]["inputs"])
    sheet.text(inputs, indent=_INPUT)
    for remark in figures[0]["remarks"]:
        sheet.text(f"remark: {remark}", indent=_INPUT, hang=f"{_INPUT}  ")


def _shown(row: Payload, digits: int) -> str:
    """A value with its unit; counts of pieces need none."""
    unit = "" if row["unit"] == "pieces" else row["unit"]
    return with_unit(number(row["value"], digits=digits), unit)
