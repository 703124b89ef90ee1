"""The shipped catalogs with keys laid over one entry, as real files."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import yaml

from configopt.catalog.catalog import CatalogReading, read_catalog
from configopt.errors import Finding
from configopt.files.yaml_source import Document, load_yaml, parse_yaml
from configopt.guard.checking import catalog_findings
from configopt.guard.shelf import Shelf

ROOT = Path(__file__).parents[2]
SHIPPED = ROOT / "catalogs"


@cache
def _shipped(name: str) -> Document:
    return load_yaml(SHIPPED / name)


@dataclass(frozen=True)
class Laid:
    """A catalog with one changed entry."""

    reading: CatalogReading
    path: Path
    """The changed file."""
    lines: dict[str, int]
    """Line of each key of the changed entry."""

    def findings(self) -> list[Finding]:
        """Everything that is found in it."""
        return sorted({*self.reading.findings, *catalog_findings(Shelf(self.reading))})

    def here(self, rule: str) -> list[Finding]:
        """Findings of a rule at the changed entry."""
        first, last = min(self.lines.values()), self.lines[""]
        found = [finding for finding in self.findings() if finding.rule == rule and finding.path == str(self.path)]
        return [finding for finding in found if first <= finding.line <= last]


def same_as_shipped(of: str, keys: str) -> bool:
    """Whether an entry says already what would be laid over it."""
    family, _, identifier = of.partition(":")
    entries = _shipped(f"{family}.yaml").data["parts"]
    entry = next(entry for entry in entries if identifier in ("", entry["id"]))
    return all(entry.get(key) == value for key, value in parse_yaml(keys, "example").data.items())


@cache
def _text(family: str, few: bool) -> str:
    """A shipped file, of tires on demand only so many of each kind that they are a population."""
    text = (SHIPPED / f"{family}.yaml").read_text()
    if family != "tires" or not few:
        return text
    head, *entries = re.split(r"(?<=\n)(?=  - id: )", text)
    count: Counter[str] = Counter()
    kept = []
    for entry in entries:
        kind = entry.partition("    kind: ")[2].partition("\n")[0]
        count[kind] += 1
        kept += [entry] if count[kind] <= 12 else []
    return head + "".join(kept)


@cache
def _few_tires() -> Document:
    return parse_yaml(_text("tires", True), "tires.yaml")


def lay(folder: Path, of: str, keys: str | dict[str, Any], *, few: bool = False) -> Laid:
    """Lay keys over an entry; ``of`` is a family, for its first entry, or ``family:id``.

    Only the changed file is written; the others are read where they are shipped.  With ``few`` there are fewer tires.
    """
    family, _, identifier = of.partition(":")
    text = _text(family, few)
    starts = [match.start() for match in re.finditer(r"^  - id: ", text, re.MULTILINE)]
    entries = [text[a:b] for a, b in zip(starts, [*starts[1:], len(text)], strict=True)]
    place = next(i for i, entry in enumerate(entries) if not identifier or entry.startswith(f"  - id: {identifier}\n"))
    entry = dict(_shipped(f"{family}.yaml").data["parts"][place])
    changes = keys if isinstance(keys, dict) else dict(parse_yaml(keys, "example").data)
    entry.update(changes)
    written = {key: value for key, value in entry.items() if value is not None}
    block = yaml.safe_dump([written], sort_keys=False, allow_unicode=True, width=4096)
    block = "".join(f"  {line}\n" for line in block.splitlines())
    first = text[: starts[place]].count("\n") + 1
    lines = {"": first + block.count("\n") - 1}
    for number, line in enumerate(block.splitlines()):
        if (match := re.match(r"^  [- ] ([a-z_]+):", line)) is not None:
            lines[match.group(1)] = first + number
    path = folder / f"{family}.yaml"
    path.write_text(text[: starts[place]] + block + text[starts[place] + len(entries[place]) :])

    def read(asked: Path) -> Document:
        if asked.name == path.name:
            return load_yaml(path)
        return _few_tires() if few and asked.name == "tires.yaml" else _shipped(asked.name)

    return Laid(read_catalog(SHIPPED, read=read), path, lines)
