"""The plan on a phone: made by a tap, compared with another stay, taken up."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect
from tests.browser.conftest import Served

pytestmark = pytest.mark.browser


def test_what_if_is_compared_and_taken_up_with_a_thumb(served: Served, new_phone: Callable[..., Page]) -> None:
    page = new_phone()
    page.goto("/stays/{programme}/".format(**served.known))
    page.get_by_role("link", name="The plan").click()
    page.get_by_role("button", name="Make it anew").click()
    expect(page.get_by_text("The plan is made.")).to_be_visible()
    page.get_by_label("Short sessions a day").fill("6")
    page.get_by_role("button", name="Compare").click()
    expect(page.get_by_text("Nothing is changed yet.")).to_be_visible()
    page.get_by_role("button", name="Change the stay to this").click()
    expect(page.get_by_label("Short sessions a day")).to_have_value("6")
