"""Options and arguments that several commands share."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

Function = TypeVar("Function", bound=Callable[..., Any])

CONTEXT = {"help_option_names": ["-h", "--help"]}


class FiniteNumber(click.ParamType):
    """A finite number with a lower bound, so that ``nan`` and ``inf`` do not slip through."""

    name = "number"

    def __init__(self, *, low: float, open_low: bool, unit: str = "") -> None:
        self.low, self.open_low, self.unit = low, open_low, unit

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """The number, or a usage error that says what is allowed."""
        try:
            number = float(value)
        except (TypeError, ValueError):
            number = math.nan
        sound = number > self.low if self.open_low else number >= self.low
        if not (math.isfinite(number) and sound):
            allowed = f"{'above' if self.open_low else 'at least'} {self.low:g}{self.unit}"
            self.fail(f"found {value!r}, allowed is a number {allowed}.", param, ctx)
        return number


def scenario_argument(function: Function) -> Function:
    """The scenario file."""
    return click.argument("scenario", type=click.Path(exists=True, dir_okay=False, path_type=Path))(function)


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
