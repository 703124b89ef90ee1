"""Charts as static SVG, by one route: matplotlib with the project's own style.

Text stays text, so that a page can read it aloud and search it; every point carries an id.
"""

from __future__ import annotations

import io
from collections.abc import Mapping
from importlib.util import find_spec
from typing import Any

from configopt.errors import UsageError
from configopt.scenario.variants import measured
from configopt.sheet.words import CAUSES

Payload = Mapping[str, Any]
#: Ink, one strong and one quiet colour that differ in lightness, so that they are told apart without colour.
INK, STRONG, QUIET = "#1f2a30", "#0b5c7a", "#9aa8ad"
#: Style of every chart.
STYLE: Any = {
    "svg.fonttype": "none",
    "svg.hashsalt": "configopt",
    "font.family": "sans-serif",
    "font.size": 9.0,
    "axes.edgecolor": INK,
    "axes.labelcolor": INK,
    "axes.linewidth": 0.8,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "xtick.color": INK,
    "ytick.color": INK,
    "text.color": INK,
    "figure.constrained_layout.use": True,
}
_NAMES = {"mass": "mass", "rolling_loss": "rolling loss", "energy": "energy", "cost": "cost"}
#: Points that carry their number; with more the numbers would cover each other.
_NUMBERED = 40


def require_matplotlib() -> None:
    """Refuse before any long computation where charts cannot be drawn.

    Raises
    ------
    UsageError
        If matplotlib is not installed.
    """
    if find_spec("matplotlib") is None:
        raise UsageError("charts need matplotlib: pip install 'configopt[plots]'")


def tradeoff_chart(payload: Payload) -> str:
    """The trade-off as SVG text: the first aim across, each other aim up, one panel each.

    Parameters
    ----------
    payload
        JSON of a trade-off (schema configopt/tradeoff/1).
    """
    import matplotlib
    from matplotlib.figure import Figure

    aims, points = payload["aims"], payload["points"]
    first, others = aims[0], aims[1:]
    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(5.2 * len(others), 4.0))
        for column, aim in enumerate(others, start=1):
            axes = figure.add_subplot(1, len(others), column)
            _panel(axes, points, first, aim, staircase=len(others) == 1)
        found = (
            "no other choice beats these" if payload["status"] == "complete" else "found until the search was stopped"
        )
        figure.suptitle(f"{payload['scenario']}: {found}", fontsize=10.5)
        text = io.StringIO()
        figure.savefig(text, format="svg", metadata={"Date": None, "Title": f"Trade-off of {payload['scenario']}"})
    return text.getvalue()


def _panel(axes: Any, points: Any, across: Payload, up: Payload, *, staircase: bool) -> None:
    x = [point["values"][across["name"]] for point in points]
    y = [point["values"][up["name"]] for point in points]
    if staircase and len(points) > 1:
        # Right of and above the steps every choice is beaten.
        axes.step(x, y, where="post", color=QUIET, linewidth=1.0, zorder=1)
    for point, across_at, up_at in zip(points, x, y, strict=True):
        best = point["best_by_rates"]
        axes.plot(
            [across_at],
            [up_at],
            marker="D" if best else "o",
            markersize=7.5 if best else 5.0,
            color=STRONG if best else INK,
            linestyle="none",
            gid=f"point-{point['number']}-{up['name']}",
            zorder=3 if best else 2,
        )
        if len(points) <= _NUMBERED:
            axes.annotate(str(point["number"]), (across_at, up_at), xytext=(5, 5), textcoords="offset points")
    if any(point["best_by_rates"] for point in points):
        axes.plot([], [], marker="D", color=STRONG, linestyle="none", label="best by the exchange rates")
        axes.legend(frameon=False, loc="upper right")
    axes.set_xlabel(f"{_NAMES[across['name']]}, {across['unit']}")
    axes.set_ylabel(f"{_NAMES[up['name']]}, {up['unit']}")
    axes.margins(0.08)


def whatif_chart(payload: Payload) -> str | None:
    """Grids over one number as SVG text: the field across, the aim up, one panel each; ``None`` without any.

    Beside the best choice's aim stands that of the choice that is kept, where it meets the limits; upright lines stand
    where the answer changes, crosses on the floor where nothing meets the limits.

    Parameters
    ----------
    payload
        JSON of variants (schema configopt/whatif/1).
    """
    import matplotlib
    from matplotlib.figure import Figure

    sweeps = payload["switches"] or _sweeps_of(payload)
    if not sweeps:
        return None
    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(6.4, 3.6 * len(sweeps)))
        for number, sweep in enumerate(sweeps, start=1):
            _sweep_panel(figure.add_subplot(len(sweeps), 1, number), payload, sweep)
        figure.suptitle(f"{payload['scenario']}: {payload['title']}", fontsize=10.5)
        text = io.StringIO()
        figure.savefig(text, format="svg", metadata={"Date": None, "Title": f"Variants of {payload['scenario']}"})
    return text.getvalue()


def _sweeps_of(payload: Payload) -> list[dict[str, Any]]:
    """Grids over one number where switches were not looked for."""
    found: dict[str, dict[str, Any]] = {}
    for row in payload["variants"]:
        if row["grid"] is not None and len(row["values"]) == 1:
            ((field, value),) = row["values"].items()
            read = measured(value)
            if read is not None:
                found.setdefault(row["grid"], {"grid": row["grid"], "field": field, "unit": read[1], "switches": []})
    return list(found.values())


def _sweep_panel(axes: Any, payload: Payload, sweep: Payload) -> None:
    best: list[tuple[float, float]] = []
    kept: list[tuple[float, float]] = []
    nothing: list[float] = []
    for row in payload["variants"]:
        read = measured(row["values"].get(sweep["field"])) if row["grid"] == sweep["grid"] else None
        if read is None:
            continue
        if row["status"] == "nothing meets the limits":
            nothing.append(read[0])
        elif row["aim"] is not None:
            best.append((read[0], row["aim"]))
            kept += [(read[0], one["aim"]) for one in row["kept"][:1] if one["meets"]]
    name = payload["kept"][0] if payload["kept"] else ""
    if kept:
        axes.plot(*zip(*sorted(kept), strict=True), color=QUIET, marker="s", markersize=4.0, label=f"{name}, kept")
    if best:
        axes.plot(*zip(*sorted(best), strict=True), color=INK, marker="o", markersize=5.0, label="best choice")
    for number, switch in enumerate(sweep["switches"], start=1):
        gid = f"switch-{sweep['grid']}-{number}"
        label = "the answer changes" if number == 1 else None
        if switch["at"] is not None:
            axes.axvline(switch["at"], color=STRONG, linewidth=1.0, linestyle="--", gid=gid, label=label)
        else:
            axes.axvspan(*switch["between"], color=STRONG, alpha=0.25, linewidth=0.8, gid=gid, label=label)
    if nothing:
        floor = axes.get_xaxis_transform()
        axes.plot(nothing, [0.02] * len(nothing), "x", color=STRONG, transform=floor, label="nothing meets every limit")
    axes.set_xlabel(f"{sweep['field']}{', ' if sweep['unit'] else ''}{sweep['unit']}")
    axes.set_ylabel("aim, less is better")
    axes.legend(frameon=False, loc="best")
    axes.margins(0.06)


def energy_chart(payload: Payload, today: Payload | None) -> str:
    """Energy of a kilometre by cause as SVG text: one panel per terrain, a bar per cause; today's as hollow diamonds.

    Parameters
    ----------
    payload
        One vehicle of a choice (schema configopt/choice/1).
    today
        The same of today's packages, where there are any.
    """
    import matplotlib
    from matplotlib.figure import Figure

    terrains = payload["terrains"]
    theirs = [None] * len(terrains) if today is None else today["terrains"]
    key = "energy_by_cause_wh_per_km"
    both = [*terrains, *(one for one in theirs if one is not None)]
    causes = [cause for cause in payload[key] if any(abs(one[key][cause]) >= 0.05 for one in both)]
    most = max(abs(one[key][cause]) for one in both for cause in causes)
    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(7.0, 0.9 + 0.24 * len(causes)))
        panels = figure.subplots(1, len(terrains), sharey=True, squeeze=False)[0]
        for axes, mine, before in zip(panels, terrains, theirs, strict=True):
            rows = range(len(causes))
            axes.barh(rows, [mine[key][cause] for cause in causes], height=0.62, color=STRONG, label="this choice")
            if before is not None:
                # Where neither has any, there is nothing to mark.
                there = [row for row in rows if abs(before[key][causes[row]]) >= 0.05]
                values = [before[key][causes[row]] for row in there]
                style = {"linestyle": "none", "marker": "D", "markersize": 4.5, "markerfacecolor": "#ffffff"}
                axes.plot(values, there, color=INK, label="today's packages", **style)
            axes.axvline(0.0, color=INK, linewidth=0.6)
            axes.set_title(mine["name"], fontsize=9.0)
            axes.set_xlabel("Wh/km")
            axes.set_xlim(min(0.0, *(one[key][cause] for one in both for cause in causes)) * 1.1, 1.08 * most)
            axes.tick_params(axis="y", length=0)
        panels[0].set_yticks(range(len(causes)), [CAUSES.get(cause, cause) for cause in causes])
        panels[0].invert_yaxis()
        if today is not None:
            handles, labels = panels[0].get_legend_handles_labels()
            figure.legend(handles, labels, loc="outside upper right", ncols=2, frameon=False, fontsize=8.5)
        text = io.StringIO()
        figure.savefig(text, format="svg", metadata={"Date": None, "Title": f"Energy by cause of {payload['name']}"})
    return text.getvalue()
