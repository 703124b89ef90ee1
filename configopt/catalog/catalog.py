"""A whole catalog: every family loaded, validated and cross-referenced."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated, Any

from pydantic import Field

from configopt.catalog.records import (
    FAMILIES,
    Caliper,
    DiscWheel,
    Hub,
    Inner,
    Pad,
    Part,
    Record,
    Rim,
    RimLock,
    Rotor,
    Source,
    Spokes,
    Surface,
    Tire,
)
from configopt.errors import Finding, FindingsError
from configopt.files.validation import collect_items, validate
from configopt.files.yaml_source import Document, KeyPath, load_yaml
from configopt.references import REFERENCES

#: Parts of one family: twice as many as the largest catalog on which the search is measured.
PART_LIMIT = 20_000


class FamilyFile(Record):
    """Head of a family file; the parts are checked one by one."""

    family: str
    currency: str | None = None
    parts: Annotated[list[Any], Field(max_length=PART_LIMIT)]


@dataclass(frozen=True)
class Catalog:
    """All parts, each family in file order, with where each entry stands."""

    folder: Path
    currency: str
    sources: tuple[Source, ...] = ()
    tires: tuple[Tire, ...] = ()
    rims: tuple[Rim, ...] = ()
    spokes: tuple[Spokes, ...] = ()
    hubs: tuple[Hub, ...] = ()
    disc_wheels: tuple[DiscWheel, ...] = ()
    rotors: tuple[Rotor, ...] = ()
    calipers: tuple[Caliper, ...] = ()
    pads: tuple[Pad, ...] = ()
    inners: tuple[Inner, ...] = ()
    rim_locks: tuple[RimLock, ...] = ()
    surfaces: tuple[Surface, ...] = ()
    sha256: str = ""
    places: dict[str, tuple[str, int]] = field(default_factory=dict)
    """File and line of each part by id."""

    def family(self, name: str) -> tuple[Any, ...]:
        """The parts of a family, e.g. ``"disc-wheels"``."""
        parts: tuple[Any, ...] = getattr(self, name.replace("-", "_"))
        return parts

    def part(self, family: str, identifier: str) -> Any:
        """One part; ``KeyError`` if there is none."""
        for part in self.family(family):
            if part.id == identifier:
                return part
        raise KeyError(identifier)

    def subset(self, keep: dict[str, Iterable[str]]) -> Catalog:
        """The same catalog with only some ids in the named families, for tests and what-if runs."""
        changes = {}
        for name, identifiers in keep.items():
            wanted = set(identifiers)
            changes[name.replace("-", "_")] = tuple(part for part in self.family(name) if part.id in wanted)
        return Catalog(**{**self.__dict__, **changes})

    def with_parts(self, changed: dict[str, dict[int, Part]]) -> Catalog:
        """The same catalog with other parts in some places, by family and number."""
        changes = {}
        for name, parts in changed.items():
            old = self.family(name)
            changes[name.replace("-", "_")] = tuple(parts.get(number, part) for number, part in enumerate(old))
        return Catalog(**{**self.__dict__, **changes})


def _read_family(
    name: str, document: Document, record: type[Record]
) -> tuple[Document, list[Any], list[int], list[Finding]]:
    head = validate(document, FamilyFile)
    findings = []
    if head.family != name:
        findings.append(
            document.finding(
                ("family",), "FAMILY", f'found "{head.family}", this file is for "{name}"', f"write {name}"
            )
        )
    if not head.parts:
        findings.append(document.finding(("parts",), "EMPTY-FAMILY", "the family has no parts", "add at least one"))
    records, wrong = collect_items(document, "parts", record)
    return document, list(records.values()), list(records), findings + wrong


@dataclass(frozen=True)
class CatalogReading:
    """What was read of a catalog folder, sound or not.

    ``catalog`` holds the sound entries; ``documents`` each readable file by family (and ``sources``), with the place of
    every sound entry in its list.
    """

    catalog: Catalog
    documents: dict[str, tuple[Document, tuple[int, ...]]]
    findings: tuple[Finding, ...]


def load_catalog(folder: Path) -> Catalog:
    """Load every family file of a folder.

    Raises
    ------
    FindingsError
        With every mistake of every file: schema, duplicate ids, references to sources or bibliography that do not
        exist, currencies that differ.
    """
    reading = read_catalog(folder)
    if reading.findings:
        raise FindingsError(reading.findings)
    return reading.catalog


def read_catalog(folder: Path, read: Callable[[Path], Document] = load_yaml) -> CatalogReading:
    """Read every family file of a folder, and go on where an entry is wrong.

    Parameters
    ----------
    folder
        Where the files lie.
    read
        Reads one file.

    Returns
    -------
    CatalogReading
        The sound entries, and every mistake of every file.
    """
    findings: list[Finding] = []
    families: dict[str, tuple[Any, ...]] = {}
    places: dict[str, tuple[str, int]] = {}
    documents: dict[str, tuple[Document, tuple[int, ...]]] = {}
    currencies: dict[str, str] = {}
    digest = hashlib.sha256()
    kinds: dict[str, type[Record]] = {"sources": Source, **FAMILIES}
    if not folder.is_dir():
        wrong = Finding(str(folder), 0, 0, "CATALOG", "error", "there is no such catalog folder", "correct the path")
        return CatalogReading(Catalog(folder, ""), {}, (wrong,))
    for name, record in kinds.items():
        path = folder / f"{name}.yaml"
        try:
            document, records, numbers, wrong_entries = _read_family(name, read(path), record)
        except FindingsError as error:
            findings += error.findings
            continue
        digest.update(name.encode() + b"\0" + document.sha256.encode())
        findings += wrong_entries
        families[name] = tuple(records)
        documents[name] = (document, tuple(numbers))
        if isinstance(document.data.get("currency"), str):
            currencies[name] = document.data["currency"]
        findings += _identity_findings(document, name, numbers, records, places)
    known = _written_ids(documents["sources"][0]) if "sources" in documents else None
    for name, (document, indices) in documents.items():
        if name == "sources":
            continue
        for index, part in zip(indices, families[name], strict=True):
            findings += _reference_findings(document, index, part, known)
    for name in families:
        if name not in ("sources", "surfaces") and len(set(currencies.values())) > 1:
            document = documents[name][0]
            if currencies.get(name) != currencies.get("tires"):
                findings.append(
                    document.finding(
                        ("currency",),
                        "CURRENCY",
                        f"found {currencies.get(name, 'none')}, tires.yaml has {currencies.get('tires', 'none')}",
                        "one currency for the whole catalog",
                    )
                )
    catalog = Catalog(
        folder=folder,
        currency=currencies.get("tires", ""),
        sha256=digest.hexdigest(),
        places=places,
        **{name.replace("-", "_"): parts for name, parts in families.items()},
    )
    return CatalogReading(catalog, documents, tuple(sorted(findings)))


def _written_ids(document: Document) -> set[str]:
    """Ids of all entries of a file: that an entry is wrong is no mistake of those that name it."""
    return {
        entry["id"] for entry in document.data["parts"] if isinstance(entry, dict) and isinstance(entry.get("id"), str)
    }


def _identity_findings(
    document: Document, name: str, indices: list[int], records: list[Any], places: dict[str, tuple[str, int]]
) -> list[Finding]:
    """Ids of a file that stand twice, here or in a file before it; adds the places of the others."""
    findings: list[Finding] = []
    seen: dict[str, int] = {}
    for index, part in zip(indices, records, strict=True):
        line, _ = document.position(("parts", index, "id"))
        if part.id in seen or (part.id in places and name != "sources"):
            first = f"line {seen[part.id]}" if part.id in seen else f"{places[part.id][0]}:{places[part.id][1]}"
            message, fix = f'the id "{part.id}" stands already at {first}', "give every part an id of its own"
            findings.append(document.finding(("parts", index, "id"), "DUPLICATE-ID", message, fix))
        seen.setdefault(part.id, line)
        if name != "sources":
            places.setdefault(part.id, (document.path, line))
    return findings


def _reference_findings(document: Document, index: int, part: Part | Surface, known: set[str] | None) -> list[Finding]:
    """Sources and keys of the bibliography that are not there; without known sources these are not looked for."""
    findings = []
    named: list[tuple[KeyPath, str]] = [(("parts", index, "source"), part.source)]
    named += [(("parts", index, "figure_sources", key), source) for key, source in part.figure_sources.items()]
    for path, source in named:
        if known is not None and source not in known:
            findings.append(
                document.finding(
                    path, "REFERENCE", f'there is no source "{source}"', "add it to sources.yaml or correct the id"
                )
            )
    if isinstance(part, Surface):
        for number, key in enumerate(part.references):
            if key not in REFERENCES:
                findings.append(
                    document.finding(
                        ("parts", index, "references", number),
                        "REFERENCE",
                        f'there is no "{key}" in the bibliography',
                        "use a key of configopt/references.py",
                    )
                )
    return findings
