"""``configopt sheet``: the decision on one page for the chassis designer, the buyer and the workshop."""

from __future__ import annotations

from pathlib import Path

import click

from configopt.cli.options import (
    CONTEXT,
    quiet_option,
    scenario_argument,
    threads_option,
    time_limit_option,
    vehicle_option,
)
from configopt.cli.output import emit, json_text, require_writable, say
from configopt.errors import UsageError

_SHORT = "The decision sheet: one HTML file, with drawings and bill of materials."
_EPILOG = """\b
Example:
  configopt sheet scenarios/upland-wardens.yaml -o sheet.html
  configopt sheet scenarios/upland-wardens.yaml --packages best.json -o s.html"""
_FILE = click.Path(path_type=Path)
_INPUT = click.Path(exists=True, dir_okay=False, path_type=Path)


@click.command("sheet", context_settings=CONTEXT, epilog=_EPILOG, short_help=_SHORT)
@scenario_argument
@click.option("--packages", type=_INPUT, metavar="CHOICE", help="The packages of this choice file; nothing is chosen.")
@click.option(
    "--result",
    "results",
    type=_INPUT,
    multiple=True,
    metavar="FILE",
    help="JSON of tradeoff, shortlist or explain made before; may be given for each.",
)
@click.option("--tradeoff/--no-tradeoff", default=None, help="The trade-off.  [default: yes, without --packages]")
@click.option("--shortlist/--no-shortlist", default=None, help="The short list.  [default: yes, without --packages]")
@click.option("--reasons/--no-reasons", default=False, help="What explain says; takes minutes.  [default: no]")
@click.option("--chassis", type=_FILE, metavar="FILE.json", help="Also write the chassis designer's data.")
@click.option("--bill", type=_FILE, metavar="FILE.xlsx", help="Also write the bill of materials as a workbook.")
@click.option("--dxf", type=_FILE, metavar="FILE.dxf", help="Also write the outlines of the wheels as a drawing.")
@vehicle_option
@time_limit_option
@threads_option
@quiet_option
@click.option("-o", "--output", type=_FILE, metavar="FILE.html", help="Write the sheet to FILE, whole or not at all.")
def command(
    scenario: Path,
    packages: Path | None,
    results: tuple[Path, ...],
    tradeoff: bool | None,
    shortlist: bool | None,
    reasons: bool,
    chassis: Path | None,
    bill: Path | None,
    dxf: Path | None,
    vehicle: str | None,
    time_limit: float | None,
    threads: int,
    quiet: bool,
    output: Path | None,
) -> int:
    """Lay out the decision for SCENARIO as one HTML file that needs no network and no script.

    The best packages are chosen and proven first, then the trade-off and the short list are made, as far as the time
    goes: --time-limit holds for all of them together; without it the choice takes the time it needs and each other
    search at most two minutes. The sheet names what it leaves out. Ctrl-C stops the search that runs, leaves the rest
    out and writes the sheet.
    """
    inputs = (scenario, packages, *results)
    written = {"-o": output, "--chassis": chassis, "--bill": bill, "--dxf": dxf}
    _require_apart(written)
    for option, path in written.items():
        require_writable(path, *inputs, option=option)
    if output is not None and output.suffix.lower() not in (".html", ".htm"):
        raise UsageError(f"-o {output}: the sheet is HTML; name a file that ends in .html, and print it for a PDF")
    for option, path, ending in (("--bill", bill, ".xlsx"), ("--chassis", chassis, ".json"), ("--dxf", dxf, ".dxf")):
        if path is not None and path.suffix.lower() != ending:
            raise UsageError(f"{option} {path}: name a file that ends in {ending}")
    from configopt.exchange.xlsx_door import require_openpyxl
    from configopt.files.writing import write_all
    from configopt.scenario.case import load
    from configopt.sheet.bill import workbook
    from configopt.sheet.contents import failures, workbook_notes
    from configopt.sheet.envelope import envelope_dxf, require_ezdxf
    from configopt.sheet.making import Order, make_contents
    from configopt.sheet.page import require_jinja2, sheet_page

    require_jinja2()
    if bill is not None:
        require_openpyxl()
    if dxf is not None:
        require_ezdxf()
    case = load(scenario)
    family = case.together
    if vehicle is not None:
        case = case.only(vehicle)
    by_default = packages is None and not case.together
    further = {
        "tradeoff": by_default if tradeoff is None else tradeoff,
        "shortlist": by_default if shortlist is None else shortlist,
        "explanation": reasons,
    }
    order = Order(packages, results, further, time_limit, threads, vehicle if family else None)
    made = make_contents(case, order, None if quiet else say)
    if made.contents is None:
        say(f"configopt: {made.why_not}")
        return int(made.exit_code)
    html = sheet_page(made.contents)
    files: dict[Path, bytes] = {}
    if output is not None:
        files[output] = html.encode()
    if chassis is not None:
        files[chassis] = json_text(made.contents.results.documents["chassis"]).encode()
    if bill is not None:
        files[bill] = workbook(
            made.contents.bill_rows,
            currency=made.contents.currency,
            title=f"Bill of materials: {made.contents.title}",
            notes=workbook_notes(made.contents),
        )
    if dxf is not None:
        files[dxf] = envelope_dxf(made.contents.shapes, failures(made.contents))
    write_all(files)
    for path in files:
        say(f"written: {path}")
    if output is None:
        emit(html, None)
    return int(made.exit_code)


def _require_apart(written: dict[str, Path | None]) -> None:
    """Refuse two options that name the same file."""
    seen: dict[Path, str] = {}
    for option, path in written.items():
        if path is None:
            continue
        before = seen.setdefault(path.resolve(), option)
        if before != option:
            raise UsageError(f"{before} and {option} both name {path}; each needs a file of its own")
