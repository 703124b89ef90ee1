"""The page in a real browser: Debian's Chromium with its driver.

``CONFIGOPT_NEEDS_BROWSER=1`` makes a missing browser an error, as in CI; elsewhere these tests are left out with a
word.  ``CONFIGOPT_SHOTS=FOLDER`` keeps the pictures of the pages there.
"""

from __future__ import annotations

import os
import threading
import time
from pathlib import Path
from typing import Any

import pytest
from chromium import Browser
from served import BASE, NAME, VEHICLE, Served, served
from small_project import small_project

TIRE = "heron-moor-80-100-21"
#: Pages that are looked at in every respect.
PAGES = {
    "start": "/",
    "choice": BASE,
    "changed": f"{BASE}&limit.range=40.5&price.{TIRE}=120&beside=today&hold.front.tire={TIRE}&trade=follow",
    "nothing-meets": f"{BASE}&limit.range=500",
    "tradeoff": f"/s/{NAME}/tradeoff?vehicle={VEHICLE}&rate.cost=0.01",
    "why": f"/s/{NAME}/why?vehicle={VEHICLE}&part=hythe-disc-220-4x80",
    "keep": f"/s/{NAME}/keep?vehicle={VEHICLE}&limit.range=40.5&kind=scenario",
    "choice-alone": f"/s/{NAME}/keep?vehicle={VEHICLE}&hold.front.tire={TIRE}&kind=choice",
    "shortlist": f"/s/{NAME}/shortlist?vehicle={VEHICLE}",
    "refused": "/nothing",
}
WIDTHS = (360, 800, 1280)


def test_a_scenario_is_picked_and_the_choice_is_there(window: Browser, page: Served) -> None:
    from selenium.webdriver.common.keys import Keys

    window.open(f"{page.url}/")
    window.press(Keys.TAB)
    assert window.focused() == "A"
    window.press(Keys.TAB, Keys.ENTER)
    window.until(lambda: window.headline.startswith("Proven best"))
    assert window.driver.current_url == f"{page.url}{BASE}"
    assert window.complaints() == []


def test_moving_a_slider_changes_choice_figures_drawing_and_address(window: Browser, page: Served) -> None:
    window.open(f"{page.url}{BASE}")
    before, drawing = window.headline, window.one("#pictures").get_attribute("innerHTML")
    window.move("#press-front-high", 180)
    window.until(lambda: "180.0 kPa in front" in window.headline)
    assert window.headline != before
    assert window.one("#pictures").get_attribute("innerHTML") != drawing
    assert window.driver.current_url == f"{page.url}{BASE}&press.front.high=180"
    window.move("input[data-moves=limit-range]", 40.6)
    window.until(lambda: "limit.range=40.6" in window.driver.current_url)
    assert window.one("#limit-range").get_attribute("value") == "40.6"
    window.driver.refresh()
    window.until(lambda: "180.0 kPa in front" in window.headline)
    assert window.one("#limit-range").get_attribute("value") == "40.6"
    assert window.complaints() == []


def test_the_last_of_a_burst_of_changes_wins(window: Browser, page: Served) -> None:
    window.open(f"{page.url}{BASE}")
    for values in ((41.1, 41.2, 41.3), (41.4, 40.2), (40.3, 40.1)):
        window.move("#limit-range", *values)
        time.sleep(0.17)
    window.until(lambda: "limit.range=40.1" in window.driver.current_url)
    window.until(
        lambda: "instead of 41.0\N{NO-BREAK SPACE}km" in str(window.one("#status").get_attribute("textContent"))
    )
    time.sleep(0.5)
    assert "at least 40.1\N{NO-BREAK SPACE}km" in str(window.one("#status").get_attribute("textContent"))
    assert window.driver.current_url.endswith("limit.range=40.1")


def test_parts_are_held_and_left_out_by_keyboard_and_the_focus_stays(window: Browser, page: Served) -> None:
    from selenium.webdriver.common.keys import Keys

    window.open(f"{page.url}{BASE}")
    window.run("document.getElementById('hold-front-tire').focus()")
    window.press(Keys.ENTER)
    window.until(lambda: "held" in window.one("#slot-front-tire").text)
    window.until(lambda: window.one("#pick-front-tire").get_attribute("value") == TIRE)
    assert window.focused() != "BODY"
    window.run("document.getElementById('out-rear-rotor').focus()")
    window.press(Keys.SPACE)
    window.until(lambda: "out=hythe-disc-220-4x80" in window.driver.current_url)
    window.until(lambda: "left out" in window.one("#carried").text)
    assert window.focused() != "BODY"
    assert f"hold.front.tire={TIRE}" in window.driver.current_url
    window.one("#left-hythe-disc-220-4x80").click()
    window.until(lambda: "out=" not in window.driver.current_url)
    assert window.complaints() == []


def test_enter_in_a_field_asks_with_its_value(window: Browser, page: Served) -> None:
    from selenium.webdriver.common.keys import Keys

    window.open(f"{page.url}{BASE}")
    window.run("const e = document.getElementById('limit-cost'); e.focus(); e.select()")
    window.press("935", Keys.ENTER)
    window.until(lambda: window.driver.current_url == f"{page.url}{BASE}&limit.cost=935")
    window.until(lambda: window.headline.startswith("Proven"))
    assert window.focused() == "limit-cost"


def test_candidates_lie_over_the_choice(window: Browser, page: Served) -> None:
    window.open(f"{page.url}{BASE}")
    window.one("#lay button[value='beside:today']").click()
    window.until(lambda: "today’s packages" in window.one("#pictures").text)
    assert "beside=today" in window.driver.current_url
    window.one("#pictures .key button").click()
    window.until(lambda: "beside" not in window.driver.current_url)
    window.until(lambda: not window.driver.find_elements("css selector", "#pictures .key"))
    assert window.complaints() == []


def test_the_trade_off_follows(window: Browser, page: Served) -> None:
    window.open(f"{page.url}{BASE}&rate.cost=0.01")
    window.one("#trade-follows").click()
    window.until(lambda: "that no other beats" in window.one("#trade").text)
    assert "trade=follow" in window.driver.current_url
    assert window.complaints() == []


def test_without_scripts_the_choice_is_read_and_the_form_works(window: Browser, page: Served) -> None:
    from selenium.webdriver.common.keys import Keys

    window.scripts(False)
    window.open(f"{page.url}{BASE}")
    assert window.headline.startswith("Proven best")
    assert window.one("#sums table").is_displayed()
    assert not window.one("input[type=range]").is_displayed()
    field = window.one("#limit-range")
    field.clear()
    field.send_keys("40.6")
    window.one("#ask button.main").send_keys(Keys.ENTER)
    window.until(lambda: window.driver.current_url == f"{page.url}{BASE}&limit.range=40.6")
    window.until(lambda: window.headline.startswith("Proven"))


def test_long_work_shows_that_it_goes_on_and_can_be_cancelled(
    window: Browser, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with served(small_project(tmp_path)) as page:
        window.open(f"{page.url}{BASE}")
        bench, go = page.gate.desk.choices, threading.Event()
        work = bench.work

        def slow(job: Any) -> Any:
            job.say("counting spokes")
            while not go.is_set() and not job.asked:
                time.sleep(0.01)
            return work(job)

        monkeypatch.setattr(bench, "work", slow)
        window.move("#limit-range", 40.7)
        window.until(lambda: "counting spokes" in window.one("#status").text)
        assert "answer before" in window.headline
        window.one("#status form button").click()
        window.until(lambda: "Ended early" in window.one("#status").text)
        assert window.driver.current_url.endswith("limit.range=40.7")
        go.set()
        window.one("#status form button").click()
        window.until(lambda: window.headline.startswith("Proven"))
        assert window.complaints() == []
        assert page.errors == []


def test_a_refusal_and_an_end_of_the_program_are_told(window: Browser, tmp_path: Path) -> None:
    with served(small_project(tmp_path)) as page:
        window.open(f"{page.url}{BASE}")
        path = tmp_path / "scenarios" / f"{NAME}.yaml"
        text = path.read_text()
        path.write_text(text.replace("wheelbase: 1290 mm", "wheelbase: 1290"))
        line = text[: text.index("wheelbase: 1290 mm")].count("\n") + 1
        window.move("#limit-range", 40.2)
        window.until(lambda: "is wrong" in window.one("#status").text)
        assert f"scenarios/{NAME}.yaml:{line}:16" in window.one("#status").text
        assert str(tmp_path) not in window.one("#status").text
        path.write_text(text)
        window.move("#limit-range", 40.3)
        window.until(lambda: window.headline.startswith("Proven"))
    window.move("#limit-range", 40.4)
    window.until(lambda: "does not answer" in window.one("#status").text)
    window.complaints()


@pytest.mark.parametrize("name", PAGES)
def test_pages_have_no_violations_and_fit_every_width(window: Browser, page: Served, name: str, tmp_path: Path) -> None:
    import axe_core_python

    axe = (Path(next(iter(axe_core_python.__path__))) / "axe.min.js").read_text()
    shots = Path(os.environ.get("CONFIGOPT_SHOTS") or tmp_path)
    shots.mkdir(parents=True, exist_ok=True)
    window.open(f"{page.url}{PAGES[name]}")
    for width in (*WIDTHS, 320):
        window.size(width)
        assert window.run("return document.documentElement.scrollWidth") <= width
        if width in WIDTHS:
            window.picture(shots / f"{name}-{width}.png")
    window.run(axe)
    for width, dark in ((360, False), (1280, True)):
        window.size(width, dark=dark)
        if dark:
            window.picture(shots / f"{name}-{width}-dark.png")
        found = window.driver.execute_async_script(
            "const end = arguments[0];"
            "axe.run(document, {resultTypes: ['violations']}).then(found => end(found.violations))"
        )
        told = [(one["id"], [node["html"][:200] for node in one["nodes"][:3]]) for one in found]
        assert told == []
    complaints = [one for one in window.complaints() if "404" not in one]
    assert complaints == []
    assert all(address.startswith((page.url, "data:", "chrome")) for address in window.requested())


@pytest.mark.slow
def test_a_thousand_tires_stay_quick(window: Browser, tmp_path: Path) -> None:
    from large_project import large_project

    with served(large_project(tmp_path, "M", tires=1_000)) as page:
        began = time.monotonic()
        page.get(BASE)
        assert time.monotonic() - began < 5.0
        window.open(f"{page.url}{BASE}", 240.0)
        assert window.headline.startswith("Proven best")
        assert len(page.get(BASE).text.encode()) <= 1_000_000
        cost = float(window.one("#limit-cost").get_attribute("value"))
        for step in (1.001, 1.002, 1.003):
            window.move("#limit-cost", f"{cost * step:.2f}")
        window.until(lambda: f"limit.cost={cost * 1.003:.2f}".rstrip("0") in window.driver.current_url)
        window.until(lambda: window.headline.startswith("Proven best"), 300.0)
        assert window.complaints() == []
        assert page.errors == []
