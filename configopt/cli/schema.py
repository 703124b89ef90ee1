"""``configopt schema``: JSON Schemas of the files, for editors and scripts."""

from __future__ import annotations

from pathlib import Path

import click

from configopt.cli.options import CONTEXT, one_of, output_option
from configopt.cli.output import emit, json_text, require_writable
from configopt.errors import ExitCode, UsageError
from configopt.schemas import NAMES

_SHORT = "JSON Schemas of the files, for editors."
_EPILOG = """\b
Example:
  configopt schema scenario
  configopt schema tires -o tires.schema.json
  configopt schema --into .schemas"""


@click.command("schema", context_settings=CONTEXT, epilog=_EPILOG, short_help=_SHORT)
@click.argument("name", required=False, callback=one_of(NAMES, "schema"))
@click.option(
    "--into",
    type=click.Path(file_okay=False, path_type=Path),
    help="Write the schemas of all files that people write into this folder, for editors; .schemas beside catalogs.",
)
@output_option
def command(name: str | None, into: Path | None, output: Path | None) -> int:
    """Print the JSON Schema of one kind of file, or write those for editors into a folder.

    People write: scenario, variants, choice-file, decision, mapping, corrections, sources and the families of parts
    (tires, inners, rims, spokes, disc-wheels, hubs, rim-locks, rotors, calipers, pads, surfaces). Commands write:
    choice, tradeoff, shortlist, explanation, whatif, appraisal, comparison, parts, families, fits, findings, terrain,
    chassis, trials, learning.
    """
    if (name is None) == (into is None) or (into is not None and output is not None):
        raise click.UsageError("Name one schema, or a folder for all with --into.")
    require_writable(output)
    from configopt.schemas import FILE_NAMES, schema

    if name is not None:
        emit(json_text(schema(name)), output)
        return int(ExitCode.DONE)
    assert into is not None
    try:
        into.mkdir(exist_ok=True)
    except OSError as error:
        raise UsageError(f"--into {into}: {error.strerror or error}") from None
    for one in FILE_NAMES:
        emit(json_text(schema(one)), into / f"{one}.json")
    return int(ExitCode.DONE)
