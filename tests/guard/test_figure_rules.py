"""Units mistaken, figures out of range, figures unlike their peers."""

from __future__ import annotations

import math
import re
from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import Any, get_args

import numpy as np
import pytest
from laid import ROOT, SHIPPED, lay

from configopt.catalog.catalog import Catalog, load_catalog, read_catalog
from configopt.catalog.records import FAMILIES
from configopt.errors import Finding
from configopt.guard import figure_rules
from configopt.guard.figure_rules import (
    LEAST_PEERS,
    LEAST_SPREAD,
    OUTLIER,
    Judged,
    Yardstick,
    population_of,
    written_unit,
)
from configopt.guard.rules import RULES
from configopt.guard.shelf import Shelf
from configopt.guard.usual import kind, usual
from configopt.guard.waivers import waived
from configopt.quantities import Figure, Quantity, from_unit, to_unit


@pytest.fixture(scope="module")
def catalog() -> Catalog:
    """The shipped catalogs."""
    return load_catalog(SHIPPED)


@pytest.fixture(scope="module")
def yardstick(catalog: Catalog) -> Yardstick:
    """What is usual among them."""
    return Yardstick(catalog)


#: Meant, typed, figures, how often the unit that was meant is named (alone or as one of two), how often the figure
#: stays plausible.  Regression values: measured on the shipped catalogs.
SLIPS = [
    ("pressure", "psi", "kPa", 589, 524, 65),
    ("pressure", "bar", "kPa", 589, 589, 0),
    ("pressure", "kPa", "psi", 589, 498, 91),
    ("pressure", "kPa", "bar", 589, 589, 0),
    ("mass", "g", "kg", 402, 402, 0),
    ("mass", "kg", "g", 402, 402, 0),
    ("mass", "lb", "kg", 402, 251, 143),
    ("mass", "kg", "lb", 402, 257, 134),
    ("length", "in", "mm", 1246, 1246, 0),
    ("length", "mm", "in", 1246, 1246, 0),
    ("length", "cm", "mm", 1246, 1234, 12),
    ("distance", "mi", "km", 122, 0, 122),
    ("speed", "mph", "km/h", 156, 0, 156),
    ("force", "lbf", "N", 70, 41, 29),
    ("torque", "lbf ft", "N m", 97, 0, 97),
]


def _judged(yardstick: Yardstick, family: str, part: Any, name: str, value: float, text: str) -> list[Judged]:
    changed = part.model_copy(update={name: Figure(value)})
    return [one for one in yardstick.judge(family, changed, {(name,): text}.get) if one.path == (name,)]


@pytest.mark.parametrize(("what", "meant", "typed", "count", "named", "plausible"), SLIPS, ids=lambda value: str(value))
def test_a_number_typed_with_another_unit_is_recognised_unless_it_stays_plausible(
    catalog: Catalog, yardstick: Yardstick, what: str, meant: str, typed: str, count: int, named: int, plausible: int
) -> None:
    dimension = "length" if what == "distance" else what
    found: Counter[str] = Counter()
    for family, rows in usual().items():
        for row in rows:
            if row.dimension != dimension or len(row.path) != 1:
                continue
            name = str(row.path[0])
            if dimension == "length" and (name in ("tread_life", "life")) != (what == "distance"):
                continue
            for part in catalog.family(family):
                for path, figure in row.figures(part):
                    if path != row.path:
                        continue  # a load index has no unit
                    number = to_unit(figure, meant, dimension)
                    value = from_unit(number, typed, dimension)
                    wrong = _judged(yardstick, family, part, name, value, f"{number:.6g} {typed}")
                    if not wrong:
                        found["plausible"] += 1
                    elif meant in wrong[0].units:
                        found["named"] += 1
                    else:
                        # What is not mended by the unit that was meant is not blamed on another one.
                        assert not wrong[0].units, (part.id, name, wrong[0].units)
                        found["odd"] += 1
    assert found.total() == count
    assert found["named"] >= named
    assert found["plausible"] <= plausible


def test_every_shipped_figure_is_usual_in_its_own_unit(catalog: Catalog, yardstick: Yardstick) -> None:
    for family, rows in usual().items():
        for part in catalog.family(family):
            for row in rows:
                if row.range(part) is None:
                    assert kind(family, part) == "bicycle" or row.path == ("total_coefficient",)
            assert not [one for one in yardstick.judge(family, part, {}.get) if one.out_of_range]


def test_every_figure_with_a_unit_stands_in_the_table() -> None:
    listed = {(family, str(row.path[0])) for family, rows in usual().items() for row in rows}
    missing = set()
    for family, record in FAMILIES.items():
        for name, field in record.model_fields.items():
            notes = [*field.metadata, *(note for kind in get_args(field.annotation) for note in get_args(kind))]
            units = [note.dimension for note in notes if isinstance(note, Quantity)]
            if units and units[0] != "price" and (family, name) not in listed:
                missing.add((family, name))
    # An offset may be nothing, or negative: no unit can be told from it.  The schema itself keeps the ratios narrow.
    assert missing == {
        ("disc-wheels", "offset"),
        ("tires", "pressure_exponent"),
        ("surfaces", "texture_factor"),
        ("surfaces", "load_exponent"),
        ("surfaces", "pressure_exponent"),
    }


@pytest.mark.parametrize(
    ("of", "keys", "name", "rule", "words"),
    [
        ("pads", {"friction": 0.04}, "friction", "UNUSUAL", "friction 0.04 is not usual (here 0.2 to 0.7)"),
        ("pads", {"friction": 2.5}, "friction", "UNUSUAL", "friction 2.5 is not usual (here 0.2 to 0.7)"),
        (
            "tires:heron-moor-80-100-21",
            {"bead_fit_torque": "9.5 N m"},
            "bead_fit_torque",
            "UNUSUAL",
            "bead fit torque 9.5 N m is not usual (here 25 N m to 600 N m)",
        ),
        ("tires", {"rolling_speed": "30 m/s"}, "rolling_speed", "UNIT-SLIP", "30 km/h or 30 mph would be"),
        (
            "tires",
            {"land_fraction": 0.92, "tread": "open"},
            "land_fraction",
            "UNUSUAL",
            "land fraction 0.92 is not usual (here 0.15 to 0.6 for open tread)",
        ),
        ("inners", {"rolling_factor": 1.9}, "rolling_factor", "UNUSUAL", "(here 0.85 to 1.75)"),
        ("tires", {"lead_time": "900 days"}, "lead_time", "UNIT-SLIP", "(here 1 day to 800 days)"),
    ],
)
def test_figures_that_no_such_part_has_are_found_where_they_stand(
    tmp_path: Path, of: str, keys: dict[str, Any], name: str, rule: str, words: str
) -> None:
    laid = lay(tmp_path, of, keys, few=True)
    here = (str(laid.path), laid.lines[name])
    found = [finding for finding in laid.findings() if (finding.path, finding.line) == here]
    assert [finding.rule for finding in found] == [rule]
    assert words in found[0].message


def test_prices_carry_the_currency_of_the_catalog(tmp_path: Path) -> None:
    keys = {"prices": [{"quantity": 1, "unit_price": 6100}]}
    far = lay(tmp_path, "hubs", keys).findings()
    assert [finding.rule for finding in far] == ["UNUSUAL"]
    assert re.match(
        r"unit price 6100\.00 EUR is not usual \(here [\d.]+ EUR to [\d.]+ EUR for its mass\)", far[0].message
    )
    unlike = lay(tmp_path, "tires", {"prices": [{"quantity": 1, "unit_price": 520}]}).here("OUTLIER-PRICE")
    assert re.match(
        r"unit price 520\.00 EUR is not .*\(here [\d.]+ EUR to [\d.]+ EUR for its mass\)", unlike[0].message
    )


@pytest.mark.parametrize(
    ("text", "dimension", "unit"),
    [
        ("412 g +- 5 g", "mass", "g"),
        ("1.05 kg to 1.3 kg", "mass", "kg"),
        ("500 to 620 g", "mass", "g"),
        ("-12 mm", "length", "mm"),
        ("1e2 kPa", "pressure", "kPa"),
        ("20 degC", "temperature", "°C"),
        ("46.8 Nm", "torque", "N m"),
        (0.02, "ratio", ""),
        ("2 %", "ratio", "%"),
        ("42M", "mass", None),
        (None, "mass", None),
    ],
)
def test_the_unit_of_a_text_is_that_of_its_figure(text: object, dimension: str, unit: str | None) -> None:
    assert written_unit(text, dimension) == unit


SLIPPED = [
    ("tires", {"rated_pressure": "33 kPa"}, "rated_pressure", "33 psi would be: was psi meant?"),
    ("tires", {"mass": "2580 kg"}, "mass", "2580 g would be: was g meant?"),
    ("tires", {"mass": "5.69 kg"}, "mass", "5.69 lb would be: was lb meant?"),
    ("tires", {"lug_depth": "0.49 mm"}, "lug_depth", "0.49 in or 0.49 cm would be: was in or cm meant?"),
    ("tires", {"rolling_coefficient": "0.0209 %"}, "rolling_coefficient", "was a plain number meant?"),
    ("rims", {"effective_diameter": "20.35 mm"}, "effective_diameter", "20.35 in would be: was in meant?"),
    ("rotors", {"mass": "0.18 g"}, "mass", "0.18 kg would be: was kg meant?"),
    ("pads", {"maximum_temperature": "300 K"}, "maximum_temperature", "300 °C would be"),
    ("calipers", {"lead_time": "20 h"}, "lead_time", "20 days would be"),
]


@pytest.mark.parametrize(("family", "keys", "name", "words"), SLIPPED)
def test_a_slip_is_the_only_finding_of_its_entry_and_says_which_unit_was_meant(
    tmp_path: Path, family: str, keys: dict[str, Any], name: str, words: str
) -> None:
    laid = lay(tmp_path, family, keys)
    found = laid.findings()
    assert [finding.rule for finding in found] == ["UNIT-SLIP"]
    assert (found[0].severity, found[0].line) == ("error", laid.lines[name])
    assert words in found[0].message


def test_the_readme_shows_a_slip_as_it_is_told(tmp_path: Path) -> None:
    finding = lay(tmp_path, "tires", {"rated_pressure": "33 kPa"}).findings()[0]
    assert f"UNIT-SLIP error: {finding.message}\n" in (ROOT / "README.md").read_text()


def test_a_waived_slip_leaves_the_entry_to_the_other_rules(tmp_path: Path) -> None:
    waiver = {"rule": "UNIT-SLIP", "reason": "it really is that small"}
    keys = {"effective_diameter": "20.35 mm", "waivers": [waiver]}
    rules = {finding.rule for finding in lay(tmp_path, "rims", keys).findings()}
    assert "UNIT-SLIP" not in rules
    assert "RIM-SEAT" in rules


def test_of_a_figure_that_cannot_be_nobody_hears_that_it_is_unusual_too(tmp_path: Path) -> None:
    waiver = {"rule": "SIZE-WIDTH", "reason": "measured twice on the narrowest rim"}
    for keys, rules in (({}, ["SIZE-WIDTH"]), ({"waivers": [waiver]}, ["UNUSUAL"])):
        laid = lay(tmp_path, "tires", {"width": "52 mm", **keys})
        assert [finding.rule for finding in laid.findings() if finding.line == laid.lines["width"]] == rules


def _line_of_tires(catalog: Catalog, factors: list[float]) -> Catalog:
    first = catalog.tires[0]
    changed = [
        first.model_copy(update={"id": f"tire-{i}", "mass": Figure(first.mass * factor)})
        for i, factor in enumerate(factors)
    ]
    return Catalog(catalog.folder, "EUR", tires=tuple(changed))


def test_peers_that_are_all_alike_leave_room_for_a_part_that_differs_a_little(catalog: Catalog) -> None:
    edge = math.exp(OUTLIER * LEAST_SPREAD)
    for factor, wrong in ((0.99 * edge, False), (1.01 * edge, True)):
        line = _line_of_tires(catalog, [1.0] * 9 + [factor])
        found = [one for one in Yardstick(line).judge("tires", line.tires[-1], {}.get) if one.path == ("mass",)]
        assert bool(found) is wrong


def test_fewer_than_so_many_parts_are_no_population(catalog: Catalog) -> None:
    for count, known in ((LEAST_PEERS - 1, False), (LEAST_PEERS, True)):
        line = _line_of_tires(catalog, [1.0] * count)
        row = next(row for row in usual()["tires"] if row.path == ("mass",))
        assert (Yardstick(line).population(row, line.tires[0]) is not None) is known


def test_the_median_of_peers_does_not_move_with_one_of_them(catalog: Catalog) -> None:
    row = next(row for row in usual()["tires"] if row.path == ("mass",))
    plain, odd = (
        Yardstick(_line_of_tires(catalog, [*(1 + 0.01 * i for i in range(10)), last])).population(row, catalog.tires[0])
        for last in (1.05, 1.5)
    )
    assert plain is not None
    assert odd is not None
    assert abs(plain.middle - odd.middle) < 0.011


@pytest.mark.parametrize("doubtful", [1, 2, 3])
def test_figures_in_doubt_may_be_anything_without_making_a_peer_unlike_the_rest(doubtful: int) -> None:
    rng = np.random.default_rng(doubtful)
    for _ in range(300):
        known = np.sort(rng.normal(0, rng.choice([0.05, 0.3, 2.0]), rng.integers(LEAST_PEERS, 20)))
        wide = population_of(known, doubtful, LEAST_SPREAD)
        assert wide is not None
        for far in (0.1, 1.0, 10.0, 1000.0):
            plain = population_of(np.sort([*known, *rng.normal(0, far, doubtful)]), 0, LEAST_SPREAD)
            assert plain is not None
            assert wide.low - OUTLIER * wide.spread <= plain.low - OUTLIER * plain.spread + 1e-12
            assert wide.high + OUTLIER * wide.spread >= plain.high + OUTLIER * plain.spread - 1e-12


def test_with_half_as_many_figures_in_doubt_as_are_known_nothing_is_usual() -> None:
    known = np.linspace(0.0, 1.0, 10)
    assert population_of(known, 4, LEAST_SPREAD) is not None
    assert population_of(known, 5, LEAST_SPREAD) is None


@pytest.mark.parametrize("mass", ["0.62 g", "-0.62 kg", "6.2 kg"])
def test_one_wrong_mass_is_found_and_nothing_about_the_other_hubs(tmp_path: Path, mass: str) -> None:
    laid = lay(tmp_path, "hubs", {"mass": mass})
    assert [(Path(found.path).name, found.line) for found in laid.findings()] == [("hubs.yaml", laid.lines["mass"])]


@pytest.mark.parametrize("factor", [0.001, 0.1, 10])
def test_whichever_mass_is_wrong_only_its_own_entry_is_told_so(factor: float) -> None:
    reading = read_catalog(SHIPPED)
    for family in ("hubs", "rotors", "disc-wheels"):
        document, indices = reading.documents[family]
        for place, part in list(enumerate(reading.catalog.family(family)))[::5]:
            changed = part.model_copy(update={"mass": Figure(part.mass * factor)})
            catalog = reading.catalog.with_parts({family: {place: changed}})
            shelf = Shelf(replace(reading, catalog=catalog))
            found: list[Finding] = waived(shelf, list(figure_rules.look(shelf)), RULES)
            # The other rules have not looked here, so only waivers of these are judged.
            judged = [
                finding
                for finding in found
                if finding.rule != "UNUSED-WAIVER" or finding.message.startswith(("OUTLIER", "UNUSUAL", "UNIT"))
            ]
            first, last = (document.position(("parts", indices[place], key))[0] for key in ("id", "source"))
            assert all(found.path == document.path and first <= found.line <= last for found in judged), part.id
            # Fewer hubs with studs than make a population have no peers that could tell what is only ten times as much.
            assert judged or (family == "hubs" and part.kind == "studded" and factor != 0.001), part.id


def test_a_waiver_of_a_rule_of_peers_is_judged_once_the_family_is_sound(tmp_path: Path) -> None:
    needless = {"rule": "OUTLIER-PRICE", "reason": "dear as it is, it is right"}
    assert [found.rule for found in lay(tmp_path, "hubs", {"waivers": [needless]}).findings()] == ["UNUSED-WAIVER"]
    slipped = lay(tmp_path, "hubs", {"waivers": [needless], "mass": "0.62 g"})
    assert [found.rule for found in slipped.findings()] == ["UNIT-SLIP"]
    other = {"rule": "STALE-SOURCE", "reason": "the sheet has not changed"}
    both = lay(tmp_path, "hubs", {"waivers": [other], "mass": "0.62 g"})
    assert {found.rule for found in both.findings()} == {"UNIT-SLIP", "UNUSED-WAIVER"}
