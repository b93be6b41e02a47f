"""Many phones that push at once, as the queue of the pages does: a token, a push, a verdict for each event.

An answer that is no answer keeps everything and is pushed again; what matters is that each gets through in the end.
"""

import http.client
import json
import threading
import time
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit
from uuid import uuid4

from load.harness import KillableServer, missing_and_doubled, percentile

TIMEOUT_S = 60.0


@dataclass
class PushingPhone:
    """One phone: its cookie, its events not yet acknowledged, and how long each push took."""

    server: KillableServer
    cookie: str
    owner: str = ""
    unsent: list[dict[str, Any]] = field(default_factory=list)
    acknowledged: list[str] = field(default_factory=list)
    took_s: list[float] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)
    n_again: int = 0
    seq: int = 0
    device: str = field(default_factory=lambda: str(uuid4()))
    session: str = field(default_factory=lambda: str(uuid4()))

    def tap(self, kind: str, payload: dict[str, Any]) -> None:
        self.seq += 1
        event = {
            "id": str(uuid4()), "device_id": self.device, "device_seq": self.seq, "session_id": self.session,
            "kind": kind, "at": datetime.now(UTC).isoformat(), "tz_offset_min": 0, "payload": payload,
        }  # fmt: skip
        self.unsent.append(event)

    def push(self) -> bool:
        """Push what is not acknowledged; True once it is."""
        begun = time.monotonic()
        try:
            status, token = self._ask("GET", "/sync/token/", None, {})
            if status != 200:
                raise OSError(status)
            self.owner = token["owner"]
            body = json.dumps({"owner": self.owner, "events": self.unsent[:200]})
            status, answer = self._ask("POST", "/sync/push/", body, {"X-CSRFToken": token["token"]})
            if status != 200:
                raise OSError(status)
        except (OSError, http.client.HTTPException, ValueError):
            self.n_again += 1
            return False
        self.took_s.append(time.monotonic() - begun)
        named = {verdict["id"]: verdict["status"] for verdict in answer["verdicts"]}
        self.refused += [event_id for event_id, status in named.items() if status == "rejected"]
        self.acknowledged += [event_id for event_id, status in named.items() if status != "rejected"]
        self.unsent = [event for event in self.unsent if event["id"] not in named]
        return not self.unsent

    def _ask(self, method: str, path: str, body: str | None, headers: dict[str, str]) -> tuple[int, Any]:
        connection = http.client.HTTPConnection(urlsplit(self.server.url).netloc, timeout=TIMEOUT_S)
        try:
            given = {"Cookie": self.cookie, "Content-Type": "application/json", "Referer": self.server.url, **headers}
            connection.request(method, path, body, given)
            answer = connection.getresponse()
            text = answer.read()
            for cookie in answer.headers.get_all("Set-Cookie") or []:
                name = cookie.split("=", 1)[0]
                others = [one for one in self.cookie.split("; ") if not one.startswith(f"{name}=")]
                self.cookie = "; ".join([*others, cookie.split(";", 1)[0]])
            return answer.status, json.loads(text)
        finally:
            connection.close()


def signed_in(server: KillableServer, token: str) -> PushingPhone:
    """Return a phone that has opened its one-time link."""
    connection = http.client.HTTPConnection(urlsplit(server.url).netloc, timeout=TIMEOUT_S)
    connection.request("GET", f"/sign-in/{token}/")
    answer = connection.getresponse()
    answer.read()
    cookies = [cookie.split(";", 1)[0] for cookie in answer.headers.get_all("Set-Cookie") or []]
    connection.close()
    return PushingPhone(server, "; ".join(cookies))


@dataclass(frozen=True)
class Pushed:
    """What became of it. n_again: pushes that got no answer and were made once more."""

    n_phones: int
    n_events: int
    n_pushes: int
    n_again: int
    n_refused: int
    n_stuck: int
    n_lost: int
    n_doubled: int
    median_s: float
    p99_s: float
    longest_s: float


def push_from_phones(folder: Path, n_phones: int, pushing_s: float) -> Pushed:
    """Let phones tap and push at once for some time, then until each has nothing left."""
    server = KillableServer(folder, n_phones=n_phones)
    server.start()
    try:
        phones = [signed_in(server, token) for token in server.known["tokens"]]
        until = time.monotonic() + pushing_s
        threads = [threading.Thread(target=_train, args=(phone, until)) for phone in phones]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        acknowledged = [event_id for phone in phones for event_id in phone.acknowledged]
        took_s = [one for phone in phones for one in phone.took_s]
        lost, doubled = missing_and_doubled(server, acknowledged)
        return Pushed(
            n_phones=n_phones,
            n_events=len(acknowledged),
            n_pushes=len(took_s),
            n_again=sum(phone.n_again for phone in phones),
            n_refused=sum(len(phone.refused) for phone in phones),
            n_stuck=sum(bool(phone.unsent) for phone in phones),
            n_lost=lost,
            n_doubled=doubled,
            median_s=round(percentile(took_s, 0.5), 3),
            p99_s=round(percentile(took_s, 0.99), 3),
            longest_s=round(max(took_s), 3),
        )
    finally:
        server.close()


def _train(phone: PushingPhone, until: float) -> None:
    """Hold a session: a tap, a push, at once the next."""
    known = phone.server.known
    start = {"programme": known["programme"], "behaviour": "sit", "step": known["step"], "pieces": None}
    phone.tap("session-started", start)
    while time.monotonic() < until:
        phone.tap("trial", {"outcome": "met", "pieces": 1})
        phone.push()
    for _ in range(10):
        if phone.push() or not phone.unsent:
            return
