"""What can go wrong with a phone in a garden: nothing is lost, nothing doubled, and the screen says so."""

import json
import re
from collections.abc import Callable, Iterator
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Error, Page, expect
from tests.browser.conftest import PHONE
from tests.browser.test_offline import SETTLE, SIT, WORKER_IS_ACTIVE, begin, take_the_day_along
from tests.browser.test_pages import AXE
from tests.load.harness import KillableServer

pytestmark = [pytest.mark.browser, pytest.mark.processes]


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[KillableServer]:
    made = KillableServer(tmp_path_factory.mktemp("served"), n_phones=30)
    made.start()
    yield made
    made.close()


@pytest.fixture
def new_phone(browser: Browser, server: KillableServer) -> Iterator[Callable[..., Page]]:
    """Return a function that gives a phone of its own that is signed in, has the worker and knows the day."""
    contexts: list[BrowserContext] = []

    def make(*, worker: bool = True) -> Page:
        if server.pid is None:
            server.start()
        workers = "allow" if worker else "block"
        context = browser.new_context(base_url=server.url, viewport=PHONE, has_touch=True, service_workers=workers)
        contexts.append(context)
        page = context.new_page()
        page.goto(f"/sign-in/{server.known['tokens'].pop()}/")
        if worker:
            page.evaluate(WORKER_IS_ACTIVE)
            take_the_day_along(page)
        return page

    yield make
    for context in contexts:
        with suppress(Error):
            context.close()


def tap(page: Page, outcome: str, n: int) -> None:
    page.get_by_role("button", name=outcome, exact=True).tap()
    expect(page.locator("#page")).to_have_attribute("data-tries", str(n))


def all_sent(page: Page) -> None:
    expect(page.locator("#page")).to_have_attribute("data-unsent", "0", timeout=20_000)


def trials_of(server: KillableServer, page: Page) -> list[tuple[str, str]]:
    session = str(page.locator("#page").get_attribute("data-session")).replace("-", "")
    return server.rows("select outcome, at from storage_trial where session_id = ? order by at", session)


def test_session_begun_with_the_server_goes_on_without_it_after_a_cold_start(
    server: KillableServer, new_phone: Callable[..., Page]
) -> None:
    page = new_phone()
    page.goto(f"/stays/{server.known['programme']}/session/?behaviour=sit")
    page.get_by_role("button", name="Begin", exact=True).tap()
    tap(page, "Met", 1)
    all_sent(page)
    address = page.url
    server.kill()
    tap(page, "Missed", 2)
    page.close()
    page = page.context.new_page()
    page.goto(address)
    expect(page.locator("#page")).to_have_attribute("data-tries", "2")
    tap(page, "Met", 3)
    server.start()
    page.evaluate("dispatchEvent(new Event('online'))")
    all_sent(page)
    assert [outcome for outcome, _ in trials_of(server, page)] == ["met", "missed", "met"]


TAP_QUICKLY = """async (n) => { const met = document.getElementById("met");
for (let i = 0; i < n; i += 1) { met.click(); await new Promise((resolve) => setTimeout(resolve, (7 * i) % 40)); } }"""


@pytest.mark.parametrize("answers", [False, True], ids=["no server", "server"])
def test_every_tap_is_on_the_screen_whatever_the_push_was_doing(
    answers: bool, server: KillableServer, new_phone: Callable[..., Page]
) -> None:
    page = new_phone()
    begin(page, SIT)
    all_sent(page)
    if not answers:
        server.kill()
    page.evaluate(TAP_QUICKLY, 60)
    expect(page.locator("#page")).to_have_attribute("data-tries", "60", timeout=20_000)
    if not answers:
        server.start()
        page.evaluate("dispatchEvent(new Event('online'))")
    all_sent(page)
    assert len(trials_of(server, page)) == 60


LAST_BEFORE = """() => new Promise((resolve) => { const open = indexedDB.open("pupilage"); open.onsuccess = () => {
const sessions = open.result.transaction("sessions").objectStore("sessions");
const asked = sessions.get(document.getElementById("page").dataset.session);
asked.onsuccess = () => { open.result.close(); resolve(asked.result.state.alone); }; }; })"""


def end(page: Page) -> None:
    page.get_by_role("button", name="End session").tap()
    page.get_by_role("button", name="Tap again to end").tap()
    page.wait_for_url(re.compile("/logger/$"))


@pytest.mark.parametrize("behaviour", [SIT, SETTLE])
def test_second_session_without_the_server_goes_on_from_the_first(
    behaviour: str, server: KillableServer, new_phone: Callable[..., Page]
) -> None:
    page = new_phone()
    server.kill()
    begin(page, behaviour)
    for n in range(1, 4):
        if behaviour == SETTLE:
            page.locator("#start-hold").tap()
        page.get_by_role("button", name="Broke" if behaviour == SETTLE else "Missed", exact=True).tap()
        expect(page.locator("#page")).to_have_attribute("data-tries", str(n))
    if behaviour == SIT:  # a hold of 0.1 s is met or missed as the machine is quick
        expect(page.locator("#advice-word")).to_have_text("Lower")
    end(page)
    begin(page, behaviour)
    expect(page.locator("#page")).to_have_attribute("data-tries", "0")
    before = page.evaluate(LAST_BEFORE)
    session = page.locator("#page").get_attribute("data-session")
    step = page.locator("#choose-step").input_value()
    server.start()
    page.evaluate("dispatchEvent(new Event('online'))")
    all_sent(page)
    state = page.request.get(f"/sync/sessions/{session}/").json()
    assert (before["step"], before["run"]) == (state["alone"]["step"], state["alone"]["run"])
    assert {key: holds for key, holds in before["holds"].items() if holds} == {
        key: holds for key, holds in state["alone"]["holds"].items() if holds
    }
    assert state["step"] == step  # it was begun where the decision had led


CHOOSE_AS_THE_DAY_ARRIVES = """(() => { const { fetch } = window; const { getAll } = IDBObjectStore.prototype;
let arrived = false;
window.fetch = async (...asked) => { const answer = await fetch(...asked);
  arrived ||= String(asked[0]).includes("/sync/day/"); return answer; };
IDBObjectStore.prototype.getAll = function (...asked) { if (arrived && !document.body.dataset.chosen) {
  document.body.dataset.chosen = "yes"; const what = document.getElementById("what");
  what.value = what.options.length - 1; what.dispatchEvent(new Event("change", { bubbles: true })); }
  return getAll.apply(this, asked); }; })()"""


def test_choice_made_while_the_day_arrives_stands(server: KillableServer, new_phone: Callable[..., Page]) -> None:
    page = new_phone()
    page.add_init_script(CHOOSE_AS_THE_DAY_ARRIVES)
    page.goto("/logger/")
    expect(page.locator("body")).to_have_attribute("data-chosen", "yes")
    page.wait_for_timeout(500)  # long enough for whatever would be drawn over it
    last = page.locator("#what option").count() - 1
    assert last > 0
    expect(page.locator("#what")).to_have_value(str(last))


def test_two_phones_in_one_session_make_one_record(server: KillableServer, new_phone: Callable[..., Page]) -> None:
    first, second = new_phone(), new_phone()
    begin(first, SIT)
    all_sent(first)
    second.goto(f"/sessions/{first.locator('#page').get_attribute('data-session')}/live/")
    tap(first, "Met", 1)
    tap(second, "Missed", 1)
    all_sent(first)
    all_sent(second)
    assert sorted(outcome for outcome, _ in trials_of(server, first)) == ["met", "missed"]


@pytest.mark.parametrize("hours", [-24, 24])
def test_clock_that_is_a_day_off_is_said_and_put_right(
    hours: int, server: KillableServer, new_phone: Callable[..., Page]
) -> None:
    page = new_phone(worker=False)
    page.clock.set_system_time(datetime.now(UTC) + timedelta(hours=hours))
    begin(page, SIT)
    all_sent(page)
    tap(page, "Met", 1)
    all_sent(page)
    expect(page.locator("#saved")).to_have_text(re.compile("clock is 24 hours " + ("behind" if hours < 0 else "ahead")))
    tap(page, "Missed", 2)
    all_sent(page)
    trials = trials_of(server, page)
    assert [outcome for outcome, _ in trials] == ["met", "missed"]
    for _, at in trials:
        off = abs(datetime.fromisoformat(at).replace(tzinfo=UTC) - datetime.now(UTC))
        assert off < timedelta(minutes=2)


def test_disk_that_is_full_is_said_and_the_tap_is_not_shown_as_kept(
    server: KillableServer, new_phone: Callable[..., Page]
) -> None:
    page = new_phone()
    begin(page, SIT)
    tap(page, "Met", 1)
    all_sent(page)
    page.evaluate(
        """() => { IDBObjectStore.prototype.put = () => { throw new DOMException("full", "QuotaExceededError"); }; }"""
    )
    page.get_by_role("button", name="Met", exact=True).tap()
    expect(page.locator("#trouble")).to_have_text(re.compile("could not be stored on the device"))
    expect(page.locator("#page")).to_have_attribute("data-tries", "1")


def test_window_that_keeps_nothing_says_so(server: KillableServer, new_phone: Callable[..., Page]) -> None:
    page = new_phone(worker=False)
    page.context.add_init_script(
        "Object.defineProperty(window, 'indexedDB', { get() { throw new DOMException('no', 'SecurityError'); } });"
    )
    page.goto("/logger/")
    expect(page.locator("#start-trouble")).to_have_text(re.compile("keeps nothing on the device"))
    page.goto(f"/stays/{server.known['programme']}/session/?behaviour=sit")
    page.get_by_role("button", name="Begin", exact=True).tap()
    expect(page.locator("#page")).to_have_attribute("data-ready", "yes")
    page.get_by_role("button", name="Met", exact=True).tap()
    expect(page.locator("#trouble")).to_have_text(re.compile("could not be stored|keeps nothing"))
    expect(page.locator("#page")).to_have_attribute("data-tries", "0")


@pytest.mark.parametrize(
    ("status", "body"),
    [
        (200, '{"verdicts": [{"id": "'),
        (200, '{"verdicts": []}'),
        (200, '{"verdicts": [{"id": "x", "status": "stored"}, null, 7]}'),
        (200, "null"),
        (401, "{}"),
        (403, "{}"),
        (500, "{}"),
        (502, "<html>"),
        (409, '{"code": "other-owner"}'),
    ],
)
def test_half_a_reply_to_a_push_keeps_everything(
    status: int, body: str, server: KillableServer, shared_phone: Page
) -> None:
    page = shared_phone
    before = int(page.locator("#page").get_attribute("data-tries") or 0)
    page.route(
        "**/sync/push/",
        lambda route: route.fulfill(status=status, body=body, headers={"Content-Type": "application/json"}),
    )
    tap(page, "Met", before + 1)
    expect(page.locator("#trouble")).to_be_visible()
    expect(page.locator("#page")).to_have_attribute("data-unsent", "1")
    page.unroute("**/sync/push/")
    page.evaluate("dispatchEvent(new Event('online'))")
    all_sent(page)
    assert len(trials_of(server, page)) == before + 1


@pytest.fixture(scope="module")
def shared_phone(browser: Browser, server: KillableServer) -> Iterator[Page]:
    """One phone in one session for all bad replies."""
    if server.pid is None:
        server.start()
    context = browser.new_context(base_url=server.url, viewport=PHONE, has_touch=True, service_workers="block")
    page = context.new_page()
    page.goto(f"/sign-in/{server.known['tokens'].pop()}/")
    take_the_day_along(page)
    begin(page, SIT)
    all_sent(page)
    yield page
    context.close()


def test_signed_out_phone_opens_its_logger_keeps_all_and_sends_after_the_sign_in(
    server: KillableServer, new_phone: Callable[..., Page]
) -> None:
    page = new_phone()
    page.context.clear_cookies()
    begin(page, SIT)
    tap(page, "Met", 1)
    expect(page.locator("#trouble")).to_have_text(re.compile("Signed out"))
    address = page.url
    page.goto(f"/sign-in/{server.known['tokens'].pop()}/")
    page.goto("/logger/")
    expect(page.locator("body")).to_have_attribute("data-unsent", "0")
    page.goto(address)
    page.reload()
    expect(page.locator("#page")).to_have_attribute("data-tries", "1")
    assert len(trials_of(server, page)) == 1


def test_newer_worker_waits_and_the_session_goes_on(server: KillableServer, new_phone: Callable[..., Page]) -> None:
    page = new_phone()
    begin(page, SIT)
    tap(page, "Met", 1)
    waits = """async () => { const { installing } = await navigator.serviceWorker.register("/sw.js?newer");
    await new Promise((resolve) => installing.addEventListener("statechange", resolve, { once: true }));
    return installing.state; }"""
    assert page.evaluate(waits) == "installed"
    assert page.evaluate("navigator.serviceWorker.getRegistration().then((one) => one.waiting?.state)") == "installed"
    assert page.evaluate("navigator.serviceWorker.controller.scriptURL").endswith("/sw.js")
    tap(page, "Met", 2)
    all_sent(page)
    assert len(trials_of(server, page)) == 2


def test_unsent_taps_are_saved_to_a_file(
    server: KillableServer, new_phone: Callable[..., Page], tmp_path: Path
) -> None:
    page = new_phone()
    server.kill()
    begin(page, SIT)
    tap(page, "Met", 1)
    page.goto("/logger/")
    page.reload()
    expect(page.locator("#start-saved")).to_have_text(re.compile("^2 not sent yet"))
    with page.expect_download() as coming:
        page.get_by_role("button", name="Save what is not sent to a file").tap()
    coming.value.save_as(tmp_path / "taps.json")
    file = json.loads((tmp_path / "taps.json").read_text())
    assert (file["format"], file["version"]) == ("pupilage-taps", 1)
    assert [tap["event"]["kind"] for tap in file["taps"]] == ["session-started", "trial"]
    expect(page.locator("#start-saved")).to_have_text(re.compile("^2 not sent yet"))


def test_worker_keeps_no_page_with_anybodys_data(server: KillableServer, new_phone: Callable[..., Page]) -> None:
    page = new_phone()
    page.goto("/goals/")
    begin(page, SIT)
    kept = page.evaluate(
        """async () => { const found = []; for (const name of await caches.keys()) {
        for (const request of await (await caches.open(name)).keys()) found.push(new URL(request.url).pathname); }
        return found; }"""
    )
    assert "/logger/" in kept
    assert all(path == "/logger/" or path.startswith("/static/pupilage/") for path in kept)


def test_axe_finds_no_violation_on_the_list_and_it_fits_the_phone(new_phone: Callable[..., Page]) -> None:
    page = new_phone()
    page.goto("/logger/")
    expect(page.locator("body")).to_have_attribute("data-ready", "yes")
    expect(page.locator("#begin-form")).to_be_visible()
    found = Axe().run(page, options=AXE)
    assert found.violations_count == 0, found.generate_report()
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
