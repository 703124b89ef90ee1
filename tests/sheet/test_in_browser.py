"""The sheet in Chromium: on a phone nothing is cut without a word, on paper nothing is shrunk."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from sheets import Sheet

# The browser is the one of the desk's tests.
sys.path.append(str(Path(__file__).parents[1] / "desk"))
from chromium import Browser, started

#: Widths [CSS pixels, 96 to the inch]: a phone; what the margins leave of A4 and of Letter, 180.0 and 185.9 mm.
PHONE, A4, LETTER = 390, 680, 702


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    yield from started()


@pytest.fixture
def opened(browser: Browser, sheet: Sheet, tmp_path: Path) -> Browser:
    """The sheet, opened from disk."""
    path = tmp_path / "sheet.html"
    path.write_text(sheet.html)
    browser.size(PHONE)
    browser.driver.get(path.as_uri())
    return browser


def test_on_a_phone_nothing_is_cut_without_a_word(opened: Browser) -> None:
    assert opened.driver.execute_script("return document.documentElement.scrollWidth") == PHONE
    cut = opened.driver.execute_script(
        """return [...document.querySelectorAll('.scroll')].filter(one => one.scrollWidth > one.clientWidth + 1)
        .filter(one => { const hint = one.previousElementSibling;
                         return !hint || hint.className != 'hint' || !hint.offsetHeight; })
        .map(one => one.getAttribute('aria-label'))"""
    )
    assert cut == []


@pytest.mark.parametrize("width", [A4, LETTER])
def test_on_paper_nothing_is_wider_than_the_page(opened: Browser, width: int) -> None:
    """A browser shrinks a sheet that is wider than its paper, and then no drawing is to its scale."""
    metrics = {"width": width, "height": 970, "deviceScaleFactor": 1, "mobile": False}
    opened.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
    opened.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    try:
        wide = opened.driver.execute_script(
            """const edge = document.documentElement.clientWidth + 1;
            return [...document.querySelectorAll('body *')].filter(one => one.getBoundingClientRect().right > edge)
            .map(one => one.tagName + ': ' + one.textContent.slice(0, 60))"""
        )
        assert wide == []
        drawn = opened.driver.execute_script(
            "return [...document.querySelectorAll('svg.drawing')].map(one => one.getBoundingClientRect().width)"
        )
        # 180 mm at 96 pixels to the inch.
        assert drawn == pytest.approx([180.0 / 25.4 * 96.0] * 2, abs=0.1)
    finally:
        opened.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
