"""The distribution's Chromium, started once for all tests that drive it."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Playwright

CHROMIUM = "/usr/bin/chromium"
ARGUMENTS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@pytest.fixture(scope="session")
def playwright() -> "Iterator[Playwright]":
    """What drives Chromium, for the whole run."""
    if not Path(CHROMIUM).exists():
        pytest.skip("Chromium is not installed; apt-get install chromium")
    from playwright.sync_api import sync_playwright  # only where a test needs it

    with sync_playwright() as driver:
        yield driver


@pytest.fixture(scope="session")
def browser(playwright: "Playwright") -> "Iterator[Browser]":
    """Chromium, for the whole run."""
    chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
    yield chromium
    chromium.close()
