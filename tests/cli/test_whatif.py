"""Variants from the command line: text for people, tables, JSON, drawing, and how it ends."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any
from xml.etree import ElementTree

import jsonschema
import pytest
from click.testing import Result

from configopt.cli.layout import Page
from configopt.cli.text_whatif import csv_text, write_whatif
from configopt.errors import ExitCode
from configopt.schemas import schema
from configopt.sheet.charts import whatif_chart
from configopt.sweep.comparing import difference

Run = Callable[..., Result]
FILES = ("scenarios/upland-wardens.yaml", "scenarios/upland-wardens.variants.yaml")
FIELD = "vehicles.warden-two-wheeler.cargo_mass"
#: Words of people who optimise for a living.
JARGON = ("dual", "slack", "binary", "infeasible", "optimal", "minimax", "pareto", "objective")


@pytest.fixture
def vehicle(choice: dict[str, Any]) -> dict[str, Any]:
    """What an answer keeps of the invented vehicle."""
    (whole,) = choice["vehicles"]
    kept = (
        "name",
        "final_drive",
        "mass_kg",
        "rolling_loss_wh_per_km",
        "energy_wh_per_km",
        "range_km",
        "cost",
        "currency",
    )
    parts = ("position", "tire", "pressure_kpa", "inner", "rim_lock", "rim_locks", "rim", "spokes", "lacing")
    parts += ("disc_wheel", "hub", "rotor", "caliper", "pad")
    tightest = {key: whole["margins"][1][key] for key in whole["margins"][1] if key != "binding"}
    packages = [{key: package[key] for key in parts} for package in whole["packages"]]
    return {**{key: whole[key] for key in kept}, "packages": packages, "tightest": tightest}


@pytest.fixture
def payload(choice: dict[str, Any], vehicle: dict[str, Any]) -> dict[str, Any]:
    """Invented variants of every kind, free to change."""
    packages = [{**vehicle["packages"][0]}, {**vehicle["packages"][1], "tire": "=cmd", "pressure_kpa": 95.0}]
    other = {**vehicle, "mass_kg": 15.9, "cost": 700.0, "packages": packages}
    blank = {
        "why": "", "grid": None, "values": {}, "reason": None, "findings": [], "aim": None, "vehicles": [],
        "against_as_it_stands": None, "kept": [],
    }  # fmt: skip
    best = {"name": "best as it stands", "aim": 30.5, "regret": 0.0, "meets": True, "gone": [], "misses": []}
    gone = {"name": "baseline", "aim": None, "regret": None, "meets": False, "gone": ["front-tire"], "misses": []}
    miss = {
        "vehicle": vehicle["name"], "limit": "range", "terrain": None, "position": None, "value": 40.0,
        "required": 44.0, "unit": "km", "ratio": 0.909, "met": False,
    }  # fmt: skip
    first = {**blank, "name": "as-it-stands", "status": "optimal", "aim": 30.5, "vehicles": [vehicle]}
    first["kept"] = [best, {**gone, "gone": [], "misses": [miss]}]
    second = {**blank, "name": "wet", "status": "optimal", "aim": 29.9, "vehicles": [other], "why": "=SUM(A1)"}
    second["against_as_it_stands"] = difference(first, second)
    second["kept"] = [{**best, "regret": 0.62}, gone]
    finding = "scenarios/a.variants.yaml:7:3: RANGE error: too much (write less)"
    rows = [
        first,
        second,
        {
            **blank,
            "name": "dry",
            "status": "nothing meets the limits",
            "kept": [{**best, "regret": None, "misses": [miss]}],
        },
        {**blank, "name": "bad", "status": "not valid", "findings": [finding]},
        {**blank, "name": "lost", "status": "failed", "reason": "the process that computed it ended 3 times"},
    ]
    for number, (value, row) in enumerate((("5 kg", first), ("9 kg", second), ("12 kg", rows[2])), start=1):
        against = difference(first, row)
        rows.append(
            {**row, "name": f"load-{number}", "grid": "load", "values": {FIELD: value}, "against_as_it_stands": against}
        )
    change = {"vehicle": vehicle["name"], "position": "rear", "what": "pressure_kpa", "from": 90.0, "to": 95.0}
    ends = ("optimal", "nothing meets the limits", "not valid", "failed", "contradiction", "not computed")
    counts = dict.fromkeys(ends, 0)
    for row in rows:
        counts[row["status"]] += 1
    return {
        "schema": "configopt/whatif/1",
        "scenario": "upland-wardens",
        "title": "What could change",
        "status": "complete",
        "aims": [
            {"name": "mass", "rate": 1.0, "unit": "kg", "place": 1},
            {"name": "rolling_loss", "rate": 0.8, "unit": "Wh/km", "place": 1},
        ],
        "kept": ["best as it stands", "baseline"],
        "counts": counts,
        "variants": rows,
        "least_regret": {
            "status": "proven",
            "text": "proven: no choice in these catalogs does better in its worst variant",
            "worst_regret": 0.31,
            "at_least": 0.31,
            "vehicles": [other],
            "by_variant": [{"name": "as-it-stands", "regret": 0.31}, {"name": "wet", "regret": 0.2}],
            "left_out": ["dry", "bad", "lost"],
            "listed": 12,
        },
        "switches": [
            {
                "grid": "load", "field": FIELD, "unit": "kg", "from": 5.0, "to": 12.0, "exact": False,

                "resolution": 4.0, "gave_up": False, "text": "from 5 kg to 12 kg: no more at resolution 4 kg",
                "switches": [
                    {"at": None, "between": [6.0, 6.04], "before": [vehicle], "after": [other], "parts": [change]},
                    {"at": 11.0, "between": None, "before": [other], "after": [], "parts": []},
                ],
            }
        ],
        "remarks": [],
        "cautions": choice["cautions"],
        "made_with": choice["made_with"],
    }  # fmt: skip


def page_of(payload: dict[str, Any], width: int = 80) -> str:
    sheet = Page(width)
    write_whatif(sheet, payload)
    return str(sheet)


def test_the_invented_variants_keep_to_the_schema(payload: dict[str, Any]) -> None:
    jsonschema.validate(payload, schema("whatif"))
    payload["variants"][1]["aim"] = None
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(payload, schema("whatif"))


@pytest.mark.parametrize(
    "path",
    [("variants", 0, "vehicles", 0, "mass_kg"), ("variants", 0, "kept", 0, "regret"), ("least_regret", "at_least"),
     ("variants", 1, "vehicles", 0, "packages", 0, "tire"), ("switches", 0, "exact"), ("counts", "failed"), ("kept",)],
)  # fmt: skip
def test_a_key_that_is_missing_breaks_the_schema(payload: dict[str, Any], path: tuple[Any, ...]) -> None:
    node = payload
    for step in path[:-1]:
        node = node[step]
    del node[path[-1]]
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(payload, schema("whatif"))


def test_the_text_says_of_each_variant_what_changes_and_what_keeping_costs(payload: dict[str, Any]) -> None:
    text = " ".join(page_of(payload, 100).split())
    for words in (
        "upland-wardens: 7 variants - What could change",
        "nothing meets every limit in 2; 1 not valid; 1 could not be computed",
        "1 Wh/km of rolling loss counts as 0.8 kg of mass",
        "rear tire rear-tire -> =cmd; rear pressure 90 -> 95 kPa",
        "keeping best as it stands: worse by 0.62",
        "keeping baseline: front-tire cannot be bought",
        "keeping best as it stands: misses range (40 km, asked 44 km)",
        "scenarios/a.variants.yaml:7:3: RANGE error: too much (write less)",
        "could not be computed: the process that computed it ended 3 times",
        "worse than the best one's by 0.31 at most, in as-it-stands",
        "between 6 kg and 6.04 kg: rear pressure 90 -> 95 kPa",
        "at 11 kg: above it nothing meets every limit",
        "load-2 (9 kg)",
    ):
        assert words in text, words


@pytest.mark.parametrize("width", [40, 60, 80, 100])
def test_the_text_fits_terminals_of_any_width(payload: dict[str, Any], width: int) -> None:
    lines = page_of(payload, width).splitlines()
    assert max(len(line) for line in lines) <= width


def test_the_text_has_no_words_of_optimisers(payload: dict[str, Any]) -> None:
    text = page_of(payload).lower()
    assert not [word for word in JARGON if re.search(rf"\b{word}", text)]


def test_the_help_has_no_words_of_optimisers(run: Run) -> None:
    text = run("whatif", "--help").stdout.lower()
    assert not [word for word in JARGON if re.search(rf"\b{word}", text)]


def test_the_table_has_a_row_for_every_variant_and_no_formula(payload: dict[str, Any]) -> None:
    rows = list(csv.DictReader(io.StringIO(csv_text(payload))))
    assert [row["variant"] for row in rows] == [row["name"] for row in payload["variants"]]
    assert rows[1]["why"] == "'=SUM(A1)"
    assert rows[1]["rear_tire"] == "'=cmd"
    assert float(rows[1]["mass [kg]"]) == 15.9
    assert rows[6][FIELD] == "9 kg"
    assert float(rows[1]["worse by if kept, best as it stands"]) == 0.62
    assert rows[1]["misses, baseline"] == "front-tire cannot be bought"
    assert rows[3]["findings"].startswith("scenarios/a.variants.yaml:7:3")
    assert rows[2]["mass [kg]"] == ""
    assert not [cell for row in rows for cell in row.values() if cell[:1] in "=+@" and cell]


def test_the_drawing_shows_answers_switches_and_where_nothing_meets_the_limits(payload: dict[str, Any]) -> None:
    drawing = whatif_chart(payload)
    assert drawing is not None
    root = ElementTree.fromstring(drawing)
    ids = {element.get("id") for element in root.iter()}
    assert {"switch-load-1", "switch-load-2"} <= ids
    for words in ("best choice", "the answer changes", "nothing meets every limit", FIELD):
        assert words in drawing
    assert whatif_chart(payload) == drawing
    payload["switches"] = []
    assert whatif_chart(payload) is not None
    payload["variants"] = payload["variants"][:5]
    assert whatif_chart(payload) is None


# The command


@pytest.fixture
def files(project: Path) -> Path:
    """A project folder with a file of variants."""
    (project / FILES[1]).write_text(
        f"title: Few\ngrids:\n  - name: load\n    vary:\n      - field: {FIELD}\n        values: [5 kg, 9 kg]\n"
    )
    return project


@pytest.fixture
def ends(monkeypatch: pytest.MonkeyPatch, payload: dict[str, Any]) -> dict[str, Any]:
    """Put an answer in the computation's place; gives what it was asked."""
    asked: dict[str, Any] = {}

    def answer(scenario: Path, variants: Path, **options: Any) -> Any:
        asked.update(options, scenario=scenario, variants=variants)
        return SimpleNamespace(exit_code=ExitCode.FILE_WRONG, to_json=lambda: payload)

    monkeypatch.setattr("configopt.sweep.whatif.whatif", answer)
    return asked


def test_options_reach_the_computation_and_its_exit_code_comes_back(
    run: Run, files: Path, ends: dict[str, Any], payload: dict[str, Any]
) -> None:
    result = run("whatif", *FILES, "--jobs", "3", "--keep-in", "kept", "--table-only", "-q", "--format", "json")
    assert result.exit_code == 1
    assert json.loads(result.stdout) == payload
    assert ends["jobs"] == 3
    assert ends["keep_in"] == Path("kept")
    assert ends["together"] is False
    assert ends["progress"] is None
    assert ends["resolution"] == 0.01


def test_text_table_and_drawing_are_written(run: Run, files: Path, ends: dict[str, Any]) -> None:
    assert run("whatif", *FILES, "-o", "out.txt", "--plot", "out.svg").exit_code == 1
    assert "least worst regret" in Path("out.txt").read_text()
    assert Path("out.svg").read_text().startswith("<?xml")
    assert run("whatif", *FILES, "--format", "csv", "-o", "out.csv").exit_code == 1
    assert Path("out.csv").read_text().startswith("variant,grid,")


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--jobs", "2", "--cluster", "tcp://127.0.0.1:1"), "give one of them"),
        (("--plot", "out.png"), "drawings are SVG"),
        (("--plot", "a.svg", "-o", "a.svg"), "both name"),
        (("--resolution", "0.9"), "more than half"),
        (("--jobs", "0"), "jobs"),
        (("-o", FILES[1]), "would overwrite an input"),
    ],
)
def test_wrong_usage_is_refused_before_anything_is_computed(
    run: Run, files: Path, ends: dict[str, Any], options: tuple[str, ...], words: str
) -> None:
    result = run("whatif", *FILES, *options)
    assert result.exit_code == 2
    assert words in " ".join(result.stderr.split())
    assert not ends


def test_a_drawing_needs_a_grid_over_one_number(run: Run, files: Path, ends: dict[str, Any]) -> None:
    Path(FILES[1]).write_text("title: Few\nvariants:\n  - name: a\n    withdrawn: [b]\n")
    result = run("whatif", *FILES, "--plot", "a.svg")
    assert result.exit_code == 2
    assert "no grid over one field" in result.stderr


def test_a_file_that_is_wrong_as_a_whole_ends_with_its_findings(run: Run, files: Path) -> None:
    Path(FILES[1]).write_text("title: Few\nvariant: []\n")
    result = run("whatif", *FILES)
    assert result.exit_code == 1
    assert result.stdout == ""
    assert "upland-wardens.variants.yaml:2:1: UNKNOWN-KEY error" in result.stderr


def test_check_reads_variants_beside_their_scenario(run: Run, files: Path) -> None:
    assert run("check").exit_code == 0
    text = Path(FILES[1]).read_text()
    Path(FILES[1]).write_text(text.replace("cargo_mass", "cargo_mas"))
    for arguments in (("check",), ("check", FILES[1]), ("check", "scenarios")):
        result = run(*arguments)
        assert result.exit_code == 1
        assert "upland-wardens.variants.yaml:6:18: UNKNOWN-KEY" in result.stdout
    alone = Path("scenarios/alone.variants.yaml")
    Path(FILES[1]).rename(alone)
    assert run("check", alone).exit_code == 0
