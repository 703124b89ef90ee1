"""The sheet as one HTML file that needs nothing else."""

from __future__ import annotations

from importlib.util import find_spec
from typing import Any

from configopt.errors import UsageError
from configopt.sheet.contents import Contents
from configopt.sheet.figures import Shown
from configopt.sheet.tables import Beside


def require_jinja2() -> None:
    """Refuse before any long computation where no page can be made.

    Raises
    ------
    UsageError
        If Jinja2 is not installed.
    """
    if find_spec("jinja2") is None:
        raise UsageError("the decision sheet needs Jinja2: pip install 'configopt[pages]'")


def sheet_page(made: Contents) -> str:
    """The sheet as HTML text.

    Parameters
    ----------
    made : everything it says
    """
    from jinja2 import Environment, PackageLoader, StrictUndefined
    from markupsafe import Markup

    environment = Environment(
        loader=PackageLoader("configopt.sheet", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.tests["figure"] = lambda cell: isinstance(cell, Shown)
    environment.tests["beside"] = lambda cell: isinstance(cell, Beside)
    # The drawings and charts escape what they letter.
    drawn = {
        f"{vehicle.name}-{drawing.position}": Markup(drawing.svg)
        for vehicle in made.vehicles
        for drawing in vehicle.decision.drawings
    }
    charts = {name: Markup(svg) for name, svg in _charts(made).items()}
    text: str = environment.get_template("sheet.html").render(sheet=made, drawn=drawn, charts=charts)
    return text


def _charts(made: Contents) -> dict[str, str]:
    """Charts by name; none where matplotlib is not installed, for every figure stands in a table too."""
    if find_spec("matplotlib") is None:
        return {}
    from configopt.sheet.charts import energy_chart, tradeoff_chart
    from configopt.sheet.inline import inline_chart

    documents: dict[str, Any] = dict(made.results.documents)
    found = {}
    for number, vehicle in enumerate(made.vehicles):
        today = documents["today"]["vehicles"][number]
        name = f"energy-{vehicle.name}"
        found[name] = inline_chart(
            energy_chart(documents["choice"]["vehicles"][number], today),
            name=name,
            title=f"Energy of a kilometre by cause on each terrain, {vehicle.name}",
            description="Bars are this choice, hollow diamonds today's packages. The table below has every figure.",
        )
    if "tradeoff" in documents and documents["tradeoff"]["points"]:
        caption = made.trade.points.caption if made.trade is not None else ""
        best = any(point["best_by_rates"] for point in documents["tradeoff"]["points"])
        diamond = "; the diamond is the best by the exchange rates" if best else ""
        found["tradeoff"] = inline_chart(
            tradeoff_chart(documents["tradeoff"]),
            name="tradeoff",
            title=f"Trade-off: {caption[0].lower()}{caption[1:]}",
            description=f"Numbers are those of the table below{diamond}.",
        )
    return found
