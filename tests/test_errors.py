"""The error family and findings."""

from __future__ import annotations

import pytest

from configopt.errors import (
    AuditError,
    ConfigoptError,
    DomainError,
    ExitCode,
    Finding,
    FindingsError,
    UsageError,
)


def test_a_finding_prints_place_rule_severity_message_and_fix() -> None:
    finding = Finding("a.yaml", 3, 5, "RANGE", "error", "found 0 g", "write more")
    assert str(finding) == "a.yaml:3:5: RANGE error: found 0 g (write more)"


def test_a_finding_without_a_fix_prints_no_brackets() -> None:
    assert str(Finding("a.yaml", 3, 5, "RANGE", "warning", "found 0 g")) == "a.yaml:3:5: RANGE warning: found 0 g"


def test_findings_are_carried_in_file_order() -> None:
    late = Finding("a.yaml", 10, 1, "TYPE", "error", "late")
    early = Finding("a.yaml", 9, 7, "TYPE", "error", "early")
    error = FindingsError([late, early])
    assert error.findings == [early, late]
    assert str(error).splitlines() == [str(early), str(late)]


@pytest.mark.parametrize(
    ("error", "code"),
    [(ConfigoptError, 1), (FindingsError, 1), (UsageError, 2), (AuditError, 5), (DomainError, 1)],
)
def test_every_error_carries_the_exit_code_of_the_contract(error: type[ConfigoptError], code: int) -> None:
    assert error.exit_code == code
    assert issubclass(error, ConfigoptError)


def test_the_exit_codes_are_the_six_of_the_contract() -> None:
    assert [code.value for code in ExitCode] == [0, 1, 2, 3, 4, 5]
