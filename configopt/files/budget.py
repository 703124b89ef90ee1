"""How much one check reads: many files within the limit of a file must not be too much together."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from configopt.errors import Finding, FindingsError
from configopt.files.yaml_source import Document, load_yaml

#: Values of all files of a check together; a hundred bytes count as one more.
VALUE_LIMIT = 1_000_000


@dataclass
class ReadingBudget:
    """What may still be read."""

    left: int = VALUE_LIMIT

    def take(self, path: Path) -> int:
        """Count a file that is about to be read as if it were full of values; how many it was counted for.

        Raises
        ------
        FindingsError
            If nothing is left.
        """
        if self.left <= 0:
            message = f"the files of a check have at most {VALUE_LIMIT:,} values, those before this one have more"
            wrong = Finding(str(path), 0, 0, "YAML-LIMIT", "error", message, "check the folders one by one")
            raise FindingsError([wrong])
        taken = 1 + _size(path) // 10
        self.left -= taken
        return taken

    def load(self, path: Path) -> Document:
        """As :func:`configopt.files.yaml_source.load_yaml`; a file that can be read counts for what it holds.

        Raises
        ------
        FindingsError
            If nothing is left, or as for ``load_yaml``.
        """
        taken = self.take(path)
        document = load_yaml(path)
        self.left += taken - len(document.positions) - taken // 10
        return document


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except (OSError, ValueError):
        return 0
