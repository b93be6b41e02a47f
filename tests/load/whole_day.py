"""A day without a network: 1,500 events over 24 hours on one phone, then one push."""

import time
from dataclasses import dataclass
from pathlib import Path

from playwright.sync_api import Browser

from load.harness import KillableServer, missing_and_doubled
from load.kills import sign_in

N_A_SESSION = 30

WRITE_DAY = """async ({ programme, step, n, perSession }) => {
  const begin = Date.now() - 24 * 3600 * 1000;
  const ids = [];
  let session = null;
  for (let k = 0; k < n; k++) {
    const at = new Date(begin + k * 24 * 3600 * 1000 / n);
    const place = k % perSession;
    if (place === 0) session = crypto.randomUUID();
    const last = place === perSession - 1;
    const kind = place === 0 ? "session-started" : last ? "session-ended" : "trial";
    const payload = place === 0
      ? { programme, behaviour: "sit", step, kind: "training", reinforcer: "dry food", pieces: 40, cold: false }
      : last ? {} : { outcome: k % 4 ? "met" : "missed", pieces: k % 4 ? 1 : 0 };
    ids.push((await window.queue.append({ sessionId: session, kind, payload, at })).id);
  }
  return ids;
}"""


@dataclass(frozen=True)
class WholeDay:
    """What became of it. sync_s: from the first byte to the empty queue."""

    n_events: int
    n_lost: int
    n_doubled: int
    write_s: float
    sync_s: float


def sync_a_day(browser: Browser, folder: Path, n_events: int) -> WholeDay:
    """Write a day's events into the real queue with the server killed, start it, and push them all."""
    server = KillableServer(folder)
    server.start()
    try:
        page = browser.new_context(service_workers="block").new_page()
        sign_in(page, server)
        server.kill()
        begun = time.monotonic()
        day = {"programme": server.known["programme"], "step": server.known["step"]}
        ids = page.evaluate(WRITE_DAY, {**day, "n": n_events, "perSession": N_A_SESSION})
        write_s = time.monotonic() - begun
        server.start()
        begun = time.monotonic()
        reply = page.evaluate("window.queue.push().then((one) => ({ ok: one.ok, n: one.settled.size }))")
        sync_s = time.monotonic() - begun
        assert reply == {"ok": True, "n": n_events}, reply
        lost, doubled = missing_and_doubled(server, ids)
        return WholeDay(n_events, lost, doubled, round(write_s, 2), round(sync_s, 2))
    finally:
        server.close()
