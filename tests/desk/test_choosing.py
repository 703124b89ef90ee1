"""Choosing with parts and pressures held: every answer is that of enumeration, also when earlier ones are used."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from small_project import small_project

from configopt.choice import live
from configopt.choice.audit import Choices
from configopt.choice.choose import TIE, Settings
from configopt.choice.live import Rechosen
from configopt.desk.choosing import BYTES_EACH, MOST_FITTING, Choosing, Held, held
from configopt.errors import UsageError
from configopt.scenario.case import Case, load
from configopt.scenario.limits import LIMITS
from configopt.scenario.records import LimitRecord

FAMILIES = ("tires", "rims", "rotors", "hubs")


@pytest.fixture(scope="module")
def case(tmp_path_factory: pytest.TempPathFactory) -> Case:
    return load(small_project(tmp_path_factory.mktemp("held")) / "scenarios" / "upland-wardens.yaml")


@pytest.fixture(scope="module")
def choosing(case: Case) -> Choosing:
    return Choosing.of_case(case)


def enumerated(choosing: Choosing, change: Held) -> tuple[float, int]:
    """Least aim and number of the choices that reach it, from every choice that is open."""
    candidates = choosing._changed(change)
    every = candidates.opened(Choices.join(list(candidates.every_choice())))
    if not len(every):
        return np.inf, 0
    aim, met = candidates.appraise(every)
    if not met.any():
        return np.inf, 0
    best = float(aim[met].min())
    return best, int((met & (aim <= best + TIE * max(abs(best), 1e-9))).sum())


def drawn(case: Case, choosing: Choosing, rng: np.random.Generator) -> Held:
    """A random change: limits moved, a part held or left out at an end, a range of pressures, a price."""
    limits = [moved(record, rng) for record in case.vehicle.limits if rng.random() < 0.9]
    fits = choosing.fitting()
    holds: dict[tuple[str, str], str] = {}
    out: list[str] = []
    catalog = choosing.candidates.model.catalog
    if rng.random() < 0.5:
        place = ("front", "rear")[int(rng.integers(2))]
        family = FAMILIES[int(rng.integers(len(FAMILIES)))]
        numbers = fits[place, family]
        holds[place, family] = catalog.family(family)[int(rng.choice(numbers))].id
    if rng.random() < 0.3:
        out.append(str(rng.choice([part.id for part in catalog.family("rotors")])))
    pressures = {}
    if rng.random() < 0.5:
        low = float(rng.choice([145e3, 155e3, 165e3]))
        pressures["front"] = (low, low + float(rng.choice([0.0, 10e3, 30e3])))
    prices: dict[str, float] = {}
    if rng.random() < 0.3:
        prices[str(rng.choice([part.id for part in catalog.family("tires")]))] = 1.4
    return Held(limits=tuple(limits), prices=prices, out=tuple(out), holds=holds, pressures=pressures)


def moved(record: LimitRecord, rng: np.random.Generator) -> LimitRecord:
    limit = LIMITS[record.limit]
    value = limit.shown(limit.parse(record.bound)) * float(rng.choice([0.97, 0.99, 1.0, 1.0, 1.01]))
    text: Any = value if limit.unit in ("1", "currency", "g") else f"{value!r} {limit.unit}"
    return record.model_copy(update={limit.bound: text})


def require(choosing: Choosing, change: Held, answer: Rechosen) -> None:
    best, ties = enumerated(choosing, change)
    assert answer.proven
    assert answer.aim == pytest.approx(best, rel=1e-9)
    assert (0 if answer.ties is None else len(answer.ties)) == ties


@pytest.mark.parametrize(
    ("seed", "count"), [(11, 4), pytest.param(12, 60, marks=pytest.mark.slow)], ids=["quick", "many"]
)
def test_changes_in_a_row_with_holds_are_answered_as_by_enumeration(case: Case, seed: int, count: int) -> None:
    choosing, rng, found = Choosing.of_case(case), np.random.default_rng(seed), 0
    for _ in range(count):
        change = drawn(case, choosing, rng)
        answer = choosing.choose(change, Settings(solve=False))
        require(choosing, change, answer)
        found += answer.ties is not None
    assert found >= count // 5


def test_what_was_asked_before_is_answered_without_a_search(case: Case, choosing: Choosing) -> None:
    limits = tuple(case.vehicle.limits)
    first = choosing.choose(Held(limits=limits), Settings(solve=False))
    choosing.choose(Held(limits=limits, out=("hythe-disc-230-4x80",)), Settings(solve=False))
    again = choosing._still(choosing._changed(Held(limits=limits)), Held(limits=limits))
    assert again is not None
    assert again.aim == first.aim
    assert again.appraised == len(again.ties or ())


def test_a_wider_question_is_not_answered_by_a_narrower_one(case: Case) -> None:
    choosing, limits = Choosing.of_case(case), tuple(case.vehicle.limits)
    narrow = Held(limits=limits, pressures={"front": (150e3, 160e3)})
    choosing.choose(narrow, Settings(solve=False))
    choosing.choose(narrow, Settings(solve=False))
    assert choosing._still(choosing._changed(Held(limits=limits)), Held(limits=limits)) is None


def test_another_choosing_that_begins_near_gives_the_same_answer(case: Case, choosing: Choosing) -> None:
    limits = tuple(case.vehicle.limits)
    choosing.choose(Held(limits=limits), Settings(solve=False))
    terrains = [
        terrain.model_copy(update={"share": type(terrain.share)(share)})
        for terrain, share in zip(case.vehicle.terrains, (0.4, 0.4, 0.2), strict=True)
    ]
    vehicle = case.vehicle.model_copy(update={"terrains": terrains})
    other = Case(case.path, case.scenario.model_copy(update={"vehicles": [vehicle]}), case.catalog)
    plain, near = Choosing.of_case(other), Choosing.of_case(other)
    near.begin_near(choosing)
    one = plain.choose(Held(limits=limits), Settings(solve=False))
    two = near.choose(Held(limits=limits), Settings(solve=False))
    assert (one.aim, one.choice) == (two.aim, two.choice)


def test_more_than_finds_room_in_memory_is_refused_before_it_is_bounded(
    case: Case, choosing: Choosing, monkeypatch: pytest.MonkeyPatch
) -> None:
    of = choosing.candidates.of
    count = sum(len(of[place].footing_mount) + len(of[place].wheels) for place in ("front", "rear"))
    readme = (Path(__file__).parents[2] / "README.md").read_text()
    assert f"{MOST_FITTING:,} wheels" in readme
    assert f"about {MOST_FITTING * BYTES_EACH / 1e9:.0f} GB of memory" in readme
    monkeypatch.setattr("configopt.desk.choosing.MOST_FITTING", count)
    Choosing.of_case(case)
    monkeypatch.setattr("configopt.desk.choosing.MOST_FITTING", count - 1)
    monkeypatch.setattr(live, "coarse_bounds", lambda _: pytest.fail("it was bounded"))
    with pytest.raises(UsageError, match=f"{count:,} wheels and tires at a pressure fit .* GB of memory"):
        Choosing.of_case(case)


def test_a_held_part_is_the_only_one_of_its_family_at_that_end(case: Case, choosing: Choosing) -> None:
    rotor = case.catalog.rotors[0].id
    candidates = choosing._changed(Held(holds={("front", "rotors"): rotor}))
    masks = held(candidates, Held(holds={("front", "rotors"): rotor}))
    index = candidates.parts["front"][2].index["rotors"]
    assert set(index[masks["front"][2]].tolist()) <= {0}
    assert masks["rear"][2].all()
