"""Food or praise, on the session screen in Chromium: read with one glance, the same offline, overruled with one tap."""

from collections.abc import Callable

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect
from tests.browser.conftest import Served
from tests.browser.test_live import FAILED, wait_for
from tests.browser.test_pages import AXE

from pupilage.core.catalogue.loading import load_bundled

pytestmark = pytest.mark.browser

FOOD, PRAISE = "Next one right: reward", "Next one right: praise only"


@pytest.fixture
def begin_sure(served: Served, page: Page) -> Callable[..., Page]:
    """Return a function that begins a session at the goal of the behaviour that is sure there."""

    def start(on: Page = page) -> Page:
        sure = served.known["sure"]
        on.goto(f"/stays/{served.known['programme']}/session/?behaviour={sure}")
        on.get_by_role("button", name="Begin").first.tap()
        expect(on.locator("#page")).to_have_attribute("data-ready", "yes")
        on.get_by_text("Step, pouch, note").tap()
        on.locator("#choose-step").select_option(load_bundled().behaviours[sure].target)
        on.locator("summary").first.tap()
        expect(on.locator("#pay")).to_be_visible()
        return on

    return start


def listed(page: Page) -> list[bool]:
    """Return the session's list as the server tells it."""
    return page.evaluate("fetch(document.getElementById('page').dataset.state).then((r) => r.json())")["pay"]["paid"]


def pieces(served: Served, page: Page) -> list[int]:
    session = str(page.locator("#page").get_attribute("data-session")).replace("-", "")
    return [n for (n,) in served.rows("select pieces from storage_trial where session_id = ? order by at", session)]


def cue(food: bool) -> str:
    return FOOD if food else PRAISE


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_cue_is_large_in_sight_and_without_violations(
    scheme: str, new_phone: Callable[..., Page], begin_sure: Callable[..., Page]
) -> None:
    page = begin_sure(new_phone(color_scheme=scheme))
    expect(page.locator("#pay-reason")).to_contain_text("praise every one")
    for button in page.locator(".thumb button:visible").all():
        expect(button).to_be_in_viewport(ratio=0.99)
        box = button.bounding_box()
        assert box is not None
        assert min(box["height"], box["width"]) >= 48
    assert page.evaluate("parseFloat(getComputedStyle(document.getElementById('pay-word')).fontSize)") >= 18
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    found = Axe().run(page, options=AXE)
    assert found.violations_count == 0, found.generate_report()


def test_cue_follows_the_list_and_the_pouch_gives_only_what_it_says(
    served: Served, begin_sure: Callable[..., Page]
) -> None:
    page = begin_sure()
    paid = listed(page)
    for n in range(6):
        expect(page.locator("#pay-word")).to_have_text(cue(paid[n]))
        page.get_by_role("button", name="Met", exact=True).tap()
        wait_for(page, tries=n + 1)
    assert pieces(served, page) == [int(one) for one in paid[:6]]


def test_cue_is_the_same_after_a_miss_a_reload_and_an_undo(begin_sure: Callable[..., Page]) -> None:
    page = begin_sure()
    paid = listed(page)
    for n, name in enumerate(["Met", "Missed", "Met"], start=1):
        page.get_by_role("button", name=name, exact=True).tap()
        wait_for(page, tries=n)
    expect(page.locator("#pay-word")).to_have_text(cue(paid[2]))
    page.reload()
    expect(page.locator("#page")).to_have_attribute("data-ready", "yes")
    expect(page.locator("#pay-word")).to_have_text(cue(paid[2]))
    page.get_by_role("button", name="Take back").tap()
    wait_for(page, tries=2)
    expect(page.locator("#pay-word")).to_have_text(cue(paid[1]))
    assert listed(page) == paid


def test_list_goes_on_without_a_server_and_two_misses_unheard_make_it_food(
    served: Served, new_phone: Callable[..., Page], begin_sure: Callable[..., Page]
) -> None:
    page = begin_sure(new_phone(allow_errors=FAILED))
    paid = listed(page)
    page.route("**/sync/**", lambda route: route.abort())
    for n in range(4):
        expect(page.locator("#pay-word")).to_have_text(cue(paid[n]))
        page.get_by_role("button", name="Met", exact=True).tap()
        wait_for(page, tries=n + 1, unsent=n + 1)
    for n in (5, 6):
        page.get_by_role("button", name="Missed", exact=True).tap()
        wait_for(page, tries=n, unsent=n)
    expect(page.locator("#pay-word")).to_have_text(FOOD)
    page.unroute("**/sync/**")
    page.evaluate("dispatchEvent(new Event('online'))")
    wait_for(page, tries=6)
    expect(page.locator("#pay-word")).to_have_text(cue(paid[4]))
    assert pieces(served, page) == [*(int(one) for one in paid[:4]), 0, 0]


def test_one_tap_overrules_the_next_one_alone(served: Served, begin_sure: Callable[..., Page]) -> None:
    page = begin_sure()
    paid = listed(page)
    page.locator("#pay").tap()
    expect(page.locator("#pay-word")).to_have_text(cue(not paid[0]))
    page.get_by_role("button", name="Met", exact=True).tap()
    wait_for(page, tries=1)
    expect(page.locator("#pay-word")).to_have_text(cue(paid[1]))
    assert pieces(served, page) == [int(not paid[0])]


def test_behaviour_that_is_not_sure_has_no_cue(served: Served, page: Page) -> None:
    page.goto(f"/stays/{served.known['programme']}/session/?behaviour=sit")
    page.get_by_role("button", name="Begin").first.tap()
    expect(page.locator("#page")).to_have_attribute("data-ready", "yes")
    expect(page.locator("#pay")).to_be_hidden()
