"""``configopt check``: are the files sound."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import click

from configopt.cli.options import CONTEXT, format_option, output_option
from configopt.cli.output import counted, emit, finding_text, json_text, relative, require_writable
from configopt.errors import ExitCode

_SHORT = "Are catalogs, scenarios and choices sound."
_EPILOG = """\b
Example:
  configopt check
  configopt check catalogs/tires.yaml scenarios/upland-wardens.yaml"""


@click.command("check", context_settings=CONTEXT, epilog=_EPILOG, short_help=_SHORT)
@click.argument("paths", nargs=-1, type=click.Path(exists=True, path_type=Path))
@format_option
@output_option
def command(paths: tuple[Path, ...], format_: str, output: Path | None) -> int:
    """Check catalogs, scenarios and choice files in PATHS, without any the folders catalogs and scenarios here.

    Every mistake is printed as path:line:column: RULE severity: message, with what to do. The exit code is 1 where
    there is an error; warnings and notes do not count. A scenario whose limits nothing meets is sound.
    """
    require_writable(output, *(path for path in paths if path.is_file()))
    from configopt.guard.checking import check_paths

    check = check_paths(paths)
    findings = sorted(check.findings)
    numbers: Counter[str] = Counter(finding.severity for finding in findings)
    if format_ == "json":
        payload = {
            "schema": "configopt/findings/1",
            "files": len(check.files),
            "findings": [
                {
                    "path": relative(finding.path),
                    "line": finding.line,
                    "column": finding.column,
                    "rule": finding.rule,
                    "severity": finding.severity,
                    "message": finding.message,
                    "fix": finding.fix,
                }
                for finding in findings
            ],
            "errors": numbers["error"],
            "warnings": numbers["warning"],
            "notes": numbers["note"],
        }
        emit(json_text(payload), output)
    else:
        lines = [finding_text(finding) for finding in findings]
        verdict = ", ".join(
            counted(numbers[severity], noun) for severity, noun in (("error", "error"), ("warning", "warning"))
        )
        lines.append(f"{counted(len(check.files), 'file')} checked: {verdict if findings else 'sound'}")
        emit("\n".join(lines) + "\n", output)
    return int(ExitCode.FILE_WRONG if numbers["error"] else ExitCode.DONE)
