"""``configopt schema``: JSON Schemas of the files, for editors and scripts."""

from __future__ import annotations

from pathlib import Path

import click

from configopt.cli.options import CONTEXT, one_of, output_option
from configopt.cli.output import emit, json_text, require_writable
from configopt.errors import ExitCode
from configopt.schemas import NAMES

_SHORT = "JSON Schemas of the files, for editors."
_EPILOG = """\b
Example:
  configopt schema scenario
  configopt schema tires -o tires.schema.json"""


@click.command("schema", context_settings=CONTEXT, epilog=_EPILOG, short_help=_SHORT)
@click.argument("name", callback=one_of(NAMES, "schema"))
@output_option
def command(name: str, output: Path | None) -> int:
    """Print the JSON Schema of one kind of file.

    People write: scenario, variants, choice-file, sources and the families of parts (tires, inners, rim-locks, rims,
    spokes, hubs, disc-wheels, rotors, calipers, pads, surfaces). Commands write: choice, tradeoff, shortlist,
    explanation, whatif, appraisal, comparison, parts, families, fits, findings.
    """
    require_writable(output)
    from configopt.schemas import schema

    emit(json_text(schema(name)), output)
    return int(ExitCode.DONE)
