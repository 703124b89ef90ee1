"""A catalog as the rules look at it: its sound entries, each with its place in its file."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Any

from configopt.catalog.catalog import Catalog, CatalogReading
from configopt.errors import Finding
from configopt.files.yaml_source import Document, KeyPath
from configopt.guard.rule import Rule


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of a file: its record, and where it stands."""

    family: str
    document: Document
    index: int
    """Place in the file's list."""
    part: Any

    def finding(self, rule: Rule, path: KeyPath | str, message: str, fix: str = "") -> Finding:
        """A finding at a key of the entry, or at the nearest thing around it where the key is not there.

        Parameters
        ----------
        rule
            What was broken.
        path
            Key inside the entry, or its path; ``()`` for the entry as a whole.
        message, fix
            What was found and what is allowed; what to do.
        """
        at = (path,) if isinstance(path, str) else path
        # An entry as a whole stands where its id does.
        where = ("parts", self.index, *(at or ("id",)))
        return self.document.finding(where, rule.id, message, fix, severity=rule.severity)

    def written(self, *path: str | int) -> Any:
        """What the file says at a path of keys inside the entry; None where it says nothing."""
        value: Any = self.document.data["parts"][self.index]
        for step in path:
            try:
                value = value[step]
            except (KeyError, IndexError, TypeError):
                return None
        return value


@dataclass(frozen=True)
class Shelf:
    """The sound entries of a catalog."""

    reading: CatalogReading
    as_of: date | None = None
    """Day on which it is judged what is stale; None for the newest date in the catalogs."""

    @property
    def catalog(self) -> Catalog:
        """The sound entries as a catalog."""
        return self.reading.catalog

    @property
    def whole(self) -> bool:
        """Whether every entry is sound, so that what is not there can be relied on."""
        return not self.reading.findings

    def entries(self, family: str) -> Iterator[Entry]:
        """The entries of a family, or of ``sources``, in file order."""
        if family in self.reading.documents:
            document, indices = self.reading.documents[family]
            for index, part in zip(indices, self.catalog.family(family), strict=True):
                yield Entry(family, document, index, part)

    def every_entry(self) -> Iterator[Entry]:
        """All entries, file by file."""
        for family in self.reading.documents:
            yield from self.entries(family)

    @cached_property
    def day(self) -> date:
        """Day on which it is judged what is stale."""
        if self.as_of is not None:
            return self.as_of
        return max((date.fromisoformat(source.date) for source in self.catalog.sources), default=date.min)
