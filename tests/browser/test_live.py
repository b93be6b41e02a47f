"""The session screen in Chromium at a phone's size: holds, a remote's keys, a reload, a server that is gone."""

import re
from collections.abc import Callable

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, Route, expect
from tests.browser.conftest import Served
from tests.browser.test_pages import AXE

pytestmark = pytest.mark.browser

FAILED = ("Failed to load resource",)
"""What a browser writes to its console about a request that failed, which is what some tests here are about."""


@pytest.fixture
def begin(served: Served, page: Page) -> Callable[..., Page]:
    """Return a function that begins a session of a behaviour and gives its screen, ready."""

    def start(behaviour: str, on: Page = page) -> Page:
        on.goto(f"/stays/{served.known['programme']}/session/?behaviour={behaviour}")
        on.get_by_role("button", name="Begin").tap()
        expect(on.locator("#page")).to_have_attribute("data-ready", "yes")
        return on

    return start


def session_of(page: Page) -> str:
    return str(page.locator("#page").get_attribute("data-session")).replace("-", "")


def kinds_of(served: Served, session: str) -> list[str]:
    query = "select kind from storage_sessionevent where session_id = ? order by at, device_seq"
    return [kind for (kind,) in served.rows(query, session)]


def expect_kinds(served: Served, page: Page, kinds: list[str]) -> None:
    """Wait until the log in the database file is this one."""
    for _ in range(50):
        if kinds_of(served, session_of(page)) == kinds:
            return
        page.wait_for_timeout(100)
    assert kinds_of(served, session_of(page)) == kinds


def wait_for(page: Page, *, tries: int, unsent: int = 0) -> None:
    expect(page.locator("#page")).to_have_attribute("data-tries", str(tries))
    expect(page.locator("#page")).to_have_attribute("data-unsent", str(unsent))


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("behaviour", ["sit", "settle-on-mat"])
def test_axe_finds_no_violation_and_everything_fits_the_phone(
    behaviour: str, scheme: str, new_phone: Callable[..., Page], begin: Callable[..., Page]
) -> None:
    page = begin(behaviour, new_phone(color_scheme=scheme))
    found = Axe().run(page, options=AXE)
    assert found.violations_count == 0, found.generate_report()
    page.get_by_text("Step, pouch, note").tap()
    found = Axe().run(page, options=AXE)
    assert found.violations_count == 0, found.generate_report()
    assert page.evaluate("document.documentElement.scrollWidth") <= 390


@pytest.mark.parametrize("behaviour", ["sit", "settle-on-mat"])
def test_every_button_is_at_least_48_px_and_the_thumbs_buttons_are_in_sight(
    behaviour: str, begin: Callable[..., Page]
) -> None:
    page = begin(behaviour)
    for button in page.locator("button:visible, summary").all():
        box = button.bounding_box()
        assert box is not None
        assert min(box["height"], box["width"]) >= 48, button.inner_text()
    page.get_by_text("Step, pouch, note").tap()
    for button in page.locator(".thumb button:visible").all():
        expect(button).to_be_in_viewport(ratio=0.99)


def test_hold_runs_by_its_own_clock_breaks_and_proposes_the_next_target(
    served: Served, begin: Callable[..., Page]
) -> None:
    page = begin("settle-on-mat")
    start = page.locator("#start-hold")
    expect(start).to_have_text(re.compile(r"^Start: hold for ([\d.]+\ss|a moment \([\d.]+ s\))$"))
    start.tap()
    expect(page.locator("#elapsed")).not_to_have_text("0.0")
    expect(page.get_by_role("button", name="Met", exact=True)).to_have_count(0)
    page.get_by_role("button", name="Broke").tap()
    wait_for(page, tries=1)
    expect(start).to_be_visible()
    session = session_of(page)
    assert kinds_of(served, session) == ["session-started", "hold-started", "hold-broke"]
    ((held_s, target_s, broke),) = served.rows(
        "select held_s, target_s, broke from storage_trial where session_id = ?", session
    )
    assert 0 < held_s < 30
    assert target_s > 0
    assert broke == 1


def test_running_hold_survives_a_reload(served: Served, begin: Callable[..., Page]) -> None:
    page = begin("settle-on-mat")
    page.locator("#start-hold").tap()
    expect(page.locator("#page")).to_have_attribute("data-unsent", "0")
    expect(page.locator("#elapsed")).to_have_text(re.compile(r"^(0\.[5-9]|[1-9])"))
    page.reload()
    expect(page.get_by_role("button", name="Released")).to_be_visible()
    expect(page.locator("#elapsed")).to_have_text(re.compile(r"^[1-9]"))
    page.get_by_role("button", name="Released").tap()
    expect(page.locator("#start-hold")).to_be_visible()
    expect(page.locator("#page")).to_have_attribute("data-unsent", "0")
    ((held_s,),) = served.rows("select held_s from storage_trial where session_id = ?", session_of(page))
    assert held_s >= 1.0


def test_keys_of_a_presenter_remote_log_trials(served: Served, begin: Callable[..., Page]) -> None:
    page = begin("sit")
    for n, key in enumerate(["PageDown", "PageUp", "b", "."], start=1):
        page.keyboard.press(key)
        wait_for(page, tries=n)
    page.keyboard.press("u")
    wait_for(page, tries=3)
    rows = served.rows("select outcome from storage_trial where session_id = ? order by at", session_of(page))
    assert [outcome for (outcome,) in rows] == ["met", "missed", "helped"]


def test_keys_of_a_presenter_remote_run_a_hold(served: Served, begin: Callable[..., Page]) -> None:
    page = begin("settle-on-mat")
    kinds = ["session-started"]
    for key, kind in [
        ("PageDown", "hold-started"),
        ("PageDown", "hold-released"),
        ("PageDown", "hold-started"),
        ("PageUp", "hold-broke"),
    ]:
        page.keyboard.press(key)
        kinds.append(kind)
        expect(page.locator("#start-hold")).to_be_visible(visible=kind != "hold-started")
        expect_kinds(served, page, kinds)


def test_letters_typed_into_the_note_are_no_trials(served: Served, begin: Callable[..., Page]) -> None:
    page = begin("sit")
    page.get_by_text("Step, pouch, note").tap()
    page.get_by_label("Note").fill("")
    page.get_by_label("Note").press_sequentially("bub.")
    page.get_by_role("button", name="Keep", exact=True).tap()
    expect(page.locator("#note")).to_have_value("")
    expect_kinds(served, page, ["session-started", "note"])


def test_latency_is_taken_when_the_cue_is_tapped(served: Served, begin: Callable[..., Page]) -> None:
    page = begin("sit")
    page.get_by_role("button", name="Cue said").tap()
    page.get_by_role("button", name="Met", exact=True).tap()
    wait_for(page, tries=1)
    expect(page.locator("#latency")).to_have_text(re.compile(r"^Cue to behaviour: \d+\.\d\ss$"))
    ((latency_s,),) = served.rows("select latency_s from storage_trial where session_id = ?", session_of(page))
    assert 0 < latency_s < 10


def test_step_is_the_trainers_to_choose_and_trials_keep_theirs(served: Served, begin: Callable[..., Page]) -> None:
    page = begin("sit")
    page.get_by_role("button", name="Met", exact=True).tap()
    wait_for(page, tries=1)
    page.get_by_text("Step, pouch, note").tap()
    page.get_by_label("Step").select_option("gesture")
    expect(page.locator("#step")).to_have_text(re.compile("empty hand"))
    page.get_by_role("button", name="Missed", exact=True).tap()
    wait_for(page, tries=2)
    rows = served.rows("select step from storage_trial where session_id = ? order by at", session_of(page))
    assert rows[1] == ("gesture",)
    assert kinds_of(served, session_of(page))[2] == "step-changed"


def test_taps_without_a_server_are_kept_over_a_restart_of_the_page_and_sent_once(
    served: Served, new_phone: Callable[..., Page], begin: Callable[..., Page]
) -> None:
    page = begin("sit", new_phone(allow_errors=FAILED))
    gone = {"yes": True}

    def answer(route: Route) -> None:
        if gone["yes"]:
            route.abort()
        else:
            route.continue_()

    page.route("**/sync/**", answer)
    for _ in range(3):
        page.get_by_role("button", name="Met", exact=True).tap()
    wait_for(page, tries=3, unsent=3)
    expect(page.locator("#trouble")).to_have_text(re.compile("every tap is kept on this device"))
    assert kinds_of(served, session_of(page)) == ["session-started"]
    page.reload()
    wait_for(page, tries=3, unsent=3)
    gone["yes"] = False
    page.evaluate("dispatchEvent(new Event('online'))")
    wait_for(page, tries=3)
    expect(page.locator("#trouble")).to_be_hidden()
    assert kinds_of(served, session_of(page)) == ["session-started", "trial", "trial", "trial"]


@pytest.mark.parametrize(
    ("status", "content_type", "body", "words"),
    [
        (302, "text/html", "", "Signed out"),
        (403, "text/html", "<p>no</p>", "Signed out"),
        (200, "text/html", "<p>a page of the hotel's network</p>", "Signed out"),
        (200, "application/json", '{"token": "x", "owner": "somebody-else"}', "another account"),
        (500, "application/json", "{", "does not answer"),
    ],
)
def test_answer_that_is_no_answer_loses_nothing(
    status: int,
    content_type: str,
    body: str,
    words: str,
    served: Served,
    new_phone: Callable[..., Page],
    begin: Callable[..., Page],
) -> None:
    page = begin("sit", new_phone(allow_errors=FAILED))

    def answer(route: Route) -> None:
        headers = {"Content-Type": content_type, "Location": "/sign-in/"}
        route.fulfill(status=status, headers=headers, body=body)

    page.route("**/sync/token/", answer)
    page.get_by_role("button", name="Met", exact=True).tap()
    wait_for(page, tries=1, unsent=1)
    expect(page.locator("#trouble")).to_have_text(re.compile(words))
    page.unroute("**/sync/token/")
    page.evaluate("dispatchEvent(new Event('online'))")
    wait_for(page, tries=1)
    assert kinds_of(served, session_of(page)) == ["session-started", "trial"]


def test_reply_that_is_lost_on_the_way_doubles_nothing(
    served: Served, new_phone: Callable[..., Page], begin: Callable[..., Page]
) -> None:
    page = begin("sit", new_phone(allow_errors=FAILED))
    lost = []

    def lose_the_first(route: Route) -> None:
        if lost:
            route.continue_()
            return
        lost.append(route.fetch().json())  # the server stores it
        route.abort()  # and the phone never hears of it

    page.route("**/sync/push/", lose_the_first)
    page.get_by_role("button", name="Met", exact=True).tap()
    expect(page.locator("#trouble")).to_have_text(re.compile("does not answer"))
    wait_for(page, tries=1, unsent=1)
    assert lost[0]["verdicts"][0]["status"] == "stored"
    page.evaluate("dispatchEvent(new Event('online'))")
    wait_for(page, tries=1)
    assert kinds_of(served, session_of(page)) == ["session-started", "trial"]


def test_refused_tap_is_said_and_set_aside(served: Served, begin: Callable[..., Page]) -> None:
    page = begin("sit")

    def spoil(route: Route) -> None:
        body = re.sub(r'"outcome":"met"', '"outcome":"splendid"', str(route.request.post_data))
        route.continue_(post_data=body)

    page.route("**/sync/push/", spoil)
    page.get_by_role("button", name="Met", exact=True).tap()
    expect(page.locator("#trouble")).to_have_text(re.compile("^Refused: .*splendid"))
    wait_for(page, tries=0)
    kept = page.evaluate(
        """() => new Promise((resolve) => { const open = indexedDB.open("pupilage");
        open.onsuccess = () => { const all = open.result.transaction("refused").objectStore("refused").getAll();
        all.onsuccess = () => resolve(all.result.map((row) => row.event.payload.outcome)); }; })"""
    )
    assert kept == ["met"]


def test_ended_session_goes_to_its_record_and_the_screen_follows(served: Served, begin: Callable[..., Page]) -> None:
    page = begin("sit")
    live = page.url
    page.get_by_role("button", name="Missed", exact=True).tap()
    wait_for(page, tries=1)
    page.get_by_role("button", name="End session").tap()
    assert kinds_of(served, session_of(page))[-1] == "trial", "one tap must not end a session"
    page.get_by_role("button", name="Tap again to end").tap()
    page.wait_for_url(re.compile(r"/sessions/[0-9a-f-]{36}/$"))
    page.goto(live)
    assert not page.url.endswith("/live/")


def test_empty_pouch_is_said_and_filled_again(served: Served, begin: Callable[..., Page]) -> None:
    page = begin("sit")
    page.get_by_text("Step, pouch, note").tap()
    page.get_by_label("Pieces now in the pouch").fill("1")
    page.get_by_role("button", name="Set", exact=True).tap()
    expect(page.locator("#pieces")).to_have_text("Pieces left: 1")
    page.get_by_role("button", name="Met", exact=True).tap()
    wait_for(page, tries=1)
    expect(page.locator("#pieces")).to_have_text("The pouch is empty")
    expect(page.locator("#advice-word")).to_have_text("Pause")


def test_without_the_machine_the_decision_of_the_next_tries_is_looked_up(
    new_phone: Callable[..., Page], begin: Callable[..., Page]
) -> None:
    page = begin("sit", new_phone(allow_errors=FAILED))
    expect(page.locator("#page")).to_have_attribute("data-ahead-from", "0")
    page.route("**/sync/**", lambda route: route.abort())
    for n in range(1, 4):
        page.get_by_role("button", name="Missed").tap()
        wait_for(page, tries=n, unsent=n)
    expect(page.locator("#advice-word")).to_have_text(re.compile("^(Lower|Pause)$"))
    expect(page.locator("#advice-reason")).to_have_text(re.compile("3 misses in a row|met at the first step"))
    expect(page.locator("#page")).to_have_attribute("data-by", "table")
    for n in range(4, 16):
        page.get_by_role("button", name="Met", exact=True).tap()
        wait_for(page, tries=n, unsent=n)
    expect(page.locator("#advice-word")).to_have_text("Pause")
    expect(page.locator("#advice-reason")).to_have_text(re.compile("^15 trials are enough"))
    page.unroute("**/sync/**")
    page.evaluate("dispatchEvent(new Event('online'))")
    wait_for(page, tries=15)
    expect(page.locator("#page")).to_have_attribute("data-by", "engine")
    expect(page.locator("#advice-reason")).to_have_text(re.compile("^15 trials are enough"))
    expect(page.locator("#page")).to_have_attribute("data-ahead-from", "15")
