"""The kinds of files between which catalogs go."""

from __future__ import annotations

from pathlib import Path

KINDS = ("yaml", "csv", "xlsx")
_ENDINGS = {".yaml": "yaml", ".yml": "yaml", ".csv": "csv", ".xlsx": "xlsx"}


def kind_of(path: Path) -> str | None:
    """The kind of a file by its ending; None for any other file.

    >>> kind_of(Path("tires.CSV")), kind_of(Path("catalogs"))
    ('csv', None)
    """
    return _ENDINGS.get(path.suffix.lower())
