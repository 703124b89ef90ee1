"""``configopt choose``: the best packages with proof, beside the baseline."""

from __future__ import annotations

from pathlib import Path

import click

from configopt.cli.options import (
    CONTEXT,
    acceptance_options,
    finite,
    format_option,
    output_option,
    quiet_option,
    required_acceptance,
    scenario_argument,
    threads_option,
    time_limit_option,
    vehicle_option,
)
from configopt.cli.output import emit, json_text, page, require_writable, say
from configopt.cli.recording import require_decision_file, write_decision

_SHORT = "The best packages for a scenario, with proof."
_EPILOG = """\b
Example:
  configopt choose scenarios/upland-wardens.yaml
  configopt choose scenarios/upland-wardens.yaml --format json -o choice.json
  configopt choose scenarios/upland-wardens.yaml --by Okafor --on 2026-03-02 \\
      --why "spring order" --record spring.decision.yaml"""


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
@click.option(
    "--record",
    type=click.Path(dir_okay=False, path_type=Path),
    metavar="FILE",
    help="Accept the choice: write it as a decision, FILE ends in .decision.yaml; needs --by, --on and --why.",
)
@acceptance_options
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
    record: Path | None,
    by: str | None,
    on: str | None,
    why: str | None,
    detail: bool,
    quiet: bool,
    format_: str,
    output: Path | None,
) -> int:
    """Choose the best packages for SCENARIO and prove that none better exists in its catalogs.

    Several vehicles are chosen together, with the parts they share and what that saves.

    Prints front and rear package, what changes against today's baseline, mass, energy and range, the tightest margins
    and what limits the choice. Ctrl-C stops the search and prints the best answer so far.

    With --record the choice is accepted: who, when and why, its figures and what it depended on are kept in a file
    that check decides again whenever catalogs or scenario change.
    """
    require_writable(output, scenario, begin_with)
    acceptance = None
    if record is not None:
        acceptance = required_acceptance(by, on, why, "--record")
        require_decision_file(record)
    elif (by, on, why) != (None, None, None):
        raise click.UsageError("--by, --on and --why go with --record FILE.")
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
    if record is not None and acceptance is not None:
        if choice.records and choice.audit.agrees:
            write_decision(record, case, choice, acceptance)
        else:
            say("nothing is recorded: there is no choice to accept")
    if format_ == "json":
        emit(json_text(payload), output)
    else:
        sheet = page(output)
        write_choice(sheet, payload, detail=detail)
        emit(str(sheet), output)
    return int(choice.exit_code)
