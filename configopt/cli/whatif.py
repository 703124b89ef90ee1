"""``configopt whatif``: many variants of a scenario, compared."""

from __future__ import annotations

from pathlib import Path

import click

from configopt.cli.options import CONTEXT, finite, output_option, quiet_option, scenario_argument
from configopt.cli.output import emit, json_text, page, require_writable, say
from configopt.errors import UsageError

_SHORT = "Many variants of a scenario: what changes, what keeping today's decision costs."
_EPILOG = """\b
Example:
  configopt whatif scenarios/upland-wardens.yaml scenarios/upland-wardens.variants.yaml
  configopt whatif scenarios/upland-wardens.yaml scenarios/upland-wardens.variants.yaml \\
    --jobs 4 --keep-in finished --format csv -o variants.csv"""


@click.command("whatif", context_settings=CONTEXT, epilog=_EPILOG, short_help=_SHORT)
@scenario_argument
@click.argument("variants", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option(
    "--jobs",
    type=click.IntRange(1, 256),
    metavar="COUNT",
    help="Processes of this machine that compute at the same time.  [default: one per processor]",
)
@click.option(
    "--cluster",
    metavar="ADDRESS",
    help="Compute on a Dask cluster instead, such as tcp://host:8786 (needs the extra 'cluster').",
)
@click.option(
    "--keep-in",
    type=click.Path(path_type=Path, file_okay=False),
    metavar="FOLDER",
    help="Keep every finished variant in FOLDER; a run that was ended goes on from there.",
)
@click.option(
    "--decision",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    metavar="CHOICE",
    help="The choice that is kept in every variant.  [default: the best one as the scenario stands]",
)
@click.option(
    "--resolution",
    type=float,
    callback=finite(low=1e-6, open_low=False),
    default=0.01,
    metavar="SHARE",
    help="How closely a change of the answer along a grid is looked for, as a share of its range; 0.01 is 1 %.  "
    "[default: 0.01]",
)
@click.option("--table-only", is_flag=True, help="Neither the choice that fits all variants best nor switches.")
@click.option(
    "--plot",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE.svg",
    help="Draw the grids over one number as well (needs the extra 'plots').",
)
@quiet_option
@click.option(
    "--format",
    "format_",
    type=click.Choice(["text", "json", "csv"]),
    default="text",
    show_default=True,
    help="Text for people, JSON for programs, CSV for spreadsheets.",
)
@output_option
def command(
    scenario: Path,
    variants: Path,
    jobs: int | None,
    cluster: str | None,
    keep_in: Path | None,
    decision: Path | None,
    resolution: float,
    table_only: bool,
    plot: Path | None,
    quiet: bool,
    format_: str,
    output: Path | None,
) -> int:
    """Choose for SCENARIO in every variant of the file VARIANTS, and compare.

    Each variant is a scenario of its own, with other terrain, limits, prices, parts or masses, and its answer is proven
    as that of choose. Prints what changes in each, what keeping today's decision would cost there, the one choice that
    is never much worse than the best, and where the answer changes along a grid. A variant that is wrong does not stop
    the others; the exit code is then 1. Ctrl-C prints what is finished.
    """
    require_writable(output, scenario, variants, decision)
    require_writable(plot, scenario, variants, decision, option="--plot")
    if plot is not None and output is not None and plot.resolve() == output.resolve():
        raise UsageError(f"-o and --plot both name {plot}; the drawing needs a file of its own")
    if jobs is not None and cluster is not None:
        raise UsageError("--jobs is for this machine and --cluster for another place: give one of them")
    if resolution > 0.5:
        raise UsageError(f"--resolution {resolution:g} is more than half of a range; give 0.5 at most")
    if plot is not None and plot.suffix.lower() != ".svg":
        raise UsageError(f"--plot {plot}: drawings are SVG; name a file that ends in .svg")
    if plot is not None:
        from configopt.scenario.variants import load_variants, one_field
        from configopt.sheet.charts import require_matplotlib

        require_matplotlib()
        if all(one_field(grid) is None for grid in load_variants(variants).grids.values()):
            raise UsageError(f"--plot: {variants} has no grid over one field whose values are numbers")
    if cluster is not None:
        from configopt.sweep.cluster import require_distributed

        require_distributed()
    from configopt.cli.text_whatif import csv_text, write_whatif
    from configopt.sweep.whatif import whatif

    found = whatif(
        scenario,
        variants,
        jobs=jobs,
        cluster=cluster,
        keep_in=keep_in,
        decision=decision,
        resolution=resolution,
        together=not table_only,
        progress=None if quiet else say,
    )
    payload = found.to_json()
    if format_ == "json":
        emit(json_text(payload), output)
    elif format_ == "csv":
        emit(csv_text(payload), output)
    else:
        sheet = page(output)
        write_whatif(sheet, payload)
        emit(str(sheet), output)
    if plot is not None:
        from configopt.sheet.charts import whatif_chart

        drawing = whatif_chart(payload)
        if drawing is None:
            say(f"nothing to draw: {plot} is not written")
        else:
            emit(drawing, plot)
    return int(found.exit_code)
