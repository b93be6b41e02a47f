"""The logger without a network: the server is stopped, the browser started afresh, and sessions are tapped.

What is found once the server runs again is compared with the same taps made while it ran.
"""

import json
import re
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from playwright.sync_api import BrowserContext, Page, Playwright, expect
from tests.browser.conftest import PHONE
from tests.load.harness import KillableServer

from chromium import ARGUMENTS, CHROMIUM

pytestmark = [pytest.mark.browser, pytest.mark.processes]

TRIES = ("Met", "Missed", "Met", "Met")
HOLDS = 2
SIT, SETTLE = "Sits on cue", "Settles on a mat"


KNOWS_THE_DAY = """() => new Promise((resolve) => { const open = indexedDB.open("pupilage");
open.onsuccess = () => { const base = open.result;
  if (!base.objectStoreNames.contains("days")) { base.close(); resolve(false); return; }
  const asked = base.transaction("days").objectStore("days").get("owner");
  asked.onsuccess = () => { base.close(); resolve(Boolean(asked.result)); }; }; })"""

WORKER_IS_ACTIVE = """async () => { const { active } = await navigator.serviceWorker.ready;
if (active.state !== "activated") await new Promise((resolve) => active.addEventListener("statechange", resolve)); }"""


class Phone:
    """A browser with a disk of its own, which outlives it."""

    def __init__(self, playwright: Playwright, folder: Path, server: KillableServer) -> None:
        self.playwright, self.folder, self.server = playwright, folder, server
        self.context: BrowserContext | None = None

    def start(self) -> Page:
        """Start the browser cold and give its page."""
        self.context = self.playwright.chromium.launch_persistent_context(
            str(self.folder), executable_path=CHROMIUM, args=ARGUMENTS, viewport=PHONE, has_touch=True,
            base_url=self.server.url,
        )  # fmt: skip
        return self.context.pages[0]

    def stop(self) -> None:
        """End the browser; its disk stays."""
        if self.context is not None:
            self.context.close()
        self.context = None


@contextmanager
def phone_and_server(playwright: Playwright, folder: Path) -> Iterator[tuple[Phone, KillableServer]]:
    """Give a phone that has been signed in, and its server, which runs."""
    (folder / "data").mkdir(parents=True)
    server = KillableServer(folder / "data")
    phone = Phone(playwright, folder / "phone", server)
    try:
        server.start()
        page = phone.start()
        page.goto(f"/sign-in/{server.known['token']}/")
        page.evaluate(WORKER_IS_ACTIVE)
        yield phone, server
    finally:
        phone.stop()
        server.close()


@pytest.fixture
def pair(playwright: Playwright, tmp_path: Path) -> Iterator[tuple[Phone, KillableServer]]:
    with phone_and_server(playwright, tmp_path) as both:
        yield both


def take_the_day_along(page: Page) -> None:
    """Wait until the Today page has brought the day onto the phone."""
    page.goto("/")
    for _ in range(100):
        if page.evaluate(KNOWS_THE_DAY):
            return
        page.wait_for_timeout(100)
    raise AssertionError("the day did not arrive on the phone")


def begin(page: Page, behaviour: str) -> None:
    """Begin a session from the logger's list."""
    page.goto("/logger/")
    expect(page.locator("body")).to_have_attribute("data-ready", "yes")
    page.get_by_label("What", exact=True).select_option(label=behaviour)
    page.get_by_label("Pieces", exact=True).fill("20")
    page.get_by_role("button", name="Begin").tap()
    expect(page.locator("#page")).to_have_attribute("data-ready", "yes")


def tap_tries(page: Page) -> list[str]:
    """Tap a session of tries and return what was advised after each."""
    said = []
    for n, outcome in enumerate(TRIES, start=1):
        page.get_by_role("button", name=outcome, exact=True).tap()
        expect(page.locator("#page")).to_have_attribute("data-tries", str(n))
        settle(page)
        said.append(page.locator("#advice-word").inner_text() + ": " + page.locator("#advice-reason").inner_text())
    return said


def settle(page: Page) -> None:
    """Wait until an answer has come, where one can come."""
    if page.evaluate("navigator.onLine") and page.locator("#trouble").is_hidden():
        page.wait_for_timeout(400)


def tap_holds(page: Page) -> None:
    """Tap a session of holds, each broken after two seconds by a clock that both runs share."""
    at = datetime.now(UTC)
    for n in range(1, HOLDS + 1):
        page.clock.set_fixed_time(at)
        page.locator("#start-hold").tap()
        expect(page.get_by_role("button", name="Broke")).to_be_visible()
        page.clock.set_fixed_time(at := at + timedelta(seconds=2))
        page.get_by_role("button", name="Broke").tap()
        expect(page.locator("#page")).to_have_attribute("data-tries", str(n))
        at += timedelta(seconds=5)
    page.clock.set_fixed_time(at)


def end(page: Page) -> None:
    page.get_by_role("button", name="End session").tap()
    page.get_by_role("button", name="Tap again to end").tap()


def log_of(server: KillableServer) -> list[tuple[str, dict[str, Any]]]:
    """Return the kinds and payloads of the newest sessions' events, without ids and times of one run."""
    rows = server.rows(
        "select kind, payload from storage_sessionevent e where session_id in (select id from storage_trainingsession"
        " where started_at > datetime('now', '-1 hour')) order by at, device_seq"
    )
    own = []
    for kind, payload in rows:
        given = json.loads(payload)
        own.append((kind, {k: v for k, v in given.items() if k not in {"programme", "hold"}}))
    return own


def estimates_of(page: Page, server: KillableServer) -> list[dict[str, Any]]:
    """Return what the engine says of the newest two sessions: chance, decision, reason, next hold, pieces left."""
    newest = server.rows("select id from storage_trainingsession order by started_at desc limit 2")
    told = [page.request.get(f"/sync/sessions/{UUID(hex=session_id)}/").json() for (session_id,) in newest]
    keys = ("ended", "step", "pieces_left", "n", "n_met", "decision", "chance", "set_of_five", "next_hold", "pay")
    return [{key: state[key] for key in keys} for state in told]


def run_both_sessions(page: Page) -> list[str]:
    """Tap a session of tries and one of holds."""
    begin(page, SIT)
    said = tap_tries(page)
    end(page)
    page.wait_for_url(re.compile(r"/logger/$|/sessions/[0-9a-f-]{36}/$"))
    begin(page, SETTLE)
    tap_holds(page)
    end(page)
    page.wait_for_url(re.compile(r"/logger/$|/sessions/[0-9a-f-]{36}/$"))
    return said


def test_two_sessions_tapped_without_the_server_are_what_they_would_have_been_with_it(
    playwright: Playwright, tmp_path: Path
) -> None:
    with phone_and_server(playwright, tmp_path / "online") as (phone, server):
        assert phone.context is not None
        page = phone.context.pages[0]
        take_the_day_along(page)
        said_online = run_both_sessions(page)
        log_online, estimates_online = log_of(server), estimates_of(page, server)
    with phone_and_server(playwright, tmp_path / "offline") as (phone, server):
        assert phone.context is not None
        take_the_day_along(phone.context.pages[0])
        phone.stop()
        server.kill()
        page = phone.start()
        said_offline = run_both_sessions(page)
        expect(page.locator("body")).to_have_attribute("data-unsent", str(len(log_online)))
        phone.stop()
        server.start()
        page = phone.start()
        page.goto("/logger/")
        expect(page.locator("body")).to_have_attribute("data-unsent", "0", timeout=30_000)  # the day is pulled first
        log_offline, estimates_offline = log_of(server), estimates_of(page, server)
    assert len(log_offline) == len(TRIES) + 2 + 2 * HOLDS + 2
    assert log_offline == log_online
    assert said_offline == said_online
    assert estimates_offline == estimates_online
    assert [state["n"] for state in estimates_online] == [HOLDS, len(TRIES)]
