"""A second person codes a session on a phone: blind, with one thumb, without a server for a while."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect
from tests.browser.conftest import Served
from tests.browser.test_pages import AXE

pytestmark = pytest.mark.browser

BEGIN_AT = datetime(2026, 5, 12, 8, 0, tzinfo=UTC)


@pytest.fixture
def begin(served: Served) -> Callable[..., Page]:
    """Return a function that starts the clock of a coding and gives its page."""

    def start(page: Page, observer: str = "Robin") -> Page:
        page.set_default_timeout(6_000)
        page.goto(f"/sessions/{served.known['session']}/code/")
        expect(page.locator("#page")).to_have_attribute("data-ready", "yes")
        page.get_by_label("Who codes").fill(observer)
        page.clock.install(time=BEGIN_AT)
        page.clock.pause_at(BEGIN_AT + timedelta(minutes=1))
        page.get_by_role("button", name="Start the clock").tap()
        return page

    return start


def stored(served: Served, observer: str) -> list[tuple[str, str, float]]:
    return served.rows(
        "select e.kind, e.code, e.time_s from storage_codingentry e join storage_coding c on c.id = e.coding_id"
        " where c.observer = ? order by e.id",
        observer,
    )


def test_nobody_codes_without_a_name(served: Served, page: Page) -> None:
    page.goto(f"/sessions/{served.known['session']}/code/")
    page.get_by_role("button", name="Start the clock").tap()
    expect(page.get_by_role("alert")).to_have_text("Say who codes first.")
    expect(page.get_by_role("button", name="Met", exact=True)).to_be_hidden()


def test_session_is_coded_blind_and_leads_to_the_comparison(
    served: Served, page: Page, begin: Callable[..., Page]
) -> None:
    begin(page)
    for code in ("Met", "Missed", "Met"):
        page.clock.run_for(7_000)
        page.get_by_role("button", name=code, exact=True).tap()
    page.get_by_role("button", name="Take back").tap()
    page.get_by_role("button", name="Pause the clock").tap()
    page.clock.run_for(60_000)
    expect(page.get_by_role("button", name="Met", exact=True)).to_be_disabled()
    page.get_by_role("button", name="Go on").tap()
    page.clock.run_for(4_000)
    page.get_by_role("button", name="Helped", exact=True).tap()
    page.get_by_role("button", name="Done").tap()
    page.get_by_role("link", name="Compare").tap()
    expect(page.locator("p.big")).to_contain_text("The log and Robin say the same of")
    told = stored(served, "Robin")
    assert [row[:2] for row in told] == [
        ("mark", "met"), ("mark", "missed"), ("mark", "met"), ("withdrawn", ""), ("mark", "helped"), ("ended", ""),
    ]  # fmt: skip
    assert [round(row[2]) for row in told] == [7, 14, 21, 21, 25, 25]


def test_taps_without_a_server_survive_a_restart_and_are_stored_once(
    served: Served, new_phone: Callable[..., Page], begin: Callable[..., Page]
) -> None:
    page = begin(new_phone(allow_errors=("Failed to load resource", "ERR_FAILED")), "Alder")
    page.route("**/code/entries/", lambda route: route.abort())
    page.clock.run_for(5_000)
    page.get_by_role("button", name="Met", exact=True).tap()
    expect(page.get_by_role("alert")).to_contain_text("every tap is kept on this device")
    page.reload()
    expect(page.locator("#page")).to_have_attribute("data-unsent", "1")
    expect(page.locator("#count")).to_have_text("Marked: 1")
    page.unroute("**/code/entries/")
    page.clock.run_for(6_000)
    expect(page.locator("#page")).to_have_attribute("data-unsent", "0")
    assert [row[:2] for row in stored(served, "Alder")] == [("mark", "met")]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_coding_under_way_has_no_violation_and_its_clock_and_buttons_are_in_sight(
    scheme: str, new_phone: Callable[..., Page], begin: Callable[..., Page]
) -> None:
    page = begin(new_phone(color_scheme=scheme))
    page.clock.resume()  # axe-core waits by timers
    found = Axe().run(page, options=AXE)
    assert found.violations_count == 0, found.generate_report()
    expect(page.locator("#clock")).to_be_in_viewport(ratio=0.99)
    for button in page.locator("#thumb button").all():
        expect(button).to_be_in_viewport(ratio=0.99)
        box = button.bounding_box()
        assert box is not None
        assert min(box["height"], box["width"]) >= 48, button.inner_text()
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
