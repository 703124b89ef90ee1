"""Several files are written all or none."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from configopt.files.writing import WritingError, write_all


def test_all_files_are_written_and_nothing_else_stays(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(b"old")
    os.chmod(tmp_path / "a", 0o640)
    write_all({tmp_path / "a": b"new", tmp_path / "b": b"two"})
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == {"a": b"new", "b": b"two"}
    assert (tmp_path / "a").stat().st_mode & 0o777 == 0o640


@pytest.mark.parametrize("failing", [1, 2, 3])
def test_where_one_cannot_be_placed_all_are_as_before(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, failing: int
) -> None:
    before = {"a": b"1", "c": b"3"}
    for name, content in before.items():
        (tmp_path / name).write_bytes(content)
    calls = 0
    place = os.replace

    def refuse(source: str, target: Path) -> None:
        nonlocal calls
        calls += 1
        if calls == failing:
            raise OSError(28, "No space left on device")
        place(source, target)

    monkeypatch.setattr(os, "replace", refuse)
    with pytest.raises(WritingError, match=r"No space left on device; nothing was changed"):
        write_all({tmp_path / name: b"new" for name in "abc"})
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_a_link_is_followed_and_a_missing_folder_told(tmp_path: Path) -> None:
    (tmp_path / "real").write_bytes(b"old")
    (tmp_path / "link").symlink_to(tmp_path / "real")
    write_all({tmp_path / "link": b"new"})
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "real").read_bytes() == b"new"
    with pytest.raises(WritingError, match="cannot be written"):
        write_all({tmp_path / "real": b"newer", tmp_path / "nowhere" / "a": b""})
    assert (tmp_path / "real").read_bytes() == b"new"
