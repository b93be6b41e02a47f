"""The first timetable of a day, in the distribution's Chromium: at once, then a better one."""

import re

import pytest
from playwright.sync_api import Page, expect
from tests.browser.conftest import Served

pytestmark = pytest.mark.browser

FILLED_WITH = ("9",)


def test_first_plan_is_there_at_once_and_a_word_says_when_a_better_one_has_come(served: Served, page: Page) -> None:
    page.goto("/")
    expect(page.locator(".now-line")).to_be_visible(timeout=10_000)
    words = page.locator("#timetable").get_by_text(
        re.compile("A better plan has replaced the first one|the first one stays|there is no better plan")
    )
    expect(words.first).to_be_visible(timeout=30_000)
    assert served.rows("select key from storage_planblock")
