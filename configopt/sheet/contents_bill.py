"""The bill of materials as a table of the sheet, and what would take the place of a part."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from configopt.scenario.case import PACKAGE_PARTS
from configopt.sheet.bill import BillRow
from configopt.sheet.figures import NOT_HERE, figure_text, shown
from configopt.sheet.given import Given
from configopt.sheet.tables import Beside, Row, Table, columns
from configopt.sheet.words import part_change_words


def bill_table(given: Given, rows: Sequence[BillRow]) -> Table:
    """The bill; needs ``bill`` among the results."""
    results, currency = given.results, given.case.catalog.currency
    made = []
    for at, row in enumerate(rows):
        path = f"bill/rows/{at}"
        lead = NOT_HERE if row.lead_time_days is None else results.figure(f"{path}/lead_time_days", "days")
        supplier = Beside(row.supplier, f"made by {row.maker}") if row.supplier else "not in the catalogs"
        made.append(
            Row(
                (
                    Beside(row.name, f"{row.part}; {', '.join(row.used_by)}"),
                    supplier,
                    lead,
                    Beside(results.figure(f"{path}/bought", "pieces"), _pieces(row)),
                    results.figure(f"{path}/unit_price", currency),
                    results.figure(f"{path}/cost", currency),
                    row.alternates or "none searched",
                )
            )
        )
    total = shown(sum(row.cost for row in rows), currency, of="bill/cost")
    made.append(Row(("everything", "", "", "", "", total, ""), marked=True))
    built = ", ".join(f"{one.model.vehicle.quantity} x {one.model.vehicle.name}" for one in given.appraised)
    note = f"Bought for {built}, all together. The unit price is the one that is paid at that number of pieces."
    heads = columns("part", "supplier", "#lead time", "#bought", "#unit price", "#cost", "alternates")
    return Table("Bill of materials", heads, tuple(made), note)


def tiers_table(rows: Sequence[BillRow], currency: str) -> Table:
    """Unit prices from a number of pieces on, with what is due at least or once."""
    made = []
    for row in rows:
        tiers = "; ".join(f"{quantity}: {figure_text(price, currency)}" for quantity, price in row.tiers)
        made.append(Row((row.part, tiers, _terms(row, currency))))
    heads = columns("part", "unit price from pieces on", "terms")
    return Table("Price tiers", heads, tuple(made))


def _pieces(row: BillRow) -> str:
    """Pieces per vehicle, and why more are bought than are needed."""
    told = ", ".join(f"{pieces} per {vehicle}" for vehicle, pieces in row.pieces_per_vehicle)
    if len(row.pieces_per_vehicle) == 1:
        told = f"{row.pieces_per_vehicle[0][1]} per vehicle"
    needed = row.pieces + row.spares
    if row.bought <= needed:
        return told
    why = "is the least order" if row.bought == row.minimum_order else "cost less than these"
    return f"{told}; {needed} needed, {row.bought} {why}"


def _terms(row: BillRow, currency: str) -> str:
    told = [] if row.status == "active" else [row.status]
    if row.minimum_order > 1:
        told.append(f"at least {row.minimum_order} an order")
    if row.one_off_cost:
        told.append(f"once {figure_text(row.one_off_cost, currency)}")
    if row.spares:
        told.append(f"{row.spares} kept as spares")
    return "; ".join(told) or "none"


def alternate_words(given: Given) -> dict[str, str]:
    """By part, what would take its place as far as it was searched: best answer first.

    From the alternates a scenario asks for, else from an explanation, else from the nearest candidate of the short list
    that goes without the part.
    """
    found: dict[str, str] = {}
    for row in given.choice.get("alternates") or ():
        changes = [{"position": one["position"], "part": one["what"], "second": one["to"]} for one in row["changes"]]
        told = _changed(row["family"], changes)
        found[row["part"]] = f"{told}, {figure_text(100.0 * row['loss'], '%', sign=True)} of the aim"
    told_why = given.result("explanation")
    for row in () if told_why is None else told_why["losing"] or ():
        best = row["instead"]
        words = "none: nothing would meet every limit"
        if best is not None:
            words = f"{_changed(row['family'], best['parts'])}, aim {figure_text(best['loss'], '1', sign=True)}"
        found.setdefault(row["part"], words)
    _from_candidates(given, found)
    return found


def _changed(family: str, changes: Sequence[Mapping[str, Any]]) -> str:
    """What is fitted of the family instead, and how much else changes."""
    roles = [role for role, name in PACKAGE_PARTS.items() if name == family]
    mine = [part_change_words(one) for one in changes if one["part"] in roles]
    rest = len(changes) - len(mine)
    more = f" ({rest} other change{'s go' if rest > 1 else ' goes'} with it)" if rest else ""
    return f"{', '.join(mine) or 'other parts'}{more}"


def _from_candidates(given: Given, found: dict[str, str]) -> None:
    listed = given.result("shortlist")
    if listed is None:
        return
    mine = given.choice["vehicles"][0]
    used = {
        (package[role], role, package["position"])
        for package in mine["packages"]
        for role in PACKAGE_PARTS
        if package[role] is not None
    }
    for identifier, role, position in sorted(used):
        for one in listed["candidates"]:
            theirs = one["vehicles"][0]["packages"]
            fitted = {package[name] for package in theirs for name in PACKAGE_PARTS}
            package = next(row for row in theirs if row["position"] == position)
            if identifier not in fitted and package[role] is not None:
                loss = figure_text(one["loss_percent"], "%", sign=True)
                words = f"{package[role]} in candidate {one['number']}, {loss} of the aim"
                found.setdefault(identifier, words)
                break
