"""What the tests of the spreadsheet doors share."""

from __future__ import annotations

import io
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from configopt.exchange.convert import convert, written
from configopt.exchange.layout import FamilyText
from configopt.exchange.layout_reader import read_layout

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="session")
def shipped() -> dict[str, str]:
    """The text of every shipped catalog file by family."""
    return {path.stem: path.read_text(encoding="utf-8") for path in sorted((ROOT / "catalogs").glob("*.yaml"))}


@pytest.fixture(scope="session")
def families() -> tuple[FamilyText, ...]:
    """The shipped catalogs, read and checked."""
    return convert(ROOT / "catalogs").families


@pytest.fixture(scope="session")
def workbook_bytes(families: tuple[FamilyText, ...]) -> bytes:
    """The shipped catalogs as a workbook."""
    return written(families, "xlsx")[""]


@pytest.fixture(scope="session")
def few() -> tuple[FamilyText, ...]:
    """Two small families of the shipped catalogs."""
    made = []
    for name in ("pads", "sources"):
        path = ROOT / "catalogs" / f"{name}.yaml"
        made.append(read_layout(path.read_text(encoding="utf-8"), name, str(path)))
    return tuple(made)


@pytest.fixture
def edited(few: tuple[FamilyText, ...], tmp_path: Path) -> Callable[..., Path]:
    """Write a workbook of pads and sources with some cells changed: ``edited(pads={"F3": "=1+1"})``."""
    content = written(few, "xlsx")[""]

    def make(**changes: dict[str, Any]) -> Path:
        workbook = openpyxl.load_workbook(io.BytesIO(content))
        for sheet, cells in changes.items():
            for cell, value in cells.items():
                workbook[sheet][cell].value = value
                if isinstance(value, int | float) and not isinstance(value, bool):
                    workbook[sheet][cell].number_format = "General"
        path = tmp_path / "edited.xlsx"
        workbook.save(path)
        return path

    return make


@pytest.fixture
def copies(tmp_path: Path) -> Path:
    """A folder with copies of the shipped catalogs."""
    shutil.copytree(ROOT / "catalogs", tmp_path / "catalogs")
    return tmp_path / "catalogs"


def source_file(*entries: str, head: str = "") -> str:
    """A sources file of entries given as the lines after their dash."""
    return f"{head}family: sources\nparts:\n" + "".join(f"  - {entry}\n" for entry in entries)
