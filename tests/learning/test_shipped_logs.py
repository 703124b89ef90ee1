"""The demo logs: what the program makes of them, and that they and the README's table are up to date."""

from __future__ import annotations

from pathlib import Path

import pytest
from demo_logs import CASING, CONVECTION, FOLDER, SCENARIO, demo_logs
from log_table import README, section, table

from configopt.learning.learn import Lesson, learn
from configopt.scenario.case import load


@pytest.fixture(scope="module")
def lesson() -> Lesson:
    return learn(load(SCENARIO), sorted(FOLDER.glob("*.csv")))


def test_the_shipped_logs_are_what_the_script_makes(tmp_path: Path) -> None:
    made = demo_logs(tmp_path)
    assert {path.name: path.read_text(encoding="utf-8") for path in FOLDER.glob("*.csv")} == made


def test_the_table_of_the_readme_is_what_the_program_reads() -> None:
    text = README.read_text(encoding="utf-8")
    first, last = section(text)
    assert text[first:last] == table() + "\n"


def test_the_logs_lead_towards_the_truth_they_were_made_from(lesson: Lesson) -> None:
    found = {(one.part, one.figure): one for one in lesson.corrections}
    casing = found["heron-moor-80-100-21", "carcass_pressure"]
    assert abs(casing.after[0] - CASING * casing.before[0]) < 2.0 * casing.after[1]
    rotor = found["hythe-disc-230-4x80", "convection_factor"]
    assert abs(rotor.after[0] - CONVECTION) < 2.0 * rotor.after[1]
    life = found["heron-moor-80-100-21", "tread_life"]
    assert abs(life.after[0] - 2300e3) < 2.0 * life.after[1]
    for judged in lesson.combined.judged:
        assert abs(judged.after - judged.reading.value) < 3.0 * judged.reading.uncertainty
    assert not [one for one in lesson.told if one.kind != "remark"]


def test_the_corrections_become_figures_of_the_case(lesson: Lesson) -> None:
    case = lesson.corrected
    tire = case.catalog.part("tires", "heron-moor-80-100-21")
    found = {(one.part, one.figure): one for one in lesson.corrections}
    after = found[tire.id, "carcass_pressure"].after
    assert float(tire.carcass_pressure) == pytest.approx(after[0], rel=1e-5)
    assert tire.carcass_pressure.uncertainty == pytest.approx(after[1], rel=0.05)
    assert tire.figure_sources["carcass_pressure"] == "corrections"
    assert case.catalog.sha256 != lesson.case.catalog.sha256
