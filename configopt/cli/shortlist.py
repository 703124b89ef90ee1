"""``configopt shortlist``: which choices to ride, and what each ride settles."""

from __future__ import annotations

from pathlib import Path

import click

from configopt.cli.options import (
    CONTEXT,
    finite,
    format_option,
    output_option,
    quiet_option,
    scenario_argument,
    threads_option,
    time_limit_option,
    vehicle_option,
)
from configopt.cli.output import emit, json_text, page, require_writable, say

_SHORT = "Choices near the best that differ most, to be ridden."
_EPILOG = """\b
Example:
  configopt shortlist scenarios/upland-wardens.yaml
  configopt shortlist scenarios/upland-wardens.yaml -n 3 --within 0.05"""


@click.command("shortlist", context_settings=CONTEXT, epilog=_EPILOG, short_help=_SHORT)
@scenario_argument
@click.option(
    "-n",
    "--number",
    "count",
    type=click.IntRange(2, 20),
    default=5,
    show_default=True,
    metavar="N",
    help="Candidates.",
)
@click.option(
    "--within",
    type=float,
    default=0.03,
    show_default=True,
    callback=finite(low=0.0, open_low=False),
    metavar="SHARE",
    help="How far the aim may lie above the best, as a share of it.",
)
@vehicle_option
@time_limit_option
@threads_option
@quiet_option
@format_option
@output_option
def command(
    scenario: Path,
    count: int,
    within: float,
    vehicle: str | None,
    time_limit: float | None,
    threads: int,
    quiet: bool,
    format_: str,
    output: Path | None,
) -> int:
    """Find choices for SCENARIO that come near the best and differ most, tire first, and plan the rides between them.

    For every tire, front and rear, the best choice with it is found; from those within the loss the candidates are
    picked, the best always among them. The plan says which two to ride where to settle which doubt. Ctrl-C stops the
    search and prints what is found so far.
    """
    require_writable(output, scenario)
    from configopt.choice.shortlist import shortlist
    from configopt.cli.text_shortlist import write_shortlist
    from configopt.learning.ride_beside import beside, in_shortlist, today
    from configopt.learning.verdicts import verdicts_of
    from configopt.scenario.case import load

    case = load(scenario)
    if vehicle is not None:
        case = case.only(vehicle)
    verdicts = verdicts_of(case)
    found = shortlist(
        case, count=count, within=within, time_limit=time_limit, threads=threads, progress=None if quiet else say
    )
    payload = found.to_json()
    if verdicts is not None:
        payload["ride_verdicts"] = beside(verdicts, [*in_shortlist(payload), *today(case.vehicle)])
    if format_ == "json":
        emit(json_text(payload), output)
    else:
        sheet = page(output)
        write_shortlist(sheet, payload)
        emit(str(sheet), output)
    return int(found.exit_code)
