"""The logger without a network: the server is stopped, the browser started afresh, and sessions are tapped.

What is found once the server runs again is compared with the same taps made while it ran: a session of tries with a
second dog on its mat, then one of holds. The clock of the page stands still but for what the test moves it by, so that
both runs have the same times to the hundredth of a second, however busy the machine is.
"""

import json
import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from playwright.sync_api import BrowserContext, Locator, Page, Playwright, expect
from tests.browser.conftest import PHONE
from tests.load.harness import KillableServer

from chromium import ARGUMENTS, CHROMIUM
from pupilage.core.incidents.beside import pay_intervals

pytestmark = [pytest.mark.browser, pytest.mark.processes]

TRIES = ("Met", "Missed", "Met", "Met")
HOLDS = 2
MAT_HOLDS, MAT_PAYS = 2, 3
N_EVENTS = (1 + len(TRIES) + 1) + (1 + 2 * MAT_HOLDS + MAT_PAYS + 1) + (1 + 2 * HOLDS + 1)
SIT, SETTLE = "Sits on cue", "Settles on a mat"
MOSS_CAN, FIRST_OF_MOSS_S = "Two minutes while the family goes about.", 69
"""What is said of the second dog, which never was on a mat here, and the first hold that it is asked for: 0.577 of two
minutes, the fourth of the eight intervals of Fleshler and Hoffman, 1962, J. Exp. Anal. Behav. 5, 529-530."""


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


@dataclass
class Thumb:
    """Whoever taps: on this page, at times that both runs share, and with what the screen said after each tap."""

    page: Page
    at: datetime
    online: bool
    said: list[str] = field(default_factory=list)

    def wait(self, seconds: float) -> None:
        """Move the page's clock, which stands still otherwise."""
        self.at += timedelta(seconds=seconds)
        self.page.clock.set_fixed_time(self.at)

    def tap(self, button: Locator, then: str, value: object) -> None:
        """Tap five seconds after the last tap; wait until the screen counts it and, where it can be, it is stored."""
        self.wait(5)
        button.tap()
        part, attribute = then.split()
        expect(self.page.locator(part)).to_have_attribute(attribute, str(value))
        if self.online:
            expect(self.page.locator("#page")).to_have_attribute("data-unsent", "0", timeout=20_000)
        self.listen()

    def listen(self) -> None:
        """Note what the screen says of either dog: what to do, and for how long the next hold is asked."""
        for name in ("#advice-word", "#advice-reason", "#start-hold", "#mat-start", "#mat-why"):
            part = self.page.locator(name)
            if part.count() and part.is_visible():
                self.said.append(f"{name}: {' '.join(part.inner_text().split())}")


def tap_tries_beside_a_mat(thumb: Thumb) -> None:
    """Tap a session of tries with a second dog that holds twice on its mat, is paid, and breaks once."""
    page = thumb.page
    tries = [page.get_by_role("button", name=name, exact=True) for name in TRIES]
    tap_try = lambda n: thumb.tap(tries[n - 1], "#page data-tries", n)  # noqa: E731
    thumb.wait(5)
    page.get_by_role("button", name="Moss on its mat beside").tap()
    page.get_by_label("What can Moss already?").select_option(label=MOSS_CAN)
    page.locator("#mat-begin").tap()
    expect(page.locator("#mat")).to_have_attribute("data-holds", "0")
    thumb.listen()
    thumb.tap(page.locator("#mat-start"), "#mat-start hidden", "")
    tap_try(1)
    thumb.tap(page.locator("#mat-pay"), "#mat data-paid", 1)
    tap_try(2)
    thumb.tap(page.get_by_role("button", name="release word said to the other"), "#mat data-holds", 1)
    tap_try(3)
    thumb.tap(page.locator("#mat-start"), "#mat-start hidden", "")
    thumb.tap(page.locator("#mat-pay"), "#mat data-paid", 2)
    thumb.tap(page.locator("#mat-pay"), "#mat data-paid", 3)
    thumb.tap(page.locator("#mat-released"), "#mat data-holds", 2)
    tap_try(4)


def tap_holds(thumb: Thumb) -> None:
    """Tap a session of holds, each of them broken."""
    for n in range(HOLDS):
        thumb.tap(thumb.page.locator("#start-hold"), "#start-hold hidden", "")
        thumb.tap(thumb.page.get_by_role("button", name="Broke"), "#page data-tries", n + 1)


def end(thumb: Thumb) -> None:
    """End the session; the screen then goes to its record or, without the server, to the list of what to train."""
    thumb.wait(5)
    thumb.page.get_by_role("button", name="End session").tap()
    thumb.page.get_by_role("button", name="Tap again to end").tap()
    thumb.page.wait_for_url(re.compile(r"/sessions/[0-9a-f-]{36}/$" if thumb.online else r"/logger/$"))


NEWEST = """select s.id, s.behaviour, s.beside, d.name from storage_trainingsession s
    join storage_programme p on p.id = s.programme_id join storage_dog d on d.id = p.dog_id
    order by s.started_at desc limit 3"""

EVENTS = "select event_id, kind, payload, at from storage_sessionevent where session_id = ? order by at, device_seq"


def begun_at(server: KillableServer) -> datetime:
    """Return the moment at which the database was filled, in whole seconds: the page's clock has no microseconds."""
    return datetime.fromisoformat(server.known["now"]).replace(microsecond=0)


def log_of(server: KillableServer) -> list[tuple[Any, ...]]:
    """Return whose, kind, time and payload of the newest three sessions' events, an id told by what it stands for.

    Of the pays on a mat the stretch is held to the list that the engine draws by the session's id.
    """
    begun = begun_at(server)
    log = []
    newest = server.rows(NEWEST)
    names = {UUID(hex=key): f"{dog}: {behaviour}" for key, behaviour, _, dog in newest}
    for key, behaviour, beside, dog in reversed(newest):
        rows = server.rows(EVENTS, key)
        names |= {UUID(hex=event): f"event {n}" for n, (event, *_) in enumerate(rows)}
        due = iter(())
        n_paid = 0
        for _, kind, written, at in rows:
            payload = json.loads(written)
            if kind == "hold-started":
                due = pay_intervals(payload["target_s"], str(UUID(hex=key)))
            if kind == "paid":
                assert payload.pop("interval_s") == due[n_paid]
                n_paid += 1
            payload.pop("programme", None)  # an id as well: the dog's name stands for it
            told = {name: names[UUID(value)] if name in IDS else value for name, value in payload.items()}
            after_s = (datetime.fromisoformat(at).replace(tzinfo=UTC) - begun).total_seconds()
            log.append((dog, behaviour, bool(beside), kind, round(after_s, 3), told))
    return log


IDS = ("hold", "beside")

KEYS = ("ended", "step", "pieces_left", "n", "n_met", "decision", "chance", "set_of_five", "next_hold", "pay", "alone")


def estimates_of(page: Page, server: KillableServer) -> list[dict[str, Any]]:
    """Return what the engine says of the newest three sessions: chance, decision, reason, next hold, tries, pays."""
    told = []
    for key, _, _, dog in server.rows(NEWEST):
        state = page.request.get(f"/sync/sessions/{UUID(hex=key)}/").json()
        tries = [(one["outcome"], one["held"], one["step"], one["pieces"]) for one in state["trials"]]
        told.append({"dog": dog, "tries": tries, "n_pays": len(state["pays"])} | {key: state[key] for key in KEYS})
    return told


def run_both_sessions(page: Page, server: KillableServer, *, online: bool) -> list[str]:
    """Tap a session of tries with a second dog, and one of holds; return what the screen said after each tap."""
    thumb = Thumb(page, begun_at(server) + timedelta(minutes=1), online)
    thumb.wait(0)
    begin(page, SIT)
    tap_tries_beside_a_mat(thumb)
    end(thumb)
    thumb.wait(5)
    begin(page, SETTLE)
    tap_holds(thumb)
    end(thumb)
    return thumb.said


def test_two_sessions_tapped_without_the_server_are_what_they_would_have_been_with_it(
    playwright: Playwright, tmp_path: Path
) -> None:
    with phone_and_server(playwright, tmp_path / "online") as (phone, server):
        assert phone.context is not None
        page = phone.context.pages[0]
        take_the_day_along(page)
        said_online = run_both_sessions(page, server, online=True)
        log_online, estimates_online = log_of(server), estimates_of(page, server)
    with phone_and_server(playwright, tmp_path / "offline") as (phone, server):
        assert phone.context is not None
        take_the_day_along(phone.context.pages[0])
        phone.stop()
        server.kill()
        page = phone.start()
        said_offline = run_both_sessions(page, server, online=False)
        expect(page.locator("body")).to_have_attribute("data-unsent", str(len(log_online)))
        phone.stop()
        server.start()
        page = phone.start()
        page.goto("/logger/")
        expect(page.locator("body")).to_have_attribute("data-unsent", "0", timeout=30_000)
        log_offline, estimates_offline = log_of(server), estimates_of(page, server)
    assert len(log_offline) == N_EVENTS
    assert log_offline == log_online
    assert said_offline == said_online
    first = next(told for dog, _, _, kind, _, told in log_offline if (dog, kind) == ("Moss", "hold-started"))
    assert first["target_s"] == FIRST_OF_MOSS_S
    assert estimates_offline == estimates_online
    told = [(state["dog"], state["n"], state["n_pays"]) for state in estimates_online]
    assert told == [("Tansy", HOLDS, 0), ("Moss", MAT_HOLDS, MAT_PAYS), ("Tansy", len(TRIES), 0)]
