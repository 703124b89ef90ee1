"""Seeded edits of a text as mistakes, tools and bad will make them, with the lines that they touch."""

from __future__ import annotations

import random
import re
from collections.abc import Callable
from dataclasses import dataclass

BLANK = re.compile(rb"\s*(#.*)?")
VALUE = re.compile(rb"(.*?[a-z_\-\"']: +)([^\s#].*)")
NUMBER = re.compile(rb"(?<![\w.-])-?\d+(?:\.\d+)?(?![\w.-])")
UNITS = (
    b"mm",
    b"cm",
    b"m",
    b"in",
    b"kg",
    b"g",
    b"lb",
    b"kPa",
    b"bar",
    b"psi",
    b"km/h",
    b"m/s",
    b"N",
    b"N m",
    b"Wh",
    b"%",
    b"deg",
    b"days",
    b"",
    b"furlong",
    b"mm mm",
    b"\xc2\xb0C",
)
TYPES = (
    b"[]",
    b"{}",
    b"[1, 2]",
    b"{a: 1}",
    b"1",
    b"1.5",
    b"true",
    b"null",
    b"~",
    b'""',
    b"text",
    b"2025-03-31",
    b"12:30",
    b"0x10",
    b".inf",
    b".nan",
    b"1_000",
    b"!!int 3",
    b"&a 1",
    b"*a",
    b"- x",
    b"| x",
    b"1e999",
)
ODD = (
    "\u202e",
    "\u0301",
    "\uff11\uff12",
    "\u200b",
    "\xa0",
    "\u2028",
    "\ufeff",
    "\x85",
    "\U0001f6b2",
    "\u0130",
    "\x00",
    "\x1b[2J",
    '"\\ud800"',
    '"\\u202e"',
    "\u2212",
    "\u00b5",
    "\uffff",
)
SYNTAX = (
    b"&a ",
    b"*a",
    b"!!python/name:os.system ",
    b"<<: ",
    b"? ",
    b"- ",
    b": ",
    b"'",
    b'"',
    b"[",
    b"]",
    b"{",
    b"}",
    b"|",
    b">",
    b"%YAML 1.2\n",
    b"---\n",
    b"...\n",
    b"\t",
    b"@",
    b"`",
    b"#",
    b" #",
    b",",
)
BYTES = (b"\xe9", b"\xff", b"\xc0\xaf", b"\xed\xa0\x80", b"\xf4\x90\x80\x80", b"\x00", b"\x80", b"\xef\xbb\xbf")


@dataclass(frozen=True)
class Edit:
    """A changed text.

    ``lines`` are the lines of the new text that were touched (1-based; of a deletion the ones around it), ``words`` the
    text of the lines before and after.
    """

    kind: str
    text: bytes
    lines: range
    words: bytes


def _spliced(kind: str, lines: list[bytes], begin: int, end: int, new: list[bytes]) -> Edit:
    """Lines ``begin`` to ``end`` (0-based, exclusive) replaced."""
    text = b"\n".join([*lines[:begin], *new, *lines[end:]])
    height = sum(line.count(b"\n") + 1 for line in new)
    touched = range(begin + 1, begin + height + 1) if new else range(max(begin, 1), begin + 2)
    return Edit(kind, text, touched, b"\n".join([*lines[begin:end], *new]))


def _content(draw: random.Random, lines: list[bytes], like: re.Pattern[bytes] | None = None) -> int:
    """A line with content, or with a value."""
    fit = [n for n, line in enumerate(lines) if not BLANK.fullmatch(line) and (like is None or like.search(line))]
    return draw.choice(fit)


def delete_lines(draw: random.Random, lines: list[bytes]) -> Edit:
    at = _content(draw, lines)
    return _spliced("deletion", lines, at, at + draw.choice([1, 1, 1, 2, 5]), [])


def delete_characters(draw: random.Random, lines: list[bytes]) -> Edit:
    at = _content(draw, lines)
    line = lines[at]
    begin = draw.randrange(len(line))
    return _spliced("deletion", lines, at, at + 1, [line[:begin] + line[begin + draw.choice([1, 1, 3, 20]) :]])


def _entry(draw: random.Random, lines: list[bytes]) -> tuple[int, int]:
    """Begin and end of an entry of a list."""
    begin = _content(draw, lines, re.compile(rb"^ *- "))
    depth = len(lines[begin]) - len(lines[begin].lstrip())
    end = begin + 1
    while end < len(lines) and (BLANK.fullmatch(lines[end]) or len(lines[end]) - len(lines[end].lstrip()) > depth):
        end += 1
    return begin, end


def delete_entry(draw: random.Random, lines: list[bytes]) -> Edit:
    begin, end = _entry(draw, lines)
    return _spliced("deletion", lines, begin, end, [])


def duplicate_entry(draw: random.Random, lines: list[bytes]) -> Edit:
    begin, end = _entry(draw, lines)
    return _spliced("duplication", lines, end, end, lines[begin:end])


def duplicate_line(draw: random.Random, lines: list[bytes]) -> Edit:
    at = _content(draw, lines)
    return _spliced("duplication", lines, at, at + 1, [lines[at], lines[at]])


def swap_lines(draw: random.Random, lines: list[bytes]) -> Edit:
    at = _content(draw, lines[:-2])
    other = min(at + draw.choice([1, 1, 1, 2, 7]), len(lines) - 2)
    return _spliced("swap", lines, at, other + 1, [lines[other], *lines[at + 1 : other], lines[at]])


def _value(kind: str, draw: random.Random, lines: list[bytes], change: Callable[[bytes], bytes]) -> Edit:
    at = _content(draw, lines, VALUE)
    found = VALUE.match(lines[at])
    assert found is not None
    return _spliced(kind, lines, at, at + 1, [found[1] + change(found[2])])


def change_type(draw: random.Random, lines: list[bytes]) -> Edit:
    return _value(
        "type", draw, lines, lambda value: draw.choice([*TYPES, b'"' + value.strip(b'"') + b'"', b"[" + value + b"]"])
    )


def change_unit(draw: random.Random, lines: list[bytes]) -> Edit:
    def other(value: bytes) -> bytes:
        found = re.match(rb"(-?[\d.]+) ?(.*)", value)
        return value + b" " + draw.choice(UNITS) if found is None else found[1] + b" " + draw.choice(UNITS)

    return _value("unit", draw, lines, other)


def change_magnitude(draw: random.Random, lines: list[bytes]) -> Edit:
    at = _content(draw, lines, NUMBER)
    found = draw.choice(list(NUMBER.finditer(lines[at])))
    number = found[0]
    new = draw.choice(
        [
            number + b"0",
            number + b"000",
            b"0",
            b"-" + number,
            b"0." + number.replace(b".", b""),
            b"1e300",
            b"1e-300",
            b"1e30",
            number + b"e3",
            b"9" * 31,
            b"9" * 29,
            number.replace(b".", b","),
        ]
    )
    return _spliced("magnitude", lines, at, at + 1, [lines[at][: found.start()] + new + lines[at][found.end() :]])


def misspell(draw: random.Random, lines: list[bytes]) -> Edit:
    at = _content(draw, lines)
    places = [n for n, one in enumerate(lines[at]) if chr(one).isalpha()]
    if not places:
        return insert_syntax(draw, lines)
    place = draw.choice(places)
    return _spliced("spelling", lines, at, at + 1, [lines[at][:place] + b"q" + lines[at][place + 1 :]])


def change_indentation(draw: random.Random, lines: list[bytes]) -> Edit:
    at = _content(draw, lines)
    line = lines[at]
    new = draw.choice([b" " + line, b"  " + line, b"\t" + line, line.lstrip(), line[1:] if line[:1] == b" " else line])
    return _spliced("indentation", lines, at, at + 1, [new])


def truncate(draw: random.Random, lines: list[bytes]) -> Edit:
    text = b"\n".join(lines)
    left = text[: draw.choice([0, 1, len(text) // 2, draw.randrange(len(text)), draw.randrange(len(text))])]
    last = left.count(b"\n") + 1
    return Edit("truncation", left, range(max(1, last - 1), last + 1), left[-200:] + text[len(left) :])


def change_encoding(draw: random.Random, lines: list[bytes]) -> Edit:
    text = b"\n".join(lines)
    whole = range(1, len(lines) + 1)
    kind = draw.randrange(4)
    if kind == 0:
        coding = draw.choice(["utf-16", "utf-16-le", "utf-32", "utf-8-sig", "utf-7", "cp037"])
        return Edit("encoding", text.decode().encode(coding), whole, text)
    at = _content(draw, lines)
    place = draw.randrange(len(lines[at]) + 1)
    return _spliced("encoding", lines, at, at + 1, [lines[at][:place] + draw.choice(BYTES) + lines[at][place:]])


def insert_unicode(draw: random.Random, lines: list[bytes]) -> Edit:
    at = _content(draw, lines)
    place = draw.choice([draw.randrange(len(lines[at]) + 1), len(lines[at])])
    odd = draw.choice(ODD).encode("utf-8", "surrogatepass")
    return _spliced("unicode", lines, at, at + 1, [lines[at][:place] + odd + lines[at][place:]])


def insert_syntax(draw: random.Random, lines: list[bytes]) -> Edit:
    at = _content(draw, lines)
    place = draw.choice([draw.randrange(len(lines[at]) + 1), len(lines[at]) - len(lines[at].lstrip()), len(lines[at])])
    return _spliced("syntax", lines, at, at + 1, [lines[at][:place] + draw.choice(SYNTAX) + lines[at][place:]])


def make_huge(draw: random.Random, lines: list[bytes]) -> Edit:
    new = draw.choice(
        [
            b"9" * 5_000,
            b"1." + b"3" * 5_000,
            b"x" * 300,
            b"x" * 50_000,
            b"[" + b"1, " * 3_000 + b"1]",
            b"[" * 900,
            b"{a: " * 900,
            b"{" + b", ".join(b"k%d: 1" % n for n in range(2_000)) + b"}",
            b"[" + b"{}, " * 2_000 + b"{}]",
            b"- " * 500,
            b"1e" + b"9" * 50,
            b'"' + b"\\n" * 2_000 + b'"',
        ]
    )
    return _value("huge", draw, lines, lambda value: new)


def change_line_ends(draw: random.Random, lines: list[bytes]) -> Edit:
    if draw.random() < 0.5:
        return Edit("line ends", b"\r\n".join(lines), range(1, len(lines) + 1), b"")
    at = _content(draw, lines)
    return _spliced("line ends", lines, at, at + 1, [lines[at] + draw.choice([b"\r", b"\r\n", b"\n\n", b"\n\r"])])


def change_nothing(draw: random.Random, lines: list[bytes]) -> Edit:
    """What leaves every value as it is."""
    at = _content(draw, lines)
    new = draw.choice(
        [lines[at] + b"   ", lines[at] + b"\n# a remark", lines[at] + b"\n", b"# " + b"y" * 500 + b"\n" + lines[at]]
    )
    if lines[at - 1].rstrip().endswith((b">-", b"|")) or not VALUE.match(lines[at]):
        new = lines[at]  # not inside a long text
    return _spliced("nothing", lines, at, at + 1, [new])


KINDS: tuple[Callable[[random.Random, list[bytes]], Edit], ...] = (
    delete_lines,
    delete_characters,
    delete_entry,
    duplicate_entry,
    duplicate_line,
    swap_lines,
    change_type,
    change_unit,
    change_magnitude,
    misspell,
    change_indentation,
    truncate,
    change_encoding,
    insert_unicode,
    insert_syntax,
    make_huge,
    change_line_ends,
    change_nothing,
)


def random_edit(seed: int, text: bytes) -> Edit:
    """An edit of a text; the same for the same seed."""
    draw = random.Random(seed)
    return KINDS[seed % len(KINDS)](draw, text.split(b"\n"))
