"""Bill of materials: every part with its pieces, prices, supplier and lead time, as rows and as a workbook."""

from __future__ import annotations

import datetime
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from configopt.appraisal.costs import CostBook
from configopt.appraisal.one_vehicle import VehicleAppraisal
from configopt.appraisal.parts import FAMILIES
from configopt.appraisal.vehicle import POSITIONS
from configopt.catalog.catalog import Catalog
from configopt.exchange.package import packed_alike
from configopt.quantities import to_unit

#: What a spreadsheet would read as the beginning of a formula or of a command.
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")
FINAL_DRIVES = "final-drives"
#: Written into every workbook, so that the same bill gives the same bytes.
_DATE = datetime.datetime(1980, 1, 1)


@dataclass(frozen=True)
class BillRow:
    """One part, over all vehicles that are built; money in the currency of the catalogs."""

    family: str
    part: str
    name: str
    maker: str
    supplier: str
    status: str
    lead_time_days: float | None
    used_by: tuple[str, ...]
    pieces_per_vehicle: tuple[tuple[str, int], ...]
    """By vehicle."""
    pieces: int
    """For all vehicles."""
    spares: int
    bought: int
    """With spares, and with what minimum orders and cheaper tiers add."""
    unit_price: float
    """At the quantity bought, without the one-off cost."""
    one_off_cost: float
    cost: float
    """Of everything bought, with the one-off cost."""
    tiers: tuple[tuple[int, float], ...]
    minimum_order: int
    alternates: str

    def to_json(self) -> dict[str, Any]:
        """The row with units in its keys."""
        return {
            "family": self.family,
            "part": self.part,
            "name": self.name,
            "maker": self.maker,
            "supplier": self.supplier,
            "status": self.status,
            "lead_time_days": self.lead_time_days,
            "used_by": list(self.used_by),
            "pieces_per_vehicle": dict(self.pieces_per_vehicle),
            "pieces": self.pieces,
            "spares": self.spares,
            "bought": self.bought,
            "unit_price": self.unit_price,
            "one_off_cost": self.one_off_cost,
            "cost": self.cost,
            "tiers": [{"quantity": quantity, "unit_price": price} for quantity, price in self.tiers],
            "minimum_order": self.minimum_order,
            "alternates": self.alternates,
        }


def bill_of_materials(
    appraised: Sequence[VehicleAppraisal],
    *,
    spares: Mapping[str, int] | None = None,
    alternates: Mapping[str, str] | None = None,
) -> tuple[BillRow, ...]:
    """Every part of the packages and the final drives, from the ground up.

    Parameters
    ----------
    appraised : one per vehicle; all are bought together
    spares : pieces kept in stock of every different part, by family
    alternates : by the part's id, what would take its place

    Returns
    -------
    tuple of BillRow
        Parts of one family follow each other; a part used at several places is one row.
    """
    catalog = appraised[0].model.catalog
    kept, instead = spares or {}, alternates or {}
    used: dict[tuple[str, str], dict[tuple[str, str], int]] = {}
    for one in appraised:
        vehicle = one.model.vehicle
        for position in POSITIONS:
            for family, part, pieces in one.packages[position].parts(vehicle):
                places = used.setdefault((family, part.id), {})
                places[vehicle.name, position] = places.get((vehicle.name, position), 0) + pieces
    built = {one.model.vehicle.name: one.model.vehicle.quantity for one in appraised}
    rows = [
        _row(catalog, family, part, used[family, part], built, kept.get(family, 0), instead.get(part, ""))
        for family in FAMILIES
        for part in dict.fromkeys(part for name, part in used if name == family)
    ]
    return (*rows, *_final_drives(appraised))


def _row(
    catalog: Catalog,
    family: str,
    identifier: str,
    places: Mapping[tuple[str, str], int],
    built: Mapping[str, int],
    spares: int,
    alternates: str,
) -> BillRow:
    part = catalog.part(family, identifier)
    per_vehicle: dict[str, int] = {}
    for (vehicle, _), pieces in places.items():
        per_vehicle[vehicle] = per_vehicle.get(vehicle, 0) + pieces
    pieces = sum(count * built[vehicle] for vehicle, count in per_vehicle.items())
    # A book of one vehicle: its order is the whole order.
    book = CostBook(catalog, 1)
    number = book.number(family, identifier)
    cost, bought = book.per_vehicle(family, number, pieces + spares), book.bought(family, number, pieces + spares)
    once = float(part.one_off_cost)
    several = len(built) > 1
    return BillRow(
        family=family,
        part=part.id,
        name=part.name,
        maker=part.maker,
        supplier=part.supplier,
        status=part.status,
        lead_time_days=float(to_unit(float(part.lead_time), "days")),
        used_by=tuple(f"{vehicle} {position}" if several else position for vehicle, position in places),
        pieces_per_vehicle=tuple(per_vehicle.items()),
        pieces=pieces,
        spares=spares,
        bought=bought,
        unit_price=(cost - once) / bought,
        one_off_cost=once,
        cost=cost,
        tiers=tuple((int(tier.quantity), float(tier.unit_price)) for tier in part.prices),
        minimum_order=part.minimum_order,
        alternates=alternates,
    )


def _final_drives(appraised: Sequence[VehicleAppraisal]) -> list[BillRow]:
    """Final drives stand in the scenario, with a price and nothing else."""
    rows = []
    for one in appraised:
        vehicle = one.model.vehicle
        drive = vehicle.drive.final_drives[one.drive]
        price = float(drive.cost)
        rows.append(
            BillRow(
                family=FINAL_DRIVES,
                part=drive.id,
                name=f"final drive, ratio {float(drive.ratio):g}",
                maker="",
                supplier="",
                status="in the scenario",
                lead_time_days=None,
                used_by=(vehicle.name if len(appraised) > 1 else vehicle.drive.driven,),
                pieces_per_vehicle=((vehicle.name, 1),),
                pieces=vehicle.quantity,
                spares=0,
                bought=vehicle.quantity,
                unit_price=price,
                one_off_cost=0.0,
                cost=price * vehicle.quantity,
                tiers=((1, price),),
                minimum_order=1,
                alternates="",
            )
        )
    return rows


_HEADS = (
    "family", "part", "name", "maker", "supplier", "status", "lead time, days", "used by", "pieces per vehicle",
    "pieces for all vehicles", "spares", "bought", "unit price, {currency}", "one-off cost, {currency}",
    "cost, {currency}", "minimum order", "alternates",
)  # fmt: skip
_WIDTHS = (14, 30, 28, 24, 24, 12, 10, 24, 22, 12, 8, 8, 14, 14, 14, 12, 60)


def workbook(rows: Sequence[BillRow], *, currency: str, title: str, notes: Sequence[str] = ()) -> bytes:
    """The bill as an XLSX workbook: the parts, their price tiers, and what goes with them.

    Parameters
    ----------
    rows : of the bill
    currency : of all money
    title : what the bill is for
    notes : versions, hashes, cautions

    Returns
    -------
    bytes
        The file. Texts that a spreadsheet would take for a formula are kept as text.
    """
    from openpyxl import Workbook
    from openpyxl.styles import Alignment, Font

    book = Workbook()
    book.properties.creator = "configopt"
    book.properties.created = book.properties.modified = _DATE
    parts, tiers, about = book.active, book.create_sheet("Price tiers"), book.create_sheet("About")
    assert parts is not None
    parts.title = "Parts"
    _fill(parts, [tuple(head.format(currency=currency) for head in _HEADS)])
    _fill(parts, [_cells(row) for row in rows])
    _fill(parts, [("total", *[""] * 13, sum(row.cost for row in rows), "", "")])
    _fill(tiers, [("part", "from pieces", f"unit price, {currency}")])
    _fill(tiers, [(row.part, quantity, price) for row in rows for quantity, price in row.tiers])
    _fill(about, [(title,), *((note,) for note in notes)])
    for sheet, widths in ((parts, _WIDTHS), (tiers, (30, 14, 18)), (about, (100,))):
        for number, width in enumerate(widths):
            sheet.column_dimensions["ABCDEFGHIJKLMNOPQ"[number]].width = width
        for cell in sheet[1]:
            cell.font = Font(bold=True)
            cell.alignment = Alignment(wrap_text=True, vertical="top")
        sheet.freeze_panes = "A2"
    for column in "MNO":
        for cell in parts[column][1:]:
            cell.number_format = "0.00"
    stream = io.BytesIO()
    book.save(stream)
    return packed_alike(stream.getvalue(), _DATE.strftime("%Y-%m-%dT%H:%M:%SZ"))


def _cells(row: BillRow) -> tuple[Any, ...]:
    per_vehicle = ", ".join(
        f"{vehicle} {pieces}" if len(row.pieces_per_vehicle) > 1 else str(pieces)
        for vehicle, pieces in row.pieces_per_vehicle
    )
    return (
        row.family, row.part, row.name, row.maker, row.supplier, row.status,
        "" if row.lead_time_days is None else row.lead_time_days, ", ".join(row.used_by), per_vehicle, row.pieces,
        row.spares, row.bought, row.unit_price, row.one_off_cost, row.cost, row.minimum_order, row.alternates,
    )  # fmt: skip


def _fill(sheet: Any, rows: Sequence[Sequence[Any]]) -> None:
    """Append rows; text stays text, whatever it begins with."""
    for values in rows:
        at = sheet.max_row + 1 if sheet.max_row > 1 or sheet["A1"].value is not None else 1
        for number, value in enumerate(values, start=1):
            cell = sheet.cell(row=at, column=number)
            if isinstance(value, str):
                # Control characters have no place in a workbook; a quote before it keeps a formula text.
                text = "".join(sign for sign in value if sign in "\t\n" or ord(sign) >= 32)
                cell.value = text
                cell.data_type = "s"
                cell.quotePrefix = text.startswith(_FORMULA)
            else:
                cell.value = value
