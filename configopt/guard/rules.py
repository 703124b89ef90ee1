"""Every rule of the check, by id, and the rules that look at a catalog."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from configopt.guard import (
    decision_rules,
    dominated_rules,
    entry_rules,
    file_rules,
    identity_rules,
    provenance_rules,
    waivers,
)
from configopt.guard.rule import Rule
from configopt.guard.shelf import Shelf
from configopt.guard.waivers import Found


@dataclass(frozen=True, slots=True)
class CatalogCheck:
    """One look at a catalog, and the rules it can find broken."""

    look: Callable[[Shelf], Iterator[Found]]
    rules: tuple[Rule, ...]
    across: bool = False
    """Whether it relies on what the rest of the catalog has; it then waits until every entry is sound."""


CATALOG_CHECKS: tuple[CatalogCheck, ...] = (
    *(CatalogCheck(look, identity_rules.RULES) for look in identity_rules.LOOKS),
    CatalogCheck(entry_rules.look, entry_rules.RULES),
    *(CatalogCheck(look, dominated_rules.RULES, across=True) for look in dominated_rules.ACROSS),
    *(CatalogCheck(look, provenance_rules.RULES) for look in provenance_rules.LOOKS),
    *(CatalogCheck(look, provenance_rules.RULES, across=True) for look in provenance_rules.ACROSS),
)

RULES: dict[str, Rule] = {
    rule.id: rule
    for rule in (
        *file_rules.RULES,
        *waivers.RULES,
        *decision_rules.RULES,
        *(rule for check in CATALOG_CHECKS for rule in check.rules),
    )
}
