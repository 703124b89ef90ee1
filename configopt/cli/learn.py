"""``configopt learn``: test logs to corrected figures, the choice made again, and the next test."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from configopt.cli.options import (
    CONTEXT,
    format_option,
    quiet_option,
    scenario_argument,
    threads_option,
    time_limit_option,
    vehicle_option,
)
from configopt.cli.output import emit, json_text, page, require_writable, say
from configopt.errors import ExitCode, UsageError

_SHORT = "Test logs to corrected figures, and which next test would be worth most."
_EPILOG = """\b
Example:
  configopt learn scenarios/upland-wardens.yaml scenarios/logs/*.csv -o corrections.yaml
  configopt learn scenarios/upland-wardens.yaml"""


@click.command("learn", context_settings=CONTEXT, epilog=_EPILOG, short_help=_SHORT)
@scenario_argument
@click.argument("logs", nargs=-1, metavar="[LOGS]...", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option(
    "-o",
    "output",
    type=click.Path(path_type=Path),
    metavar="FILE.yaml",
    help="Write the corrections into this file, for a scenario to name (corrections: FILE); whole or not at all.",
)
@click.option("--figures-only", is_flag=True, help="Neither choose again nor say which test comes next.")
@vehicle_option
@time_limit_option
@threads_option
@quiet_option
@format_option
def command(
    scenario: Path,
    logs: tuple[Path, ...],
    output: Path | None,
    figures_only: bool,
    vehicle: str | None,
    time_limit: float | None,
    threads: int,
    quiet: bool,
    format_: str,
) -> int:
    """Learn from LOGS of tests ridden with the vehicle of SCENARIO, and say which test would be worth most next.

    Logs are CSV files with units in the header row (coast-down, climb, brake, cooling, ground, static, energy, tread;
    README has their columns). Every figure of the catalog that a test speaks about is weighed against it, both by
    their uncertainties. The catalog is not changed: corrections are a file of their own, to be looked through. Then the
    choice is made with the figures before and after. Without LOGS only the next test is looked for.
    """
    require_writable(output, scenario, *logs)
    if output is not None and output.suffix not in (".yaml", ".yml"):
        raise UsageError(f"-o {output}: corrections are YAML; give the file the ending .yaml")
    if output is not None and not logs:
        raise UsageError("-o is for the corrections that logs teach; name at least one log")
    if figures_only and not logs:
        raise UsageError("--figures-only needs at least one log")
    from configopt.cli.text_learn import write_learning
    from configopt.learning.learn import choose_again, learn
    from configopt.scenario.case import load

    case = load(scenario)
    if vehicle is not None:
        case = case.only(vehicle)
    payload: dict[str, Any] = {"schema": "configopt/learning/1", "scenario": case.name, "lesson": None}
    payload |= {"choice_again": None, "next_tests": None}
    exit_code, joint = ExitCode.DONE, None
    options: dict[str, Any] = {"time_limit": time_limit, "threads": threads, "progress": None if quiet else say}
    if logs:
        if case.as_written is not None and not quiet:
            say(f"{case.scenario.corrections} is set aside: give the logs it was learned from as well as the new ones")
        lesson = learn(case, logs)
        payload["lesson"] = lesson.to_json()
        corrected = lesson.corrected
        if output is not None:
            emit(lesson.text, output)
        if not figures_only:
            again = choose_again(case, lesson, **options)
            payload["choice_again"] = again.to_json()
            exit_code = again.after.exit_code
        case, joint = corrected, lesson.joint
    if not figures_only:
        payload["next_tests"], said = _next(case, joint, options)
        payload["next_tests_remark"] = said
    payload["cautions"] = list(CAUTIONS)
    if format_ == "json":
        emit(json_text(payload), None)
    else:
        sheet = page(None)
        write_learning(sheet, payload)
        emit(str(sheet), None)
    return int(exit_code)


#: What whoever tests has to keep in mind.
CAUTIONS = (
    "Ride tests on closed ground, with qualified riders, protective gear and somebody at hand; stop when anything is "
    "unusual. Rotors stay hot long after a stop.",
    "Pressures below the tire's marking, grades at the limit of grip and hard stops can end in a fall; the tire's and "
    "the vehicle's papers and local rules come first.",
    "Corrections hold for what was ridden: this tire, surface, pressure and wear. They are a pre-selection by "
    "calculation and certify nothing.",
)


def _next(case: Any, joint: Any, options: dict[str, Any]) -> tuple[dict[str, Any] | None, str]:
    """What is said of next tests, or why nothing is."""
    from configopt.learning.next_test import next_tests

    if case.together:
        return None, "which test would be worth most is said for one vehicle at a time: name it with --vehicle"
    if case.scenario.aims.in_order is not None:
        return None, "which test would be worth most is said where the aims are one weighted sum"
    found = next_tests(case, joint=joint, **options)
    if found is None:
        return None, "no two candidates come near each other: there is nothing for a test to decide"
    return found.to_json(), ""
