"""Reading a catalog file for its layout: every value as written, and what each comment stands beside."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

import yaml
from yaml.events import (
    Event,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
)

from configopt.exchange.layout import (
    HEAD_LINE,
    LOADER,
    WORDS,
    Comment,
    Entry,
    FamilyText,
    HeadLine,
    Leaf,
    is_number,
    scalar,
)
from configopt.files.yaml_source import KeyPath, parse_yaml


def read_layout(text: str, family: str, name: str) -> FamilyText:
    """Read a catalog file for what is written in it.

    Parameters
    ----------
    text
        The file; it has passed the loader's checks, or they are made here.
    family, name
        The family, and what findings call the file.

    Returns
    -------
    FamilyText
        Its lines and entries.

    Raises
    ------
    FindingsError
        If the text is no catalog file.
    """
    parse_yaml(text, name)
    return _Reader(text.replace("\r\n", "\n").replace("\r", "\n"), family).read()


@dataclass(frozen=True, slots=True)
class _Anchor:
    """A key or list item: where it begins, and to which entry it belongs (None: the head)."""

    line: int
    column: int
    entry: int | None
    path: KeyPath


class _Reader:
    """Walks the parser's events once and then the lines, to find out what each comment stands beside."""

    def __init__(self, text: str, family: str) -> None:
        self.family = family
        self.lines = text.split("\n")
        if self.lines[-1] == "":
            self.lines.pop()
        self.events: Iterator[Event] = iter(yaml.parse(text, Loader=LOADER))
        self.anchors: list[_Anchor] = []
        self.spans: dict[int, list[tuple[int, int]]] = {}
        self.leaves: list[list[Leaf]] = []
        self.head: list[tuple[int, str, str]] = []  # line, key, written value
        self.firsts: dict[int, _Anchor] = {}  # of every entry the first key
        self.said: dict[tuple[int, KeyPath], int] = {}  # places of comments behind values, in the list of their entry
        self.parts_line = 0
        self.last_line = 0  # of the entries
        self.dash = 2
        self.closed = False  # the list of entries is over
        self.made_anew = False  # the head, because its lines cannot stay as they are

    def read(self) -> FamilyText:
        for event in self.events:
            if isinstance(event, MappingStartEvent):
                self._top()
                before = self.lines[: self.parts_line]
                self.made_anew = bool(event.flow_style) or not all(map(HEAD_LINE.fullmatch, before))
        comments: list[list[Comment]] = [[] for _ in self.leaves]
        head, foot = self._around(comments)
        entries = tuple(Entry(tuple(leaves), tuple(own)) for leaves, own in zip(self.leaves, comments, strict=True))
        return FamilyText(self.family, tuple(map(HeadLine, head)), entries, tuple(map(HeadLine, foot)))

    # -- events ----------------------------------------------------------------------------------------------------

    def _top(self) -> None:
        for key in self.events:
            if not isinstance(key, ScalarEvent):
                return
            line, column = _at(key)
            self._span(key)
            self.anchors.append(_Anchor(line, column, None, (key.value,)))
            value = next(self.events)
            if key.value == "parts" and isinstance(value, SequenceStartEvent):
                self.parts_line = line
                self._parts()
            elif isinstance(value, ScalarEvent):
                self._span(value)
                leaf = _leaf((), value)
                self.head.append((line, key.value, leaf.text if leaf.bare else scalar(leaf.text)))

    def _parts(self) -> None:
        for event in self.events:
            if isinstance(event, SequenceEndEvent):
                self.closed = True
                return
            self.leaves.append([])
            if len(self.leaves) == 1:
                self.dash = max(_at(event)[1] - 2, 0)
            self._node(event, ())

    def _node(self, event: Event, path: KeyPath) -> None:
        own, entry = self.leaves[-1], len(self.leaves) - 1
        if isinstance(event, ScalarEvent):
            self._span(event)
            own.append(_leaf(path, event))
        elif isinstance(event, SequenceStartEvent):
            for number, item in enumerate(_until(self.events, SequenceEndEvent)):
                if isinstance(item, ScalarEvent):
                    self.anchors.append(_Anchor(*_at(item), entry, (*path, number)))
                self._node(item, (*path, number))
            if not own or own[-1].path[: len(path)] != path:
                own.append(Leaf(path, "[]", bare=True))
        else:
            before = len(own)
            for key in _until(self.events, MappingEndEvent):
                assert isinstance(key, ScalarEvent)
                self._span(key)
                self.anchors.append(_Anchor(*_at(key), entry, (*path, key.value)))
                self._node(next(self.events), (*path, key.value))
            if len(own) == before:
                own.append(Leaf(path, "{}", bare=True))

    def _span(self, event: ScalarEvent) -> None:
        """Columns that a scalar takes up in each of its lines, so that a # inside it is no comment."""
        (line, start), end = _at(event), event.end_mark
        assert end is not None
        if self.leaves and not self.closed:
            block = event.style in ("|", ">") and end.column == 0
            self.last_line = max(self.last_line, end.line - 1 if block else end.line)
        if event.style in ("|", ">"):
            indicator = re.match(r"[|>][-+0-9]*", self.lines[line][start:])
            self.spans.setdefault(line, []).append((start, start + (indicator.end() if indicator else 1)))
            for number in range(line + 1, end.line if end.column == 0 else end.line + 1):
                self.spans.setdefault(number, []).append((0, len(self.lines[number]) + 1))
            return
        for number in range(line, end.line + 1):
            first = start if number == line else 0
            last = end.column if number == end.line else len(self.lines[number]) + 1
            self.spans.setdefault(number, []).append((first, last))

    # -- lines -----------------------------------------------------------------------------------------------------

    def _around(self, comments: list[list[Comment]]) -> tuple[list[str], list[str]]:
        """Give each comment to its entry; hand back the lines of the head and of the foot."""
        anchors = sorted(self.anchors, key=lambda anchor: (anchor.line, anchor.column))
        for anchor in anchors:
            if anchor.entry is not None:
                self.firsts.setdefault(anchor.entry, anchor)
        head = [] if self.made_anew else [line if line.strip(" \t") else "" for line in self.lines[: self.parts_line]]
        parts = "parts:"
        moved = [f"{key}: {text}" for line, key, text in self.head if self.made_anew or line > self.parts_line]
        foot: list[str] = []
        waiting: list[tuple[int, str]] = []  # comment lines that wait for what comes next: indent, text
        position = 0
        for number, line in enumerate(self.lines):
            while position < len(anchors) and anchors[position].line <= number:
                self._settle(waiting, anchors[position], comments, head)
                position += 1
            column = self._comment(number, line)
            if number < self.parts_line and not self.made_anew:
                continue
            text = "" if column is None else line[column:]
            if column is not None and line[:column].strip(" \t"):
                gap = line[len(line[:column].rstrip(" \t")) : column]
                index = position - 1
                while index > 0 and anchors[index].line == number and anchors[index].column > column:
                    index -= 1
                entry = anchors[index].entry if index >= 0 else None
                if entry is not None:
                    self._behind(comments[entry], entry, gap + text, anchors[index].path)
                elif number == self.parts_line and not self.made_anew:
                    parts = f"{parts}{gap}{text}"
                else:
                    head.append(text)
            elif number > max(self.last_line, self.parts_line):
                foot += [line if line.strip(" \t") else ""] if not line.strip(" \t") or column is not None else []
            elif column is not None or (not line.strip(" \t") and number not in self.spans):
                waiting.append((column or 0, text))
        cut = _end_of(foot, self.dash)
        if comments:
            comments[-1] += [Comment("end", line.strip()) for line in foot[:cut]]
            foot = foot[cut:]
        return [*head, *moved, parts], foot

    def _settle(
        self, waiting: list[tuple[int, str]], anchor: _Anchor, comments: list[list[Comment]], head: list[str]
    ) -> None:
        if not waiting:
            return
        if anchor.entry is None:
            head += [text for _, text in waiting]
        elif self.firsts[anchor.entry] is not anchor:
            comments[anchor.entry] += [Comment("before", text, anchor.path) for _, text in waiting]
        else:
            cut = _end_of([" " * indent + text for indent, text in waiting], self.dash) if anchor.entry else 0
            if cut:
                comments[anchor.entry - 1] += [Comment("end", text) for _, text in waiting[:cut]]
            comments[anchor.entry] += [Comment("entry", text) for _, text in waiting[cut:]]
        waiting.clear()

    def _behind(self, comments: list[Comment], entry: int, text: str, path: KeyPath) -> None:
        """Note a comment behind a value; a second one behind the same value follows the first."""
        at = self.said.setdefault((entry, path), len(comments))
        if at == len(comments):
            comments.append(Comment("behind", text, path))
        else:
            comments[at] = Comment("behind", f"{comments[at].text}  {text.strip()}", path)

    def _comment(self, number: int, line: str) -> int | None:
        """Column at which the comment of a line begins."""
        spans = self.spans.get(number, ())
        for match in re.finditer(r"(?:^|(?<=[ \t]))#", line):
            if not any(first <= match.start() < last for first, last in spans):
                return match.start()
        return None


def _end_of(lines: list[str], dash: int) -> int:
    """How many of the comment lines between two entries belong to the first: up to the last indented like its keys."""
    deep = [
        number for number, line in enumerate(lines) if line.strip(" \t") and len(line) - len(line.lstrip(" ")) > dash
    ]
    return deep[-1] + 1 if deep else 0


def _at(event: Event) -> tuple[int, int]:
    mark = event.start_mark
    assert mark is not None  # the parser marks every event
    return mark.line, mark.column


def _until(events: Iterator[Event], end: type[Event]) -> Iterator[Event]:
    for event in events:
        if isinstance(event, end):
            return
        yield event


def _leaf(path: KeyPath, event: ScalarEvent) -> Leaf:
    text = event.value
    if not event.style:
        if is_number(text):
            return Leaf(path, text.removeprefix("+"), bare=True)
        if text in WORDS:
            return Leaf(path, WORDS[text], bare=True)
    return Leaf(path, text)
