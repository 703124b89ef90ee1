"""How much one check reads: many files within the limit of a file must not be too much together."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from configopt.errors import Finding, FindingsError
from configopt.files.yaml_source import Document, load_yaml

#: Values of all files of a check together; a hundred bytes count as one more.
VALUE_LIMIT = 2_000_000


@dataclass
class ReadingBudget:
    """What may still be read."""

    left: int = VALUE_LIMIT

    def load(self, path: Path) -> Document:
        """As :func:`configopt.files.yaml_source.load_yaml`, unless so much has been read already.

        Raises
        ------
        FindingsError
            If nothing is left, or as for ``load_yaml``.
        """
        if self.left <= 0:
            message = f"the files of a check have at most {VALUE_LIMIT:,} values, those before this one have more"
            wrong = Finding(str(path), 0, 0, "YAML-LIMIT", "error", message, "check the folders one by one")
            raise FindingsError([wrong])
        size = _size(path)
        try:
            document = load_yaml(path)
        except FindingsError:
            self.left -= 1 + size // 10  # as many values as such a file may hold before it goes wrong
            raise
        self.left -= len(document.positions) + size // 100
        return document


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except (OSError, ValueError):
        return 0
