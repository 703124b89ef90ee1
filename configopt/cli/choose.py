"""``configopt choose``: the best packages with proof, beside the baseline."""

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

_SHORT = "The best packages for a scenario, with proof."
_EPILOG = """\b
Example:
  configopt choose scenarios/upland-wardens.yaml
  configopt choose scenarios/upland-wardens.yaml --format json -o choice.json"""


@click.command("choose", context_settings=CONTEXT, epilog=_EPILOG, short_help=_SHORT)
@scenario_argument
@time_limit_option
@click.option(
    "--gap",
    type=float,
    callback=finite(low=0.0, open_low=False),
    default=1e-6,
    metavar="SHARE",
    help="Prove the answer to within this share of the best; 0.002 is 0.2 %.  [default: 0.000001]",
)
@threads_option
@click.option(
    "--begin-with",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    metavar="CHOICE",
    help="Begin with the choice of this file, such as one of an earlier run that was stopped.",
)
@vehicle_option
@click.option("--detail", is_flag=True, help="Every figure, limit and remark.")
@quiet_option
@format_option
@output_option
def command(
    scenario: Path,
    time_limit: float | None,
    gap: float,
    threads: int,
    begin_with: Path | None,
    vehicle: str | None,
    detail: bool,
    quiet: bool,
    format_: str,
    output: Path | None,
) -> int:
    """Choose the best packages for SCENARIO and prove that none better exists in its catalogs.

    Several vehicles are chosen together, with the parts they share and what that saves.

    Prints front and rear package, what changes against today's baseline, mass, energy and range, the tightest margins
    and what limits the choice. Ctrl-C stops the search and prints the best answer so far.
    """
    require_writable(output, scenario, begin_with)
    from configopt.choice.result import choose
    from configopt.cli.text_choice import write_choice
    from configopt.decisions.choice_file import load_choice, records_for
    from configopt.scenario.case import load

    case = load(scenario)
    if vehicle is not None:
        case = case.only(vehicle)
    known = records_for(load_choice(begin_with), case) if begin_with is not None else []
    choice = choose(
        case, time_limit=time_limit, gap=gap, threads=threads, begin_with=known, progress=None if quiet else say
    )
    payload = choice.to_json()
    if format_ == "json":
        emit(json_text(payload), output)
    else:
        sheet = page(output)
        write_choice(sheet, payload, detail=detail)
        emit(str(sheet), output)
    return int(choice.exit_code)
