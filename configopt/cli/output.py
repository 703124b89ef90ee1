"""Where results and messages go: results to standard output or a file, everything else to standard error."""

from __future__ import annotations

import errno
import json
import os
import shutil
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import click

from configopt.cli.layout import Page
from configopt.errors import ConfigoptError, Finding, UsageError


def say(text: str) -> None:
    """A message or progress, on standard error."""
    try:
        click.echo(text, err=True)
    except OSError:
        # Nobody reads the messages; the result still matters.
        return


def page(output: Path | None) -> Page:
    """An empty page for the terminal, or of 80 columns for a file."""
    if output is not None:
        return Page(80)
    terminal = bool(getattr(sys.stdout, "isatty", lambda: False)())
    plain = bool(os.environ.get("NO_COLOR")) or os.environ.get("TERM") == "dumb"
    return Page(shutil.get_terminal_size((80, 24)).columns, bold=terminal and not plain)


def json_text(payload: Mapping[str, Any]) -> str:
    """A result as JSON text; NaN and infinity are refused because JSON has none."""
    return json.dumps(payload, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def emit(text: str, output: Path | None) -> None:
    """Write a result to standard output, or to a file whole or not at all."""
    if output is not None:
        from configopt.files.writing import write_whole

        write_whole(output, text)
        say(f"written: {output}")
        return
    try:
        click.echo(text, nl=False)
        if sys.stdout is not None:
            sys.stdout.flush()
    except OSError as error:
        forget_standard_output()
        if not is_broken_pipe(error):
            reason = error.strerror or str(error)
            raise ConfigoptError(f"the result cannot be written to standard output: {reason}") from error


def is_broken_pipe(error: OSError) -> bool:
    """Whether the reader of a pipe has gone (Windows says EINVAL)."""
    return error.errno == errno.EPIPE or (os.name == "nt" and error.errno == errno.EINVAL)


def forget_standard_output() -> None:
    """Send what is still buffered nowhere, so that the interpreter does not complain at its end."""
    try:
        descriptor = sys.stdout.fileno()
    except (AttributeError, OSError, ValueError):
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, descriptor)
    os.close(nowhere)


def require_writable(output: Path | None, *inputs: Path | None, option: str = "-o") -> None:
    """Refuse an output that cannot work before any long computation starts.

    Raises
    ------
    UsageError
        If the file is a folder, its folder does not exist, or it is one of the inputs or a YAML file that is there.
    """
    if output is None:
        return
    if output.is_dir():
        raise UsageError(f"{option} {output} is a folder; name a file in it")
    if not output.parent.is_dir():
        raise UsageError(f"{option} {output}: there is no folder {output.parent}")
    for path in inputs:
        if path is not None and path.exists() and output.exists() and output.samefile(path):
            raise UsageError(f"{option} {output} would overwrite an input; name another file")
    if output.suffix in (".yaml", ".yml") and output.exists():
        # Catalogs and scenarios are YAML and written by people; no result is.
        raise UsageError(f"{option} {output} would overwrite a YAML file that is there; name another file")


def relative(path: str) -> str:
    """A path as seen from the working folder, where it lies inside it."""
    if not path:
        return path
    try:
        near = os.path.relpath(path)
    except ValueError:  # another drive
        return path
    return path if near.startswith("..") else near


def finding_text(finding: Finding) -> str:
    """A finding as one line, its path as seen from the working folder."""
    return str(
        Finding(
            relative(finding.path),
            finding.line,
            finding.column,
            finding.rule,
            finding.severity,
            finding.message,
            finding.fix,
        )
    )


def counted(number: int, noun: str, plural: str | None = None) -> str:
    """A number with its noun.

    Examples
    --------
    >>> counted(1, "error"), counted(0, "error"), counted(2, "family", "families")
    ('1 error', '0 errors', '2 families')
    """
    return f"{number:,} {noun if number == 1 else plural or noun + 's'}"
