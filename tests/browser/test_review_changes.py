"""What a reader got wrong is put right in Chromium: another word, another moment, and what was not heard at all."""

import itertools
from typing import Any

import pytest
from playwright.sync_api import Page, expect
from tests.browser.conftest import Served, wait_until
from tests.browser.test_review import settle

pytestmark = pytest.mark.browser
CHOSEN = "#strip g:has(.chosen-mark)"


@pytest.fixture
def review(served: Served, page: Page) -> Page:
    """The review page of the short recording, with its sound ready."""
    page.goto(f"/recordings/{served.known['recording']}/")
    wait_until(page, "document.getElementById('player').readyState > 0")
    return page


def state_of(page: Page) -> dict[str, Any]:
    """Return what the server knew of the recording when the page was made."""
    return page.evaluate("JSON.parse(document.getElementById('state').textContent)")


def seen_anew(page: Page, event: str) -> dict[str, Any]:
    """Return what the server says of an event after everything was sent and the page was asked for again."""
    settle(page)
    page.reload()
    return next(one for one in state_of(page)["events"] if one["id"] == event)


def word_place(page: Page, kind: str, label: str) -> str:
    """Return the value by which the lists of words offer that word."""
    return str(next(n for n, one in enumerate(state_of(page)["words"]) if (one["kind"], one["label"]) == (kind, label)))


def test_another_word_is_said_by_key_and_taken_back(review: Page) -> None:
    events = {one["id"]: one for one in state_of(review)["events"]}
    while events[chosen := review.locator(CHOSEN).get_attribute("data-event")]["label"] != "sit":
        review.keyboard.press("j")
    review.keyboard.press("w")
    expect(review.locator("#word")).to_be_focused()
    review.locator("#word").select_option(word_place(review, "cue", "down"))
    expect(review.locator("#saved")).to_contain_text("Kept")
    expect(review.locator("#word")).not_to_be_focused()
    said = seen_anew(review, chosen)
    assert (said["state"], said["kind"], said["label"], said["behaviour"]) == ("confirmed", "cue", "down", "down")

    review.locator(CHOSEN).wait_for()
    review.evaluate("at => { document.getElementById('player').currentTime = at; }", said["start"])
    review.locator(f"#strip g[data-event='{chosen}']").click()
    review.locator("#word").select_option(word_place(review, "marker", "yes"))
    review.keyboard.press("u")
    again = seen_anew(review, chosen)
    assert (again["kind"], again["label"], again["behaviour"]) == ("cue", "down", "down")


def test_an_event_is_moved_by_a_twentieth_of_a_second_and_back(review: Page) -> None:
    chosen = review.locator(CHOSEN).get_attribute("data-event")
    began = next(one["start"] for one in state_of(review)["events"] if one["id"] == chosen)
    for key in (".", ".", ","):
        review.keyboard.press(key)
    moved = seen_anew(review, chosen)
    assert moved["start"] == pytest.approx(began + 0.05, abs=0.002)
    assert moved["state"] == "confirmed"


def test_a_tap_adds_what_was_not_heard_at_the_onset_before_it(review: Page) -> None:
    state = state_of(review)
    onset = next(at for n, at in enumerate(state["onsets"]) if n > 2 and at - state["onsets"][n - 1] > 1.5)
    review.locator("#adding summary").click()
    review.locator("#tap-word").select_option(word_place(review, "marker", "yes"))
    review.evaluate(
        """at => new Promise(done => { const one = document.getElementById('player'); one.pause();
      one.addEventListener('seeked', done, {once: true}); one.currentTime = at; })""",
        onset + 0.3,
    )
    review.locator("#adding").get_by_role("button", name="Now!").click()
    expect(review.locator("#saved")).to_contain_text("yes")
    settle(review)
    review.reload()
    known = {one["id"] for one in state["events"]}
    added = [one for one in state_of(review)["events"] if one["id"] not in known]
    assert [(one["kind"], one["label"], one["state"]) for one in added] == [("marker", "yes", "confirmed")]
    assert added[0]["start"] == pytest.approx(onset, abs=0.002)


def test_a_tap_far_from_any_sound_stands_a_quarter_of_a_second_before_it_and_is_taken_back(review: Page) -> None:
    state = state_of(review)
    onsets = state["onsets"]
    silent = next(at + 1.5 for at, later in itertools.pairwise(onsets) if later - at > 3.0)
    review.locator("#adding summary").click()
    review.evaluate(
        """at => new Promise(done => { const one = document.getElementById('player'); one.pause();
      one.addEventListener('seeked', done, {once: true}); one.currentTime = at; })""",
        silent,
    )
    review.locator("h1").click()
    review.keyboard.press("t")
    known = {one["id"] for one in state["events"]}
    settle(review)
    review.keyboard.press("u")
    settle(review)
    review.reload()
    added = [one for one in state_of(review)["events"] if one["id"] not in known]
    assert added[0]["start"] == pytest.approx(silent - 0.25, abs=0.002)
    assert added[0]["state"] == "rejected"
