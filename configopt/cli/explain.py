"""``configopt explain``: why this choice, why not another part, and what would change it."""

from __future__ import annotations

from pathlib import Path

import click

from configopt.cli.options import (
    CONTEXT,
    format_option,
    output_option,
    quiet_option,
    scenario_argument,
    threads_option,
    time_limit_option,
    vehicle_option,
)
from configopt.cli.output import emit, json_text, page, require_writable, say

_SHORT = "What limits the choice, and why a part is in or out."
_EPILOG = """\b
Example:
  configopt explain scenarios/upland-wardens.yaml
  configopt explain scenarios/upland-wardens.yaml --part heron-moor-80-100-21"""


@click.command("explain", context_settings=CONTEXT, epilog=_EPILOG, short_help=_SHORT)
@scenario_argument
@click.option("--part", metavar="ID", help="Why this part is in the choice or not, and what would change that.")
@click.option(
    "--packages",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    metavar="CHOICE",
    help="Why the packages of this choice file are not the best.",
)
@click.option("--with-concepts", is_flag=True, help="What own parts that are only concepts would be worth.")
@click.option(
    "--every-figure",
    is_flag=True,
    help="Search for every uncertain figure, not only the most threatening, whether it could flip the choice; slow.",
)
@vehicle_option
@time_limit_option
@threads_option
@quiet_option
@format_option
@output_option
def command(
    scenario: Path,
    part: str | None,
    packages: Path | None,
    with_concepts: bool,
    every_figure: bool,
    vehicle: str | None,
    time_limit: float | None,
    threads: int,
    quiet: bool,
    format_: str,
    output: Path | None,
) -> int:
    """Explain the best choice for SCENARIO: what limits it, what comes next, what losing a part costs.

    With --part, whether that part is chosen and why, and the price, mass, rolling coefficient or grip at which that
    changes. Where nothing meets the limits, which of them have to give way and by how little. Every figure comes from
    searches of their own, each proven. Ctrl-C prints what is known so far.
    """
    require_writable(output, scenario, packages)
    from configopt.choice.choose import require_one_vehicle
    from configopt.cli.text_reasons import write_explanation
    from configopt.decisions.choice_file import load_choice, records_for
    from configopt.learning.ride_beside import beside, in_explanation, today
    from configopt.learning.verdicts import verdicts_of
    from configopt.reasons.explain import explain
    from configopt.scenario.case import load

    case = load(scenario)
    if vehicle is not None:
        case = case.only(vehicle)
    # Several vehicles are refused before their packages are missed.
    require_one_vehicle(case)
    verdicts = verdicts_of(case)
    known = records_for(load_choice(packages), case) if packages is not None else []
    found = explain(
        case,
        part=part,
        packages=known[0] if known else None,
        with_concepts=with_concepts,
        every_figure=every_figure,
        time_limit=time_limit,
        threads=threads,
        progress=None if quiet else say,
    )
    payload = found.to_json()
    if verdicts is not None:
        payload["ride_verdicts"] = beside(verdicts, [*in_explanation(payload), *today(case.vehicle)])
    if format_ == "json":
        emit(json_text(payload), output)
    else:
        sheet = page(output)
        write_explanation(sheet, payload)
        emit(str(sheet), output)
    return int(found.exit_code)
