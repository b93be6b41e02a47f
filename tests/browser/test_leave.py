"""The clock of an absence in Chromium at a phone's size: a reload, a sleeping page, a server that does not answer."""

import json
from collections.abc import Callable

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, Route, expect
from tests.browser.conftest import Served
from tests.browser.test_pages import AXE, SMALL_TARGETS

pytestmark = pytest.mark.browser

FAILED = ("Failed to load resource", "ERR_FAILED")


@pytest.fixture
def leaving(served: Served, new_phone: Callable[..., Page]) -> Page:
    """The page with the clock, ready."""
    page = new_phone(allow_errors=FAILED)
    open_clock(page, served)
    return page


def open_clock(page: Page, served: Served) -> None:
    page.goto(f"/dogs/{served.known['dog']}/alone/leave/")
    expect(page.locator("#page")).to_have_attribute("data-ready", "yes")


def tap(page: Page, name: str) -> None:
    page.get_by_role("button", name=name, exact=True).tap()


def stored(served: Served) -> list[tuple[float, list[dict[str, object]], str]]:
    rows = served.rows("select away_s, signs, watched from storage_absence where taken_back_at is null order by at")
    return [(away_s, json.loads(signs), watched) for away_s, signs, watched in rows]


def test_absence_is_timed_and_stored_in_three_taps(served: Served, leaving: Page) -> None:
    before = len(stored(served))
    tap(leaving, "Gone")
    leaving.wait_for_timeout(1200)
    tap(leaving, "whines")
    expect(leaving.locator("#seen")).to_contain_text("0:01 whines")
    expect(leaving.locator("#word")).to_contain_text("Go in calmly")
    tap(leaving, "Back")
    leaving.wait_for_url("**/alone/")
    expect(leaving.get_by_text("Written down.")).to_be_visible()
    away_s, signs, watched = stored(served)[-1]
    assert len(stored(served)) == before + 1
    assert watched == "camera"
    assert [one["sign"] for one in signs] == ["whining"]
    assert 1.0 <= signs[0]["at_s"] <= away_s < 10.0
    assert leaving.evaluate("Object.keys(localStorage).length") == 0


def test_reload_and_sleep_lose_neither_the_time_nor_the_signs(served: Served, leaving: Page) -> None:
    leaving.clock.install()
    open_clock(leaving, served)
    tap(leaving, "Gone")
    leaving.clock.fast_forward(2_000)
    tap(leaving, "barks")
    open_clock(leaving, served)
    expect(leaving.locator("#seen")).to_contain_text("0:02 barks")
    leaving.evaluate(  # as if a phone had slept for two minutes: no tick came, only the time went on
        "() => { const key = Object.keys(localStorage)[0]; const kept = JSON.parse(localStorage[key]);"
        " kept.goneMs -= 120000; localStorage[key] = JSON.stringify(kept); }"
    )
    open_clock(leaving, served)
    expect(leaving.locator("#elapsed")).to_contain_text("2:0")
    expect(leaving.get_by_role("button", name="Gone")).to_be_hidden()
    leaving.get_by_role("button", name="Did not happen").tap()
    leaving.get_by_role("button", name="Tap again").tap()
    expect(leaving.get_by_role("button", name="Gone")).to_be_visible()


def test_absence_that_nobody_answered_is_kept_and_written_down_later(served: Served, leaving: Page) -> None:
    before = len(stored(served))
    refused: list[str] = []

    def refuse(route: Route) -> None:
        refused.append(route.request.url)
        route.abort()

    leaving.route("**/alone/push/", refuse)
    tap(leaving, "Gone")
    leaving.wait_for_timeout(300)
    tap(leaving, "Back")
    expect(leaving.get_by_role("alert")).to_contain_text("kept on this phone")
    assert refused
    assert len(stored(served)) == before
    leaving.unroute("**/alone/push/")
    tap(leaving, "Write it down again")
    leaving.wait_for_url("**/alone/")
    assert len(stored(served)) == before + 1


def test_sign_tapped_by_mistake_is_taken_back(leaving: Page) -> None:
    tap(leaving, "Gone")
    tap(leaving, "howls")
    tap(leaving, "Take the sign back")
    expect(leaving.locator("#seen li")).to_have_count(0)
    expect(leaving.locator("#word")).not_to_contain_text("too long")


def test_drop_asks_once_more(leaving: Page) -> None:
    tap(leaving, "Gone")
    tap(leaving, "Did not happen")
    expect(leaving.get_by_role("button", name="Back", exact=True)).to_be_visible()
    expect(leaving.get_by_role("button", name="Tap again to throw it away")).to_be_visible()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_clock_that_runs_has_no_violation_and_large_targets(
    scheme: str, served: Served, new_phone: Callable[..., Page]
) -> None:
    page = new_phone(color_scheme=scheme)
    open_clock(page, served)
    tap(page, "Gone")
    tap(page, "barks")
    page.get_by_text("Another sign").tap()
    found = Axe().run(page, options=AXE)
    assert found.violations_count == 0, found.generate_report()
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    assert page.evaluate(SMALL_TARGETS) == []


def test_severe_sign_says_to_go_in_now(leaving: Page) -> None:
    tap(leaving, "Gone")
    leaving.get_by_text("Another sign").tap()
    tap(leaving, "hurt itself")
    expect(leaving.locator("#word")).to_contain_text("Go in now")
