"""``configopt parts``: what is in the catalogs."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from configopt.cli.options import CONTEXT, catalog_folder, catalogs_option, format_option, one_of, output_option
from configopt.cli.output import counted, emit, finding_text, json_text, page, relative, require_writable, say
from configopt.errors import ExitCode, FindingsError

if TYPE_CHECKING:
    from configopt.catalog.catalog import Catalog

#: Families in the order of the work: from the ground up.
FAMILIES = (
    "tires", "inners", "rim-locks", "rims", "spokes", "hubs", "disc-wheels", "rotors", "calipers", "pads", "surfaces",
)  # fmt: skip

_SHORT = "What is in the catalogs."
_EPILOG = """\b
Example:
  configopt parts
  configopt parts tires
  configopt parts tires --corrections corrections/upland.yaml
  configopt parts disc-wheels --format json"""


@click.command("parts", context_settings=CONTEXT, epilog=_EPILOG, short_help=_SHORT)
@click.argument("family", required=False, callback=one_of(FAMILIES, "family"))
@catalogs_option
@click.option(
    "--corrections",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    metavar="FILE",
    help="Figures as a scenario that names this file of corrections computes with them.",
)
@format_option
@output_option
def command(
    family: str | None, catalogs: Path | None, corrections: Path | None, format_: str, output: Path | None
) -> int:
    """List the parts of FAMILY, or the families without it.

    Families: tires, inners, rim-locks, rims, spokes, hubs, disc-wheels, rotors, calipers, pads, surfaces.
    """
    require_writable(output)
    folder = catalog_folder(catalogs)
    from configopt.catalog.catalog import load_catalog
    from configopt.catalog.corrections import Replaced, replaced
    from configopt.cli.part_json import part_json
    from configopt.cli.text_parts import COLUMNS, part_cells, replaced_cells

    catalog = load_catalog(folder)
    changes: dict[str, list[Replaced]] = {}
    if corrections is not None:
        own, catalog = catalog, with_corrections(catalog, corrections)
        changes = {name: replaced(own.family(name), catalog.family(name), name) for name in FAMILIES}
    if format_ == "json":
        if family is None:
            rows = [{"family": name, "count": len(catalog.family(name))} for name in FAMILIES]
            payload: dict[str, Any] = {"schema": "configopt/families/1", "families": rows}
        else:
            parts = [part_json(part) for part in catalog.family(family)]
            payload = {"schema": "configopt/parts/1", "family": family, "currency": catalog.currency, "parts": parts}
            if corrections is not None:
                payload["corrected"] = [
                    dict(zip(("part", "figure", "catalog", "corrected"), replaced_cells(family, one), strict=True))
                    for one in changes[family]
                ]
        emit(json_text(payload), output)
        return int(ExitCode.DONE)
    sheet = page(output)
    if family is None:
        sheet.heading("Families of parts")
        rows_text: list[tuple[str, ...]] = [(name, f"{len(catalog.family(name))}") for name in FAMILIES]
        if corrections is not None:
            rows_text = [(*row, counted(len(changes[row[0]]), "figure") + " corrected") for row in rows_text]
        sheet.table(rows_text, right=frozenset({1}))
    else:
        listed = catalog.family(family)
        sheet.heading(f"{counted(len(listed), 'entry', 'entries')} in {family}, prices of one in {catalog.currency}")
        columns = COLUMNS[family]
        rows_text = [part_cells(family, part) for part in listed]
        header = ("id", *(column.head for column in columns), "")
        if not any(row[-1] for row in rows_text):
            rows_text, header = [row[:-1] for row in rows_text], header[:-1]
        right = frozenset(number for number, column in enumerate(columns, start=1) if column.right)
        flexible = [number for number, column in enumerate(columns, start=1) if not column.right]
        sheet.table(rows_text, header=header, right=right, flexible=flexible)
        if corrections is not None:
            sheet.heading(f"{counted(len(changes[family]), 'figure')} corrected, by {relative(str(corrections))}")
            cells = (replaced_cells(family, one) for one in changes[family])
            told = [(part, figure.replace("_", " "), *both) for part, figure, *both in cells]
            if told:
                sheet.table(told, header=("id", "figure", "catalog", "corrected"), flexible=(1,))
    emit(str(sheet), output)
    return int(ExitCode.DONE)


def with_corrections(catalog: Catalog, file: Path) -> Catalog:
    """The catalog with a file of corrections over it; what is doubtful about them is said.

    Raises
    ------
    FindingsError
        If the file, or a correction in it, is wrong.
    """
    from configopt.scenario.case import load_corrected

    layered, findings = load_corrected(catalog, file)
    wrong = [finding for finding in findings if finding.severity == "error"]
    if wrong:
        raise FindingsError(wrong)
    for finding in findings:
        say(finding_text(finding))
    return layered
