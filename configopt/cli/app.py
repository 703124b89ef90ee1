"""The program: its commands, its help, and how it ends."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from difflib import get_close_matches
from typing import Any

import click

from configopt.cli.appraise import command as appraise
from configopt.cli.check import command as check
from configopt.cli.choose import command as choose
from configopt.cli.compare import command as compare
from configopt.cli.convert import command as convert
from configopt.cli.desk import command as desk
from configopt.cli.explain import command as explain
from configopt.cli.fits import command as fits
from configopt.cli.learn import command as learn
from configopt.cli.output import counted, finding_text, forget_standard_output, is_broken_pipe, say
from configopt.cli.parts import command as parts
from configopt.cli.schema import command as schema
from configopt.cli.sheet import command as sheet
from configopt.cli.shortlist import command as shortlist
from configopt.cli.terrain import command as terrain
from configopt.cli.tradeoff import command as tradeoff
from configopt.cli.trials import command as trials
from configopt.cli.whatif import command as whatif
from configopt.errors import AuditError, ConfigoptError, ExitCode, FindingsError, UsageError

_EPILOG = """\b
Example:
  configopt choose scenarios/upland-wardens.yaml

\b
Exit codes:
  0  done; what was asked is sound
  1  a file is wrong: findings as path:line:column: RULE severity: message
  2  wrong usage
  3  nothing meets the limits
  4  stopped early (time, Ctrl-C): the answer is not proven
  5  the audit contradicts the search: a bug in this program, please report it

Results go to standard output, progress and messages to standard error."""


class _Program(click.Group):
    """The group of all commands; turns every foreseen error into its message and exit code."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(self.commands)  # in the order of the work, not of the alphabet

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        name = args[0] if args else ""
        if name and not name.startswith("-") and name not in self.commands:
            near = get_close_matches(name, self.commands, n=1)
            hint = f"did you mean '{near[0]}'?" if near else f"there are: {', '.join(self.commands)}"
            raise click.UsageError(f"there is no command '{name}'; {hint}", ctx)
        return super().resolve_command(ctx, args)

    def main(self, args: Sequence[str] | None = None, standalone_mode: bool = True, **extra: Any) -> Any:  # type: ignore[override]
        if not standalone_mode:
            return super().main(args, standalone_mode=False, **extra)
        for stream in (sys.stdout, sys.stderr):
            # A terminal with a poor character set must not turn an answer into an error.
            if hasattr(stream, "reconfigure"):
                stream.reconfigure(errors="replace")
        try:
            code = super().main(args, standalone_mode=False, **extra)
        except click.ClickException as error:
            error.show()
            sys.exit(error.exit_code)
        except (click.Abort, KeyboardInterrupt):
            say("stopped")
            sys.exit(int(ExitCode.STOPPED_EARLY))
        except ConfigoptError as error:
            _explain(error)
            sys.exit(int(error.exit_code))
        except OSError as error:
            if not is_broken_pipe(error):
                raise
            forget_standard_output()
            sys.exit(int(ExitCode.DONE))
        sys.exit(int(code or 0))


def _explain(error: ConfigoptError) -> None:
    if isinstance(error, FindingsError):
        for finding in error.findings:
            say(finding_text(finding))
        say(f"{counted(len(error.findings), 'finding')}: correct the file and run again")
    elif isinstance(error, UsageError):
        say(f"configopt: wrong usage: {error}")
    elif isinstance(error, AuditError):
        say(f"configopt: the audit contradicts the search, which is a bug in this program; please report it: {error}")
    else:
        say(f"configopt: {error}")


@click.group(cls=_Program, context_settings={"help_option_names": ["-h", "--help"]}, epilog=_EPILOG)
@click.version_option(None, "--version", package_name="configopt", message="configopt %(version)s")
def main() -> None:
    """Choose the tire, wheel and rotor packages of a light electric off-road vehicle, with proof.

    Every command works on files: catalogs of parts and scenarios that say which vehicle must do what on which ground.
    The results are a pre-selection by calculation and certify nothing.
    """


for _command in (
    choose,
    appraise,
    compare,
    tradeoff,
    shortlist,
    explain,
    whatif,
    terrain,
    trials,
    learn,
    sheet,
    desk,
    parts,
    fits,
    check,
    convert,
    schema,
):
    main.add_command(_command)
