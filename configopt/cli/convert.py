"""``configopt convert``: catalogs to CSV and XLSX and back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from configopt.cli.options import CONTEXT
from configopt.cli.output import counted, emit, relative, say
from configopt.errors import ExitCode, UsageError
from configopt.exchange.kinds import KINDS, kind_of

if TYPE_CHECKING:
    from configopt.exchange.layout import FamilyText

_SHORT = "Catalogs to CSV and XLSX and back, nothing lost on the way."
_EPILOG = """\b
Example:
  configopt convert catalogs -o catalogs.xlsx
  configopt convert catalogs.xlsx -o catalogs --replace
  configopt convert catalogs/tires.yaml -o tires.csv
  configopt convert catalogs -o tables/ --to csv
  configopt convert pricelist.xlsx --mapping pricelist.mapping.yaml \\
    -o tires.yaml --catalogs catalogs"""


@click.command("convert", context_settings=CONTEXT, epilog=_EPILOG, short_help=_SHORT)
@click.argument("source", type=click.Path(exists=True, path_type=Path))
@click.option(
    "-o",
    "--output",
    type=str,
    metavar="PATH",
    help="File ending in .xlsx, .csv or .yaml, or a folder for one file a family, which is made if it is not there.  "
    "[default: standard output, for one family with --to csv or --to yaml]",
)
@click.option(
    "--to",
    type=click.Choice(KINDS),
    help="Kind of the files written.  [default: by the ending of PATH; in a folder YAML from tables, CSV from YAML]",
)
@click.option("--replace", is_flag=True, help="Write over files that are there; what is fewer than before is said.")
@click.option(
    "--mapping",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    metavar="FILE",
    help="How the columns of a sheet made by hand are read (configopt schema mapping).",
)
@click.option(
    "--catalogs",
    type=click.Path(exists=True, file_okay=False, path_type=Path),
    metavar="FOLDER",
    help="The rest of the catalog, for ids that are named.  [default: the folder of the YAML files read or written]",
)
def command(
    source: Path, output: str | None, to: str | None, replace: bool, mapping: Path | None, catalogs: Path | None
) -> int:
    """Convert SOURCE, a catalog file or a folder of them: YAML, CSV or XLSX.

    A workbook has one sheet a family, a CSV file one family. The unit stands in the header of its column; comments,
    sources and the order of everything come back. Before anything is written all of it is checked as a catalog, and a
    mistake is told at its sheet, row and column. Several files are written all or none.
    """
    kind, target, folder = _target(source, output, to)
    from configopt.exchange.convert import convert, written
    from configopt.exchange.mapping import load_mapping

    if "xlsx" in (kind, kind_of(source)):
        from configopt.exchange.xlsx_door import require_openpyxl

        require_openpyxl()
    _require_free(source, target, mapping)
    read = load_mapping(mapping) if mapping is not None else None
    beside = catalogs or _beside(source, target, folder, kind)
    converted = convert(source, mapping=read, beside=beside)
    names = [made.family for made in converted.families]
    if kind != "xlsx" and not folder and len(names) != 1:
        raise UsageError(f"{source} holds {len(names)} families; name a folder: -o tables/ --to {kind}")
    files = {_path(target, name, kind, folder): content for name, content in written(converted.families, kind).items()}
    if target is None:
        (content,) = files.values()
        emit(content.decode(), None)
    else:
        holds = {path: [one for one in converted.families if not folder or one.family == path.stem] for path in files}
        _write(files, holds, target, folder, source, replace)
    for path in converted.relaid:
        say(f"note: {relative(path)} comes back in the house layout (one key: value a line, quotes only where needed)")
    missing = [name for name in converted.unchecked if name in ("sources", "tires")]
    if "sources" in missing:
        say("note: ids of sources are not checked: no sources among them; name the catalog with --catalogs FOLDER")
    if target is not None:
        what = f"{counted(len(names), 'family', 'families')}, {counted(converted.entries, 'entry', 'entries')}"
        say(f"written: {target} ({what})")
    return int(ExitCode.DONE)


def _target(source: Path, output: str | None, to: str | None) -> tuple[str, Path | None, bool]:
    """Kind of what is written, its path, and whether that is a folder."""
    if output is None or output == "-":
        if to not in ("csv", "yaml"):
            known = "name the output: -o catalogs.xlsx, or -o tables/ for one CSV file a family"
            raise UsageError(f"{known}; or print one family with --to csv or --to yaml")
        return to, None, False
    target = Path(output)
    ending = kind_of(target)
    folder = target.is_dir() or output.endswith(("/", "\\")) or target.suffix == ""
    if folder and to != "xlsx":
        reads_yaml = kind_of(source) == "yaml" or (source.is_dir() and any(source.glob("*.yaml")))
        return to or ("csv" if reads_yaml else "yaml"), target, True
    if target.is_dir() or output.endswith(("/", "\\")):
        raise UsageError(f"-o {output}: a workbook is one file; name it, such as {target / 'catalogs.xlsx'}")
    if ending is None:
        raise UsageError(f"-o {output}: name a file that ends in .xlsx, .csv or .yaml, or a folder with / at its end")
    if to is not None and to != ending:
        raise UsageError(f"-o {output} ends in {target.suffix}, but --to says {to}: give one of them")
    return ending, target, False


def _path(target: Path | None, name: str, kind: str, folder: bool) -> Path:
    if target is None:
        return Path()
    return target / f"{name}.{kind}" if folder else target


def _beside(source: Path, target: Path | None, folder: bool, kind: str) -> Path | None:
    """The folder that holds the rest of the catalog: where YAML is read, or where it goes."""
    if kind_of(source) == "yaml":
        return source.parent
    if kind == "yaml" and target is not None:
        return target if folder else target.parent
    return None


def _require_free(source: Path, target: Path | None, mapping: Path | None) -> None:
    if target is None:
        return
    parent = target.parent
    if not parent.is_dir():
        raise UsageError(f"-o {target}: there is no folder {parent}")
    for path in (source, mapping):
        if path is not None and target.exists() and target.samefile(path):
            raise UsageError(f"-o {target} would overwrite what is read; name another place")


def _write(
    files: dict[Path, bytes],
    holds: Mapping[Path, Sequence[FamilyText]],
    target: Path,
    folder: bool,
    source: Path,
    replace: bool,
) -> None:
    from configopt.exchange.replaced import families_there, fewer, other_family
    from configopt.files.writing import WritingError, write_all

    there = [path for path in files if path.exists()]
    if any(path.samefile(source) for path in there):
        raise UsageError(f"-o {target} would overwrite {source}, which is read; name another place")
    for path, families in holds.items():
        names = [made.family for made in families]
        wrong = other_family(path, names)
        if wrong is not None:
            raise UsageError(f"{path} is not for {', '.join(names)}: {wrong}; name another place")
    if there and not replace:
        shown = ", ".join(str(path) for path in there[:3]) + (f" and {len(there) - 3} more" if len(there) > 3 else "")
        verb = "is" if len(there) == 1 else "are"
        raise UsageError(f"{shown} {verb} there already; name another place, or write over with --replace")
    made = folder and not target.exists()
    before = families_there(there)
    try:
        if made:
            target.mkdir()
        write_all(files)
    except OSError as error:
        raise WritingError(f"{target} cannot be made: {error.strerror or error}") from error
    except WritingError:
        if made:
            target.rmdir()
        raise
    for path, old in before.items():
        if old is None:
            say(f"note: {path} could not be read before it was replaced; what it held is not compared")
        for line in fewer(old or (), holds[path]):
            say(f"{path}: {line}")
