"""Strict YAML: what a person wrote, as plain values, with the line and column of every key and value.

The loader accepts less than YAML does, so that no text silently becomes something else: no anchors, aliases, merges or
tags, no duplicate keys, one document a file, and only these plain scalars are more than text: ``true``/``false``,
``null``/``~``/nothing, decimal integers and decimal floats.  ``12:30``, ``010``, ``no``, ``0x1f`` and ``1_000`` stay
text.  Everything that is wrong is reported at once, each with its place.
"""

from __future__ import annotations

import hashlib
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import yaml
from yaml.events import (
    AliasEvent,
    DocumentStartEvent,
    Event,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
)

from configopt.errors import Finding, FindingsError, Severity
from configopt.files.reading import read_start

_Loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)

BYTE_LIMIT = 5_000_000
NODE_LIMIT = 500_000
DEPTH_LIMIT = 30
TEXT_LIMIT = 200
LONG_TEXT_LIMIT = 2_000
LONG_TEXT_KEYS = frozenset({"note", "notes", "description", "title", "reason"})
DIGIT_LIMIT = 30
GROUP_LIMIT = 50_000  # keys of one group
FINDING_LIMIT = 200  # a file of another kind must not print a novel
_CHARACTER_LIMIT = 20  # of each kind of forbidden character

KeyPath = tuple[str | int, ...]
Position = tuple[int, int]

_NULL = frozenset({"", "~", "null", "Null", "NULL"})
_BOOL = {"true": True, "True": True, "TRUE": True, "false": False, "False": False, "FALSE": False}
_INTEGER = re.compile(r"[-+]?(?:0|[1-9][0-9]*)")
_FLOAT = re.compile(r"[-+]?(?:\.[0-9]+|(?:0|[1-9][0-9]*)(?:\.[0-9]*)?)(?:[eE][-+]?[0-9]+)?")
_NOT_FINITE = re.compile(r"[-+]?\.(?:inf|Inf|INF)|\.(?:nan|NaN|NAN)")
# U+0085, U+2028 and U+2029 are line ends for YAML 1.1 but not for editors: line numbers would drift.
_FORBIDDEN = re.compile("[^\t\n\r\x20-\x7e\xa0-\u2027\u202a-\ud7ff\ue000-\ufefe\uff00-\ufffd\U00010000-\U0010ffff]")
_TAB_INDENT = re.compile(r"^ *\t", re.MULTILINE)


@dataclass(frozen=True, slots=True)
class Document:
    """One loaded file.

    ``data`` holds only dict, list, str, int, float, bool and None; every key is text.  ``positions`` maps the path of
    a value (for example ``("tires", 3, "mass")``) to its line and column, ``key_positions`` that of its key; lines and
    columns are 1-based.  ``sha256`` is that of the file's bytes, in hexadecimal.
    """

    path: str
    data: Any
    positions: dict[KeyPath, Position]
    key_positions: dict[KeyPath, Position] = field(default_factory=dict)
    sha256: str = ""

    def position(self, path: KeyPath) -> Position:
        """Where the value stands; for a value that is not there, the nearest thing around it."""
        for length in range(len(path), 0, -1):
            if path[:length] in self.positions:
                return self.positions[path[:length]]
        return self.positions.get((), (1, 1))

    def key_position(self, path: KeyPath) -> Position:
        """Where the key of the value stands; an item of a list has none, then where the item stands."""
        return self.key_positions.get(path) or self.position(path)

    def finding(
        self,
        path: KeyPath,
        rule: str,
        message: str,
        fix: str = "",
        *,
        severity: Severity = "error",
        at_key: bool = False,
    ) -> Finding:
        """Make a finding at a value (or at its key) of this file."""
        line, column = self.key_position(path) if at_key else self.position(path)
        return Finding(self.path, line, column, rule, severity, message, fix)


def load_yaml(path: str | Path) -> Document:
    """Load one file.

    Parameters
    ----------
    path
        The file; a symbolic link to a file is followed.

    Returns
    -------
    Document
        The values and their positions.

    Raises
    ------
    FindingsError
        If the file cannot be read or breaks a rule, with every finding.
    """
    name = str(path)
    try:
        raw = read_start(path, BYTE_LIMIT + 1)
    except FileNotFoundError:
        raise _whole_file(name, "YAML-FILE", "there is no such file", "check the name and the folder") from None
    except IsADirectoryError:
        raise _whole_file(name, "YAML-FILE", "this is a folder, wanted is a file", "name the file in it") from None
    except (OSError, ValueError) as error:  # ValueError: a NUL in the name
        reason = getattr(error, "strerror", None) or str(error)
        raise _whole_file(name, "YAML-FILE", f"the file cannot be read: {reason}") from None
    if len(raw) > BYTE_LIMIT:
        raise _whole_file(name, "YAML-LIMIT", f"a file has at most {BYTE_LIMIT:,} bytes, this one has more", "split it")
    return parse_yaml(raw, name)


def parse_yaml(source: bytes | str, name: str) -> Document:
    """Read YAML from memory; as :func:`load_yaml`, with ``name`` standing for the file in findings.

    Parameters
    ----------
    source
        The text, or its bytes in UTF-8.
    name
        What findings call the file.

    Returns
    -------
    Document
        The values and their positions.

    Raises
    ------
    FindingsError
        If the text breaks a rule, with every finding.

    Examples
    --------
    >>> document = parse_yaml("mass: 412 g\\nopen: 12:30\\n", "example.yaml")
    >>> document.data
    {'mass': '412 g', 'open': '12:30'}
    >>> document.positions["open",]
    (2, 7)
    """
    text = source if isinstance(source, str) else _decoded(source, name)
    if len(text) > BYTE_LIMIT:
        raise _whole_file(name, "YAML-LIMIT", f"a file has at most {BYTE_LIMIT:,} bytes, this one has more", "split it")
    findings = list(_character_findings(text, name))
    if findings:
        raise FindingsError(findings)
    raw = source.encode() if isinstance(source, str) else source
    return replace(_Builder(name).document(text), sha256=hashlib.sha256(raw).hexdigest())


def _whole_file(name: str, rule: str, message: str, fix: str = "") -> FindingsError:
    return FindingsError([Finding(name, 0, 0, rule, "error", message, fix)])


def _decoded(raw: bytes, name: str) -> str:
    if raw.startswith(b"\xef\xbb\xbf"):
        message, fix = "the file starts with a byte order mark", "save it as UTF-8 without byte order mark"
        raise FindingsError([Finding(name, 1, 1, "YAML-ENCODING", "error", message, fix)])
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError as error:
        line, column = _place(raw[: error.start].decode("utf-8"), error.start)
        message = f"byte 0x{raw[error.start]:02x} is not UTF-8"
        raise FindingsError(
            [Finding(name, line, column, "YAML-ENCODING", "error", message, "save the file as UTF-8")]
        ) from None


def _place(text: str, index: int) -> Position:
    """Line and column of a character, with the line ends that YAML and editors share."""
    before = text[:index].replace("\r\n", "\n").replace("\r", "\n")
    return before.count("\n") + 1, len(before) - before.rfind("\n")


def _character_findings(text: str, name: str) -> Iterator[Finding]:
    for count, match in enumerate(_FORBIDDEN.finditer(text)):
        if count == _CHARACTER_LIMIT:
            return
        line, column = _place(text, match.start())
        message = f"the character U+{ord(match.group()):04X} is not allowed"
        yield Finding(name, line, column, "YAML-SYNTAX", "error", message, "remove it")
    for count, match in enumerate(_TAB_INDENT.finditer(text)):
        if count == _CHARACTER_LIMIT:
            return
        line, column = _place(text, match.end() - 1)
        yield Finding(name, line, column, "YAML-SYNTAX", "error", "a tab in the indentation", "indent with spaces")


class _TooMuch(Exception):
    """Reading stops here; the finding is already noted."""


class _Builder:
    """Builds the values of one file from the events of the parser.

    Events rather than the node tree: the limits then hold before anything deep or large is built.
    """

    def __init__(self, name: str) -> None:
        self.name = name
        self.findings: list[Finding] = []
        self.positions: dict[KeyPath, Position] = {}
        self.key_positions: dict[KeyPath, Position] = {}
        self.nodes = 0

    def document(self, text: str) -> Document:
        data: Any = None
        documents = 0
        events = self._events(text)
        try:
            for event in events:
                if isinstance(event, DocumentStartEvent):
                    documents += 1
                    if documents == 2:
                        self._stop(event, "YAML-SYNTAX", "a second document starts here", "keep one document a file")
                    if event.version or event.tags:
                        self._note(event, "YAML-SYNTAX", "directives (%YAML, %TAG) are not used here", "remove them")
                elif isinstance(event, ScalarEvent | MappingStartEvent | SequenceStartEvent | AliasEvent):
                    data = self._value(event, events, (), "")
        except _TooMuch:
            pass
        except yaml.MarkedYAMLError as error:
            self._note_syntax(error)
        except yaml.YAMLError as error:
            self.findings.append(Finding(self.name, 1, 1, "YAML-SYNTAX", "error", " ".join(str(error).split())[:300]))
        if not self.findings and data is None:
            self.findings.append(Finding(self.name, 0, 0, "YAML-EMPTY", "error", "the file is empty", "write its keys"))
        if self.findings:
            raise FindingsError(self.findings)
        return Document(self.name, data, self.positions, self.key_positions)

    def _events(self, text: str) -> Iterator[Event]:
        loader = _Loader(text)
        try:
            while loader.check_event():
                yield loader.get_event()
        finally:
            loader.dispose()

    def _note(self, event: Event, rule: str, message: str, fix: str = "") -> None:
        line, column = _start(event)
        if len(self.findings) >= FINDING_LIMIT - 1:
            rule, message, fix = "MORE", f"reading ends here, after {FINDING_LIMIT - 1} findings", "correct those first"
        self.findings.append(Finding(self.name, line, column, rule, "error", message, fix))
        if len(self.findings) >= FINDING_LIMIT:
            raise _TooMuch

    def _stop(self, event: Event, rule: str, message: str, fix: str = "") -> None:
        self._note(event, rule, message, fix)
        raise _TooMuch

    def _note_syntax(self, error: yaml.MarkedYAMLError) -> None:
        mark = error.problem_mark or error.context_mark
        line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
        message = " ".join(str(part) for part in (error.context, error.problem) if part)
        fix = "put a text with ': ', '#', or a leading special character in quotes, and check the indentation"
        self.findings.append(Finding(self.name, line, column, "YAML-SYNTAX", "error", f"not readable: {message}", fix))

    def _value(self, event: Event, events: Iterator[Event], path: KeyPath, key: str) -> Any:
        self.positions[path] = _start(event)
        self.nodes += 1
        if self.nodes > NODE_LIMIT:
            self._stop(event, "YAML-LIMIT", f"a file has at most {NODE_LIMIT:,} values, this one has more", "split it")
        if isinstance(event, AliasEvent):
            self._note(
                event, "YAML-ALIAS", f'the alias "*{_short(event.anchor)}" is not allowed', "write the value out"
            )
            return None
        assert isinstance(event, ScalarEvent | MappingStartEvent | SequenceStartEvent)
        if event.anchor is not None:
            self._note(event, "YAML-ALIAS", f'the anchor "&{_short(event.anchor)}" is not allowed', "remove it")
        if event.tag is not None:
            self._note(event, "YAML-TAG", f'the tag "{event.tag[:60]}" is not allowed', "remove it")
        if isinstance(event, ScalarEvent):
            return self._scalar(event, key)
        if len(path) >= DEPTH_LIMIT:
            self._stop(
                event, "YAML-LIMIT", f"values nest at most {DEPTH_LIMIT} deep, these nest deeper", "flatten them"
            )
        if isinstance(event, SequenceStartEvent):
            return self._sequence(events, path, key)
        return self._mapping(events, path)

    def _sequence(self, events: Iterator[Event], path: KeyPath, key: str) -> list[Any]:
        items: list[Any] = []
        for event in events:
            if isinstance(event, SequenceEndEvent):
                break
            items.append(self._value(event, events, (*path, len(items)), key))
        return items

    def _mapping(self, events: Iterator[Event], path: KeyPath) -> dict[str, Any]:
        mapping: dict[str, Any] = {}
        for event in events:
            if isinstance(event, MappingEndEvent):
                break
            key = self._key(event)
            inner = (*path, key)
            if key in mapping:
                line = self.key_positions[inner][0]
                message = f'the key "{_short(key)}" is here twice, first in line {line}'
                self._note(event, "YAML-DUPLICATE", message, "keep one")
                # The first value and its position stay; the second is read for its own findings only.
                kept = self.positions, self.key_positions
                self.positions, self.key_positions = {}, {}
                self._value(next(events), events, inner, key)
                self.positions, self.key_positions = kept
                continue
            if len(mapping) == GROUP_LIMIT:
                message = f"a group has at most {GROUP_LIMIT:,} keys, this one has more"
                self._stop(event, "YAML-LIMIT", message, "divide it")
            self.key_positions[inner] = _start(event)
            mapping[key] = self._value(next(events), events, inner, key)
        return mapping

    def _key(self, event: Event) -> str:
        self.nodes += 1
        if isinstance(event, ScalarEvent):
            if event.anchor is not None:
                self._note(event, "YAML-ALIAS", f'the anchor "&{_short(event.anchor)}" is not allowed', "remove it")
            if event.tag is not None:
                self._note(event, "YAML-TAG", f'the tag "{event.tag[:60]}" is not allowed', "remove it")
            if event.value == "<<" and not event.style:
                self._note(event, "YAML-ALIAS", 'the merge key "<<" is not allowed', "write the keys out")
            if not event.value:
                self._note(event, "YAML-SYNTAX", "a key is empty", "name it")
            self._check_text(event, event.value, TEXT_LIMIT)
            return event.value
        if isinstance(event, AliasEvent):
            self._stop(event, "YAML-ALIAS", f'the alias "*{_short(event.anchor)}" is not allowed', "write the key out")
        self._stop(event, "YAML-SYNTAX", "a key must be text, found a list or a group of keys", "write a plain word")
        raise _TooMuch  # _stop has raised already

    def _scalar(self, event: ScalarEvent, key: str) -> Any:
        text = event.value
        if not event.style:  # plain; the C parser says "" where the Python parser says None
            if text in _NULL:
                return None
            if text in _BOOL:
                return _BOOL[text]
            if _NOT_FINITE.fullmatch(text):
                self._note(
                    event, "YAML-NUMBER", f'"{text}" is not finite', "write a finite number, or leave the key out"
                )
                return None
            if _FLOAT.fullmatch(text):
                return self._number(event, text)
        self._check_text(event, text, LONG_TEXT_LIMIT if key in LONG_TEXT_KEYS else TEXT_LIMIT)
        return text

    def _number(self, event: ScalarEvent, text: str) -> int | float | None:
        digits = sum(character.isdigit() for character in text)
        if digits > DIGIT_LIMIT:
            message = f"a number has at most {DIGIT_LIMIT} digits, this one has {digits}"
            self._note(event, "YAML-LIMIT", message, "round it, or put it in quotes if it is text")
            return None
        if _INTEGER.fullmatch(text):
            return int(text)
        number = float(text)
        mantissa = re.split("[eE]", text)[0]
        if math.isinf(number) or (number == 0.0 and re.search("[1-9]", mantissa)):
            self._note(event, "YAML-NUMBER", f'"{text}" is out of all range', "write a number between 1e-300 and 1e300")
            return None
        return number

    def _check_text(self, event: ScalarEvent, text: str, limit: int) -> None:
        if len(text) > limit:
            message = f"a text has at most {limit:,} characters here, this one has {len(text):,}"
            self._note(event, "YAML-LIMIT", message, f"shorten it, or move it to {', '.join(sorted(LONG_TEXT_KEYS))}")
        # Escapes in double quotes can bring in what the file itself must not hold.
        match = _FORBIDDEN.search(text)
        if match:
            self._note(event, "YAML-SYNTAX", f"the character U+{ord(match.group()):04X} is not allowed", "remove it")


def _short(text: str | None) -> str:
    return str(text) if text is None or len(text) <= 60 else f"{text[:60]}..."


def _start(event: Event) -> Position:
    mark = event.start_mark
    assert mark is not None  # the parser marks every event
    return mark.line + 1, mark.column + 1
