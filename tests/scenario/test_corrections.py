"""Corrections over a catalog: where values land, what is refused and where, and that scenarios compute with them."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from configopt.appraisal.appraise import appraise
from configopt.catalog.catalog import Catalog, load_catalog
from configopt.catalog.corrections import (
    _ADDED,
    CORRECTABLE,
    SOURCE,
    CorrectionsFile,
    corrected,
    figure_of,
    quantity_of_figure,
)
from configopt.catalog.records import FAMILIES
from configopt.choice.result import choose
from configopt.cli import main
from configopt.errors import Finding, FindingsError
from configopt.files.validation import validate
from configopt.files.yaml_source import parse_yaml
from configopt.learning.layer import written_figure
from configopt.scenario.case import Case, load

ROOT = Path(__file__).parents[2]
HEAD = 'day: "2026-05-14"\ncorrections:\n'


@cache
def catalog() -> Catalog:
    return load_catalog(ROOT / "catalogs")


def entry(family: str, part: str, figure: str, value: str, **more: str) -> str:
    lines = [f"  - family: {family}", f"part: {part}", f"figure: {figure}", f'value: "{value}"']
    return "\n    ".join([*lines, *(f'{key}: "{text}"' for key, text in more.items())]) + "\n"


def laid_over(text: str, over: Catalog | None = None) -> tuple[Catalog, list[Finding]]:
    document = parse_yaml(text, "corrections.yaml")
    return corrected(over or catalog(), document, validate(document, CorrectionsFile))


def sound(text: str) -> Catalog:
    layered, findings = laid_over(text)
    assert findings == []
    return layered


TIRE = "heron-moor-80-100-21"


def test_a_value_lands_on_its_part_and_on_no_other() -> None:
    layered = sound(HEAD + entry("tires", TIRE, "rolling_coefficient", "0.0203 +- 0.0004"))
    found = layered.part("tires", TIRE)
    assert (float(found.rolling_coefficient), found.rolling_coefficient.uncertainty) == (0.0203, 0.0004)
    assert found.figure_sources["rolling_coefficient"] == SOURCE
    unchanged = [part for part in layered.tires if part.id != TIRE]
    assert unchanged == [part for part in catalog().tires if part.id != TIRE]
    assert found.model_copy(update={"rolling_coefficient": 0, "figure_sources": {}}) == catalog().part(
        "tires", TIRE
    ).model_copy(update={"rolling_coefficient": 0, "figure_sources": {}})


def test_two_figures_of_one_part_and_groups_both_land() -> None:
    layered = sound(
        HEAD
        + entry("tires", TIRE, "mass", "3.1 kg +- 0.01 kg")
        + entry("tires", TIRE, "grip.loose", "0.93 +- 0.02")
        + entry("surfaces", "lete-sand", "soil.exponent", "0.85 +- 0.03")
    )
    tire, soil = layered.part("tires", TIRE), layered.part("surfaces", "lete-sand").soil
    assert (float(tire.mass), float(tire.grip.loose), float(soil.exponent)) == (3.1, 0.93, 0.85)
    assert float(tire.grip.wet) == float(catalog().part("tires", TIRE).grip.wet)
    assert float(soil.cohesion) == float(catalog().part("surfaces", "lete-sand").soil.cohesion)


def test_friction_of_a_surface_scales_all_treads() -> None:
    own = catalog().part("surfaces", "loose-gravel").friction
    layered = sound(HEAD + entry("surfaces", "loose-gravel", "friction", f"{1.1 * float(own.medium)} +- 5 %"))
    found = layered.part("surfaces", "loose-gravel").friction
    for tread in type(own).model_fields:
        value = getattr(found, tread)
        assert float(value) == pytest.approx(1.1 * float(getattr(own, tread)), rel=1e-12)
        assert value.uncertainty == pytest.approx(0.05 * float(value), rel=1e-9)


def test_the_layer_changes_the_fingerprint_and_adds_its_source() -> None:
    one = sound(HEAD + entry("tires", TIRE, "mass", "3.1 kg +- 0.01 kg"))
    two = sound(HEAD + entry("tires", TIRE, "mass", "3.2 kg +- 0.01 kg"))
    assert len({catalog().sha256, one.sha256, two.sha256}) == 3
    (source,) = [source for source in one.sources if source.id == SOURCE]
    assert source.grade == "measured"
    assert "corrections.yaml" in source.title


def test_no_corrections_change_no_figure() -> None:
    layered = sound('day: "2026-05-14"\ncorrections: []\n')
    assert layered.tires == catalog().tires
    assert layered.surfaces == catalog().surfaces


MISTAKES: list[tuple[str, int, str, str, str]] = [
    (entry("tires", "no-such-tire", "mass", "3 kg +- 1 %"), 4, "REFERENCE", "error", 'no "no-such-tire"'),
    (entry("tires", TIRE, "price", "3 +- 1 %"), 5, "CORRECTION", "error", "cannot be corrected"),
    (entry("tires", TIRE, "grip.mud", "3 +- 1 %"), 5, "CORRECTION", "error", "cannot be corrected"),
    (entry("tires", TIRE, "mass", "3 kg"), 6, "CORRECTION", "error", "needs its standard uncertainty"),
    (entry("tires", TIRE, "mass", "3 km +- 1 km"), 6, "CORRECTION", "error", "km"),
    (entry("tires", TIRE, "mass", "-3 kg +- 1 kg"), 6, "CORRECTION", "error", "allowed"),
    (entry("tires", TIRE, "rolling_coefficient", "7 +- 1"), 6, "CORRECTION", "error", "allowed"),
    (entry("surfaces", "asphalt-dry", "soil.exponent", "1 +- 0.1"), 5, "CORRECTION", "error", "has no soil.exponent"),
    (entry("surfaces", "loose-gravel", "total_coefficient", "0.05 +- 0.01"), 5, "CORRECTION", "error", "has no"),
    (entry("tires", TIRE, "mass", "3 kg +- 1 %", instead_of="2 m"), 7, "CORRECTION", "error", "m"),
    (
        entry("tires", TIRE, "mass", "3 kg +- 1 %", instead_of="2 kg"),
        7,
        "CORRECTION-STALE",
        "warning",
        "another one now",
    ),
]


@pytest.mark.parametrize(("text", "line", "rule", "severity", "words"), MISTAKES)
def test_a_mistake_is_found_at_its_line(text: str, line: int, rule: str, severity: str, words: str) -> None:
    layered, (finding,) = laid_over(HEAD + text)
    assert (finding.line, finding.rule, finding.severity) == (line, rule, severity)
    assert words in finding.message
    # A figure the catalog has changed since counts all the same; a mistake changes nothing.
    assert (layered.tires != catalog().tires) == (severity == "warning")


def test_a_figure_corrected_twice_is_found_at_the_second() -> None:
    text = entry("tires", TIRE, "mass", "3 kg +- 1 %")
    layered, (finding,) = laid_over(HEAD + text + text)
    assert (finding.line, finding.rule) == (7, "CORRECTION")
    assert float(layered.part("tires", TIRE).mass) == 3.0


def test_all_mistakes_come_at_once() -> None:
    _, findings = laid_over(HEAD + "".join(text for text, *_ in MISTAKES[:4]))
    assert [finding.line for finding in findings] == [4, 9, 13, 18]


def test_an_unknown_family_key_or_day_is_found() -> None:
    for old, new in (("tires", "wings"), ("figure:", "figures:"), ("2026-05-14", "soon")):
        with pytest.raises(FindingsError):
            laid_over((HEAD + entry("tires", TIRE, "mass", "3 kg +- 1 %")).replace(old, new))


def test_a_catalog_with_a_source_of_that_name_is_found() -> None:
    source = catalog().sources[0].model_copy(update={"id": SOURCE})
    taken = replace(catalog(), sources=(*catalog().sources, source))
    _, findings = laid_over(HEAD + entry("tires", TIRE, "mass", "3 kg +- 1 %"), taken)
    assert [finding.rule for finding in findings] == ["CORRECTION"]


@pytest.mark.parametrize(("family", "figure"), [(f, name) for f, names in CORRECTABLE.items() for name in names])
def test_every_figure_that_can_be_corrected_is_written_and_read_back(family: str, figure: str) -> None:
    """To the six digits that are written, its uncertainty to two; for all parts that have it."""
    accepted = quantity_of_figure(FAMILIES[family], figure)
    assert accepted is not None
    parts = catalog().family(family)
    having = [part for part in parts if _figure(part, figure) is not None] or [parts[0]]
    for part in having[:3]:
        own = _figure(part, figure)
        value = 1.01 * float(own) if own is not None else _inside(accepted)
        spread = 0.0345 * abs(value)
        more = {} if own is None else {"instead_of": written_figure(float(own), None, accepted.dimension, figure)}
        text = written_figure(value, spread, accepted.dimension, figure)
        layered, findings = laid_over(HEAD + entry(family, part.id, figure, text, **more))
        assert findings == [], (part.id, text)
        found = figure_of(layered.part(family, part.id), figure)
        assert found is not None
        assert float(found) == pytest.approx(value, rel=6e-6)
        assert found.uncertainty == pytest.approx(spread, rel=0.06)
    assert figure in _ADDED or _figure(having[0], figure) is not None


def _figure(part: Any, name: str) -> Any:
    try:
        return figure_of(part, name)
    except AttributeError:
        return None


def _inside(accepted: Any) -> float:
    low = accepted.low if accepted.low is not None else accepted.above or 0.0
    high = accepted.high if accepted.high is not None else low + 2.0
    return float(0.5 * (low + high))


@pytest.fixture
def project(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the first scenario that names corrections."""
    shutil.copytree(ROOT / "catalogs", tmp_path / "catalogs")
    (tmp_path / "scenarios").mkdir()
    text = (ROOT / "scenarios" / "upland-wardens.yaml").read_text()
    text = text.replace("trials: trials/upland-rides.csv\n", "corrections: corrections.yaml\n", 1)
    assert "corrections: corrections.yaml" in text
    (tmp_path / "scenarios" / "upland-wardens.yaml").write_text(text)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def named(project: Path, entries: str) -> Path:
    (project / "scenarios" / "corrections.yaml").write_text(HEAD + entries)
    return project / "scenarios" / "upland-wardens.yaml"


def test_a_scenario_that_names_corrections_computes_with_them(project: Path) -> None:
    """A heavier tire makes a heavier vehicle by as much, in the appraisal and in the choice."""
    plain = load(ROOT / "scenarios" / "upland-wardens.yaml")
    own = float(plain.catalog.part("tires", TIRE).mass)
    case = load(named(project, entry("tires", TIRE, "mass", f"{own + 0.5} kg +- 0.01 kg")))

    def mass(of: Case) -> float:
        record = of.scenario.vehicles[0].baseline
        assert record is not None
        found = appraise(of, [record], explained=False).to_json()["vehicles"][0]
        return float(found["mass_kg"])

    assert mass(case) - mass(plain) == pytest.approx(0.5, abs=1e-6)


@pytest.mark.slow
def test_a_choice_is_made_with_the_corrected_figures(project: Path) -> None:
    """The front tire that is chosen, learned to weigh 8 kg more, is chosen no more."""
    before = choose(load(named(project, entry("tires", TIRE, "mass", "3.1 kg +- 0.01 kg"))))
    tire = before.records[0].front.tire
    after = choose(load(named(project, entry("tires", tire, "mass", "12 kg +- 0.1 kg"))))
    assert after.records[0].front.tire != tire
    assert before.audit.agrees
    assert after.audit.agrees


def test_a_better_cooled_rotor_stays_further_from_its_limit(project: Path) -> None:
    plain = load(ROOT / "scenarios" / "upland-wardens.yaml")
    record = plain.scenario.vehicles[0].baseline
    assert record is not None
    rotor = record.front.rotor
    margins = {}
    for factor in (0.7, 1.0, 1.5):
        case = load(named(project, entry("rotors", str(rotor), "convection_factor", f"{factor} +- 5 %")))
        found = appraise(case, [record], explained=False).to_json()["vehicles"][0]
        margins[factor] = next(
            margin["value"] for margin in found["margins"] if margin["limit"] == "rotor_temperature_margin"
        )
    assert margins[0.7] < margins[1.0] < margins[1.5]


def test_a_scenario_with_wrong_corrections_is_not_loaded(project: Path) -> None:
    path = named(project, entry("tires", "no-such-tire", "mass", "3 kg +- 1 %"))
    with pytest.raises(FindingsError) as raised:
        load(path)
    assert [(Path(found.path).name, found.line) for found in raised.value.findings] == [("corrections.yaml", 4)]


@pytest.mark.parametrize(
    ("edit", "expected", "code"),
    [
        (lambda text: text, None, 0),
        (lambda text: text.replace(TIRE, "no-such-tire"), "scenarios/corrections.yaml:4:", 1),
        (lambda text: text.replace("3 kg +- 1 %", "3 kg"), "scenarios/corrections.yaml:6:", 1),
        (lambda text: text + '    instead_of: "9 kg"\n', "scenarios/corrections.yaml:7:", 0),
        (lambda text: text.replace("family", "famly"), "scenarios/corrections.yaml:3:", 1),
        (None, "scenarios/upland-wardens.yaml:", 1),
    ],
    ids=["sound", "unknown part", "no uncertainty", "stale", "unknown key", "no file"],
)
def test_check_reports_mistakes_of_corrections(
    edit: Callable[[str], str] | None, expected: str | None, code: int, project: Path
) -> None:
    path = project / "scenarios" / "upland-wardens.yaml"
    if edit is not None:
        named(project, edit(entry("tires", TIRE, "mass", "3 kg +- 1 %")))
    result = CliRunner().invoke(main, ["check", str(path.relative_to(project))])
    assert result.exit_code == code, result.output
    lines = [line for line in result.output.splitlines() if expected is not None and line.startswith(expected)]
    assert bool(lines) == (expected is not None), result.output
