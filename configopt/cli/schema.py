"""``configopt schema``: JSON Schemas of the files, for editors and scripts."""

from __future__ import annotations

from difflib import get_close_matches
from pathlib import Path
from typing import Any

import click

from configopt.cli.options import CONTEXT, output_option
from configopt.cli.output import emit, json_text, require_writable
from configopt.errors import ExitCode
from configopt.schemas import NAMES

_EPILOG = """\b
Example:
  configopt schema scenario
  configopt schema tires -o tires.schema.json"""


class _Name(click.ParamType):
    name = "name"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        name = str(value).replace("_", "-")
        if name not in NAMES:
            near = get_close_matches(name, NAMES, n=1)
            hint = f"did you mean '{near[0]}'?" if near else f"there are: {', '.join(NAMES)}"
            self.fail(f"there is no schema '{value}'; {hint}", param, ctx)
        return name


@click.command("schema", context_settings=CONTEXT, epilog=_EPILOG, short_help="JSON Schemas of the files, for editors.")
@click.argument("name", type=_Name())
@output_option
def command(name: str, output: Path | None) -> int:
    """Print the JSON Schema of one kind of file.

    People write: scenario, choice-file, sources and the families of parts (tires, inners, rim-locks, rims, spokes, hubs,
    disc-wheels, rotors, calipers, pads, surfaces). Commands write: choice, appraisal, comparison, parts, families, fits,
    findings.
    """
    require_writable(output)
    from configopt.schemas import schema

    emit(json_text(schema(name)), output)
    return int(ExitCode.DONE)
