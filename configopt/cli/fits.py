"""``configopt fits``: what fits a part, and why the rest does not."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from configopt.cli.options import CONTEXT, catalog_folder, catalogs_option, format_option, output_option
from configopt.cli.output import emit, json_text, page, require_writable
from configopt.errors import ExitCode

_SHORT = "What fits a part, and why the rest does not."
_EPILOG = """\b
Example:
  configopt fits heron-moor-80-100-21
  configopt fits heron-moor-80-100-21 scenarios/upland-wardens.yaml --all"""


@click.command("fits", context_settings=CONTEXT, epilog=_EPILOG, short_help=_SHORT)
@click.argument("part")
@click.argument("scenario", required=False, type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--all", "all_", is_flag=True, help="The reason for every part that does not fit.")
@catalogs_option
@format_option
@output_option
def command(
    part: str, scenario: Path | None, all_: bool, catalogs: Path | None, format_: str, output: Path | None
) -> int:
    """Show what fits PART (an id of the catalogs), and why the rest does not.

    With SCENARIO its catalogs are used, and the answer says where on its vehicles the part can be used.
    """
    if scenario is not None and catalogs is not None:
        raise click.UsageError("SCENARIO names its own catalogs; leave out --catalogs")
    require_writable(output, scenario)
    from configopt.catalog.catalog import load_catalog
    from configopt.cli.text_fits import write_fits
    from configopt.fit import partners
    from configopt.scenario.case import load

    case = None if scenario is None else load(scenario)
    catalog = load_catalog(catalog_folder(catalogs)) if case is None else case.catalog
    family, found = partners.find_part(catalog, part)
    payload: dict[str, Any] = {
        "schema": "configopt/fits/1",
        "part": {"id": found.id, "family": family, "name": found.name, "status": found.status},
        "partners": [
            {
                "family": other,
                "fit": [pair.part.id for pair in pairs if pair.reason is None],
                "rejected": [{"id": pair.part.id, "reason": pair.reason} for pair in pairs if pair.reason is not None],
            }
            for other, pairs in partners.partners(catalog, family, found)
        ],
        "scenario": None if case is None else case.name,
        "places": [
            {"vehicle": place.vehicle, "position": place.position, "fits": place.reason is None, "reason": place.reason}
            for place in (() if case is None else partners.places(case.scenario.vehicles, catalog, family, found))
        ],
    }
    if format_ == "json":
        emit(json_text(payload), output)
    else:
        sheet = page(output)
        write_fits(sheet, payload, every=all_)
        emit(str(sheet), output)
    return int(ExitCode.DONE)
