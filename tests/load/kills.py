"""Kills: of the server while phones push, and of the browser while a thumb taps. Nothing acknowledged may be lost."""

import random
import threading
import time
from dataclasses import dataclass
from pathlib import Path

from playwright.sync_api import Error, Page, Playwright

from load.chromium import QUEUE, KillableChromium
from load.harness import KillableServer, missing_and_doubled

TAP_ON = """async ({ programme, step, n }) => {
  window.kept = window.kept ?? [];
  const session = crypto.randomUUID();
  const start = { programme, behaviour: "sit", step, kind: "training", reinforcer: "", pieces: null, cold: false };
  window.kept.push((await window.queue.append({ sessionId: session, kind: "session-started", payload: start })).id);
  for (let k = 0; k < n; k++) {
    const payload = { outcome: "met", pieces: 1 };
    window.kept.push((await window.queue.append({ sessionId: session, kind: "trial", payload })).id);
  }
}"""

PUSH_ON = """async () => {
  const stored = [];
  window.again = window.again ?? 0;
  for (;;) {
    const reply = await window.queue.push();
    stored.push(...reply.settled);
    if (reply.ok) return stored;
    if (reply.why !== "no-answer") throw new Error(reply.why + " " + (reply.said ?? ""));
    window.again += 1;
    await new Promise((resolve) => setTimeout(resolve, 5));
  }
}"""


@dataclass(frozen=True)
class Kills:
    """What became of it. n_kept: events that the device had confirmed; lost and doubled are to be 0.

    n_cut: pushes that the kill cut off, or that found nobody, and that were made again.
    """

    n_kills: int
    n_cut: int
    n_kept: int
    n_in_log: int
    n_lost: int
    n_doubled: int
    took_s: float


def sign_in(page: Page, server: KillableServer) -> None:
    """Sign in, and put the real queue on the page."""
    page.goto(f"{server.url}/sign-in/{server.known['token']}/")
    load_queue(page, server)


def load_queue(page: Page, server: KillableServer) -> None:
    """Put the real queue on a page that runs nothing of its own."""
    page.goto(f"{server.url}/cautions/")
    owner = page.evaluate("fetch('/sync/token/').then((one) => one.json()).then((one) => one.owner)")
    page.evaluate(QUEUE, {"owner": owner})


def kill_server_while_pushing(page: Page, server: KillableServer, n_kills: int, *, seed: int = 1) -> Kills:
    """Push from the real queue in Chromium and kill the server again and again meanwhile."""
    rng, begun = random.Random(seed), time.monotonic()
    stop = threading.Event()
    killed = [0]

    def kill_on() -> None:
        while not stop.is_set() and killed[0] < n_kills:
            time.sleep(rng.uniform(0.01, 0.4))
            server.kill()
            killed[0] += 1
            server.start()

    start = {"programme": server.known["programme"], "step": server.known["step"]}
    killer = threading.Thread(target=kill_on)
    stored: list[str] = []
    killer.start()
    try:
        while killed[0] < n_kills:
            page.evaluate(TAP_ON, {**start, "n": rng.randint(2, 12)})
            stored += page.evaluate(PUSH_ON)
    finally:
        stop.set()
        killer.join()
    stored += page.evaluate(PUSH_ON)
    kept, n_cut = page.evaluate("window.kept"), page.evaluate("window.again")
    return _kills(server, (killed[0], n_cut), kept, stored, begun)


def kill_browser_while_tapping(
    playwright: Playwright, folder: Path, server: KillableServer, n_kills: int, *, seed: int = 1
) -> Kills:
    """Tap on and on in Chromium and kill the whole of it; then start it on its disk again and push what it kept."""
    rng, begun = random.Random(seed), time.monotonic()
    phone = KillableChromium(folder)
    page = phone.start(playwright)
    sign_in(page, server)
    cookies = page.context.cookies()  # a browser takes half a minute to write them to its disk
    kept: list[str] = []
    for _ in range(n_kills):
        _tap_until_killed(page, phone, server, kept, rng.uniform(0.05, 0.5))
        page = phone.start(playwright)
        page.context.add_cookies(cookies)  # type: ignore[arg-type]
        load_queue(page, server)
    stored = page.evaluate(PUSH_ON)
    left = page.evaluate("window.queue.unsent().then((rows) => rows.length)")
    assert left == 0, left
    phone.kill()
    return _kills(server, (n_kills, 0), kept, stored, begun)


def _tap_until_killed(
    page: Page, phone: KillableChromium, server: KillableServer, kept: list[str], after_s: float
) -> None:
    """Write down each tap that the page confirms, until the browser dies in the middle of one."""
    session = page.evaluate("crypto.randomUUID()")
    start = {"programme": server.known["programme"], "behaviour": "sit", "step": server.known["step"], "pieces": None}
    timer = threading.Timer(after_s, phone.kill)
    one = "({ sessionId, kind, payload }) => window.queue.append({ sessionId, kind, payload }).then((e) => e.id)"
    timer.start()
    try:
        kept.append(page.evaluate(one, {"sessionId": session, "kind": "session-started", "payload": start}))
        while True:
            payload = {"outcome": "met", "pieces": 1}
            kept.append(page.evaluate(one, {"sessionId": session, "kind": "trial", "payload": payload}))
    except Error:
        pass  # the battery is dead
    timer.join()


def _kills(server: KillableServer, n: tuple[int, int], kept: list[str], stored: list[str], begun: float) -> Kills:
    lost, doubled = missing_and_doubled(server, [*kept, *stored])
    took_s = round(time.monotonic() - begun, 1)
    return Kills(*n, len(set(kept)), len(server.event_ids()), lost, doubled, took_s)
