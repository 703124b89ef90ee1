"""The answer of choose as text: one screen, in the words of the trade."""

from __future__ import annotations

import re
from typing import Any

import pytest

from configopt.cli.layout import Page
from configopt.cli.text_appraisal import write_appraisal
from configopt.cli.text_choice import write_choice


def shown(payload: dict[str, Any], width: int = 80) -> str:
    page = Page(width)
    write_choice(page, payload)
    return str(page)


def test_the_proof_stands_first_and_the_cautions_last(choice: dict[str, Any]) -> None:
    lines = shown(choice).splitlines()
    assert lines[0] == "upland-wardens: proven: no better choice exists in these catalogs"
    assert lines[-2:] == ["Cautions", "  A pre-selection by calculation; it certifies nothing."]


def test_the_tire_is_the_first_part_named_front_beside_rear(choice: dict[str, Any]) -> None:
    lines = shown(choice).splitlines()
    rows = lines[lines.index("warden-two-wheeler") + 1 :]
    assert re.fullmatch(r" +front +rear", rows[0])
    assert re.fullmatch(r"  tire +Heron Moor front +Heron Moor rear", rows[1])


def test_parts_have_their_names_and_the_lock_its_count(choice: dict[str, Any]) -> None:
    text = shown(choice)
    assert "tube-21, 1 x Latch 1.85" in text
    assert "clasp, pad Felt kite" in text
    assert "strand-35, 3-cross, 213/214 mm" in text


def test_one_vehicle_fits_on_a_screen(choice: dict[str, Any]) -> None:
    assert len(shown(choice).splitlines()) <= 45


@pytest.mark.parametrize("width", [40, 60, 80, 100])
def test_no_line_is_wider_than_the_terminal(choice: dict[str, Any], width: int) -> None:
    assert max(map(len, shown(choice, width).splitlines())) <= width


def test_a_narrow_terminal_shows_the_positions_one_after_the_other(choice: dict[str, Any]) -> None:
    lines = shown(choice, 60).splitlines()
    assert lines.index("warden-two-wheeler, front") < lines.index("warden-two-wheeler, rear")


def test_what_changes_against_today_is_shown_with_its_sign(choice: dict[str, Any]) -> None:
    text = shown(choice)
    assert re.search(r"mass of the packages +16\.50 kg +18\.81 +-2\.31\n", text)
    assert re.search(r"range +75\.0 km +64\.9 +\+10\.1\n", text)
    assert "today misses: climb grade on peat-path" in text


def test_without_a_baseline_only_the_figures_are_shown(choice: dict[str, Any]) -> None:
    choice["vehicles"][0]["against_baseline"] = None
    text = shown(choice)
    assert "today" not in text
    assert re.search(r"mass of the packages +16\.50 kg\n", text)


def test_ground_that_cannot_be_passed_says_so(choice: dict[str, Any]) -> None:
    assert re.search(r"gravel-track +70 % .*cannot be passed", shown(choice))


def test_the_tightest_limits_and_what_limits_the_choice_are_in_words(choice: dict[str, Any]) -> None:
    text = shown(choice)
    assert text.index("sinkage, rear on peat-path: 92 mm (at most 85 mm)") < text.index("cost: 805 EUR")
    assert "What limits the choice: cost" in text


def test_the_exchange_rate_and_ties_are_said(choice: dict[str, Any]) -> None:
    text = " ".join(shown(choice).split())
    assert "1 Wh/km of rolling loss counts as 0.8 kg of mass; 2 choices are equally good" in text


def test_no_word_of_the_search_and_no_key_of_the_data_is_printed(choice: dict[str, Any]) -> None:
    words = set(re.findall(r"[a-z_]+", shown(choice).lower()))
    assert not words & {"gap", "bound", "dual", "binary", "optimal", "incumbent", "none", "true", "false"}
    assert not [word for word in words if "_" in word]


def test_an_unproven_answer_says_what_is_proven(choice: dict[str, Any]) -> None:
    choice["status"], choice["aim"]["gap"], choice["aim"]["bound"] = "feasible", 0.002, 30.44
    assert shown(choice).startswith("upland-wardens: proven to within 0.2 %")


def test_a_disc_wheel_has_no_spokes_and_each_wheel_is_counted(choice: dict[str, Any]) -> None:
    for package in choice["vehicles"][0]["packages"]:
        package.update(rim=None, spokes=None, lacing=None, disc_wheel="steel-10", wheels=2, pressure_kpa=0.0)
    text = shown(choice)
    assert "spokes" not in text
    assert re.search(r"disc wheel +steel-10 +steel-10", text)
    assert re.search(r"front \(each of 2 wheels\) +rear \(each of 2 wheels\)", text)
    assert "none (foam)" in text


def test_a_contradicting_audit_is_a_loud_warning(choice: dict[str, Any]) -> None:
    choice["audit"] = {"agrees": False, "largest_difference": 0.25, "rounds": 3}
    assert "WARNING: the full model contradicts the search by 0.25" in shown(choice)


def test_where_nothing_meets_the_limits_the_answer_says_what_came_closest(refusal: dict[str, Any]) -> None:
    text = shown(refusal)
    assert text.startswith("upland-wardens: proven: nothing in these catalogs meets every limit")
    assert "climb on peat-path: 31 % reached, 45 % asked" in text
    assert re.search(r"front +120 packages", text)
    assert re.search(r"front +12 +tires: made for the rear only", text)
    assert "counts as" not in text


def test_remarks_are_counted_on_the_screen_and_written_out_in_the_detail(choice: dict[str, Any]) -> None:
    choice["remarks"] = ["slip on firm ground is not modelled", "casing stiffness is a default"]
    assert "2 remarks on how far these figures carry: --detail" in shown(choice)
    page = Page(80)
    write_choice(page, choice, detail=True)
    assert "Remarks\n  - slip on firm ground is not modelled\n  - casing stiffness is a default\n" in str(page)
    assert "rotor temperature: 180 °C" in str(page)


def appraisal(payload: dict[str, Any], **options: bool) -> str:
    page = Page(80)
    write_appraisal(page, {"misfits": [], **payload, "schema": "configopt/appraisal/1"}, **options)
    return str(page)


def test_an_appraisal_opens_with_its_verdict(choice: dict[str, Any]) -> None:
    assert appraisal(choice).startswith("upland-wardens: the choice fits but misses 1 limit\n")
    choice["vehicles"][0]["margins"] = []
    assert appraisal(choice).startswith("upland-wardens: the choice fits and meets every limit\n")
    misfit = {"vehicle": "warden-two-wheeler", "position": "front", "text": "tire is 90 mm wide, the frame takes 80 mm"}
    choice["misfits"] = [misfit]
    text = appraisal(choice)
    assert text.startswith("upland-wardens: the choice does not fit but meets every limit\n")
    assert "warden-two-wheeler, front: tire is 90 mm wide, the frame takes 80 mm" in " ".join(text.split())


def test_the_detail_shows_every_margin_and_the_causes_add_up(choice: dict[str, Any]) -> None:
    text = appraisal(choice, detail=True)
    assert "rotor temperature: 180 °C" in text
    assert re.search(r"given back by regeneration +-2\.0 Wh/km\n +together +32\.0 Wh/km\n", text)
    assert re.search(r"static load \[N\] +820 +820\n", text)
    assert re.search(r"trail +98 mm\n", text)
