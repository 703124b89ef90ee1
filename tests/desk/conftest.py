"""What the tests of the page share: helpers of other folders, and one small project that is served once."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

# Test files are imported by path, so a module beside them is not found by itself.
for folder in ("bench", "sweep", "desk"):
    sys.path.insert(0, str(Path(__file__).parents[1] / folder))

from chromium import Browser, started  # noqa: E402
from served import Served, served  # noqa: E402
from small_project import small_project  # noqa: E402


@pytest.fixture(scope="session")
def page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The page of a small project; tests that write into it take a project of their own."""
    with served(small_project(tmp_path_factory.mktemp("project"))) as running:
        yield running
        assert running.errors == []


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    yield from started()


@pytest.fixture
def window(browser: Browser) -> Iterator[Browser]:
    """The browser with scripts on and a wide window."""
    browser.complaints()
    browser.requested()
    yield browser
    browser.scripts(True)
    browser.size(1280)
