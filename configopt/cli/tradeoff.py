"""``configopt tradeoff``: every choice that no other beats."""

from __future__ import annotations

from pathlib import Path

import click

from configopt.cli.options import (
    CONTEXT,
    output_option,
    quiet_option,
    scenario_argument,
    threads_option,
    time_limit_option,
    vehicle_option,
)
from configopt.cli.output import emit, json_text, page, require_writable, say
from configopt.errors import UsageError

_SHORT = "Every choice that no other beats in all aims at once."
_EPILOG = """\b
Example:
  configopt tradeoff scenarios/upland-wardens.yaml
  configopt tradeoff scenarios/upland-wardens.yaml --with cost --format csv -o tradeoff.csv"""


@click.command("tradeoff", context_settings=CONTEXT, epilog=_EPILOG, short_help=_SHORT)
@scenario_argument
@click.option(
    "--with",
    "extra",
    type=click.Choice(["mass", "rolling_loss", "energy", "cost"]),
    multiple=True,
    help="A further aim beside those that have a rate in the scenario; may be repeated.",
)
@vehicle_option
@time_limit_option
@threads_option
@click.option(
    "--plot",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE.svg",
    help="Draw it as well (needs the extra 'plots').",
)
@quiet_option
@click.option(
    "--format",
    "format_",
    type=click.Choice(["text", "json", "csv"]),
    default="text",
    show_default=True,
    help="Text for people, JSON for programs, CSV for spreadsheets.",
)
@output_option
def command(
    scenario: Path,
    extra: tuple[str, ...],
    vehicle: str | None,
    time_limit: float | None,
    threads: int,
    plot: Path | None,
    quiet: bool,
    format_: str,
    output: Path | None,
) -> int:
    """Find every choice for SCENARIO that no other beats in all aims at once.

    Whoever gives up a little of one aim sees what it buys in another. The list is proven complete: any choice that is
    not on it is beaten by one that is. Ctrl-C stops the search and prints what is found so far.
    """
    require_writable(output, scenario)
    require_writable(plot, scenario, option="--plot")
    if plot is not None and output is not None and plot.resolve() == output.resolve():
        raise UsageError(f"-o and --plot both name {plot}; the drawing needs a file of its own")
    draw = None
    if plot is not None and plot.suffix.lower() != ".svg":
        raise UsageError(f"--plot {plot}: drawings are SVG; name a file that ends in .svg")
    if plot is not None:
        from configopt.sheet.charts import require_matplotlib, tradeoff_chart

        require_matplotlib()
        draw = tradeoff_chart
    from configopt.choice.tradeoff import tradeoff
    from configopt.cli.text_tradeoff import csv_text, write_tradeoff
    from configopt.scenario.case import load

    case = load(scenario)
    if vehicle is not None:
        case = case.only(vehicle)
    found = tradeoff(case, extra=extra, time_limit=time_limit, threads=threads, progress=None if quiet else say)
    payload = found.to_json()
    if format_ == "json":
        emit(json_text(payload), output)
    elif format_ == "csv":
        emit(csv_text(payload), output)
    else:
        sheet = page(output)
        write_tradeoff(sheet, payload)
        emit(str(sheet), output)
    if draw is not None and plot is not None:
        if payload["points"]:
            emit(draw(payload), plot)
        else:
            say(f"nothing to draw: {plot} is not written")
    return int(found.exit_code)
