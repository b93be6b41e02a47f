"""A plan against an unwanted behaviour, made on a phone."""

import pytest
from playwright.sync_api import Page, expect
from tests.browser.conftest import Served

pytestmark = pytest.mark.browser


def test_plan_is_begun_with_one_tap_and_shown_with_what_it_arranges(served: Served, page: Page) -> None:
    page.goto(f"/dogs/{served.known['dog']}/incidents/jumping-up/plan/")
    page.get_by_role("button", name="Begin the plan").tap()
    expect(page.get_by_role("status")).to_contain_text("The plan is written down.")
    expect(page.get_by_role("heading", name="What was planned")).to_be_visible()
    expect(page.get_by_role("button", name="Change the plan")).to_be_visible()


def test_drawing_of_a_plan_says_in_words_what_it_shows(served: Served, page: Page) -> None:
    page.goto(f"/dogs/{served.known['dog']}/incidents/{served.known['planned']}/plan/")
    expect(page.get_by_role("img", name="times as often as before any")).to_be_visible()
