"""What is typed, opened or focused stays while the page works; files are written from a real browser."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml
from chromium import Browser
from served import BASE, NAME, VEHICLE, Served, served
from small_project import small_project

TIRE = "heron-moor-80-100-21"
KEEP = f"/s/{NAME}/keep?vehicle={VEHICLE}"


@pytest.fixture
def own(tmp_path: Path) -> Iterator[Served]:
    with served(small_project(tmp_path)) as running:
        running.settled(BASE)
        yield running
        assert running.errors == []


@pytest.fixture
def gate(own: Served, monkeypatch: pytest.MonkeyPatch) -> threading.Event:
    """Work on choices and long questions begins when it is set."""
    go = threading.Event()
    for bench in (own.gate.desk.choices, own.gate.desk.errands):
        whole = bench.work

        def slow(job: Any, whole: Any = whole) -> Any:
            job.say("counting spokes")
            while not go.is_set() and not job.asked:
                time.sleep(0.01)
            return whole(job)

        monkeypatch.setattr(bench, "work", slow)
    return go


def typed(window: Browser, name: str, text: str) -> None:
    """Type into a field in place of what stands there."""
    window.run("const e = document.getElementById(arguments[0]); e.focus(); e.select()", name)
    window.press(text)


def pressed(window: Browser, words: str) -> None:
    """Press the button of some words with the keyboard."""
    from selenium.webdriver.common.keys import Keys

    (button,) = [one for one in window.driver.find_elements("css selector", "main button") if one.text == words]
    window.run("arguments[0].focus()", button)
    window.press(Keys.ENTER)


def test_a_scenario_is_looked_at_then_written_and_replaced_only_when_that_is_said(window: Browser, own: Served) -> None:
    from selenium.webdriver.common.keys import Keys

    path = own.folder / "scenarios" / "wet-autumn.yaml"
    window.open(f"{own.url}{KEEP}&limit.range=40.5&kind=scenario")
    typed(window, "keep-name", "Wet autumn")
    window.press(Keys.ENTER)
    window.until(lambda: "at_least: 40.5 km" in window.text)
    assert "What scenarios/wet-autumn.yaml will hold" in window.text
    assert not path.exists()
    shown = str(window.one("pre").get_attribute("textContent"))
    pressed(window, "Write the file")
    window.until(lambda: "Written: scenarios/wet-autumn.yaml" in window.text)
    assert path.read_text() == shown
    window.one("main a[href='/s/wet-autumn']").send_keys(Keys.ENTER)
    window.until(lambda: window.headline.startswith("Proven best"))
    assert window.one("#limit-range").get_attribute("value") == "40.5"

    window.open(f"{own.url}{KEEP}&limit.range=40.7&kind=scenario&name=wet-autumn")
    assert "There is a file of this name" in window.text
    pressed(window, "Write the file")
    window.until(lambda: "There is a file wet-autumn.yaml already." in window.text)
    assert path.read_text() == shown
    window.run("document.querySelector('input[name=replace]').focus()")
    window.press(Keys.SPACE)
    pressed(window, "Write the file")
    window.until(lambda: "Written" in window.text)
    assert "at_least: 40.7 km" in path.read_text()
    assert [one for one in window.complaints() if "409" not in one] == []


def test_a_decision_is_typed_while_its_choice_is_worked_out_then_written(
    window: Browser, own: Served, gate: threading.Event
) -> None:
    window.open(f"{own.url}{BASE}")
    window.driver.get(f"{own.url}{KEEP}&kind=decision")
    window.until(lambda: "counting spokes" in window.one("#keep-job").text)
    for field, text in (("keep-by", "M. Okafor"), ("keep-on", "2026-03-02"), ("keep-why", "spring")):
        typed(window, field, text)
    time.sleep(1.5)
    window.press(" order")
    assert "so far" in window.one("#keep-job").text
    gate.set()
    window.until(lambda: "The choice is made" in window.one("#keep-job").text)
    assert window.focused() == "keep-why"
    assert window.one("#keep-why").get_attribute("value") == "spring order"
    pressed(window, "Look at what it will hold")
    window.until(lambda: "will hold" in window.one("h2").text)
    pressed(window, "Write the file")
    window.until(lambda: f"Written: scenarios/{NAME}-new.decision.yaml" in window.text)
    (path,) = (own.folder / "scenarios").glob("*-new.decision.yaml")
    assert yaml.safe_load(path.read_text())["decision"]["why"] == "spring order"
    assert window.complaints() == []


def test_what_is_typed_stays_while_a_question_is_worked_out(
    window: Browser, own: Served, gate: threading.Event
) -> None:
    for place, field in ((f"why?vehicle={VEHICLE}&part={TIRE}", "why-part"), (f"giving?vehicle={VEHICLE}", "")):
        gate.clear()
        window.driver.get(f"{own.url}/s/{NAME}/{place}")
        window.until(lambda: "counting spokes" in window.one("#found").text)
        name = field or "question-cancel"
        window.run("document.getElementById(arguments[0]).focus()", name)
        if field:
            window.press("heron")
        # Several looks of the script go by.
        window.until(lambda: "3." in window.one("#question-so-far").text)
        assert window.focused() == name
        if field:
            assert window.one(f"#{field}").get_attribute("value") == "heron"
        gate.set()
        window.until(lambda: "Being worked out" not in window.one("#found").text)
        if field:
            assert window.one(f"#{field}").get_attribute("value") == "heron"
            assert "best choice" in window.one("#found").text
    assert window.complaints() == []


def test_a_trade_off_that_is_waited_for_does_not_stop_a_change(
    window: Browser, own: Served, monkeypatch: pytest.MonkeyPatch
) -> None:
    window.open(f"{own.url}{BASE}")
    desk, go = own.gate.desk, threading.Event()
    whole, choose = desk.errands.work, desk.choices.work

    def slow(job: Any) -> Any:
        while not go.is_set() and not job.asked:
            time.sleep(0.01)
        return whole(job)

    def slower(job: Any) -> Any:
        # Longer than a look at the trade-off is apart from the next, shorter than an answer waits.
        time.sleep(1.2)
        return choose(job)

    monkeypatch.setattr(desk.errands, "work", slow)
    monkeypatch.setattr(desk.choices, "work", slower)
    window.run("document.getElementById('trade-follows').click()")
    window.until(lambda: "Being worked out" in window.one("#trade").text)
    for value in (40.6, 40.5, 40.4, 40.3, 40.2):
        window.move("#limit-range", value)
        window.until(lambda value=value: f"limit.range={value}" in window.driver.current_url, 8.0)  # type: ignore[misc]
    go.set()
    window.until(lambda: "that no other beats" in window.one("#trade").text)


def test_what_goes_on_is_read_aloud_once_and_cancel_keeps_the_focus(
    window: Browser, own: Served, gate: threading.Event
) -> None:
    from selenium.webdriver.common.keys import Keys

    window.open(f"{own.url}{BASE}")
    window.move("#limit-range", 40.7)
    window.until(lambda: "counting spokes" in window.one("#status").text)
    window.run("document.getElementById('choice-cancel').focus()")
    window.run(
        "window.changed = []; new MutationObserver(all => { for (const one of all) {"
        " if (!one.target.parentElement.closest('[aria-live=off]') && !one.target.closest?.('[aria-live=off]'))"
        " window.changed.push(one.target.outerHTML); } })"
        ".observe(document.getElementById('status'), {childList: true, subtree: true, characterData: true})"
    )
    said = window.one("#choice-so-far").text
    window.until(lambda: window.one("#choice-so-far").text != said)
    said = window.one("#choice-so-far").text
    window.until(lambda: window.one("#choice-so-far").text != said)
    assert window.run("return window.changed") == []
    assert window.focused() == "choice-cancel"
    window.press(Keys.ENTER)
    window.until(lambda: "Ended early" in window.one("#status").text)
    assert window.complaints() == []


def test_a_page_left_open_is_told_that_files_changed(window: Browser, own: Served) -> None:
    window.open(f"{own.url}{BASE}")
    path = own.folder / "catalogs" / "tires.yaml"
    seen = "document.dispatchEvent(new Event('visibilitychange'))"
    window.run(seen)
    time.sleep(0.5)
    assert window.one("#files").text == ""
    path.write_text(path.read_text().replace("Heron Moor", "Bittern Moor"))
    window.run(seen)
    window.until(lambda: "changed since this was worked out" in window.one("#files").text)
    assert "Heron Moor" in window.headline
    window.move("#limit-range", 40.6)
    window.until(lambda: "Bittern Moor" in window.headline)
    window.until(lambda: "changed since the page was opened" in window.one("#files").text)
    assert "Heron Moor" not in str(window.one("#pick-front-tire").get_attribute("textContent"))
    window.move("#limit-range", 40.8)
    window.until(lambda: window.driver.current_url.endswith("=40.8") and window.one("#files").text == "")
    assert window.complaints() == []


def test_another_limit_is_asked_for_by_keyboard_and_taken_away(window: Browser, own: Served) -> None:
    from selenium.webdriver.common.keys import Keys

    window.open(f"{own.url}{BASE}")
    window.run("document.getElementById('more-ask').open = true; document.getElementById('ask-for').focus()")
    asked = "spoke_reserve"
    for _ in range(20):
        if window.one("#ask-for").get_attribute("value") == asked:
            break
        window.press(Keys.ARROW_DOWN)
    # Looking through the list asks for nothing.
    time.sleep(0.6)
    assert window.driver.current_url == f"{own.url}{BASE}"
    window.press(Keys.TAB, Keys.ENTER)
    window.until(lambda: "added here" in window.one("#limits").text)
    assert f"limit.{asked}=" in window.driver.current_url
    window.until(lambda: window.focused() == "ask-add")
    window.run("document.querySelector(\"button[value='unask:spoke_reserve']\").focus()")
    window.press(Keys.ENTER)
    window.until(lambda: "added here" not in window.one("#limits").text)
    assert window.driver.current_url == f"{own.url}{BASE}"
    assert window.focused() != "BODY"
    assert window.complaints() == []


def test_the_share_that_counts_stands_beside_its_field(window: Browser, own: Served) -> None:
    window.open(f"{own.url}{BASE}")
    assert window.one("#share-peat-path").text == ""
    window.move("#mix-peat-path", 45)
    window.until(lambda: window.one("#share-peat-path").text == "counts 36.0 %")
    assert window.one("#share-gravel-track").text == "counts 44.0 %"
    # What was opened stays open when it is filled anew.
    window.run("document.getElementById('changes').open = true")
    window.move("#mix-peat-path", 60)
    window.until(lambda: window.one("#share-peat-path").text == "counts 42.9 %")
    window.until(lambda: "peat-path 42.9 %" in window.one("#changes").text)
    assert window.complaints() == []
