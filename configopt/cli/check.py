"""``configopt check``: are the files sound, and do the recorded decisions still stand."""

from __future__ import annotations

import os
import textwrap
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from configopt.cli.options import CONTEXT, acceptance_options, finite, output_option, required_acceptance
from configopt.cli.output import emit, finding_text, json_text, relative, require_writable, say
from configopt.errors import ExitCode, Finding, FindingsError

if TYPE_CHECKING:
    from configopt.guard.formats.report import Report
    from configopt.guard.rule import Rule
    from configopt.guard.running import Ran

_SHORT = "Are catalogs, scenarios and recorded decisions sound."
_EPILOG = """\b
Example:
  configopt check
  configopt check --since origin/main
  configopt check catalogs/tires.yaml scenarios/upland-wardens.yaml
  configopt check --rule UNIT-SLIP"""
_FORMATS = ("text", "json", "junit", "sarif", "github")
_EVERY_RULE = "all"


@click.command("check", context_settings=CONTEXT, epilog=_EPILOG, short_help=_SHORT)
@click.argument("paths", nargs=-1, type=click.Path(exists=True, path_type=Path))
@click.option(
    "--format",
    "format_",
    type=click.Choice(_FORMATS),
    help="Text for people, JSON for programs, the others for CI.  [default: text; github in its workflows]",
)
@click.option("--strict", is_flag=True, help="Warnings count as errors do.")
@click.option(
    "--since",
    metavar="REV",
    help="Report only what changed since this branch, tag or commit, and decide again only what that can touch.",
)
@click.option(
    "--as-of", metavar="DATE", help="Judge on this day what is stale.  [default: newest date in the catalogs]"
)
@click.option("--rule", metavar="ID", help="Explain a rule instead of checking; all lists every rule.")
@click.option(
    "--time-limit",
    type=float,
    callback=finite(low=0.0, open_low=True, unit=" s"),
    default=120.0,
    show_default=True,
    metavar="SECONDS",
    help="For each decision that is decided again.",
)
@click.option("--skip-decisions", is_flag=True, help="Do not decide recorded decisions again.")
@click.option(
    "--accept",
    type=click.Choice(["best", "kept"]),
    help="Record the decisions in PATHS anew: the best choice now, or the packages as they are with the loss accepted; "
    "needs --by, --on and --why.",
)
@acceptance_options
@output_option
def command(
    paths: tuple[Path, ...],
    format_: str | None,
    strict: bool,
    since: str | None,
    as_of: str | None,
    rule: str | None,
    time_limit: float,
    skip_decisions: bool,
    accept: str | None,
    by: str | None,
    on: str | None,
    why: str | None,
    output: Path | None,
) -> int:
    """Check catalogs, scenarios, variants and decisions in PATHS; without any, the folders catalogs and scenarios here.

    Every mistake is printed as path:line:column: RULE severity: message, with what to do. The exit code is 1 where
    there is an error; warnings count with --strict, notes never. A scenario whose limits nothing meets is sound.

    Every recorded decision is decided again: whether it still meets all limits, whether it is still the best, and if
    not, by what it is beaten and which line changed. Files are read below the working folder and PATHS, no others.
    """
    if rule is not None:
        if paths or since or accept or format_ or strict or as_of or skip_decisions:
            raise click.UsageError("--rule explains a rule and checks nothing: leave out the rest.")
        emit(_rule_text(rule), output)
        return int(ExitCode.DONE)
    require_writable(output, *(path for path in paths if path.is_file()))
    if accept is None and (by, on, why) != (None, None, None):
        raise click.UsageError("--by, --on and --why go with --accept.")
    form = format_ or ("github" if os.environ.get("GITHUB_ACTIONS") == "true" else "text")
    if form == "junit":
        from configopt.guard.formats.junit import require_junitparser

        require_junitparser()
    day = _day(as_of)
    if accept is not None:
        if since or skip_decisions or format_ or strict or output is not None:
            raise click.UsageError("--accept writes decisions and no findings: leave out the options for them.")
        return _accept(paths, accept, required_acceptance(by, on, why, "--accept"), time_limit)
    from configopt.guard.apart import Apart
    from configopt.guard.running import run_check

    with Apart(time_limit) as apart:
        ran = run_check(paths, as_of=day, since=since, judged=None if skip_decisions else apart, progress=say)
    emit(_text(ran, form, strict), output)
    if ran.stopped:
        say("stopped before every decision was decided again")
        return int(ExitCode.STOPPED_EARLY)
    counted = {finding.severity for finding in ran.findings} & ({"error", "warning"} if strict else {"error"})
    return int(ExitCode.FILE_WRONG if counted else ExitCode.DONE)


def _day(text: str | None) -> date | None:
    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise click.UsageError(f"--as-of {text} is no date; write it as 2026-03-31.") from None


def _report(ran: Ran) -> Report:
    from configopt.appraisal.appraise import version_of
    from configopt.guard.formats.report import Report, RuleText
    from configopt.guard.rules import RULES

    findings = tuple(
        Finding(relative(one.path), one.line, one.column, one.rule, one.severity, one.message, one.fix)
        for one in ran.findings
    )
    rules = {name: RuleText(rule.title, rule.about, rule.severity) for name, rule in RULES.items()}
    return Report(tuple(relative(str(path)) for path in ran.check.files), findings, rules, version_of("configopt"))


def _text(ran: Ran, form: str, strict: bool) -> str:
    report = _report(ran)
    if form == "junit":
        from configopt.guard.formats.junit import junit_text

        return junit_text(report, strict=strict)
    if form == "sarif":
        from configopt.guard.formats.sarif import sarif_text

        return sarif_text(report)
    if form == "github":
        from configopt.guard.formats.github import github_text

        return github_text(report)
    if form == "json":
        return json_text(_json(report))
    return "\n".join([*(finding_text(finding) for finding in ran.findings), report.summary()]) + "\n"


def _json(report: Report) -> dict[str, object]:
    keys = ("path", "line", "column", "rule", "severity", "message", "fix")
    severities = [finding.severity for finding in report.findings]
    return {
        "schema": "configopt/findings/1",
        "files": len(report.files),
        "findings": [{key: getattr(finding, key) for key in keys} for finding in report.findings],
        "errors": severities.count("error"),
        "warnings": severities.count("warning"),
        "notes": severities.count("note"),
    }


def _rule_text(name: str) -> str:
    from difflib import get_close_matches

    from configopt.guard.rules import RULES

    wanted = name.upper()
    if name.lower() == _EVERY_RULE:
        width = max(map(len, RULES))
        return "".join(f"{one.id:{width}}  {one.severity:7}  {one.title}\n" for one in RULES.values())
    if wanted not in RULES:
        near = get_close_matches(wanted, RULES, n=1)
        hint = f"did you mean '{near[0]}'?" if near else "--rule all lists them"
        raise click.UsageError(f"there is no rule '{name}'; {hint}")
    return _explained(RULES[wanted])


def _explained(rule: Rule) -> str:
    lines = [f"{rule.id} ({rule.severity}): {rule.title}", "", *textwrap.wrap(rule.about, 80)]
    if rule.example is not None:
        where = {"yaml": "", "vehicle": " (in a vehicle of a scenario)"}.get(
            rule.example.of, f" (in {rule.example.of.partition(':')[0]}.yaml)"
        )
        for title, text in (("FAIL", rule.example.fails), ("PASS", rule.example.passes)):
            lines += ["", f"{title}{where}", *(f"  {line}" for line in text.splitlines())]
    lines += ["", _waiving(rule)]
    return "\n".join(lines) + "\n"


def _waiving(rule: Rule) -> str:
    if not rule.waivable:
        return "It cannot be waived."
    return (
        "Where an entry is right as it is, it says so:\n  waivers:\n"
        f"    - rule: {rule.id}\n      reason: what was looked at, and why it may stand"
    )


def _accept(paths: Sequence[Path], which: str, acceptance: dict[str, str], time_limit: float) -> int:
    from configopt.files.writing import write_whole
    from configopt.guard.accepting import accepted_text
    from configopt.guard.checking import check_paths

    check = check_paths(paths)
    wrong = sorted(finding for finding in check.findings if finding.severity == "error")
    if wrong:
        raise FindingsError(wrong)
    if not check.decisions:
        raise click.UsageError("--accept: there is no decision in PATHS.")
    texts = []
    for one in check.decisions:
        say(f"deciding {relative(str(one.decision.path))} again")
        text = accepted_text(one.decision, one.case, which, acceptance, time_limit=time_limit)  # type: ignore[arg-type]
        texts.append((one.decision.path, text))
    for path, text in texts:
        write_whole(path, text)
        say(f"recorded: {relative(str(path))}")
    return int(ExitCode.DONE)
