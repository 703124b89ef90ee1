"""Figures that the schema lets through and no part has: the rules find them and never break on them."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any, get_args

import pytest
from laid import SHIPPED

from configopt.catalog.catalog import CatalogReading, read_catalog
from configopt.catalog.records import FAMILIES, Part
from configopt.guard.checking import catalog_findings
from configopt.guard.shelf import Shelf
from configopt.quantities import Figure, Quantity


@cache
def _read() -> CatalogReading:
    return read_catalog(SHIPPED)


def _figures(record: type) -> list[tuple[str, Quantity]]:
    """Figures of a record with what they accept."""
    found = []
    for name, field in record.model_fields.items():  # type: ignore[attr-defined]
        notes = [*field.metadata, *(note for kind in get_args(field.annotation) for note in get_args(kind))]
        found += [(name, note) for note in notes if isinstance(note, Quantity)]
    return found


def _like(old: Any, value: float) -> Any:
    return [Figure(value)] if isinstance(old, list) else Figure(value)


ROUNDS = max(len(_figures(record)) for record in FAMILIES.values())


@pytest.mark.parametrize("value", [0.0, 1e-300, 1e300])
def test_no_figure_breaks_the_rules(value: float) -> None:
    reading = _read()
    for number in range(ROUNDS):
        changed: dict[str, dict[int, Any]] = {}
        for family, record in FAMILIES.items():
            figures = _figures(record)
            if not issubclass(record, Part) or number >= len(figures):
                continue
            name, accepted = figures[number]
            low = accepted.low if accepted.low is not None else -1e300
            if not low <= value <= (accepted.high or 1e301) or (accepted.above is not None and value <= accepted.above):
                continue
            # The first part that states the figure, and the last.
            stated = [i for i, part in enumerate(reading.catalog.family(family)) if getattr(part, name) is not None]
            changed[family] = {
                i: reading.catalog.family(family)[i].model_copy(
                    update={name: _like(getattr(reading.catalog.family(family)[i], name), value)}
                )
                for i in {stated[0], stated[-1]}
            }
        catalog = reading.catalog.with_parts(changed)
        findings = catalog_findings(Shelf(replace(reading, catalog=catalog)))
        assert all(finding.message.isprintable() for finding in findings)
