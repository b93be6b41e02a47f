"""The link in Chromium: opened signed out, written with, seen by the trainer, stopped; without net or script."""

import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect
from tests.browser.conftest import PHONE, Served, wait_until
from tests.browser.test_pages import AXE

pytestmark = pytest.mark.browser


@pytest.fixture
def stranger(browser: Browser, served: Served) -> Iterator[Callable[..., Page]]:
    """Return a function that gives the page of somebody who never signed in."""
    contexts = []

    def make(**options: Any) -> Page:
        context = browser.new_context(base_url=served.url, viewport=PHONE, has_touch=True, **options)
        contexts.append(context)
        return context.new_page()

    yield make
    for context in contexts:
        context.close()


def link_for(page: Page, served: Served, name: str) -> str:
    """Make a link as the trainer does, and return the address that is shown once."""
    page.goto(f"/stays/{served.known['programme']}/family/")
    page.get_by_label("For whom").fill(name)
    page.get_by_role("button", name="Make the link").tap()
    address = page.get_by_label("Address").input_value()
    assert re.fullmatch(rf"{served.url}/for/[\w-]{{43}}/", address)
    return address


def n_entries(served: Served) -> int:
    return int(served.rows("select count(*) from storage_familyentry")[0][0])


def test_link_opens_signed_out_is_written_with_seen_by_the_trainer_and_stopped(
    served: Served, page: Page, stranger: Callable[..., Page]
) -> None:
    address = link_for(page, served, "Aunt Ida")
    family = stranger()
    asked: list[Any] = []
    family.on("request", lambda request: asked.append(request))
    assert family.goto(address).status == 200
    expect(family.get_by_role("heading", level=1)).to_have_text("Tansy today")
    family.get_by_role("button", name="Accident indoors").tap()
    expect(family.get_by_role("status").filter(has_text="Written down")).to_be_visible()
    family.get_by_text("Something we do not want").tap()
    family.get_by_label("A few words, if you like").fill("The roses, again")
    family.get_by_role("button", name="Write it down").tap()
    expect(family.locator(".own")).to_contain_text("The roses, again")
    assert family.context.cookies() == []
    assert {one.url.split("/")[2] for one in asked} == {served.url.split("/")[2]}
    assert not [one for one in asked if one.headers.get("referer")]

    page.goto(f"/stays/{served.known['programme']}/after/")
    for seen in ("Accident indoors", "The roses, again", "Aunt Ida"):
        expect(page.locator("#told ~ ul").first).to_contain_text(seen)

    page.goto(f"/stays/{served.known['programme']}/family/")
    expect(page.locator(".ruled").first).to_contain_text("last opened")
    page.get_by_role("button", name="Stop this link Aunt Ida").tap()
    expect(page.get_by_text("The link has stopped working.")).to_be_visible()
    refused = family.goto(address)
    assert refused.status == 404
    expect(family.get_by_role("heading", level=1)).to_have_text("This link does not open anything.")
    expect(family.get_by_text("Tansy")).to_have_count(0)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_on_the_refusal_and_on_a_page_with_a_problem(
    scheme: str, served: Served, stranger: Callable[..., Page]
) -> None:
    family = stranger(color_scheme=scheme, java_script_enabled=True)
    assert family.goto(f"/for/{'A' * 43}/").status == 404
    assert Axe().run(family, options=AXE).violations_count == 0
    family.goto(f"/for/{served.known['family']}/")
    family.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")
    family.get_by_label("A few words, if you like").fill("long " * 500)
    family.get_by_role("button", name="Write it down").tap()
    expect(family.get_by_role("alert")).to_contain_text("The note has 2000 letters at most.")
    expect(family.get_by_label("A few words, if you like")).to_have_value(re.compile("^(long ){500}$"))
    found = Axe().run(family, options=AXE)
    assert found.violations_count == 0, found.generate_report()
    assert family.evaluate("document.documentElement.scrollWidth") <= 390


def test_tap_without_net_is_kept_on_the_phone_and_sent_once(
    served: Served, page: Page, stranger: Callable[..., Page]
) -> None:
    address = link_for(page, served, "Ben")
    family = stranger()
    family.goto(address)
    before = n_entries(served)
    family.context.set_offline(True)
    family.get_by_role("button", name="Outside, done").tap()
    expect(family.locator("#unsent")).to_contain_text("Not sent yet. It is kept on this phone. (1)")
    assert n_entries(served) == before
    family.context.set_offline(False)
    expect(family.get_by_role("status").filter(has_text="Written down")).to_be_visible()
    expect(family.locator("#unsent")).to_be_empty()
    assert n_entries(served) == before + 1


def test_words_that_cannot_be_sent_are_still_there_after_the_page_was_closed(
    served: Served, page: Page, stranger: Callable[..., Page]
) -> None:
    address = link_for(page, served, "Cleo")
    family = stranger()
    family.goto(address)
    family.get_by_text("Something we do not want").tap()
    family.get_by_label("A few words, if you like").fill("Two shoes")
    family.route("**/write/", lambda route: route.abort())
    family.get_by_role("button", name="Write it down").tap()
    expect(family.locator("#unsent")).to_contain_text("Not sent yet")
    context = family.context
    family.close()
    again = context.new_page()
    again.goto(address)
    expect(again.get_by_role("status").filter(has_text="Written down")).to_be_visible()
    assert served.rows("select count(*) from storage_familyentry where note = 'Two shoes'") == [(1,)]


def test_kept_words_that_the_server_refuses_stay_until_they_are_thrown_away(
    served: Served, page: Page, stranger: Callable[..., Page]
) -> None:
    family = stranger()
    family.goto(link_for(page, served, "Fay"))
    family.get_by_text("Something we do not want").tap()
    family.get_by_label("A few words, if you like").fill("Ünd & more = less")
    family.route("**/write/", lambda route: route.abort())
    family.get_by_role("button", name="Write it down").tap()
    expect(family.locator("#unsent")).to_contain_text("Not sent yet")
    family.unroute("**/write/")
    family.route("**/write/", lambda route: route.fulfill(status=422, body="no"))
    family.get_by_role("button", name="Send again").tap()
    expect(family.locator("#unsent")).to_have_text(re.compile("This could not be written down: Ünd & more = less"))
    family.reload()
    expect(family.locator("#unsent")).to_contain_text("Ünd & more = less")
    family.get_by_role("button", name="Throw it away").tap()
    expect(family.locator("#unsent")).to_be_empty()


def test_link_that_was_stopped_meanwhile_gives_the_typed_words_back(
    served: Served, page: Page, stranger: Callable[..., Page]
) -> None:
    address = link_for(page, served, "Dora")
    family = stranger()
    family.goto(address)
    page.get_by_role("button", name="Stop this link Dora").tap()
    expect(page.get_by_text("The link has stopped working.")).to_be_visible()
    family.get_by_text("Something we do not want").tap()
    family.get_by_label("A few words, if you like").fill("A long story")
    family.get_by_role("button", name="Write it down").tap()
    expect(family.get_by_role("heading", level=1)).to_have_text("This link does not open anything.")
    expect(family.get_by_role("textbox")).to_have_value("A long story")


def test_page_works_without_script(served: Served, page: Page, stranger: Callable[..., Page]) -> None:
    address = link_for(page, served, "Emil")
    family = stranger(java_script_enabled=False)
    family.goto(address)
    before = n_entries(served)
    family.get_by_role("button", name="It worked").tap()
    expect(family.get_by_text("Written down. Thank you.")).to_be_visible()
    assert n_entries(served) == before + 1


def test_picture_is_seen_and_clip_plays(served: Served, stranger: Callable[..., Page]) -> None:
    family = stranger()
    family.goto(f"/for/{served.known['family']}/")
    family.locator("img").scroll_into_view_if_needed()
    expect(family.get_by_role("img", name="On the mat")).to_be_visible()
    wait_until(family, "document.querySelector('img').naturalWidth === 640")
    family.locator("video").evaluate("one => { one.muted = true; return one.play(); }")
    wait_until(family, "document.querySelector('video').videoWidth === 320")


def test_trainer_ticks_a_line_of_the_lesson(served: Served, page: Page) -> None:
    page.goto(f"/stays/{served.known['programme']}/lesson/")
    line = page.locator("li").filter(has_text="Weighed and fed a meal")
    line.get_by_label("Who did it").fill("Ida")
    line.get_by_role("button", name="Done", exact=True).tap()
    expect(page.locator("li").filter(has_text="Weighed and fed a meal")).to_contain_text("Ida")
    expect(page.get_by_text(re.compile(r"^1 of \d+ done"))).to_be_visible()
