"""Findings as SARIF 2.1.0, the interchange format of static analysis, which code scanning and editors read.

References
----------
OASIS Standard, "Static Analysis Results Interchange Format (SARIF) Version 2.1.0 Plus Errata 01", 28 August 2023.
Written here: one run with its rules, the files read, and results with location and fingerprint.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections import Counter
from collections.abc import Iterable, Mapping
from pathlib import PurePath
from typing import Any
from urllib.parse import quote

from configopt.errors import Finding, one_line
from configopt.guard.formats.report import Report, RuleText, explained, plain, posix

_SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
#: Name of the folder that paths are relative to, as code scanning understands it: the root of the checkout.
_ROOT = "%SRCROOT%"
#: Key of the fingerprint; the number grows when the fingerprint is made in another way.
_FINGERPRINT = "configoptFinding/v1"
_SEMANTIC_VERSION = re.compile(r"(0|[1-9]\d*)(\.(0|[1-9]\d*)){2}(-[0-9A-Za-z.-]+)?(\+[0-9A-Za-z.-]+)?", re.ASCII)
#: Places of other lines, which some messages name.
_OTHER_PLACE = re.compile(r"(\blines? |\.ya?ml:)\d+(:\d+)?")

_Json = dict[str, Any]


def sarif_text(report: Report) -> str:
    """The findings as one SARIF log with one run.

    The text depends on nothing but the report.  A finding keeps its fingerprint when it moves to another line.
    """
    explanations = dict(report.rules)
    for finding in report.findings:
        explanations.setdefault(finding.rule, report.rule(finding))
    numbers = {rule: number for number, rule in enumerate(sorted(explanations))}
    paths = list(dict.fromkeys(report.files))
    files = {one_line(path): (path, number) for number, path in enumerate(paths)}
    driver: _Json = {"name": "configopt", "version": plain(report.version)}
    if _SEMANTIC_VERSION.fullmatch(report.version):
        driver["semanticVersion"] = report.version
    driver["rules"] = [_descriptor(rule, explanations[rule]) for rule in numbers]
    run = {
        "tool": {"driver": driver},
        # Findings are results; what would end the check early prints no log at all.
        "invocations": [{"executionSuccessful": True}],
        "originalUriBaseIds": {_ROOT: {"description": _text("Folder in which the check was started.")}},
        "artifacts": [{"location": _location(path), "roles": ["analysisTarget"]} for path in paths],
        "results": list(_results(report.findings, numbers, files)),
        "columnKind": "unicodeCodePoints",
    }
    log = {"$schema": _SCHEMA, "version": "2.1.0", "runs": [run]}
    return json.dumps(log, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def _descriptor(rule: str, text: RuleText) -> _Json:
    return {
        "id": plain(rule),
        "shortDescription": _text(text.title),
        "fullDescription": _text(text.description),
        "help": _text(text.help_text or text.description),
        "defaultConfiguration": {"level": text.severity},
    }


def _results(
    findings: Iterable[Finding], rules: Mapping[str, int], files: Mapping[str, tuple[str, int]]
) -> Iterable[_Json]:
    repeats: Counter[str] = Counter()
    for finding in findings:
        identity = _identity(finding)
        repeats[identity] += 1
        result: _Json = {
            "ruleId": plain(finding.rule),
            "ruleIndex": rules[finding.rule],
            "level": finding.severity,
            "message": _text(explained(finding)),
        }
        if finding.path:
            place: _Json = {"artifactLocation": _location(finding.path)}
            read = files.get(one_line(finding.path))
            if read is not None:
                # A finding shows the path in safe characters; the file has its own.
                place = {"artifactLocation": {**_location(read[0]), "index": read[1]}}
            if finding.line >= 1:
                place["region"] = {"startLine": finding.line}
                if finding.column >= 1:
                    place["region"]["startColumn"] = finding.column
            result["locations"] = [{"physicalLocation": place}]
        result["partialFingerprints"] = {_FINGERPRINT: f"{identity}:{repeats[identity]}"}
        yield result


def _identity(finding: Finding) -> str:
    """Hash of rule, path and message; lines named in the message do not count, for they move as well."""
    message = _OTHER_PLACE.sub(r"\1", finding.message)
    content = json.dumps([finding.rule, posix(finding.path), message])
    return hashlib.sha256(content.encode("ascii")).hexdigest()[:32]


def _location(path: str) -> _Json:
    """A path as a URI: relative to the root, or absolute for a file outside of it that was given so."""
    if PurePath(path).is_absolute():
        return {"uri": "file://" + _quoted("/" + posix(path).lstrip("/"))}
    return {"uri": _quoted(posix(path)), "uriBaseId": _ROOT}


def _quoted(path: str) -> str:
    try:
        # Names that are not UTF-8 come with surrogates; this gives their bytes back.
        content = path.encode("utf-8", "surrogateescape")
    except UnicodeEncodeError:
        content = path.encode("utf-8", "surrogatepass")
    return quote(content)


def _text(text: str) -> _Json:
    """A message string: braces doubled, for single ones are placeholders, and nothing that reads as a link."""
    return {"text": plain(text).replace("{", "{{").replace("}", "}}").replace("](", "] (")}
