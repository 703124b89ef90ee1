"""Parts and fits: looks into the catalogs."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from click.testing import Result

from configopt.catalog.catalog import Catalog, load_catalog
from configopt.catalog.records import Pad, Rotor
from configopt.cli.part_json import part_json
from configopt.cli.parts import FAMILIES
from configopt.cli.text_fits import grouped
from configopt.schemas import schema

Run = Callable[..., Result]


def test_without_a_family_the_families_are_counted(run: Run, project: Path, catalog: Catalog) -> None:
    lines = run("parts").stdout.splitlines()
    assert lines[0] == "Families of parts"
    assert [line.split() for line in lines[1:]] == [[name, str(len(catalog.family(name)))] for name in FAMILIES]
    payload = json.loads(run("parts", "--format", "json").stdout)
    jsonschema.validate(payload, schema("families"))
    assert {row["family"]: row["count"] for row in payload["families"]}["tires"] == len(catalog.tires)


@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize("width", ["60", "80"])
def test_every_part_of_a_family_is_listed_within_the_width(
    run: Run, project: Path, catalog: Catalog, monkeypatch: pytest.MonkeyPatch, family: str, width: str
) -> None:
    monkeypatch.setenv("COLUMNS", width)
    lines = run("parts", family).stdout.splitlines()
    starts = {line.split()[0].rstrip(":") for line in lines[1:]}
    assert {part.id for part in catalog.family(family)} <= starts
    assert max(map(len, lines)) <= int(width)


@pytest.mark.parametrize("family", FAMILIES)
def test_json_of_a_family_keeps_to_its_schema_and_order(run: Run, project: Path, catalog: Catalog, family: str) -> None:
    payload = json.loads(run("parts", family, "--format", "json").stdout)
    jsonschema.validate(payload, schema("parts"))
    assert [part["id"] for part in payload["parts"]] == [part.id for part in catalog.family(family)]


def pad(**changes: Any) -> Pad:
    fields = {
        "id": "felt",
        "name": "Felt",
        "maker": "Maker",
        "supplier": "Supplier",
        "lead_time": "14 days",
        "prices": [{"quantity": 1, "unit_price": 9.5}],
        "source": "sheet",
        "shape": "kite-38",
        "compound": "resin",
        "friction": "0.40 +- 0.03",
        "area": "4.9 cm2",
        "height": "14 mm",
        "maximum_temperature": "300 °C",
        "mass": "18 g +- 1 g",
    }
    return Pad.model_validate({**fields, **changes})


def test_keys_carry_their_unit_and_figures_their_uncertainty() -> None:
    data = part_json(pad())
    assert data["mass_kg"] == pytest.approx(0.018, rel=1e-12)
    assert data["mass_uncertainty_kg"] == pytest.approx(0.001, rel=1e-12)
    assert data["area_cm2"] == pytest.approx(4.9, rel=1e-12)
    assert data["maximum_temperature_degc"] == pytest.approx(300.0, abs=1e-9)
    assert data["lead_time_days"] == 14.0
    assert (data["friction"], data["friction_uncertainty"]) == (0.40, 0.03)
    assert data["prices"] == [{"quantity": 1, "unit_price": 9.5}]
    assert "mass" not in data


def test_a_temperature_s_uncertainty_is_a_difference() -> None:
    data = part_json(pad(maximum_temperature="300 °C +- 10 °C"))
    assert data["maximum_temperature_uncertainty_degc"] == pytest.approx(10.0, abs=1e-9)


def test_no_part_loses_a_figure_without_its_unit(catalog: Catalog) -> None:
    for family in FAMILIES:
        for part in catalog.family(family):
            json.dumps(part_json(part), allow_nan=False)


def test_the_catalogs_can_be_named(run: Run, project: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(project / "scenarios")
    assert run("parts", "--catalogs", project / "catalogs").exit_code == 0
    result = run("parts")
    assert result.exit_code == 2
    assert "name one with --catalogs FOLDER" in result.stderr


def test_a_wrong_catalog_ends_with_1_and_its_findings(run: Run, project: Path) -> None:
    path = project / "catalogs" / "pads.yaml"
    path.write_text(path.read_text().replace("compound: resin", "compound: raisin", 1))
    result = run("parts", "tires")
    assert (result.exit_code, result.stdout) == (1, "")
    assert result.stderr.startswith("catalogs/pads.yaml:")


LAYER = """\
day: "2026-05-14"
corrections:
  - family: tires
    part: heron-moor-80-100-21
    figure: rolling_coefficient
    value: "0.0203 +- 0.0009"
    instead_of: "0.0188 +- 0.0012"
  - family: tires
    part: heron-moor-80-100-21
    figure: carcass_pressure
    value: "17.5 kPa +- 0.8 kPa"
  - family: surfaces
    part: dry-sand
    figure: friction
    value: "0.5 +- 0.02"
"""


def test_parts_are_shown_as_corrected_with_what_the_catalog_says_beside(run: Run, project: Path) -> None:
    (project / "layer.yaml").write_text(LAYER)
    result = run("parts", "tires", "--corrections", "layer.yaml")
    assert result.exit_code == 0
    # The catalog's figure is another one than when this was learned.
    assert "CORRECTION-STALE" in result.stderr
    table, _, told = result.stdout.partition("2 figures corrected, by layer.yaml")
    row = next(line for line in table.splitlines() if line.split()[0] == "heron-moor-80-100-21")
    assert " 0.0203 " in row
    assert " ".join(told.split()) == (
        "id figure catalog corrected heron-moor-80-100-21 rolling 0.0196 +- 0.0012 0.0203 +- 0.0009 coefficient "
        "heron-moor-80-100-21 carcass pressure - 17.5 kPa +- 0.8 kPa"
    )
    payload = json.loads(run("parts", "surfaces", "--corrections", "layer.yaml", "--format", "json").stdout)
    jsonschema.validate(payload, schema("parts"))
    assert [(row["part"], row["figure"], row["corrected"]) for row in payload["corrected"]] == [
        ("dry-sand", "friction", "0.5 +- 0.02")
    ]
    sand = next(part for part in payload["parts"] if part["id"] == "dry-sand")
    assert sand["friction"]["medium"] == 0.5
    counted = dict(line.split(maxsplit=1) for line in run("parts", "--corrections", "layer.yaml").stdout.splitlines())
    assert counted["tires"].endswith(" 2 figures corrected")
    assert counted["hubs"].endswith(" 0 figures corrected")


def test_parts_refuse_wrong_corrections(run: Run, project: Path) -> None:
    (project / "layer.yaml").write_text(LAYER.replace("dry-sand", "dry-send"))
    result = run("parts", "tires", "--corrections", "layer.yaml")
    assert (result.exit_code, result.stdout) == (1, "")
    assert "dry-sand" in result.stderr


def test_fits_counts_and_names_what_fits(run: Run, project: Path, catalog: Catalog) -> None:
    payload = json.loads(run("fits", "heron-moor-80-100-21", "--format", "json").stdout)
    jsonschema.validate(payload, schema("fits"))
    groups = {group["family"]: group for group in payload["partners"]}
    assert set(groups) == {"inners", "rim-locks", "rims", "disc-wheels"}
    assert "harrow-21-160-36" in groups["rims"]["fit"]
    reasons = {row["id"]: row["reason"] for row in groups["rims"]["rejected"]}
    assert reasons["harrow-19-140-36"] == "bead seat 483 mm, tire needs 533 mm"
    assert groups["disc-wheels"]["fit"] == []
    for family, group in groups.items():
        assert len(group["fit"]) + len(group["rejected"]) == len(catalog.family(family))


@pytest.mark.parametrize(
    ("family", "partners"),
    [
        ("rims", {"tires", "inners", "rim-locks", "spokes", "hubs"}),
        ("hubs", {"rims", "spokes", "disc-wheels", "rotors"}),
        ("rotors", {"hubs", "calipers", "pads"}),
        ("calipers", {"rotors", "pads"}),
        ("pads", {"rotors", "calipers"}),
        ("disc-wheels", {"tires", "inners", "hubs"}),
        ("spokes", {"rims", "hubs"}),
        ("inners", {"tires", "rims", "disc-wheels"}),
        ("rim-locks", {"tires", "rims"}),
    ],
)
def test_each_family_is_held_against_those_it_meets(
    run: Run, project: Path, catalog: Catalog, family: str, partners: set[str]
) -> None:
    part = catalog.family(family)[0].id
    payload = json.loads(run("fits", part, "--format", "json").stdout)
    assert {group["family"] for group in payload["partners"]} == partners


PAIRS = [("tires", "rims"), ("rims", "hubs"), ("hubs", "rotors"), ("rotors", "pads")]


@pytest.mark.parametrize(("one", "other"), PAIRS)
def test_what_fits_is_the_same_seen_from_both_sides(
    run: Run, project: Path, catalog: Catalog, one: str, other: str
) -> None:

    def fit(part: str, family: str) -> set[str]:
        payload = json.loads(run("fits", part, "--format", "json").stdout)
        return next(set(group["fit"]) for group in payload["partners"] if group["family"] == family)

    part = next(part.id for part in catalog.family(one) if part.status == "active" and fit(part.id, other))
    for partner in sorted(fit(part, other))[:2]:
        assert part in fit(partner, one)


def test_with_a_scenario_the_answer_says_where_the_part_can_be_used(run: Run, project: Path) -> None:
    result = run("fits", "heron-moor-80-100-21", "scenarios/upland-wardens.yaml")
    assert "  - warden-two-wheeler, front: can be used\n" in result.stdout
    assert "  - warden-two-wheeler, rear: no: tire is made for the front only\n" in result.stdout


def test_a_part_of_another_vehicle_is_said_not_to_fit(run: Run, project: Path, catalog: Catalog) -> None:
    wheel = catalog.disc_wheels[0].id
    payload = json.loads(run("fits", wheel, "scenarios/upland-wardens.yaml", "--format", "json").stdout)
    assert [place["fits"] for place in payload["places"]] == [False, False]
    assert all(place["reason"] for place in payload["places"])


def test_the_reasons_are_grouped_unless_all_are_wanted(run: Run, project: Path, catalog: Catalog) -> None:
    short = run("fits", "heron-moor-80-100-21").stdout
    long = run("fits", "heron-moor-80-100-21", "--all").stdout
    rejected = [part.id for part in catalog.disc_wheels]
    assert sum(name in short for name in rejected) == 1
    assert all(name in long for name in rejected)


def test_reasons_that_differ_in_figures_only_are_one_kind() -> None:
    rows = [
        {"id": "a", "reason": "axle 15 mm, the vehicle has 20 mm"},
        {"id": "b", "reason": "axle 25 mm, the vehicle has 20 mm"},
        {"id": "c", "reason": "hub is made for the rear"},
    ]
    assert [(count, row["id"]) for count, row in grouped(rows)] == [(2, "a"), (1, "c")]


def test_a_withdrawn_part_fits_nothing_and_says_why(run: Run, project: Path) -> None:
    path = project / "catalogs" / "rotors.yaml"
    path.write_text(path.read_text().replace("    diameter: 180 mm", "    status: withdrawn\n    diameter: 180 mm", 1))
    rotor = next(rotor for rotor in load_catalog(project / "catalogs").rotors if rotor.status == "withdrawn")
    assert isinstance(rotor, Rotor)
    text = run("fits", rotor.id, "scenarios/upland-wardens.yaml").stdout
    assert "Its status is withdrawn: no package may hold it." in text
    assert "front: no: it is withdrawn" in text
    hub = next(hub.id for hub in load_catalog(project / "catalogs").hubs if hub.rotor_pattern == rotor.pattern)
    assert rotor.id in run("fits", hub, "--all").stdout
