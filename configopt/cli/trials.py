"""``configopt trials``: what riders said of tires, ranked with its uncertainty."""

from __future__ import annotations

from pathlib import Path

import click

from configopt.cli.options import CONTEXT, catalogs_option, format_option, output_option
from configopt.cli.output import emit, json_text, page, require_writable

_SHORT = "What riders said of tires, ranked with its uncertainty."
_EPILOG = """\b
Example:
  configopt trials scenarios/trials/upland-rides.csv
  configopt trials scenarios/trials/upland-rides.csv --for peat"""


@click.command("trials", context_settings=CONTEXT, epilog=_EPILOG, short_help=_SHORT)
@click.argument("table", metavar="FILE", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@catalogs_option
@click.option("--for", "purpose", metavar="WORD", help="Only what was judged for this, such as peat or roots.")
@click.option("--by-pressure", is_flag=True, help="Rank a tire at another pressure as another one, in steps of 5 kPa.")
@format_option
@output_option
def command(
    table: Path, catalogs: Path | None, purpose: str | None, by_pressure: bool, format_: str, output: Path | None
) -> int:
    """Rank the tires in FILE, a table of ride verdicts (CSV), and say what was dropped and what to compare next.

    A row holds who rode which tire when, and whether it was better than another one, worse or alike. README has the
    columns. What was never compared is not ranked against each other. Verdicts change no choice: they stand beside it
    where a scenario names the table (trials: FILE).
    """
    require_writable(output, table)
    from configopt.catalog.catalog import load_catalog
    from configopt.cli.text_trials import write_trials
    from configopt.learning.ride_verdicts import trials_report
    from configopt.learning.verdicts import load_verdicts

    folder = catalogs if catalogs is not None else Path("catalogs")
    catalog = load_catalog(folder) if folder.is_dir() else None
    payload = trials_report(load_verdicts(table, catalog), catalog=catalog, asked=purpose, by_pressure=by_pressure)
    if format_ == "json":
        emit(json_text(payload), output)
    else:
        sheet = page(output)
        write_trials(sheet, payload)
        emit(str(sheet), output)
    return 0
