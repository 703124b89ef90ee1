"""Sources: how old they may be, on which day, and what rests on them."""

from __future__ import annotations

from datetime import date
from functools import cache
from pathlib import Path

import pytest
from laid import SHIPPED, Laid, lay

from configopt.catalog.catalog import CatalogReading, read_catalog
from configopt.catalog.records import Source
from configopt.files.yaml_source import parse_yaml
from configopt.guard.provenance_rules import YEARS, dates, unused
from configopt.guard.shelf import Shelf

SOURCES = "family: sources\nparts:\n"


@cache
def _read() -> CatalogReading:
    return read_catalog(SHIPPED)


def _shelf(*rows: tuple[str, str], as_of: date | None = None) -> Shelf:
    """A shelf of sources of these grades and dates alone."""
    text = SOURCES + "".join(
        f'  - id: source-{i}\n    title: Source\n    grade: {grade}\n    date: "{day}"\n'
        for i, (grade, day) in enumerate(rows)
    )
    document = parse_yaml(text, "sources.yaml")
    sources = tuple(Source(**entry) for entry in document.data["parts"])
    catalog = _read().catalog
    made = type(catalog)(**{**catalog.__dict__, "sources": sources})
    return Shelf(CatalogReading(made, {"sources": (document, tuple(range(len(sources))))}, ()), as_of)


@pytest.mark.parametrize("grade", YEARS)
def test_a_source_is_stale_the_day_after_its_years_are_over(grade: str) -> None:
    last = date(2020 + YEARS[grade], 3, 1)
    for day, stale in ((last, []), (last.replace(day=2), ["STALE-SOURCE"])):
        found = [finding for _, finding in dates(_shelf((grade, "2020-03-01"), as_of=day))]
        assert [finding.rule for finding in found] == stale
        assert all((finding.line, finding.severity) == (6, "warning") for finding in found)


def test_a_leap_day_counts_to_the_day_before_march() -> None:
    shelf = _shelf(("estimated", "2024-02-29"), as_of=date(2026, 2, 28))
    assert not list(dates(shelf))
    assert list(dates(_shelf(("estimated", "2024-02-29"), as_of=date(2026, 3, 1))))


def test_without_a_day_the_newest_source_is_the_day_and_never_the_clock() -> None:
    assert not list(dates(_shelf(("estimated", "1999-01-01"), ("measured", "2000-12-31"))))
    found = list(dates(_shelf(("estimated", "1999-01-01"), ("measured", "2001-01-02"))))
    assert [(finding.rule, finding.line) for _, finding in found] == [("STALE-SOURCE", 6)]


def test_a_source_from_after_the_day_is_a_future_source() -> None:
    found = list(dates(_shelf(("measured", "2025-05-02"), as_of=date(2025, 5, 1))))
    assert [finding.rule for _, finding in found] == ["FUTURE-SOURCE"]


def test_a_source_that_nothing_names_is_noted_once() -> None:
    shelf = _shelf(("measured", "2025-05-02"))
    assert [(finding.rule, finding.severity) for _, finding in unused(shelf)] == [("UNUSED-SOURCE", "note")]
    assert not list(unused(Shelf(_read())))


def test_one_finding_names_all_estimates_of_safety(tmp_path: Path) -> None:
    guessed = {"maximum_load": "parts-estimate", "maximum_pressure": "parts-estimate", "mass": "parts-estimate"}
    found = lay(tmp_path, "rims", {"figure_sources": guessed}).here("SAFETY-ESTIMATE")
    assert len(found) == 1
    assert "maximum_pressure and maximum_load" in found[0].message


def _stale(laid: Laid, as_of: date) -> list[str]:
    from configopt.guard.checking import catalog_findings

    return [finding.rule for finding in catalog_findings(Shelf(laid.reading, as_of))]


def test_a_stale_source_may_be_waived_beside_it_and_the_waiver_is_named_once_it_is_needless(tmp_path: Path) -> None:
    waiver = [{"rule": "STALE-SOURCE", "reason": "the maker has confirmed the sheet by letter"}]
    laid = lay(tmp_path, "sources:pelwick-sheet", {"waivers": waiver})
    assert "STALE-SOURCE" in _stale(lay(tmp_path, "sources:pelwick-sheet", {}), date(2026, 6, 1))
    assert "STALE-SOURCE" not in _stale(laid, date(2026, 6, 1))
    assert _stale(laid, date(2026, 1, 1)) == ["UNUSED-WAIVER"]
