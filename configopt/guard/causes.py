"""Lines that changed since a decision was recorded, those most likely to matter first."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from configopt.catalog.catalog import CatalogReading
from configopt.decisions.decision_file import Decision, part_changes, scenario_changes
from configopt.files.yaml_source import Document, KeyPath
from configopt.scenario.case import Case


@dataclass(frozen=True, slots=True)
class Line:
    """A line of a catalog or scenario that says something else than when the decision was recorded."""

    document: Document
    at: KeyPath
    what: str


@dataclass(frozen=True)
class Files:
    """The files behind a case."""

    scenario: Document
    catalog: CatalogReading

    @cached_property
    def entries(self) -> dict[str, tuple[Document, int, Any]]:
        """File, place in its list and record of every part and surface, by id."""
        return {
            part.id: (document, index, part)
            for family, (document, indices) in self.catalog.documents.items()
            if family != "sources"
            for index, part in zip(indices, self.catalog.catalog.family(family), strict=True)
        }


def changed_lines(decision: Decision, case: Case, files: Files, parts: Iterable[str]) -> list[Line]:
    """Lines that changed in the named parts, then in the scenario and the surfaces it rides on.

    Parameters
    ----------
    decision
        What was recorded.
    case, files
        Scenario and catalogs now, and their files.
    parts
        Ids of the parts to look at, in the order in which they matter.

    Returns
    -------
    list of Line
        Empty where nothing of it changed.
    """
    found: list[Line] = []
    for identifier in dict.fromkeys(parts):
        found += _part_lines(decision, files, identifier)
    for path in scenario_changes(decision.record, case):
        found.append(Line(files.scenario, path, _words(path, files.scenario)))
    surfaces = {surface.id for surface in case.catalog.surfaces}
    for identifier in decision.record.depends_on.parts:
        if identifier in surfaces:
            found += _part_lines(decision, files, identifier)
    return found


def other_lines(decision: Decision, files: Files, reached: Iterable[str], seen: Iterable[Line]) -> list[Line]:
    """Lines that changed in all other parts that can be chosen."""
    known = {(line.document.path, line.at) for line in seen}
    lines = [line for identifier in sorted(reached) for line in _part_lines(decision, files, identifier)]
    return [line for line in lines if (line.document.path, line.at) not in known]


def _part_lines(decision: Decision, files: Files, identifier: str) -> Iterator[Line]:
    if identifier not in files.entries:
        return
    document, index, part = files.entries[identifier]
    changed = part_changes(decision.record, part)
    if changed is None:
        yield Line(document, ("parts", index, "id"), f"{identifier} is new or fits only now")
    for path in changed or ():
        at = ("parts", index, *(path or ("id",)))
        yield Line(document, at, f"{identifier}: {'.'.join(str(step) for step in path) or 'changed'}")


def _words(path: KeyPath, document: Document) -> str:
    steps = []
    data: Any = document.data
    for step in path:
        if isinstance(data, list):
            data = data[step] if isinstance(step, int) and step < len(data) else None
        else:
            data = data.get(step) if isinstance(data, dict) else None
        name = data.get("name") or data.get("limit") if isinstance(step, int) and isinstance(data, dict) else None
        steps.append(str(name or step))
    return "scenario: " + (".".join(steps) if steps else "changed")
