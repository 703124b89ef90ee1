"""``configopt compare``: two choices line by line."""

from __future__ import annotations

from pathlib import Path

import click

from configopt.cli.options import CONTEXT, format_option, output_option, scenario_argument
from configopt.cli.output import emit, json_text, page, require_writable, say
from configopt.errors import ExitCode

_SHORT = "Two choices, line by line."
_EPILOG = """\b
Example:
  configopt compare scenarios/upland-wardens.yaml today.yaml choice.json"""


@click.command("compare", context_settings=CONTEXT, epilog=_EPILOG, short_help=_SHORT)
@scenario_argument
@click.argument("first", metavar="CHOICE", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.argument("second", metavar="CHOICE", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@format_option
@output_option
def command(scenario: Path, first: Path, second: Path, format_: str, output: Path | None) -> int:
    """Compare two choices for SCENARIO line by line, with what each difference comes from.

    The first CHOICE becomes the second one part group at a time, from the ground up; every step is computed with the
    full model, so the steps add up to the whole difference.
    """
    require_writable(output, scenario, first, second)
    from configopt.cli.text_compare import write_comparison
    from configopt.decisions.choice_file import load_choice, records_for
    from configopt.decisions.comparison import compare
    from configopt.scenario.case import load

    case = load(scenario)
    records = []
    for path in (first, second):
        file = load_choice(path)
        if file.scenario is not None and file.scenario != case.name:
            say(f"configopt: warning: {path} was made for scenario {file.scenario}, this one is {case.name}")
        records.append(records_for(file, case))
    payload = compare(case, records[0], records[1], titles=(str(first), str(second))).to_json()
    if format_ == "json":
        emit(json_text(payload), output)
    else:
        sheet = page(output)
        write_comparison(sheet, payload)
        emit(str(sheet), output)
    return int(ExitCode.DONE)
