"""A thousand random edits of the shipped files: never a traceback, and every finding where the edit can be seen.

The rule that is held, for each edit of one file of the project:

1. The check ends without an exception, in seconds.
2. Where every value is as before, nothing is found.
3. What is found beside what was found before the edit stands

   - *at the edit*: in the edited file, on a line that was touched, or beside a deleted one;
   - *around it*: on the line at which the group, entry or file begins that holds a touched line;
   - *below it*: on a following line of the group that the edit joined to another one or cut off;
   - *after it*: where the edited file cannot be parsed on, on a later line;
   - *for the whole file*: line 0, where the file is empty or too large;
   - *at a namesake*: in any file, on a line that shares a word with the touched lines, as they were or as they are, or
     with a finding that quotes one: what refers to a name, repeats it or has another currency;
   - *elsewhere*: a rule that weighs entries of a sound catalog against each other finds something of another entry.

   A finding of none of these kinds fails the test, and so does one beyond the end of its file.
"""

from __future__ import annotations

import re
import shutil
from collections import Counter
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from random_edits import BLANK, KINDS, Edit, random_edit

from configopt.catalog import catalog
from configopt.errors import Finding, FindingsError
from configopt.files import budget
from configopt.files.yaml_source import Document, load_yaml, parse_yaml
from configopt.guard.checking import check_paths
from configopt.guard.rules import CATALOG_CHECKS

ROOT = Path(__file__).parents[2]
FILES = sorted(
    str(path.relative_to(ROOT))
    for path in [*(ROOT / "catalogs").glob("*.yaml"), *(ROOT / "scenarios").glob("*.yaml")]
    if not path.name.endswith(".decision.yaml")
)
#: Rules that look at entries of a sound catalog.
CATALOG_RULES = {rule.id for check in CATALOG_CHECKS for rule in check.rules}
UNREADABLE = {"YAML-SYNTAX", "YAML-ENCODING", "YAML-LIMIT", "YAML-TAG", "YAML-ALIAS", "MORE"}
WORD = re.compile(r"[\w.-]{3,}")


class Project:
    """The shipped files in a folder; what an edit does not touch is read and validated once."""

    def __init__(self, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        for name in ("catalogs", "scenarios"):
            shutil.copytree(ROOT / name, folder / name, ignore=shutil.ignore_patterns("*.decision.yaml"))
        monkeypatch.chdir(folder)
        self.texts = {name: (folder / name).read_bytes() for name in FILES}
        self.data = {name: load_yaml(name).data for name in FILES}
        self.edited = ""
        # By path and content of what was read: the functions themselves are the real ones.
        self._documents: dict[str, Document] = {}
        self._families: dict[str, Any] = {}
        read_family: Callable[..., Any] = catalog._read_family
        monkeypatch.setattr(budget, "load_yaml", self._load)
        monkeypatch.setattr(catalog, "_read_family", lambda *given: self._family(read_family, *given))
        self.before = {self._key(finding) for finding in check_paths([]).findings}

    def _load(self, path: Path) -> Document:
        if str(path) == self.edited:
            return load_yaml(path)
        if str(path) not in self._documents:
            self._documents[str(path)] = load_yaml(path)
        return self._documents[str(path)]

    def _family(self, read: Callable[..., Any], name: str, document: Document, record: Any) -> Any:
        if document.path == self.edited:
            return read(name, document, record)
        if name not in self._families:
            self._families[name] = read(name, document, record)
        return self._families[name]

    @staticmethod
    def _key(finding: Finding) -> tuple[str, str, str]:
        # Messages name lines, which an edit moves.
        return finding.path, finding.rule, re.sub(r"\d+", "", finding.message)

    def check(self, name: str, text: bytes) -> list[Finding]:
        """What is found in the project with one file changed, beside what was found before."""
        self.edited = name
        Path(name).write_bytes(text)
        try:
            # A scenario touches nothing but itself and its variants.
            touched = (
                []
                if name.startswith("catalogs")
                else sorted(Path("scenarios").glob(f"{Path(name).name.split('.')[0]}.*"))
            )
            found = check_paths(touched).findings
        finally:
            Path(name).write_bytes(self.texts[name])
        return sorted(finding for finding in found if self._key(finding) not in self.before)


@pytest.fixture(scope="module")
def project(tmp_path_factory: pytest.TempPathFactory) -> Any:
    with pytest.MonkeyPatch.context() as monkeypatch:
        yield Project(tmp_path_factory.mktemp("edited"), monkeypatch)


@cache
def lines_of(text: bytes) -> list[str]:
    return re.split("\r\n|\r|\n", text.decode("utf-8", "replace"))


def is_blank(line: str) -> bool:
    return BLANK.fullmatch(line.encode("utf-8", "replace")) is not None


def indentation(line: str) -> int:
    return len(line) - len(line.lstrip(" "))


def holds(lines: list[str], begin: int, touched: range) -> bool:
    """Whether the group, entry or file that begins on a line (1-based) holds a touched line."""
    content = [number for number, line in enumerate(lines, start=1) if not is_blank(line) and line != "---"]
    if begin not in content:
        return False
    at = content.index(begin)
    if at == 0:
        return True  # the file as a whole
    first, before = lines[begin - 1], lines[content[at - 1] - 1]
    entry = first.lstrip().startswith("- ")
    # A group begins with its first key, and its other keys stand as far in; to a key belongs what is further in.
    opens = not entry and indentation(before) < indentation(first)
    for number in range(begin + 1, len(lines) + 1):
        # The first line that is no longer inside counts too: just before it something may have been deleted.
        if number in touched:
            return True
        line = lines[number - 1]
        if is_blank(line):
            continue
        further = indentation(line) > indentation(first)
        # The entries of a list may stand as far in as their key.
        beside = indentation(line) == indentation(first) and (opens or (not entry and line.lstrip().startswith("- ")))
        if not further and not beside:
            return False
    return touched.stop > len(lines)


def follows(lines: list[str], begin: int, end: int) -> bool:
    """Whether nothing between two lines (1-based) ends the group in which the second one stands."""
    last = lines[end - 1] if end <= len(lines) else ""
    between = [line for line in lines[begin - 1 : end] if line.strip()]
    return not last.lstrip().startswith("- ") and all(indentation(line) >= indentation(last) for line in between)


def kind_of(finding: Finding, name: str, edit: Edit, texts: dict[str, bytes]) -> str | None:
    """Where a finding stands as seen from an edit; None where it may not stand."""
    text = edit.text if finding.path == name else texts.get(finding.path, b"")
    lines = lines_of(text)
    if not 0 <= finding.line <= len(lines) + 1 or (finding.line > 0) != (finding.column > 0):
        return None
    if finding.path == name:
        if finding.line == 0:
            return "for the whole file" if finding.rule in {"YAML-EMPTY", "YAML-LIMIT", "PATH"} else None
        if finding.line in edit.lines:
            return "at the edit"
        if finding.line >= edit.lines.stop and follows(lines, edit.lines.stop, finding.line):
            return "below it"
        if finding.rule in UNREADABLE and finding.line > edit.lines.start:
            return "after it"
        if finding.line <= edit.lines.stop and holds(lines, finding.line, edit.lines):
            return "around it"
    there = lines[finding.line - 1] if 0 < finding.line <= len(lines) else ""
    words = set(WORD.findall(edit.words.decode("utf-8", "replace")))
    # Of a message only what it quotes: ordinary words would fit everywhere.
    if words & {*WORD.findall(there), *WORD.findall(" ".join(re.findall('"[^"]*"', finding.message)))}:
        return "at a namesake"
    return "elsewhere" if finding.rule in CATALOG_RULES and finding.line > 0 else None


def judged(project: Project, seed: int) -> str:
    """The kind of an edit's findings, the nearest of them; fails where one is wrong."""
    name = FILES[seed // len(KINDS) % len(FILES)]
    edit = random_edit(seed, project.texts[name])
    found = project.check(name, edit.text)
    try:
        same = parse_yaml(edit.text, name).data == project.data[name]
    except FindingsError:
        same = False
        assert found, f"edit {seed} of {name} cannot be read, and nothing is found"
    if same:
        assert not found, f"edit {seed} of {name} changes no value: {found[0]}"
        return "nothing changed"
    kinds = {finding: kind_of(finding, name, edit, project.texts) for finding in found}
    astray = [finding for finding, kind in kinds.items() if kind is None]
    assert not astray, f"edit {seed} ({edit.kind}) of {name} in line {edit.lines}: {astray[0]}"
    order = ("at the edit", "around it", "below it", "after it", "for the whole file", "at a namesake", "elsewhere")
    return min(kinds.values(), key=lambda kind: order.index(str(kind)), default=None) or "sound"


def judge_all(project: Project, seeds: range) -> Counter[str]:
    return Counter(judged(project, seed) for seed in seeds)


QUICK = 75


def test_random_edits_of_shipped_files_are_sound_or_found_where_they_are(project: Project) -> None:
    counted = judge_all(project, range(QUICK))
    print(dict(counted))
    assert counted.total() == QUICK
    # The edits do bite, and hardly any is found only somewhere else.
    assert counted["at the edit"] > QUICK // 3
    assert counted["elsewhere"] < QUICK // 20


@pytest.mark.slow
def test_a_thousand_random_edits_are_sound_or_found_where_they_are(project: Project) -> None:
    counted = judge_all(project, range(QUICK, QUICK + 1_000))
    print(dict(counted))
    assert counted.total() == 1_000
    assert counted["at the edit"] > 333
    assert counted["elsewhere"] < 50


def test_edits_are_the_same_for_the_same_seed(project: Project) -> None:
    text = project.texts["catalogs/pads.yaml"]
    assert [random_edit(seed, text) for seed in range(40)] == [random_edit(seed, text) for seed in range(40)]
    assert len({random_edit(seed, text).text for seed in range(0, 400, 20)}) > 10
