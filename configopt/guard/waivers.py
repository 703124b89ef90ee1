"""Findings that an entry says may stand, and what is wrong with saying so."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from configopt.errors import Finding
from configopt.guard.rule import Example, Rule
from configopt.guard.shelf import Entry, Shelf

UNUSED_WAIVER = Rule(
    "UNUSED-WAIVER",
    "warning",
    "a waiver for which there is no finding",
    "An entry waives a rule that has nothing to say against it. The entry was mended, or the waiver names the wrong "
    "rule. A waiver that is left behind would hide the next mistake: remove it.",
    Example(
        "tires",
        "waivers: [{rule: STALE-SOURCE, reason: the maker has not changed the sheet}]",
        "waivers: null",
    ),
)
WAIVER = Rule(
    "WAIVER",
    "error",
    "a waiver for a rule that cannot be waived",
    "Only rules of plausibility, use and provenance can be waived, entry by entry and with a reason: there the catalog "
    "may know better than the rule. What makes a file unreadable or a part impossible has to be corrected.",
    Example(
        "tires",
        "waivers: [{rule: DUPLICATE-ID, reason: it stands twice on purpose}]",
        "waivers: null",
    ),
)
RULES = (UNUSED_WAIVER, WAIVER)

Found = tuple[Entry, Finding]
#: Rules that compare a figure with those of other entries, so that a mistake at one moves the yardstick of all.
_OF_PEERS = ("OUTLIER-", "UNUSUAL", "UNIT-SLIP")


def waived(shelf: Shelf, found: Iterable[Found], rules: Mapping[str, Rule]) -> list[Finding]:
    """Findings that stand after the waivers of the entries, and those about the waivers themselves.

    Parameters
    ----------
    shelf
        The catalog.
    found
        What the rules found, each with the entry it is about.
    rules
        Every rule by id.

    Returns
    -------
    list of Finding
        A finding of a rule that its entry waives is left out.  Whether a waiver is used is judged only where the whole
        catalog is sound: before that some rules have not looked.  That of a rule which compares a figure with its peers
        is judged only where no error and no odd figure stands in the family: once that is mended, the waiver may be
        needed again.
    """
    listed = list(found)
    about = {(entry.family, entry.index, finding.rule) for entry, finding in listed}
    left = []
    for entry, finding in listed:
        rule = rules[finding.rule]
        if not (rule.waivable and any(waiver.rule == rule.id for waiver in entry.part.waivers)):
            left.append(finding)
    standing = set(left)
    moved = {
        entry.family
        for entry, finding in listed
        if finding in standing and (finding.severity == "error" or finding.rule.startswith(_OF_PEERS))
    }
    for entry in shelf.every_entry():
        seen: set[str] = set()
        for number, waiver in enumerate(entry.part.waivers):
            at, named = ("waivers", number, "rule"), rules.get(waiver.rule)
            if named is None or not named.waivable:
                what = "there is no rule" if named is None else "no entry can waive the rule"
                fix = "see configopt check --rule all, or remove the waiver"
                left.append(entry.finding(WAIVER, at, f'{what} "{waiver.rule}"', fix))
            elif waiver.rule in seen:
                left.append(entry.finding(UNUSED_WAIVER, at, f"{waiver.rule} is waived twice", "keep one"))
            elif waiver.rule.startswith(_OF_PEERS) and entry.family in moved:
                pass  # judged once the others are mended
            elif shelf.whole and (entry.family, entry.index, waiver.rule) not in about:
                message = f"{waiver.rule} finds nothing at this entry"
                left.append(entry.finding(UNUSED_WAIVER, at, message, "remove the waiver"))
            seen.add(waiver.rule)
    return left
