"""A recording is checked by keyboard in Chromium: kept at once, sent when somebody answers, counted in the log."""

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect
from tests.browser.conftest import Served, wait_until

pytestmark = pytest.mark.browser

LISTEN_S = 1.2
KEY_S = 0.4
"""A person's pace: so long they listen to an event, so long a key takes. A plain assumption, no source."""

STANDING = """select count(distinct e.id) from storage_recordingevent e join storage_recordingjudgement j
  on j.event_id = e.id where e.recording_id = ? and j.taken_back_at is null"""


def n_judged(served: Served, recording: str) -> int:
    return int(served.rows(STANDING, recording.replace("-", ""))[0][0])


def left(page: Page) -> list[int]:
    """Return how many are to be checked, how many sure ones wait, how many tries have no outcome."""
    return [int(number) for number in re.findall(r"\d+", page.locator("#left").inner_text())]


def settle(page: Page) -> None:
    """Wait until everything is sent and the page has asked what is left."""
    wait_until(
        page,
        """Object.keys(localStorage).filter(key => key.includes('recording.'))
      .every(key => JSON.parse(localStorage.getItem(key)).entries.every(one => one.sent))""",
    )
    page.wait_for_timeout(1600)


def test_keys_judge_take_back_and_survive_a_server_that_does_not_answer(
    served: Served, new_phone: Callable[..., Page]
) -> None:
    page = new_phone(allow_errors=("Failed to load resource", "net::ERR"))
    recording = served.known["recording"]
    page.goto(f"/recordings/{recording}/")
    to_check, sure, _ = left(page)
    assert to_check > 0
    assert sure > 0
    expect(page.locator("#question")).to_contain_text("right?")
    page.keyboard.press("y")
    expect(page.locator("#saved")).to_contain_text("Kept")
    assert left(page)[0] == to_check - 1
    settle(page)
    assert n_judged(served, recording) == 1
    page.keyboard.press("u")
    assert left(page)[0] == to_check
    settle(page)
    assert n_judged(served, recording) == 0

    page.route("**/judge/", lambda route: route.abort())
    page.keyboard.press("n")
    expect(page.locator("#problem")).to_contain_text("kept on this device")
    page.unroute("**/judge/")
    page.reload()
    assert left(page)[0] == to_check - 1, "what was not sent is still known after a reload"
    settle(page)
    assert n_judged(served, recording) == 1


def test_a_hidden_suggestion_shows_only_where_an_empty_place_is_asked(served: Served, page: Page) -> None:
    recording = served.known["long"]
    page.goto(f"/recordings/{recording}/")
    state = page.evaluate("JSON.parse(document.getElementById('state').textContent)")
    hidden = next(one for one in state["events"] if one["band"] == "hidden")
    assert page.locator(f"[data-event='{hidden['id']}']").count() == 0
    page.evaluate(f"document.getElementById('player').currentTime = {hidden['start']}")
    page.wait_for_timeout(300)
    box = page.locator("#strip").bounding_box()
    page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] - 4)
    expect(page.locator("#hidden-here button").first).to_contain_text(hidden["label"])


def test_a_twenty_minute_session_is_checked_in_under_five_minutes(served: Served, page: Page) -> None:
    """Every key is pressed for real, but without the waiting: the minutes are the keys and looks at a person's pace."""
    recording = served.known["long"]
    page.goto(f"/recordings/{recording}/")
    n_looked = n_keys = 0

    def press(key: str, *, looks: bool) -> None:
        nonlocal n_looked, n_keys
        n_looked, n_keys = n_looked + looks, n_keys + 1
        page.keyboard.press(key)

    to_check, sure, n_tries = left(page)
    while left(page)[0]:
        press("y" if n_keys % 3 else "n", looks=True)
    press("a", looks=True)
    settle(page)
    press("m", looks=True)
    while left(page)[2]:
        while left(page)[2]:
            press("2", looks=True)
        settle(page)  # what was judged may make tries of what was a repeated cue
    assert left(page) == [0, 0, 0]
    minutes = (n_looked * LISTEN_S + n_keys * KEY_S) / 60.0
    each = minutes + (n_tries * (LISTEN_S + KEY_S)) / 60.0  # as if every try were looked at for what the pup did
    told = f"{to_check} to check, {sure} sure, {n_tries} tries; {n_keys} keys: {minutes:.1f} min, {each:.1f} one by one"
    print(told)  # noqa: T201
    assert each < 5.0

    page.get_by_role("button", name="Let them count").click()
    expect(page.locator(".notices")).to_contain_text("tries count")
    trials = served.rows("select count(*) from storage_trial where source = 'recorded'")[0][0]
    assert trials > 20
    page.locator("#amounts a[href^='/sessions/']").first.click()
    expect(page.locator("main")).to_contain_text("Missed")
