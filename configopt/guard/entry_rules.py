"""The rules that judge the figures of an entry, in order: a mistaken unit first, then what geometry and physics say."""

from __future__ import annotations

from collections.abc import Iterator

from configopt.errors import Finding
from configopt.guard import brake_rules, figure_rules, inner_rules, tire_rules, use_rules, wheel_rules
from configopt.guard.shelf import Entry, Shelf
from configopt.guard.waivers import Found

RULES = (
    *figure_rules.RULES,
    *tire_rules.RULES,
    *wheel_rules.RULES,
    *brake_rules.RULES,
    *inner_rules.RULES,
    *use_rules.RULES,
)
_LOOKS = (*tire_rules.LOOKS, *wheel_rules.LOOKS, *brake_rules.LOOKS, *inner_rules.LOOKS)
_ACROSS = (*brake_rules.ACROSS, *use_rules.ACROSS)


def look(shelf: Shelf) -> Iterator[Found]:
    """What is wrong with the figures of entries.

    An entry with a mistaken unit is judged by the other rules once the unit is mended, or waived: what else they find
    mostly follows from it.  Of a figure that cannot be, nobody needs to hear that it is unusual, too.  What relies on
    the rest of the catalog waits until every entry is sound.
    """
    figures = list(figure_rules.look(shelf))
    slipped = {
        (entry.family, entry.index)
        for entry, finding in figures
        if finding.rule == figure_rules.UNIT_SLIP.id and not _waives(entry, finding)
    }
    others = [
        (entry, finding)
        for one in (*_LOOKS, *(_ACROSS if shelf.whole else ()))
        for entry, finding in one(shelf)
        # A waived finding is still told, so that its waiver counts as used.
        if (entry.family, entry.index) not in slipped or _waives(entry, finding)
    ]
    impossible = {
        (entry.family, finding.line)
        for entry, finding in others
        if finding.severity == "error" and not _waives(entry, finding)
    }
    for entry, finding in figures:
        if finding.severity == "error" or (entry.family, finding.line) not in impossible or _waives(entry, finding):
            yield entry, finding
    yield from others


def _waives(entry: Entry, finding: Finding) -> bool:
    return any(waiver.rule == finding.rule for waiver in entry.part.waivers)
