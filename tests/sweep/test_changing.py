"""A variant becomes a scenario of its own; what is wrong with it is found on its own lines."""

from __future__ import annotations

from itertools import islice
from pathlib import Path
from typing import Any

import pytest

from configopt.catalog.records import FAMILIES
from configopt.errors import FindingsError
from configopt.files.validation import validate
from configopt.files.yaml_source import Document, load_yaml, parse_yaml
from configopt.scenario.records import Vehicle
from configopt.scenario.variants import MOST_VARIANTS, Planned, Variants, load_variants, measured, read_variants
from configopt.sweep.changing import Base, Changed, changed

ROOT = Path(__file__).parents[2]
V = "vehicles.warden-two-wheeler"


@pytest.fixture(scope="module")
def base() -> Base:
    return Base.of(ROOT / "scenarios" / "upland-wardens.yaml", "some.variants.yaml")


def read(body: str) -> Variants:
    return read_variants(parse_yaml(f"title: Some\n{body}", "some.variants.yaml"))


def only(body: str) -> Planned:
    """The one variant of a text."""
    (planned,) = read(f"variants:\n  - name: one\n{body}").planned()
    return planned


def of(base: Base, body: str) -> Changed:
    return changed(base, only(body))


def vehicle(base: Base, body: str) -> Vehicle:
    return of(base, body).case.vehicle


def findings(base: Base, body: str) -> list[str]:
    """Line, rule and message of all that is wrong with the one variant of a text."""
    with pytest.raises(FindingsError) as wrong:
        of(base, body)
    assert {finding.path for finding in wrong.value.findings} == {"some.variants.yaml"}
    return [f"{finding.line}: {finding.rule} {finding.message} ({finding.fix})" for finding in wrong.value.findings]


def test_fields_of_the_vehicle_are_set(base: Base) -> None:
    made = vehicle(base, f"    set:\n      {V}.battery_energy: 2000 Wh\n      {V}.front.tire_width_max: 90 mm\n")
    assert float(made.battery_energy) == 2000 * 3600
    assert float(made.front.tire_width_max) == 0.09
    assert float(made.rear.tire_width_max) == 0.115
    assert made.wheelbase == base.case.vehicle.wheelbase


def test_entries_of_lists_go_by_their_name(base: Base) -> None:
    body = (
        f"    set:\n      {V}.terrains.gravel-track.speed: 36 km/h\n      {V}.drive.final_drives.drive-9-2.cost: 40\n"
    )
    made = vehicle(base, body)
    assert [float(terrain.speed) for terrain in made.terrains][1] == 10.0
    assert float(made.drive.final_drives[0].cost) == 40


def test_a_limit_is_set_added_and_dropped(base: Base) -> None:
    body = f"""\
    set:
      {V}.limits.climb_grade.peat-path: 20 %
      {V}.limits.sinkage.peat-path: null
      {V}.limits.creep_margin.rear: 1.5
      {V}.limits.cost: 900
"""
    limits = vehicle(base, body).limits
    stated = {(one.limit, one.terrain, one.position): one.bound for one in limits}
    before = {(one.limit, one.terrain, one.position): one.bound for one in base.case.vehicle.limits}
    assert stated["climb_grade", "peat-path", None] == "20 %"
    assert stated["climb_grade", "rock-steps", None] == before["climb_grade", "rock-steps", None]
    assert ("sinkage", "peat-path", None) in before
    assert ("sinkage", "peat-path", None) not in stated
    assert stated["creep_margin", None, "rear"] == 1.5
    assert stated["cost", None, None] == 900
    assert len(stated) == len(before)


def test_of_many_limits_those_are_dropped_that_are_named(base: Base) -> None:
    """Also beyond the tenth one, and of two settings of one limit the last one counts."""
    more = {"unsprung_mass": "20 kg", "vehicle_mass": "300 kg", "trail": "20 mm", "ground_clearance": "20 mm"}
    added = "".join(f"      {V}.limits.{name}: {bound}\n" for name, bound in more.items())
    dropped = "".join(f"      every_vehicle.limits.{name}: null\n" for name in list(more)[:3])
    stated = [one.limit for one in base.case.vehicle.limits]
    assert not {*stated} & {*more}
    assert len(stated) < 10 < len(stated) + 3
    made = vehicle(base, f"    set:\n{added}{dropped}")
    assert [one.limit for one in made.limits] == [*stated, "ground_clearance"]
    body = f"    set:\n      every_vehicle.limits.cost: null\n      {V}.limits.cost: 900\n"
    assert {one.limit: one.bound for one in vehicle(base, body).limits}["cost"] == 900


def test_a_terrain_mix_keeps_the_proportions_of_the_others(base: Base) -> None:
    terrains = vehicle(base, f"    set:\n      {V}.terrain_mix: {{peat-path: 40 %}}\n").terrains
    assert [float(terrain.share) for terrain in terrains] == pytest.approx([0.4, 0.6 * 0.55 / 0.8, 0.6 * 0.25 / 0.8])


def test_every_vehicle_is_addressed_at_once() -> None:
    family = Base.of(ROOT / "scenarios" / "wardens-family.yaml", "some.variants.yaml")
    made = changed(family, only("    set:\n      every_vehicle.rider_mass: 90 kg\n      sharing.at_most.tires: 1\n"))
    assert {float(one.rider_mass) for one in made.case.scenario.vehicles} == {90.0}
    assert made.case.scenario.sharing is not None
    assert made.case.scenario.sharing.at_most["tires"] == 1


def test_parts_go_get_other_prices_and_other_figures(base: Base) -> None:
    tire, rim = "heron-moor-80-100-21", "harrow-21-185-36"
    body = f"    withdrawn: [{rim}]\n    prices: {{{tire}: 1.2}}\n    parts: {{{tire}: {{mass: 3 kg}}}}\n"
    made, catalog = of(base, body), base.case.catalog
    part = made.case.catalog.part("tires", tire)
    assert float(part.mass) == 3.0
    assert [float(tier.unit_price) for tier in part.prices] == pytest.approx(
        [1.2 * float(tier.unit_price) for tier in catalog.part("tires", tire).prices]
    )
    assert part.diameter == catalog.part("tires", tire).diameter
    assert len(made.case.catalog.rims) == len(catalog.rims) - 1
    assert made.gone == {rim}
    # Today's packages use the rim, so they are none any more.
    assert base.case.vehicle.baseline is not None
    assert made.case.vehicle.baseline is None


def test_every_part_is_read_again_as_it_was(base: Base) -> None:
    for family, record in FAMILIES.items():
        for part in base.case.catalog.family(family):
            entry = part.model_dump(mode="json", exclude_unset=True, by_alias=True)
            assert validate(Document("x", entry, {}), record) == part, part.id


def test_the_scenario_itself_stays_as_it_was(base: Base) -> None:
    fresh = load_yaml(ROOT / "scenarios" / "upland-wardens.yaml").data
    of(base, f"    set:\n      {V}.limits.cost: null\n      {V}.terrain_mix: {{peat-path: 50 %}}\n")
    assert base.data == fresh


def test_the_fingerprint_follows_what_changes_and_not_the_name(base: Base) -> None:
    first = changed(base, only(f"    set:\n      {V}.battery_energy: 2000 Wh\n"))
    (other,) = read(f"variants:\n  - name: other\n    set:\n      {V}.battery_energy: 2000 Wh\n").planned()
    assert changed(base, other).key == first.key
    keys = {first.key}
    for body in (
        f"    set:\n      {V}.battery_energy: 2001 Wh\n",
        "    withdrawn: [harrow-21-185-36]\n",
        "    prices: {harrow-21-185-36: 1.2}\n",
        "    parts: {harrow-21-185-36: {mass: 700 g}}\n",
    ):
        keys.add(of(base, body).key)
    assert len(keys) == 5


@pytest.mark.parametrize(
    ("body", "expected"),
    [
        (f"    set:\n      {V}.batery_energy: 2 kWh\n", ['5: "batery_energy"', '"battery_energy"?']),
        (f"    set:\n      {V}.battery_energy: 2000\n", ["5: QUANTITY 2000 has no unit"]),
        (f"    set:\n      {V}.battery_energy: 2000 mm\n", ["5: QUANTITY", "expected an energy"]),
        (f"    set:\n      {V}.front.wheels: 3\n", ["5: RANGE found 3, allowed is at most 2"]),
        (f"    set:\n      {V}.wheelbase: null\n", ['5: MISSING-KEY the key "wheelbase" is missing']),
        (f"    set:\n      {V}.wheelbas: null\n", ['5: FIELD "wheelbas" is not stated here', '"wheelbase"?']),
        ("    set:\n      vehicles.warden.wheelbase: 1 m\n", ['5: REFERENCE there is no vehicle "warden"']),
        (f"    set:\n      {V}.terrains.peat-pth.speed: 1 m/s\n", ['5: REFERENCE there is no terrain', "peat-path"]),
        (f"    set:\n      {V}.limits.climb_grad: 1 %\n", ['5: FIELD unknown limit "climb_grad"; did you mean']),
        (f"    set:\n      {V}.limits.cost: 10 kg\n", ["5: QUANTITY"]),
        (f"    set:\n      {V}.limits: null\n      {V}.limits.cost: null\n", ["5: FIELD limits are set and dropped"]),
        (f"    set:\n      {V}.terrains: {{a: b}}\n", ["5: FIELD terrains are set and dropped one by one"]),
        (f"    set:\n      {V}.baseline.front: null\n    withdrawn: [harrow-21-185-36]\n", ["5: MISSING-KEY"]),
        (f"    set:\n      {V}.baseline.front: text\n    withdrawn: [harrow-21-185-36]\n", ["5: TYPE"]),
        (f"    set:\n      {V}.limits.cost: -3\n", ["5: RANGE found -3"]),
        (f"    set:\n      {V}.limits.climb_grade.dunes: 10 %\n", ["5: "]),
        (f"    set:\n      {V}.limits.trail: null\n", ["5: FIELD no limit trail is stated that could be dropped"]),
        (f"    set:\n      {V}.terrain_mix: {{peat-path: 120 %}}\n", ["5: RANGE the share of peat-path is 1.2"]),
        (f"    set:\n      {V}.terrain_mix: {{peat-path: 100 %}}\n", ["5: VALUE", "leave nothing for gravel-track"]),
        (f"    set:\n      {V}.terrains.peat-path.surface: lava\n", ['5: REFERENCE there is no surface "lava"']),
        (f"    set:\n      {V}.terrains.peat-path.share: 0.5\n", ["3: VALUE the shares of the terrains sum to 1.3"]),
        ("    set:\n      vehicle.mass: 1\n", ['5: FIELD "vehicle.mass" is no field', 'did you mean "vehicles"?']),
        ("    set:\n      aims.mas: 1 per kg\n", ['5: UNKNOWN-KEY the key "mas"']),
        ("    set:\n      aims.mass: null\n      aims.rolling_loss: null\n", ["3: VALUE give at least one aim"]),
        ("    withdrawn: [heron-moor-80-100-22]\n", ['4: REFERENCE there is no part "heron-moor-80-100-22"', "21"]),
        ("    prices: {wet-peat: 1.1}\n", ["4: FIELD a surface is not bought"]),
        ("    parts: {harrow-21-185-36: {mas: 1 kg}}\n", ['4: UNKNOWN-KEY the key "mas"', '"mass"?']),
        ("    parts: {harrow-21-185-36: {mass: 1 mm}}\n", ["4: QUANTITY"]),
    ],
)  # fmt: skip
def test_what_is_wrong_is_found_on_its_line(base: Base, body: str, expected: list[str]) -> None:
    found = findings(base, body)
    assert len(found) == 1, found
    assert found[0].startswith(expected[0].split(" ", 1)[0])
    for words in expected:
        assert words.split(": ", 1)[-1] in found[0]


def test_all_mistakes_of_a_variant_are_found_at_once(base: Base) -> None:
    body = f"    set:\n      {V}.batery_energy: 1 Wh\n      vehicles.x.y: 1\n      {V}.limits.cost: 1 kg\n"
    assert [found.split(" ")[0] for found in findings(base, f"{body}    withdrawn: [nothing]\n")] == [
        "5:",
        "6:",
        "7:",
        "8:",
    ]


def test_a_dropped_limit_moves_the_places_of_those_after_it(base: Base) -> None:
    body = f"    set:\n      {V}.limits.sinkage.peat-path: null\n      {V}.limits.cost: 1 kg\n"
    assert findings(base, body)[0].startswith("6: QUANTITY")


# The file


def test_grids_are_written_out_one_by_one() -> None:
    found = read(f"""\
grids:
  - name: both
    vary:
      - field: {V}.cargo_mass
        values: [5 kg, 12 kg]
      - field: {V}.wheelbase
        from: 1200 mm
        to: 1400 mm
        steps: 3
""")
    plans = list(found.planned())
    assert len(found) == 6
    assert [plan.name for plan in plans] == [f"both-{number}" for number in range(1, 7)]
    assert dict(plans[4].values) == {f"{V}.cargo_mass": "12 kg", f"{V}.wheelbase": "1300 mm"}
    assert plans[4].settings[0].line == 6
    assert plans[4].settings[1].line == 7


def test_a_large_grid_is_not_made_before_it_is_asked_for() -> None:
    values = "[" + ", ".join(f"{number} kg" for number in range(100)) + "]"
    found = read(
        f"grids:\n  - name: g\n    vary:\n      - field: {V}.cargo_mass\n        values: {values}\n"
        f"      - field: {V}.rider_mass\n        values: {values}\n"
    )
    assert len(found) == MOST_VARIANTS
    assert [plan.name for plan in islice(found.planned(), 2)] == ["g-1", "g-2"]


@pytest.mark.parametrize(
    ("body", "words"),
    [
        ("variants: []\n", "neither variants nor grids"),
        ("colour: green\nvariants:\n  - name: a\n", 'the key "colour" is not known'),
        ("variants: 3\n", "expected a list"),
    ],
)
def test_a_file_that_is_wrong_as_a_whole_is_refused(body: str, words: str) -> None:
    with pytest.raises(FindingsError, match=words):
        read(body)


def test_more_variants_than_allowed_are_refused() -> None:
    grid = (
        "  - name: {}\n    vary:\n      - field: "
        + V
        + ".cargo_mass\n        from: 0 kg\n        to: 1 kg\n        steps: 1000\n"
    )
    with pytest.raises(FindingsError, match=r"makes 11,000 variants, allowed are 10,000"):
        read("grids:\n" + "".join(grid.format(f"g{number}") for number in range(11)))


def test_a_wrong_entry_leaves_the_others() -> None:
    found = read(f"""\
variants:
  - name: Bad Name
    set: {{{V}.cargo_mass: 1 kg}}
  - name: good
    set: {{{V}.cargo_mass: 1 kg}}
  - name: empty
  - name: good
    withdrawn: [a]
grids:
  - name: mixed
    vary:
      - field: {V}.cargo_mass
        from: 1 kg
        to: 2 g
        steps: 3
  - name: both-ways
    vary:
      - field: {V}.cargo_mass
        values: [1 kg]
        steps: 3
""")
    plans = list(found.planned())
    assert [(plan.name, [finding.line for finding in plan.findings]) for plan in plans] == [
        ("Bad Name", [3]),
        ("good", []),
        ("empty", [7]),
        ("good", [8]),
        ("mixed", [15]),
        ("both-ways", [19]),
    ]
    assert len(found) == 6
    messages = " ".join(finding.message for finding in found.findings)
    for words in ("empty changes nothing", 'name "good" is taken by line 5', "same unit", "either values, or from"):
        assert words in messages


def test_the_shipped_variants_are_sound() -> None:
    found = load_variants(ROOT / "scenarios" / "upland-wardens.variants.yaml")
    base = Base.of(ROOT / "scenarios" / "upland-wardens.yaml", found.path)
    assert not found.findings
    keys = {changed(base, plan).key for plan in found.planned()}
    assert len(keys) == len(found)


@pytest.mark.parametrize("value", ["", "12:30", "kg", "1 2 kg x" * 40, None, [], True])
def test_what_is_no_number_measures_nothing(value: Any) -> None:
    assert measured(value) is None or measured(value)[1] != ""
