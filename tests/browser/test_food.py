"""A weighing that moves the ration, and a dose that is answered, at a phone's size."""

import pytest
from playwright.sync_api import Page, expect
from tests.browser.conftest import Served

pytestmark = pytest.mark.browser


def test_dose_is_answered_with_the_call_still_in_view(page: Page) -> None:
    page.goto("/eaten/")
    expect(page.get_by_text("This is not a diagnosis.")).to_be_in_viewport()
    page.get_by_label("What", exact=True).select_option("Dark chocolate")
    page.get_by_label("How much").fill("20")
    page.get_by_role("button", name="What is described at this dose").tap()
    expect(page.get_by_text("mg/kg", exact=False).first).to_be_in_viewport()
    expect(page.get_by_text("This is not a diagnosis.")).to_be_in_viewport()
    expect(page.get_by_text("Call, whatever the number says.")).to_be_visible()


def test_weighing_with_a_score_leads_to_the_weeks_ration(served: Served, page: Page) -> None:
    page.goto(f"/dogs/{served.known['dog']}/")
    page.get_by_label("Weight in kg").fill("5.3")
    page.get_by_label("Body condition, 1 to 9").select_option("3")
    page.get_by_role("button", name="Write down", exact=True).tap()
    page.get_by_role("link", name="Food and ration").tap()
    expect(page.get_by_text("Body condition 3 of 9, thin")).to_be_visible()
    page.get_by_role("button", name="From now on 224").tap()
    expect(page.get_by_text("From now on 224 g a day.")).to_be_visible()
