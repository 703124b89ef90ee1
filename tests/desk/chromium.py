"""Chromium with its driver, and a few words for what the browser tests do."""

from __future__ import annotations

import base64
import json
import os
import shutil
import time
from collections.abc import Callable, Iterator
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import pytest


def missing() -> str:
    """What a browser test lacks on this machine; empty where nothing."""
    found = [name for name in ("chromium", "chromedriver") if shutil.which(name) is None]
    found += [name for name in ("selenium", "axe_core_python") if find_spec(name) is None]
    return ", ".join(found)


class Browser:
    """Chromium, with a few words for what the tests do."""

    def __init__(self) -> None:
        from selenium import webdriver

        options = webdriver.ChromeOptions()
        options.binary_location = str(shutil.which("chromium"))
        for argument in ("--headless=new", "--disable-gpu", "--disable-dev-shm-usage", "--hide-scrollbars"):
            options.add_argument(argument)
        if os.geteuid() == 0:
            options.add_argument("--no-sandbox")
        options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
        service = webdriver.ChromeService(str(shutil.which("chromedriver")))
        self.driver = webdriver.Chrome(options=options, service=service)
        self.size(1280)

    def size(self, width: int, *, dark: bool = False) -> None:
        """Width of the window, and whether it is dark."""
        metrics = {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 500}
        self.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
        features = [{"name": "prefers-color-scheme", "value": "dark" if dark else "light"}]
        self.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": features})

    def scripts(self, on: bool) -> None:
        """Whether pages may run scripts."""
        self.driver.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": not on})

    def open(self, address: str, seconds: float = 25.0) -> None:
        """Open a page and wait until nothing on it is being worked out."""
        self.driver.get(address)
        self.until(lambda: "Being worked out" not in self.text and "Reading the catalogs" not in self.text, seconds)

    @property
    def text(self) -> str:
        """Words of the page."""
        return str(self.one("body").text)

    @property
    def headline(self) -> str:
        """The choice in one sentence."""
        return str(self.one("#status .headline").text)

    def one(self, selector: str) -> Any:
        """The first element of a selector."""
        return self.driver.find_element("css selector", selector)

    def focused(self) -> str:
        """Id or name of the element that has the focus."""
        return str(self.run("const e = document.activeElement; return e.id || e.tagName"))

    def run(self, script: str, *values: Any) -> Any:
        """Run a script, apart from those of the page."""
        return self.driver.execute_script(script, *values)

    def move(self, name: str, *values: object) -> None:
        """Move a field or a slider to some values, one right after the other."""
        self.run(
            "const e = document.querySelector(arguments[0]);"
            "for (const v of arguments[1]) { e.value = v; e.dispatchEvent(new Event('input', {bubbles: true})); }",
            name,
            [str(value) for value in values],
        )

    def until(self, true: Callable[[], Any], seconds: float = 25.0) -> None:
        """Wait for something."""
        from selenium.common.exceptions import WebDriverException

        end = time.monotonic() + seconds
        while True:
            try:
                if true():
                    return
            except WebDriverException:
                # Part of the page was just replaced.
                pass
            assert time.monotonic() < end, self.driver.current_url
            time.sleep(0.03)

    def press(self, *keys: str) -> None:
        """Press keys where the focus is."""
        from selenium.webdriver import ActionChains

        ActionChains(self.driver).send_keys(*keys).perform()

    def picture(self, path: Path) -> None:
        """The whole page as a picture."""
        size = self.driver.execute_cdp_cmd("Page.getLayoutMetrics", {})["cssContentSize"]
        clip = {"x": 0, "y": 0, "width": size["width"], "height": min(size["height"], 8000), "scale": 1}
        found = self.driver.execute_cdp_cmd("Page.captureScreenshot", {"captureBeyondViewport": True, "clip": clip})
        path.write_bytes(base64.b64decode(found["data"]))

    def complaints(self) -> list[str]:
        """What the browser complained about since last asked, such as styles that the policy forbids.

        That a request was given up for a newer one is no complaint.
        """
        found = [row["message"] for row in self.driver.get_log("browser") if row["level"] == "SEVERE"]
        return [one for one in found if "htmx:sendAbort" not in one and "htmx:afterRequest" not in one]

    def requested(self) -> set[str]:
        """Addresses that were requested since last asked."""
        found = set()
        for row in self.driver.get_log("performance"):
            message = json.loads(row["message"])["message"]
            if message["method"] == "Network.requestWillBeSent":
                found.add(message["params"]["request"]["url"])
        return found


def started() -> Iterator[Browser]:
    """A browser for a fixture; where it is missing, tests fail in CI, which says so, and are skipped elsewhere."""
    lacks = missing()
    if lacks and os.environ.get("CONFIGOPT_NEEDS_BROWSER"):
        pytest.fail(f"the browser tests need {lacks}")
    if lacks:
        pytest.skip(f"no browser: {lacks} is missing (apt-get install chromium chromium-driver)")
    made = Browser()
    yield made
    made.driver.quit()
