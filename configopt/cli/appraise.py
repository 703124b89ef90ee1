"""``configopt appraise``: the full model for a given choice."""

from __future__ import annotations

from pathlib import Path

import click

from configopt.cli.options import CONTEXT, format_option, output_option, scenario_argument
from configopt.cli.output import emit, json_text, page, require_writable, say
from configopt.errors import ExitCode

_SHORT = "The full model for a given choice."
_EPILOG = """\b
Example:
  configopt appraise scenarios/upland-wardens.yaml choice.json --detail

\b
CHOICE is JSON from "configopt choose --format json -o FILE", or YAML:
  vehicles:
    - name: warden-two-wheeler
      final_drive: drive-10-6
      front:
        tire: ...       (the keys of a scenario's baseline)
      rear:
        tire: ..."""


@click.command("appraise", context_settings=CONTEXT, epilog=_EPILOG, short_help=_SHORT)
@scenario_argument
@click.argument("choice", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--detail", is_flag=True, help="Every figure with formula, inputs and source; every limit and remark.")
@format_option
@output_option
def command(scenario: Path, choice: Path, detail: bool, format_: str, output: Path | None) -> int:
    """Compute the full model for the packages in CHOICE on the vehicle and ground of SCENARIO.

    Nothing is searched: the parts stay as CHOICE names them, also where they do not fit, and the answer says so.
    """
    require_writable(output, scenario, choice)
    from configopt.appraisal.appraise import appraise
    from configopt.cli.text_appraisal import write_appraisal
    from configopt.decisions.choice_file import load_choice, records_for
    from configopt.scenario.case import load

    case = load(scenario)
    file = load_choice(choice)
    if file.scenario is not None and file.scenario != case.name:
        say(f"configopt: warning: {choice} was made for scenario {file.scenario}, this one is {case.name}")
    names = [vehicle.name for vehicle in case.scenario.vehicles]
    payload = appraise(case, records_for(file, case), names).to_json()
    if format_ == "json":
        emit(json_text(payload), output)
    else:
        sheet = page(output)
        write_appraisal(sheet, payload, detail=detail)
        emit(str(sheet), output)
    return int(ExitCode.DONE)
