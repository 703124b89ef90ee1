"""Options and arguments that several commands share."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from datetime import date
from difflib import get_close_matches
from pathlib import Path
from typing import Any, TypeVar

import click

from configopt.errors import one_line

Function = TypeVar("Function", bound=Callable[..., Any])
Check = Callable[[click.Context, click.Parameter, Any], Any]

#: Longest text of --by and --why; the strict reader takes no longer ones.
ACCEPTANCE_LIMIT = 200
#: Options that state what a decision file keeps, by its key there.
_OPTIONS = {"by": "by", "date": "on", "why": "why"}
CONTEXT = {"help_option_names": ["-h", "--help"]}


def finite(*, low: float, open_low: bool, unit: str = "") -> Check:
    """A check for an option: a finite number from a bound on; ``nan`` and ``inf`` do not slip through."""

    def check(ctx: click.Context, param: click.Parameter, value: float | None) -> float | None:
        if value is None:
            return None
        sound = value > low if open_low else value >= low
        if not (math.isfinite(value) and sound):
            allowed = f"{'above' if open_low else 'at least'} {low:g}{unit}"
            raise click.BadParameter(f"found {value:g}, allowed is a number {allowed}.")
        return value

    return check


def one_of(names: Sequence[str], what: str) -> Check:
    """A check for an argument: one of some names, with a hint where it is misspelt."""

    def check(ctx: click.Context, param: click.Parameter, value: str | None) -> str | None:
        if value is None:
            return None
        name = value.replace("_", "-")
        if name not in names:
            near = get_close_matches(name, names, n=1)
            hint = f"did you mean '{near[0]}'?" if near else f"there are: {', '.join(names)}"
            raise click.BadParameter(f"there is no {what} '{value}'; {hint}")
        return name

    return check


def scenario_argument(function: Function) -> Function:
    """The scenario file."""
    return click.argument("scenario", type=click.Path(exists=True, dir_okay=False, path_type=Path))(function)


def time_limit_option(function: Function) -> Function:
    """Seconds after which a search ends."""
    return click.option(
        "--time-limit",
        type=float,
        callback=finite(low=0.0, open_low=True, unit=" s"),
        metavar="SECONDS",
        help="Stop after this time with what is found so far.",
    )(function)


def threads_option(function: Function) -> Function:
    """Processor threads of a search."""
    return click.option(
        "--threads",
        type=click.IntRange(1, 64),
        default=1,
        show_default=True,
        metavar="COUNT",
        help="Processor threads for the search.",
    )(function)


def quiet_option(function: Function) -> Function:
    """No progress."""
    return click.option("-q", "--quiet", is_flag=True, help="No progress on standard error.")(function)


def vehicle_option(function: Function) -> Function:
    """One vehicle of a scenario with several."""
    return click.option("--vehicle", metavar="NAME", help="The vehicle of the scenario to look at, for itself.")(
        function
    )


def format_option(function: Function) -> Function:
    """Text for people or JSON for programs."""
    return click.option(
        "--format",
        "format_",
        type=click.Choice(["text", "json"]),
        default="text",
        show_default=True,
        help="Text for people, JSON for programs.",
    )(function)


def output_option(function: Function) -> Function:
    """A file instead of standard output."""
    return click.option(
        "-o",
        "--output",
        type=click.Path(path_type=Path),
        metavar="FILE",
        help="Write the result to FILE, whole or not at all.",
    )(function)


def catalogs_option(function: Function) -> Function:
    """The folder of the catalogs."""
    return click.option(
        "--catalogs",
        type=click.Path(exists=True, file_okay=False, path_type=Path),
        metavar="FOLDER",
        help="Folder of the catalogs.  [default: catalogs]",
    )(function)


def catalog_folder(given: Path | None) -> Path:
    """The folder named, or ``catalogs`` in the working folder.

    Raises
    ------
    click.UsageError
        If neither is there.
    """
    folder = given or Path("catalogs")
    if not folder.is_dir():
        raise click.UsageError("there is no folder 'catalogs' here; name one with --catalogs FOLDER")
    return folder


def acceptance_options(function: Function) -> Function:
    """Who accepts a choice, when and why."""
    for option in (
        click.option("--why", metavar="TEXT", help="Why it is accepted."),
        click.option("--on", metavar="DATE", help="When it is accepted, YYYY-MM-DD."),
        click.option("--by", metavar="NAME", help="Who accepts it."),
    ):
        function = option(function)
    return function


def required_acceptance(by: str | None, on: str | None, why: str | None, option: str) -> dict[str, str]:
    """Who, when and why, as a decision file states them.

    Raises
    ------
    click.UsageError
        If one is missing, empty or too long, or the date is none.
    """
    given = {"by": by, "date": on, "why": why}
    missing = [f"--{_OPTIONS[name]}" for name, value in given.items() if value is None or not value.strip()]
    if missing:
        raise click.UsageError(f"{option} needs {', '.join(missing)}: who accepts the choice, when and why.")
    stated = {name: " ".join(str(value).split()) for name, value in given.items()}
    try:
        date.fromisoformat(stated["date"])
    except ValueError:
        raise click.UsageError(f"--on {stated['date']} is no date; write it as 2026-03-31.") from None
    for name, value in stated.items():
        if one_line(value) != value:
            raise click.UsageError(f"--{_OPTIONS[name]} holds a character that cannot be shown.")
        if len(value) > ACCEPTANCE_LIMIT:
            option = f"--{_OPTIONS[name]}"
            raise click.UsageError(f"{option} has at most {ACCEPTANCE_LIMIT} characters, this one has {len(value)}.")
    return stated
