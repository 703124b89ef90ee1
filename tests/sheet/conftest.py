"""What the tests of the sheet share: a sheet of a two-wheeler that was just chosen, and one of a quad as it stands."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from configopt.appraisal.appraise import appraise
from configopt.choice.result import choose
from configopt.choice.shortlist import shortlist
from configopt.choice.tradeoff import tradeoff
from configopt.scenario.case import load

HERE = Path(__file__).parent
sys.path[:0] = [str(path) for path in (HERE, HERE.parent / "sweep") if str(path) not in sys.path]

from sheets import ROOT, Sheet, sheet_of  # noqa: E402
from small_project import small_project  # noqa: E402


@pytest.fixture(scope="session")
def two_wheeler(tmp_path_factory: pytest.TempPathFactory) -> Sheet:
    """The best choice of a small catalog with its trade-off and short list."""
    project = small_project(tmp_path_factory.mktemp("sheet"))
    case = load(project / "scenarios" / "upland-wardens.yaml")
    choice = choose(case)
    more = {"tradeoff": tradeoff(case).to_json(), "shortlist": shortlist(case, count=2, within=0.5).to_json()}
    return sheet_of(case, choice.to_json(), choice.records, searched=True, **more)


@pytest.fixture(scope="session")
def quad() -> Sheet:
    """Today's packages of a quad with disc wheels; its rear rotor sits on the axle."""
    case = load(ROOT / "scenarios" / "coastal-survey.yaml")
    today = case.vehicle.baseline
    assert today is not None
    return sheet_of(case, appraise(case, [today]).to_json(), [today], searched=False)


@pytest.fixture(params=["two_wheeler", "quad"])
def sheet(request: pytest.FixtureRequest) -> Sheet:
    """Either of them."""
    found: Sheet = request.getfixturevalue(request.param)
    return found
