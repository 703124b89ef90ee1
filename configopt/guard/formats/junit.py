"""Findings as JUnit XML, which most CI servers show as tests; needs the extra ``reports``."""

from __future__ import annotations

from collections.abc import Sequence
from importlib.util import find_spec
from io import BytesIO

from configopt.errors import Finding, UsageError, one_line
from configopt.guard.formats.report import Report, plain, posix

_SUITE = "configopt.check"


def require_junitparser() -> None:
    """Refuse before any long check where JUnit XML cannot be written.

    Raises
    ------
    UsageError
        If junitparser is not installed.
    """
    if find_spec("junitparser") is None:
        raise UsageError("JUnit XML needs junitparser: pip install 'configopt[reports]'")


def junit_text(report: Report, *, strict: bool = False) -> str:
    """One test per file that was read; it fails where the file has an error.

    Parameters
    ----------
    report
        What was checked and found.
    strict
        Whether a warning fails its file as well.

    Returns
    -------
    str
        An XML document.  A test that fails has one failure that lists all of them, for many readers show no second
        one; what does not fail it stands in its output.  Times are zero: nothing in the text depends on the clock.

    Raises
    ------
    UsageError
        If junitparser is not installed.
    """
    require_junitparser()
    from junitparser import Failure, JUnitXml, TestCase, TestSuite

    failing = {"error", "warning"} if strict else {"error"}
    found: dict[str, list[Finding]] = {one_line(path): [] for path in report.files}
    for finding in report.findings:
        # A file that is missing was not read and is reported all the same.
        found.setdefault(one_line(finding.path), []).append(finding)

    cases = []
    for path, findings in found.items():
        case = TestCase(plain(posix(path)) or "all files", classname=_SUITE, time=0.0)
        failures = [finding for finding in findings if finding.severity in failing]
        others = [finding for finding in findings if finding.severity not in failing]
        if failures:
            failure = Failure(_headline(failures), plain(failures[0].rule) or "configopt")
            failure.text = _listed(failures)
            case.result = [failure]
        if others:
            case.system_out = _listed(others)
        cases.append(case)

    suite = TestSuite(_SUITE)
    # All at once: the counts are made anew with every call.
    suite.add_testcases(cases)
    document = JUnitXml("configopt")
    document.add_testsuite(suite)
    for count in ("tests", "failures", "errors", "skipped", "time"):
        setattr(document, count, getattr(suite, count))
    stream = BytesIO()
    document.write(stream)
    return stream.getvalue().decode("utf-8") + "\n"


def _headline(findings: Sequence[Finding]) -> str:
    first = plain(f"{findings[0].rule}: {findings[0].message}")
    return first if len(findings) == 1 else f"{len(findings)} findings, first {first}"


def _listed(findings: Sequence[Finding]) -> str:
    return "\n".join(plain(str(finding)) for finding in findings)
