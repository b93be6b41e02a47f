"""An incident from Today in at most six taps and ten seconds; what runs around the pup; good news in one tap."""

import json
import time
from collections.abc import Callable
from dataclasses import dataclass, field

import pytest
from playwright.sync_api import Locator, Page, expect
from tests.browser.conftest import Served

pytestmark = pytest.mark.browser

FILLED_WITH = ("14",)
MOST_TAPS = 6
MOST_S = 10.0
NEWEST = (
    'select behaviour, "before", gained, supervised, left_it, near_miss, in_charge, context, "between", place, '
    "people_did from storage_incident order by rowid desc limit 1"
)


@dataclass
class Thumb:
    """Taps as a thumb does, and counts every one. Scrolling is no tap; what a tap cannot reach fails the test."""

    page: Page
    n: int = 0
    began: float = field(default_factory=time.monotonic)

    def tap(self, what: Locator) -> None:
        what.tap()
        self.n += 1

    @property
    def seconds(self) -> float:
        return time.monotonic() - self.began


def chip(page: Page, legend: str, words: str) -> Locator:
    return page.get_by_role("group", name=legend, exact=True).get_by_label(words, exact=True)


def count_real_taps(page: Page) -> Callable[[], int]:
    """Count the touches that the browser itself sees, on every page that follows."""
    page.add_init_script(
        "addEventListener('touchstart', () => sessionStorage.taps = 1 + Number(sessionStorage.taps || 0), true)"
    )
    return lambda: page.evaluate("Number(sessionStorage.taps || 0)")


def test_incident_from_today_takes_at_most_six_taps_and_ten_seconds(served: Served, page: Page) -> None:
    taps_seen = count_real_taps(page)
    page.goto("/")
    thumb = Thumb(page)
    thumb.tap(page.get_by_role("link", name="Something went wrong"))
    thumb.tap(chip(page, "What the pup did", "Takes food or things from tables"))
    thumb.tap(chip(page, "Just before", "food or things in reach"))
    thumb.tap(chip(page, "What it had by it", "food or a thing"))
    thumb.tap(chip(page, "Where", "kitchen"))
    thumb.tap(page.get_by_role("button", name="Write down", exact=True))
    expect(page.get_by_text("Written down.")).to_be_visible()
    assert thumb.n <= MOST_TAPS
    assert taps_seen() == thumb.n
    assert thumb.seconds < MOST_S
    behaviour, before, gained, supervised, left, near, in_charge, context, between, place, did = served.rows(NEWEST)[0]
    assert (behaviour, gained, place, did) == ("counter-stealing", "thing", "kitchen", "")
    assert json.loads(before) == ["in-reach"]
    assert (supervised, left, near) == (1, 0, 0)
    assert in_charge == "Wren"  # filled in, and nobody tapped for it
    known = json.loads(context)
    written = {"waking_min": 95, "meal_min": 80, "outing_min": 30}  # by filled.py, before its server was up
    assert all(minutes <= known[name] <= minutes + 5 for name, minutes in written.items())
    assert json.loads(between) == {}


def test_what_runs_begins_and_ends_in_a_tap_each_and_good_news_in_one(served: Served, page: Page) -> None:
    page.goto("/")
    thumb = Thumb(page)
    thumb.tap(page.get_by_role("button", name="food in reach"))
    running = page.get_by_role("group", name="Food or things in reach")
    expect(running).to_contain_text("since 14:")
    thumb.tap(running.get_by_role("button", name="looked, left it"))
    expect(page.locator(".written")).to_contain_text("it left it")
    assert served.rows(NEWEST)[0][4] == 1
    thumb.tap(running.get_by_role("button", name="ends now"))
    expect(running).to_have_count(0)
    expect(page.get_by_role("button", name="food in reach")).to_be_visible()
    assert thumb.n == 3
    rows = "select detail from storage_careevent where kind = 'in-reach' order by at, id"
    assert [detail for (detail,) in served.rows(rows)][-2:] == ["start", "end"]


def test_what_runs_is_ticked_when_something_goes_wrong(page: Page) -> None:
    page.goto("/")
    page.get_by_role("button", name="visitor").tap()
    expect(page.get_by_role("group", name="Visitor")).to_be_visible()
    page.get_by_role("link", name="Something went wrong").tap()
    expect(page.get_by_role("checkbox", name="a visitor in the house")).to_be_checked()
    page.goto("/")
    page.get_by_role("group", name="Visitor").get_by_role("button", name="ends now").tap()
    expect(page.get_by_role("group", name="Visitor")).to_have_count(0)


def test_good_news_is_taken_back_where_it_was_tapped(served: Served, page: Page) -> None:
    page.goto("/")
    page.get_by_role("button", name="other dog").tap()
    page.get_by_role("group", name="With the resident dog").get_by_role("button", name="let the dog be").tap()
    expect(page.locator(".written")).to_contain_text("it left it")
    page.locator(".written").get_by_role("button", name="Take back").tap()
    expect(page.locator(".written")).to_contain_text("Taken back.")
    taken = "select taken_back_at is not null from storage_incident order by rowid desc limit 1"
    assert served.rows(taken) == [(1,)]
    page.get_by_role("group", name="With the resident dog").get_by_role("button", name="ends now").tap()
    expect(page.get_by_role("group", name="With the resident dog")).to_have_count(0)


def test_between_the_dogs_is_written_by_taps_alone_and_read_on_their_page(served: Served, page: Page) -> None:
    page.goto(f"/dogs/{served.known['dog']}/two-dogs/")
    page.get_by_role("link", name="Write down one between them").tap()
    for legend, words in (
        ("Who started it", "the pup"),
        ("Over what", "a toy"),
        ("How far apart when it began", "within 1 m"),
        ("The most the resident dog did", "growled"),
        ("Who ended it", "a person"),
    ):
        chip(page, legend, words).tap()
    page.get_by_role("button", name="Write down", exact=True).tap()
    expect(page).to_have_url(f"{served.url}/dogs/{served.known['dog']}/two-dogs/")
    expect(page.get_by_text("started by the pup; over a toy; within 1 m; the resident dog: growled")).to_be_visible()
    assert json.loads(served.rows(NEWEST)[0][8])["answered"] == "growled"


def test_refused_time_keeps_every_tap(served: Served, new_phone: Callable[..., Page]) -> None:
    page = new_phone(allow_errors=("status of 400",))
    page.goto(f"/dogs/{served.known['dog']}/incident/")
    chip(page, "What the pup did", "Takes food or things from tables").tap()
    chip(page, "What people did", "swapped").tap()
    page.get_by_text("When, who, and in words").tap()
    page.get_by_label("When", exact=True).fill("2019-01-01T08:00")
    page.get_by_role("button", name="Write down", exact=True).tap()
    expect(page.get_by_text("This is before the pup came on").first).to_be_visible()
    expect(page.get_by_role("radio", name="Takes food or things from tables")).to_be_checked()
    expect(page.get_by_role("checkbox", name="swapped")).to_be_checked()
