"""The answer of ``fits`` as text."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Mapping
from typing import Any

from configopt.cli.layout import Page
from configopt.cli.output import counted

Payload = Mapping[str, Any]


def write_fits(sheet: Page, payload: Payload, *, every: bool = False) -> None:
    """Write what fits a part onto a page.

    Parameters
    ----------
    sheet
        An empty page.
    payload
        JSON of schema configopt/fits/1.
    every
        The reason of every part that does not fit instead of counts.
    """
    part = payload["part"]
    sheet.heading(f"{part['id']}: {part['name']}, one of {part['family']}")
    if part["status"] in ("withdrawn", "concept"):
        sheet.text(f"Its status is {part['status']}: no package may hold it.")
    for place in payload["places"]:
        where = f"{place['vehicle']}, {place['position']}"
        sheet.item(f"{where}: {'can be used' if place['fits'] else 'no: ' + place['reason']}")
    for group in payload["partners"]:
        fit, rejected = group["fit"], group["rejected"]
        sheet.heading(f"{group['family']}: {len(fit)} of {len(fit) + len(rejected)} fit")
        if fit:
            sheet.text(", ".join(fit))
        if every:
            for row in rejected:
                sheet.item(f"{row['id']}: {row['reason']}")
            continue
        for count, example in grouped(rejected):
            sheet.item(f"{counted(count, 'does', 'do')} not, for example {example['id']}: {example['reason']}")


def grouped(rejected: list[Any]) -> list[tuple[int, Any]]:
    """Reasons that differ only in their figures together, the most frequent first, each with an example.

    Parameters
    ----------
    rejected
        Entries with ``id`` and ``reason``.

    Returns
    -------
    list of tuple
        How many, and the first entry of the kind.
    """
    kinds: defaultdict[str, list[Any]] = defaultdict(list)
    for row in rejected:
        # Codes such as post-74 and 4x110 vary like figures do.
        kinds[re.sub(r"\S*\d\S*", "#", row["reason"])].append(row)
    return sorted(((len(rows), rows[0]) for rows in kinds.values()), key=lambda pair: -pair[0])
