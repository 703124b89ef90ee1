"""What vehicles that are chosen together share, and what that costs each of them."""

from __future__ import annotations

from configopt.sheet.figures import NOT_HERE
from configopt.sheet.given import Given
from configopt.sheet.tables import Cell, Row, Table, columns


def family_tables(given: Given) -> tuple[Table, ...]:
    """Different parts and cost together and apart, and what sharing changes for each vehicle; none for one vehicle."""
    family = given.choice.get("family")
    if family is None:
        return ()
    return _parts(given), _vehicles(given)


def _parts(given: Given) -> Table:
    family, figure = given.choice["family"], given.results.figure
    together, apart = family["together"]["different_parts"], (family["apart"] or {}).get("different_parts")
    rows = [
        Row(
            (
                name,
                str(together.get(name, 0)),
                NOT_HERE if apart is None else str(apart.get(name, 0)),
                str(family["at_most"].get(name, "open")),
                str(family["spares"].get(name, 0)),
            )
        )
        for name in sorted({*together, *(apart or {})})
    ]
    cost = figure("choice/family/together/cost", family["currency"])
    alone: Cell = NOT_HERE if apart is None else figure("choice/family/apart/cost", family["currency"])
    rows.append(Row(("cost of all parts and drives", cost, alone, "", ""), marked=True))
    heads = columns("different parts", "#together", "#each for itself", "#at most", "#spares of each")
    note = f"{NOT_HERE}: stopped before it was known." if apart is None else ""
    return Table("What the vehicles share", heads, tuple(rows), note)


def _vehicles(given: Given) -> Table:
    rows = []
    for at, one in enumerate(given.choice["family"]["vehicles"]):
        path = f"choice/family/vehicles/{at}"
        changes: list[Cell] = [
            NOT_HERE if one[key] is None else given.results.figure(f"{path}/{key}", unit, sign=True)
            for key, unit in (("mass_kg", "kg"), ("rolling_loss_wh_per_km", "Wh/km"), ("energy_wh_per_km", "Wh/km"))
        ]
        same = {True: "the same", False: "another", None: "not known"}[one["same_as_alone"]]
        rows.append(Row((one["name"], str(one["quantity"]), same, *changes)))
    heads = columns("vehicle", "#built", "its own best choice", "#mass", "#rolling loss", "#energy")
    return Table("What sharing changes against each vehicle's own best choice", heads, tuple(rows))
