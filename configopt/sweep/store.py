"""Answers kept in a folder, one file each, so that a run that was ended goes on where it was."""

from __future__ import annotations

import hashlib
import json
import tempfile
from pathlib import Path
from typing import Any

from configopt.errors import UsageError
from configopt.files.writing import write_whole
from configopt.scenario.records import VehicleChoiceRecord
from configopt.sweep.answers import Kept, Record
from configopt.sweep.changing import Changed

#: Of the files of the folder.
SCHEMA = "configopt/whatif-answer/1"
#: Answers that are worth keeping; the others are known at once, or computed again.
PROVEN = ("optimal", "nothing meets the limits")


def key_of(changed: Changed, kept: tuple[Kept, ...]) -> str:
    """Fingerprint of everything an answer depends on."""
    names = [[one.name, *(record.model_dump(mode="json") for record in one.record)] for one in kept]
    return hashlib.sha256(json.dumps([changed.key, names], sort_keys=True).encode()).hexdigest()


class Store:
    """A folder of answers, or none: then nothing is kept."""

    def __init__(self, folder: Path | None) -> None:
        """Make the folder if it is not there.

        Raises
        ------
        UsageError
            If it cannot be made or written to, or is a file.
        """
        self.folder = folder
        if folder is not None:
            try:
                folder.mkdir(parents=True, exist_ok=True)
                # Better now than after the first answer.
                with tempfile.TemporaryFile(dir=folder):
                    pass
            except OSError as error:
                raise UsageError(f"--keep-in {folder}: answers cannot be kept there: {error.strerror}") from error

    def _path(self, key: str) -> Path:
        assert self.folder is not None
        return self.folder / f"{key[:40]}.json"

    def read(self, key: str) -> tuple[dict[str, Any], Record | None] | None:
        """A kept answer with its choice; ``None`` where there is none, or its file is not sound."""
        if self.folder is None:
            return None
        try:
            found = json.loads(self._path(key).read_text(encoding="utf-8"))
            if found["schema"] != SCHEMA or found["key"] != key or found["answer"]["status"] not in PROVEN:
                return None
            if found["sha256"] != _sum(found["answer"], found["choice"]):
                return None
            stated = found["choice"]
            record = stated and tuple(VehicleChoiceRecord.model_validate_json(json.dumps(one)) for one in stated)
        except (OSError, ValueError, KeyError, TypeError):
            return None
        return found["answer"], record or None

    def write(self, key: str, answer: dict[str, Any], record: Record | None) -> None:
        """Keep an answer, whole or not at all."""
        if self.folder is None or answer["status"] not in PROVEN:
            return
        stated = None if record is None else [one.model_dump(mode="json") for one in record]
        content = {"schema": SCHEMA, "key": key, "sha256": _sum(answer, stated), "answer": answer, "choice": stated}
        write_whole(self._path(key), json.dumps(content, ensure_ascii=False, allow_nan=False, indent=1) + "\n")


def _sum(answer: dict[str, Any], stated: Any) -> str:
    return hashlib.sha256(json.dumps([answer, stated], sort_keys=True).encode()).hexdigest()
