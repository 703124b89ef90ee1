"""Writing whole or not at all."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from configopt.errors import ConfigoptError
from configopt.files import writing
from configopt.files.writing import WritingError, write_whole


def test_a_new_file_holds_the_text_and_nothing_else_is_left(tmp_path: Path) -> None:
    write_whole(tmp_path / "a.txt", "größer\r\nzwei\n")
    assert (tmp_path / "a.txt").read_bytes() == "größer\r\nzwei\n".encode()
    assert [path.name for path in tmp_path.iterdir()] == ["a.txt"]


def test_an_old_file_is_replaced_and_keeps_its_mode(tmp_path: Path) -> None:
    path = tmp_path / "a.txt"
    path.write_text("old")
    path.chmod(0o640)
    write_whole(str(path), "new")
    assert path.read_text() == "new"
    assert stat.S_IMODE(path.stat().st_mode) == 0o640


def test_a_new_file_is_as_readable_as_any_other(tmp_path: Path) -> None:
    (tmp_path / "plain.txt").write_text("")
    write_whole(tmp_path / "a.txt", "")
    assert (tmp_path / "a.txt").stat().st_mode == (tmp_path / "plain.txt").stat().st_mode


def test_the_file_behind_a_symbolic_link_is_replaced_not_the_link(tmp_path: Path) -> None:
    (tmp_path / "real.txt").write_text("old")
    (tmp_path / "link.txt").symlink_to("real.txt")
    write_whole(tmp_path / "link.txt", "new")
    assert (tmp_path / "link.txt").is_symlink()
    assert (tmp_path / "real.txt").read_text() == "new"


@pytest.mark.parametrize("failing", ["fsync", "replace"])
def test_when_the_disk_refuses_the_old_file_is_untouched(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, failing: str
) -> None:
    path = tmp_path / "a.txt"
    path.write_text("old")

    def refuse(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(writing.os, failing, refuse)
    with pytest.raises(WritingError, match=r"a\.txt cannot be written: No space left on device"):
        write_whole(path, "new")
    assert path.read_text() == "old"
    assert [entry.name for entry in tmp_path.iterdir()] == ["a.txt"]


def test_an_interruption_leaves_no_half_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupt(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(writing.os, "fsync", interrupt)
    with pytest.raises(KeyboardInterrupt):
        write_whole(tmp_path / "a.txt", "new")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("name", "words"),
    [
        (".", "is a folder; name a file in it"),
        ("none/a.txt", "there is no folder"),
        ("a\0b", "cannot be written"),
        ("x" * 300, "cannot be written"),
    ],
)
def test_a_place_that_cannot_hold_the_file_is_refused(tmp_path: Path, name: str, words: str) -> None:
    with pytest.raises(ConfigoptError, match=words):
        write_whole(os.path.join(tmp_path, name), "text")
    assert list(tmp_path.iterdir()) == []


def test_a_loop_of_links_and_a_text_that_is_no_utf_8_are_refused(tmp_path: Path) -> None:
    (tmp_path / "loop").symlink_to("loop")
    with pytest.raises(WritingError, match="cannot be written"):
        write_whole(tmp_path / "loop", "text")
    with pytest.raises(WritingError, match="cannot be written"):
        write_whole(tmp_path / "a.txt", "\ud800")
