"""Chromium, as the tests of the pages have it."""

from tests.browser.conftest import browser, playwright

__all__ = ["browser", "playwright"]
