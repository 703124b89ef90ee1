"""The decision sheet from the command line: the same figures as choose, and nothing half written."""

from __future__ import annotations

import importlib.util
import json
import re
import shutil
import sys
import time
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import html5lib
import jsonschema
import openpyxl
import pytest
from click.testing import CliRunner, Result

from configopt.appraisal.appraise import appraise
from configopt.cli import main
from configopt.decisions.choice_file import load_choice, records_for
from configopt.scenario.case import load
from configopt.schemas import schema

# The small project is the one of the sweeps.
sys.path.insert(0, str(Path(__file__).parents[1] / "sweep"))
from small_project import small_project

Run = Callable[..., Result]
ROOT = Path(__file__).parents[2]
SCENARIO = "scenarios/upland-wardens.yaml"
#: The one final drive of the small project, and another beside it.
DRIVE = "          mass: 1.42 kg\n          cost: 58\n"
ANOTHER_DRIVE = "        - id: drive-8-0\n          ratio: 8.0\n          mass: 1.40 kg\n          cost: 50\n"
BARE = ("--no-tradeoff", "--no-shortlist", "-q")


@pytest.fixture(scope="session")
def decided(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A project folder so small that a choice takes a moment, with a recorded answer of choose in it."""
    folder = small_project(tmp_path_factory.mktemp("decided"))
    output = str(folder / "choice.json")
    result = CliRunner().invoke(main, ["choose", str(folder / SCENARIO), "--format", "json", "-o", output, "-q"])
    assert result.exit_code == 0, result.output
    return folder


@pytest.fixture
def folder(decided: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of it to work in."""
    shutil.copytree(decided, tmp_path / "project")
    monkeypatch.chdir(tmp_path / "project")
    return tmp_path / "project"


@pytest.fixture(autouse=True)
def _without_charts(monkeypatch: pytest.MonkeyPatch) -> None:
    """Charts have tests of their own and take time; the sheet does without them as if matplotlib were not there."""
    real = importlib.util.find_spec
    monkeypatch.setattr("configopt.sheet.page.find_spec", lambda name: None if name == "matplotlib" else real(name))


@pytest.fixture
def chosen(folder: Path) -> dict[str, Any]:
    """The recorded answer."""
    found: dict[str, Any] = json.loads((folder / "choice.json").read_text())
    return found


def shown(html: str) -> dict[str, float]:
    """Every figure of the page by the path of its result."""
    page = html5lib.HTMLParser(strict=True).parse(html)
    return {
        mark.get("data-of"): float(mark.get("value") or mark.get("data-value"))
        for mark in page.iter()
        if mark.get("data-of")
    }


def at(document: Any, path: str) -> Any:
    for step in path.split("/")[1:]:
        document = document[int(step)] if isinstance(document, list) else document[step]
    return document


def test_the_figures_of_the_sheet_are_those_of_choose(chosen: dict[str, Any], run: Run, folder: Path) -> None:
    result = run("sheet", SCENARIO, "-o", "sheet.html", *BARE)
    assert result.exit_code == 0, result.output
    found = {path: value for path, value in shown((folder / "sheet.html").read_text()).items() if path[:7] == "choice/"}
    assert len(found) > 150
    for path, value in found.items():
        assert value == pytest.approx(at(chosen, path), rel=1e-12), path


def test_the_sheet_of_a_recorded_choice_is_made_without_choosing(
    chosen: dict[str, Any], run: Run, folder: Path
) -> None:
    files = ("--chassis", "chassis.json", "--bill", "bill.xlsx", "--dxf", "wheels.dxf")
    result = run("sheet", SCENARIO, "--packages", "choice.json", "-o", "sheet.html", *files)
    assert result.exit_code == 0, result.output
    assert result.stderr.splitlines() == [
        "laying out the sheet", "written: sheet.html", "written: chassis.json", "written: bill.xlsx",
        "written: wheels.dxf",
    ]  # fmt: skip
    html = (folder / "sheet.html").read_text()
    assert PROVEN in html
    assert "No trade-off: not asked for (--tradeoff adds it)." in html
    for path, value in shown(html).items():
        if path.startswith("choice/"):
            assert value == pytest.approx(at(chosen, path), rel=1e-9), path
    chassis = json.loads((folder / "chassis.json").read_text())
    jsonschema.validate(chassis, schema("chassis"))
    assert chassis["vehicles"][0]["trail_mm"] == chosen["vehicles"][0]["trail_mm"]
    assert (folder / "bill.xlsx").read_bytes()[:2] == b"PK"
    assert "AcDbCircle" in (folder / "wheels.dxf").read_text()
    # The packages printed on the sheet can be appraised again.
    (text,) = re.findall(r"<pre>(scenario: .*?)</pre>", html, re.DOTALL)
    (folder / "again.yaml").write_text(text)
    case = load(folder / SCENARIO)
    (record,) = records_for(load_choice(folder / "again.yaml"), case)
    again = appraise(case, [record], explained=False).to_json()["vehicles"][0]
    for key in ("mass_kg", "energy_wh_per_km", "cost"):
        assert again[key] == pytest.approx(chosen["vehicles"][0][key], rel=1e-12)


def made_before(chosen: dict[str, Any], kind: str) -> dict[str, Any]:
    """A trade-off or a short list that holds the recorded answer and nothing else."""
    vehicle = chosen["vehicles"][0]
    common = {"scenario": "upland-wardens", "status": "complete", "remarks": [], "made_with": chosen["made_with"]}
    if kind == "tradeoff":
        aims = [{"name": "mass", "unit": "kg", "rate": 1.0}, {"name": "rolling_loss", "unit": "Wh/km", "rate": 0.8}]
        values = {"mass": vehicle["mass_kg"], "rolling_loss": vehicle["rolling_loss_wh_per_km"]}
        point = {"number": 1, "values": values, "best_by_rates": True, "vehicles": [vehicle]}
        return {"schema": "configopt/tradeoff/1", **common, "aims": aims, "points": [point]}
    ridden = {"front": True, "rear": False}
    candidate = {"number": 1, "loss_percent": 0.0, "labels": ["cheapest"], "ridden": ridden, "vehicles": [vehicle]}
    candidate["aim"] = chosen["aim"]["value"]
    return {"schema": "configopt/shortlist/1", **common, "within_percent": 3.0, "candidates": [candidate], "plan": []}


def test_results_made_before_stand_on_the_sheet(chosen: dict[str, Any], run: Run, folder: Path) -> None:
    for kind in ("tradeoff", "shortlist"):
        (folder / f"{kind}.json").write_text(json.dumps(made_before(chosen, kind)))
    given = ("--result", "tradeoff.json", "--result", "shortlist.json")
    result = run("sheet", SCENARIO, "--packages", "choice.json", *given, "-q", "-o", "s.html")
    assert result.exit_code == 0, result.output
    html = (folder / "s.html").read_text()
    for path in ("tradeoff/points/0/values/mass", "shortlist/candidates/0/vehicles/0/mass_kg"):
        assert shown(html)[path] == chosen["vehicles"][0]["mass_kg"]
    assert "No reasons: not asked for" in html
    assert "No trade-off: not asked for" not in html
    # A second one of the kind has no place.
    again = run("sheet", SCENARIO, "--packages", "choice.json", *given, "--result", "tradeoff.json")
    assert again.exit_code == 2
    assert "is a second trade-off" in again.stderr


def test_results_of_something_else_are_refused(chosen: dict[str, Any], run: Run, folder: Path) -> None:
    made = {"schema": "configopt/tradeoff/1", "scenario": "upland-wardens", "made_with": {"catalogs_sha256": "0" * 64}}
    for change, words in (
        ({}, "was made with other catalogs"),
        ({"scenario": "elsewhere"}, "is of the scenario elsewhere"),
        ({"schema": "configopt/fits/1"}, "holds none of these: trade-off, short list, reasons"),
    ):
        (folder / "other.json").write_text(json.dumps({**made, **change}))
        result = run("sheet", SCENARIO, "--packages", "choice.json", "--result", "other.json", "-o", "s.html")
        assert result.exit_code == 2
        assert words in result.stderr
    assert not (folder / "s.html").exists()


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("-o", SCENARIO), "would overwrite an input"),
        (("-o", "s.pdf"), "the sheet is HTML; name a file that ends in .html"),
        (("-o", "nowhere/s.html"), "there is no folder nowhere"),
        (("--bill", "bill.csv"), "name a file that ends in .xlsx"),
        (("--chassis", "c.txt"), "name a file that ends in .json"),
        (("--dxf", "c.svg"), "name a file that ends in .dxf"),
        (("-o", "s.json", "--chassis", "s.json"), "-o and --chassis both name s.json"),
    ],
)
def test_wrong_usage_is_said_before_any_search(
    folder: Path, run: Run, options: tuple[str, ...], words: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("configopt.sheet.making.choose", _never)
    result = run("sheet", SCENARIO, *options)
    assert result.exit_code == 2
    assert words in result.stderr


def _never(*arguments: Any, **named: Any) -> Any:
    raise AssertionError("nothing should be searched")


@pytest.mark.parametrize(
    ("module", "option", "words"),
    [
        ("configopt.sheet.page", (), "configopt[pages]"),
        ("configopt.exchange.xlsx_door", ("--bill", "b.xlsx"), "configopt[xlsx]"),
        ("configopt.sheet.envelope", ("--dxf", "d.dxf"), "configopt[dxf]"),
    ],
)
def test_a_missing_extra_is_named_before_any_search(
    folder: Path, run: Run, monkeypatch: pytest.MonkeyPatch, module: str, option: tuple[str, ...], words: str
) -> None:
    monkeypatch.setattr(f"{module}.find_spec", lambda name: None)
    monkeypatch.setattr("configopt.sheet.making.choose", _never)
    result = run("sheet", SCENARIO, "-o", "s.html", *option)
    assert result.exit_code == 2
    assert words in result.stderr


def test_where_nothing_meets_the_limits_there_is_no_sheet(folder: Path, run: Run) -> None:
    scenario = folder / SCENARIO
    scenario.write_text(scenario.read_text().replace("at_least: 41 km", "at_least: 400 km"))
    result = run("sheet", SCENARIO, "-o", "s.html", "-q")
    assert result.exit_code == 3
    assert "nothing in these catalogs meets every limit: there is no decision for a sheet" in result.stderr
    assert not (folder / "s.html").exists()


def test_a_search_that_is_stopped_leaves_the_rest_out_and_says_so(
    folder: Path, chosen: dict[str, Any], run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    stopped = SimpleNamespace(to_json=lambda: {**made_before(chosen, "tradeoff"), "status": "partial"})
    monkeypatch.setattr("configopt.sheet.making.tradeoff", lambda case, **named: stopped)
    monkeypatch.setattr("configopt.sheet.making.shortlist", _never)
    wanted = ("--packages", "choice.json", "--tradeoff", "--shortlist")
    result = run("sheet", SCENARIO, "-o", "s.html", "-q", *wanted)
    assert result.exit_code == 4, result.output
    html = (folder / "s.html").read_text()
    assert "The trade-off was stopped before the end: it holds what was found until then." in html
    assert "The search was stopped: these were found, others may be missing." in html
    assert "No short list: the sheet was stopped before." in html


PROVEN = "proven to be the best in the catalogs of then, and neither catalogs nor scenario have changed since"


def changed_packages(folder: Path, chosen: dict[str, Any]) -> None:
    """Another pressure in the record, which still says that it is the best."""
    chosen["vehicles"][0]["packages"][0]["pressure_kpa"] += 5.0
    (folder / "choice.json").write_text(json.dumps(chosen))


def replaced(old: str, new: str) -> Callable[[Path, dict[str, Any]], None]:
    """A scenario that is another under the same name."""

    def change(folder: Path, chosen: dict[str, Any]) -> None:
        text = (folder / SCENARIO).read_text()
        assert old in text
        (folder / SCENARIO).write_text(text.replace(old, new))

    return change


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (changed_packages, "other figures or limits come out now"),
        (replaced("mass: 1 per kg", "mass: 40 per kg"), "the scenario has changed"),
        # Neither a rate nor a limit: a final drive that could not be had then.
        (replaced(DRIVE, f"{DRIVE}{ANOTHER_DRIVE}"), "the scenario has changed"),
        (replaced("at_least: 41 km", "at_least: 40.5 km"), "come out now (range"),
        (replaced("at_least: 41 km", "at_least: 60 km"), "a limit is missed"),
    ],
)
def test_packages_are_only_called_proven_where_the_question_is_the_same(
    change: Callable[[Path, dict[str, Any]], None], words: str, chosen: dict[str, Any], run: Run, folder: Path
) -> None:
    change(folder, chosen)
    result = run("sheet", SCENARIO, "--packages", "choice.json", "-q", "-o", "s.html")
    assert result.exit_code == 0, result.output
    html = (folder / "s.html").read_text()
    assert PROVEN not in html
    assert "Whether they are the best is not known: since they were recorded, " in html
    assert words in html


def test_packages_that_miss_a_limit_say_so_in_every_file(run: Run, folder: Path, chosen: dict[str, Any]) -> None:
    replaced("at_least: 41 km", "at_least: 60 km")(folder, chosen)
    files = ("--chassis", "c.json", "--bill", "b.xlsx", "--dxf", "d.dxf")
    result = run("sheet", SCENARIO, "--packages", "choice.json", "-q", "-o", "s.html", *files)
    assert result.exit_code == 0, result.output
    html = (folder / "s.html").read_text()
    assert "<strong>Misses a limit.</strong> warden-two-wheeler: range" in html
    assert ">The decision<" not in html
    (missed,) = json.loads((folder / "c.json").read_text())["missed_limits"]
    assert "60.0" in missed
    assert f"Misses a limit: {missed}" in (folder / "d.dxf").read_text().replace("\\U+00A0", "\N{NO-BREAK SPACE}")
    about = openpyxl.load_workbook(folder / "b.xlsx")["About"]
    assert f"Misses a limit: {missed}" in [row[0].value for row in about.rows]


#: Changes after which a result answers another question.
OTHER_QUESTIONS = (
    ("mass: 1 per kg", "mass: 40 per kg"),
    ("at_least: 41 km", "at_least: 60 km"),
    # A limit that no result names, and a final drive that could not be had.
    ("at_least: 41 km", "at_least: 40.5 km"),
    (DRIVE, f"{DRIVE}{ANOTHER_DRIVE}"),
)


@pytest.mark.parametrize("kind", ["tradeoff", "shortlist"])
def test_results_of_another_question_are_refused(kind: str, chosen: dict[str, Any], run: Run, folder: Path) -> None:
    (folder / "r.json").write_text(json.dumps(made_before(chosen, kind)))
    given = ("sheet", SCENARIO, "--packages", "choice.json", "--result", "r.json", "-q", "-o", "s.html")
    assert run(*given).exit_code == 0
    (folder / "s.html").unlink()
    as_it_was = (folder / SCENARIO).read_text()
    for old, new in OTHER_QUESTIONS:
        (folder / SCENARIO).write_text(as_it_was)
        replaced(old, new)(folder, chosen)
        result = run(*given)
        assert result.exit_code == 2
        words = "r.json is not known to answer this question: the scenario has changed since; make it again"
        assert words in result.stderr, new
        assert not (folder / "s.html").exists()


@pytest.mark.parametrize("kind", ["tradeoff", "shortlist"])
def test_results_without_a_hash_or_with_other_figures_are_refused(
    kind: str, chosen: dict[str, Any], run: Run, folder: Path
) -> None:
    given = ("sheet", SCENARIO, "--packages", "choice.json", "--result", "r.json", "-q", "-o", "s.html")
    bare = {key: value for key, value in chosen["made_with"].items() if key != "scenario_sha256"}
    heavier = {**chosen, "vehicles": [{**chosen["vehicles"][0], "mass_kg": chosen["vehicles"][0]["mass_kg"] + 0.1}]}
    for made, words in (
        ({**made_before(chosen, kind), "made_with": bare}, "it holds no hash of its scenario"),
        ({**made_before(chosen, kind), "made_with": None}, "does not say what it was made with"),
        (made_before(heavier, kind), "other figures come out of choice 1 now (mass)"),
    ):
        (folder / "r.json").write_text(json.dumps(made))
        result = run(*given)
        assert result.exit_code == 2, result.output
        assert words in result.stderr


@pytest.mark.parametrize(
    ("kind", "change"),
    [
        ("tradeoff", {"points": None}),
        ("tradeoff", {"status": "words"}),
        ("tradeoff", {"aims": [{"name": "mass"}]}),
        ("shortlist", {"within_percent": "words"}),
        ("shortlist", {"plan": [{}]}),
    ],
)
def test_an_edited_result_that_lacks_something_is_named(
    kind: str, change: dict[str, Any], chosen: dict[str, Any], run: Run, folder: Path
) -> None:
    (folder / "r.json").write_text(json.dumps({**made_before(chosen, kind), **change}))
    result = run("sheet", SCENARIO, "--packages", "choice.json", "--result", "r.json", "-q", "-o", "s.html")
    assert result.exit_code == 2, result.output
    assert "r.json" in result.stderr
    assert "make it again" in result.stderr
    assert not (folder / "s.html").exists()


def test_a_scenario_written_otherwise_asks_the_same(chosen: dict[str, Any], run: Run, folder: Path) -> None:
    (folder / "r.json").write_text(json.dumps(made_before(chosen, "tradeoff")))
    text = (folder / SCENARIO).read_text().replace("chassis_mass: 78 kg", "chassis_mass: 78000 g  # the same")
    assert "78000 g" in text
    (folder / SCENARIO).write_text("# A word of comment.\n" + re.sub(r"(?m)^title: .*", "title: Another title", text))
    result = run("sheet", SCENARIO, "--packages", "choice.json", "--result", "r.json", "-q", "-o", "s.html")
    assert result.exit_code == 0, result.output
    html = (folder / "s.html").read_text()
    assert PROVEN in html
    assert "for the same scenario and catalogs" in html


def test_a_search_that_used_up_its_own_time_stops_no_other(
    folder: Path, chosen: dict[str, Any], run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    def slow(case: Any, *, time_limit: float, **named: Any) -> Any:
        time.sleep(time_limit)
        return SimpleNamespace(to_json=lambda: {**made_before(chosen, "tradeoff"), "status": "partial"})

    monkeypatch.setattr("configopt.sheet.making.EACH", 0.05)
    monkeypatch.setattr("configopt.sheet.making.tradeoff", slow)
    listed = SimpleNamespace(to_json=lambda: made_before(chosen, "shortlist"))
    monkeypatch.setattr("configopt.sheet.making.shortlist", lambda case, **named: listed)
    result = run("sheet", SCENARIO, "-o", "s.html", "-q", "--packages", "choice.json", "--tradeoff", "--shortlist")
    assert result.exit_code == 4, result.output
    html = (folder / "s.html").read_text()
    assert "shortlist/candidates/0/vehicles/0/mass_kg" in shown(html)
    assert "the sheet was stopped before" not in html


def test_a_stopped_result_made_before_is_named_and_ends_with_its_code(
    chosen: dict[str, Any], run: Run, folder: Path
) -> None:
    (folder / "t.json").write_text(json.dumps({**made_before(chosen, "tradeoff"), "status": "partial"}))
    result = run("sheet", SCENARIO, "--packages", "choice.json", "--result", "t.json", "-q", "-o", "s.html")
    assert result.exit_code == 4
    html = (folder / "s.html").read_text()
    assert "The trade-off was stopped before the end" in html
    assert "Choices that no other beats" not in html
    assert "1, best by the rates, the decision" in html


def test_a_trade_off_around_other_packages_says_so(chosen: dict[str, Any], run: Run, folder: Path) -> None:
    (folder / "t.json").write_text(json.dumps(made_before(chosen, "tradeoff")))
    chosen["vehicles"][0]["packages"][0]["pressure_kpa"] += 5.0
    (folder / "other.json").write_text(json.dumps(chosen))
    result = run("sheet", SCENARIO, "--packages", "other.json", "--result", "t.json", "-q", "-o", "s.html")
    assert result.exit_code == 0, result.output
    assert "None of the points of the trade-off is these packages." in (folder / "s.html").read_text()


def test_one_vehicle_of_a_family_file_stands_for_itself(chosen: dict[str, Any], run: Run, folder: Path) -> None:
    scenario = folder / SCENARIO
    text = scenario.read_text()
    (vehicle,) = re.findall(r"^  - name: warden-two-wheeler\n(?:(?:    .*)?\n)*", text, re.MULTILINE)
    scenario.write_text(text.replace(vehicle, vehicle + vehicle.replace("warden-two-wheeler", "second-one")))
    second = {**chosen["vehicles"][0], "name": "second-one"}
    (folder / "both.json").write_text(json.dumps({**chosen, "vehicles": [chosen["vehicles"][0], second]}))
    result = run("sheet", SCENARIO, "--packages", "both.json", "--vehicle", "second-one", "-q", "-o", "s.html")
    assert result.exit_code == 0, result.output
    html = (folder / "s.html").read_text()
    assert PROVEN not in html
    assert "<h1>second-one for itself; " in html
    assert "second-one is looked at for itself, as if bought alone" in html
    assert "--packages choice.yaml --vehicle second-one -o sheet.html" in html
    # Of both together the head of the page reaches each one.
    result = run("sheet", SCENARIO, "--packages", "both.json", "-q", "-o", "s.html")
    assert result.exit_code == 0, result.output
    html = (folder / "s.html").read_text()
    nav = html[html.index("<nav") : html.index("</nav>")]
    for part in ("decision", "drawings", "ground"):
        assert f'href="#{part}-warden-two-wheeler"' in nav
        assert f'href="#{part}-second-one"' in nav
    assert "<li>warden-two-wheeler and second-one: Below the tire" in html.replace("&#39;", "'")


def test_results_of_another_vehicle_of_the_family_are_refused(chosen: dict[str, Any], run: Run, folder: Path) -> None:
    made = made_before(chosen, "tradeoff")
    made["points"][0]["vehicles"] = [{**chosen["vehicles"][0], "name": "second-one"}]
    (folder / "t.json").write_text(json.dumps(made))
    result = run("sheet", SCENARIO, "--packages", "choice.json", "--result", "t.json", "-o", "s.html")
    assert result.exit_code == 2
    assert "it is of the vehicle second-one, not of warden-two-wheeler" in result.stderr


def test_the_chassis_data_and_the_outlines_are_the_same_every_time(run: Run, folder: Path) -> None:
    made = []
    for number in (1, 2):
        files = ("--chassis", f"{number}.json", "--dxf", f"{number}.dxf")
        result = run("sheet", SCENARIO, "--packages", "choice.json", "-q", "-o", "s.html", *files)
        assert result.exit_code == 0, result.output
        made.append([(folder / f"{number}.{ending}").read_bytes() for ending in ("json", "dxf")])
        time.sleep(0.01)
    assert made[0] == made[1]


def test_ctrl_c_outside_of_a_search_writes_nothing(
    chosen: dict[str, Any], folder: Path, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupt(*arguments: Any, **named: Any) -> Any:
        raise KeyboardInterrupt

    monkeypatch.setattr("configopt.sheet.making.appraise", interrupt)
    (folder / "s.html").write_text("old")
    before = sorted(path.name for path in folder.iterdir())
    result = run("sheet", SCENARIO, "--packages", "choice.json", "-o", "s.html", "--chassis", "c.json")
    assert result.exit_code == 4
    assert (folder / "s.html").read_text() == "old"
    assert sorted(path.name for path in folder.iterdir()) == before


def test_time_that_is_over_leaves_parts_out(folder: Path, run: Run) -> None:
    result = run("sheet", SCENARIO, "-o", "s.html", "-q", "--time-limit", "0.0001")
    assert result.exit_code == 4
    assert not (folder / "s.html").exists() or "was stopped" in (folder / "s.html").read_text()


def test_help_shows_an_example(run: Run) -> None:
    result = run("sheet", "--help")
    assert result.exit_code == 0
    assert "configopt sheet scenarios/upland-wardens.yaml -o sheet.html" in result.stdout
    assert max(map(len, result.stdout.splitlines())) <= 80


@pytest.mark.slow
@pytest.mark.parametrize("name", ["upland-wardens", "coastal-survey", "forest-rescue"])
def test_a_whole_sheet_of_a_shipped_scenario_is_sound(project: Path, run: Run, name: str) -> None:
    shutil.copy(ROOT / "scenarios" / f"{name}.yaml", project / "scenarios")
    result = run("sheet", f"scenarios/{name}.yaml", "-o", "s.html", "-q")
    assert result.exit_code in (0, 4), result.output
    html = (project / "s.html").read_text()
    found = shown(html)
    assert any(path.startswith("tradeoff/points/") for path in found)
    assert any(path.startswith("shortlist/candidates/") for path in found)
    assert ("was stopped before the end" in html) == (result.exit_code == 4)
