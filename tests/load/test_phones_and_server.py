"""A state machine over two phones with the real queue in Chromium, the real server, lost and cut replies, and restarts.

Whatever happens in whatever order: once the server answers again, the log has every confirmed tap once, and nothing
that nobody tapped.
"""

import os
from collections.abc import Iterator
from typing import Any, ClassVar
from uuid import uuid4

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule, run_state_machine_as_test
from playwright.sync_api import Browser, BrowserContext, Page, Route

from load.harness import KillableServer
from load.kills import load_queue

pytestmark = [pytest.mark.browser, pytest.mark.processes]

N_EXAMPLES, N_STEPS = int(os.environ.get("PUPILAGE_LOAD_EXAMPLES", "4")), 20
"""`scripts/run_load` tries sixty."""

REPLIES = ["whole", "lost", "cut", "signed-out", "error", "sign-in page", "never sent"]

APPEND = "(one) => window.queue.append(one).then((event) => event.id)"
APPEND_AND_DIE = "(one) => { window.queue.append(one); }"
UNSENT = "() => window.queue.own().then((events) => events.map((event) => event.id))"
PUSH = "() => window.queue.push().then((one) => ({ ok: one.ok, why: one.why ?? null, settled: [...one.settled] }))"


class Phone:
    """A phone with a page on it, the taps that it has confirmed, and what becomes of the next reply."""

    def __init__(self, browser: Browser, server: KillableServer, cookies: Any) -> None:
        self.server = server
        self.context: BrowserContext = browser.new_context(storage_state=cookies, service_workers="block")
        self.confirmed: list[str] = []
        self.settled: set[str] = set()
        self.reply = "whole"
        self.page = self.open()

    def open(self) -> Page:
        """Open its page, as after a start."""
        page = self.context.new_page()
        load_queue(page, self.server)
        page.route("**/sync/push/", self.answer)
        return page

    def answer(self, route: Route) -> None:
        match self.reply:
            case "whole":
                route.continue_()
            case "never sent":
                route.abort()
            case "lost":
                route.fetch()
                route.abort()
            case "cut":
                whole = route.fetch()
                half = whole.body()[: len(whole.body()) // 2]
                route.fulfill(status=200, body=half, headers={"Content-Type": "application/json"})
            case "signed-out":
                route.fulfill(status=401, body="{}", headers={"Content-Type": "application/json"})
            case "error":
                route.fetch()
                route.fulfill(status=500, body="{}", headers={"Content-Type": "application/json"})
            case _:
                route.fulfill(status=200, body="<p>sign in</p>", headers={"Content-Type": "text/html"})


class PhonesAndServer(RuleBasedStateMachine):
    """Two phones write into two sessions; the first session is both phones'."""

    browser: ClassVar[Browser]
    server: ClassVar[KillableServer]
    cookies: ClassVar[Any]

    @initialize()
    def begin(self) -> None:
        if self.server.pid is None:
            self.server.start()
        self.before = set(self.server.event_ids())
        self.phones = [Phone(self.browser, self.server, self.cookies) for _ in range(2)]
        self.sessions = [str(uuid4()), str(uuid4())]
        self.given_up: set[str] = set()
        known = self.server.known
        start = {"programme": known["programme"], "behaviour": "sit", "step": known["step"], "pieces": None}
        for phone, session in zip(self.phones, self.sessions, strict=True):
            self.append(phone, session, "session-started", start)
        for reply in REPLIES[1:]:  # every kind of bad answer at least once in each example
            self.tap(0, 0, "met")
            self.push(0, reply)
            self.nothing_has_left_a_phone_that_the_log_does_not_have()

    def append(self, phone: Phone, session: str, kind: str, payload: dict[str, Any]) -> None:
        one = {"sessionId": session, "kind": kind, "payload": payload}
        phone.confirmed.append(phone.page.evaluate(APPEND, one))

    @rule(which=st.integers(0, 1), session=st.integers(0, 1), outcome=st.sampled_from(["met", "missed", "helped"]))
    def tap(self, which: int, session: int, outcome: str) -> None:
        self.append(self.phones[which], self.sessions[session], "trial", {"outcome": outcome, "pieces": 0})

    @rule(which=st.integers(0, 1))
    def take_back(self, which: int) -> None:
        phone = self.phones[which]
        self.append(phone, self.sessions[which], "withdrawn", {"event": phone.confirmed[-1]})

    @rule(which=st.integers(0, 1), reply=st.sampled_from(REPLIES))
    def push(self, which: int, reply: str) -> None:
        phone = self.phones[which]
        phone.reply = reply
        told = phone.page.evaluate(PUSH)
        phone.reply = "whole"
        phone.settled |= set(told["settled"])
        if reply != "whole" and phone.page.evaluate(UNSENT):
            assert not told["ok"]

    @rule(which=st.integers(0, 1))
    def restart_phone(self, which: int) -> None:
        phone = self.phones[which]
        if self.server.pid is not None:
            phone.page.close()
            phone.page = phone.open()

    @rule(which=st.integers(0, 1))
    def battery_dies_in_a_tap(self, which: int) -> None:
        phone = self.phones[which]
        if self.server.pid is not None:
            payload = {"outcome": "met", "pieces": 0}
            phone.page.evaluate(APPEND_AND_DIE, {"sessionId": self.sessions[0], "kind": "trial", "payload": payload})
            phone.page.close()
            phone.page = phone.open()
            kept = set(phone.page.evaluate(UNSENT)) - set(phone.confirmed)
            self.given_up |= kept

    @rule()
    def kill_server(self) -> None:
        if self.server.pid is not None:
            self.server.kill()

    @rule()
    def start_server(self) -> None:
        if self.server.pid is None:
            self.server.start()

    @invariant()
    def nothing_has_left_a_phone_that_the_log_does_not_have(self) -> None:
        log = {one.replace("-", "") for one in self.server.event_ids()}
        for phone in getattr(self, "phones", []):
            kept = set(phone.page.evaluate(UNSENT))
            gone = {one.replace("-", "") for one in phone.confirmed if one not in kept}
            assert gone <= log
            assert not {one for one in phone.settled if one in kept}

    def teardown(self) -> None:
        if not hasattr(self, "phones"):
            return
        if self.server.pid is None:
            self.server.start()
        for phone in self.phones:
            assert phone.page.evaluate(PUSH)["ok"]
            assert phone.page.evaluate(UNSENT) == []
            phone.context.close()
        stored = [one.replace("-", "") for one in self.server.event_ids() if one not in self.before]
        tapped = {one.replace("-", "") for phone in self.phones for one in phone.confirmed}
        mid_tap = {one.replace("-", "") for one in self.given_up}
        assert len(stored) == len(set(stored))
        assert tapped <= set(stored)
        assert set(stored) <= tapped | mid_tap


@pytest.fixture
def ready(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    server = KillableServer(tmp_path_factory.mktemp("served"))
    server.start()
    context = browser.new_context(service_workers="block")
    context.new_page().goto(f"{server.url}/sign-in/{server.known['token']}/")
    PhonesAndServer.browser, PhonesAndServer.server = browser, server
    PhonesAndServer.cookies = context.storage_state()
    context.close()
    yield
    server.close()


@pytest.mark.usefixtures("ready")
def test_every_confirmed_tap_is_in_the_log_once_whatever_happens() -> None:
    run_state_machine_as_test(
        PhonesAndServer,
        settings=settings(
            max_examples=N_EXAMPLES,
            stateful_step_count=N_STEPS,
            deadline=None,
            phases=[Phase.generate],  # a failure is told as it is: to make it smaller would take minutes
            derandomize=True,
            suppress_health_check=list(HealthCheck),
        ),
    )
