"""Text on a screen of any width."""

from __future__ import annotations

import pytest

from configopt.cli.layout import Page, wrapped

ROWS = [("heron-moor-80-100-21", "a tire with open tread for peat", "3.42"), ("short", "", "12")]


def table(width: int, **options: object) -> list[str]:
    page = Page(width)
    page.table(ROWS, header=("id", "what", "kg"), right=frozenset({2}), **options)  # type: ignore[arg-type]
    return page.lines


def test_columns_are_as_wide_as_their_longest_cell() -> None:
    assert table(80) == [
        "  id                    what                               kg",
        "  heron-moor-80-100-21  a tire with open tread for peat  3.42",
        "  short                                                    12",
    ]


def test_a_flexible_column_wraps_where_the_page_is_narrow() -> None:
    assert table(50, flexible=(1,)) == [
        "  id                    what                    kg",
        "  heron-moor-80-100-21  a tire with open      3.42",
        "                        tread for peat",
        "  short                                         12",
    ]


def test_a_table_that_cannot_fit_becomes_paragraphs_that_name_their_columns() -> None:
    assert table(42) == [
        "  heron-moor-80-100-21: what a tire with",
        "    open tread for peat, kg 3.42",
        "  short: kg 12",
    ]


@pytest.mark.parametrize("width", [1, 40, 60, 80, 100, 500])
def test_no_line_is_longer_than_the_page(width: int) -> None:
    page = Page(width)
    page.heading("A heading that is much longer than a narrow page can show on one line of its own, really")
    page.text("word " * 40)
    page.item("another-word " * 20)
    page.table(ROWS, flexible=(1,))
    assert max(len(line) for line in page.lines) <= min(max(width, 40), 100)


def test_a_heading_is_bold_only_where_asked() -> None:
    plain, bold = Page(80), Page(80, bold=True)
    for page in (plain, bold):
        page.heading("Cautions")
    assert str(plain) == "Cautions\n"
    assert str(bold) == "\x1b[1mCautions\x1b[0m\n"


def test_an_empty_table_prints_nothing() -> None:
    page = Page(80)
    page.table([], header=("id",))
    assert page.lines == []


def test_an_empty_paragraph_is_one_empty_line() -> None:
    assert wrapped("", 20, indent="  ") == [""]
