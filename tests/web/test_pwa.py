"""What makes the logger installable: manifest, service worker, shell; and the day that a phone takes along."""

import json
import re
import struct
from datetime import timedelta
from pathlib import Path
from uuid import UUID, uuid4

import pytest
from django.contrib.staticfiles import finders
from django.test import Client
from django.urls import reverse

from pupilage.core.access import Actor
from pupilage.core.training.record.events import Event, EventKind
from pupilage.services.read_beside import N_MATS, read_beside
from pupilage.services.read_live_session import read_live_session
from pupilage.services.record_events import Status, record_events
from pupilage.services.set_goals import GoalChoice, set_goals
from pupilage.services.start_beside import start_beside
from pupilage.services.start_session import SessionStart, start_session
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Dog, Programme
from pupilage.web import clock
from pupilage.web.live_state import live_state, second_state
from pupilage.web.pwa import SHELL_FILES

pytestmark = pytest.mark.django_db

IMPORTED = re.compile(r'from "\./([\w.]+)"')


@pytest.fixture
def goals(actor: Actor, programme: UUID) -> list[str]:
    keys = ["sit", "settle-on-mat"]
    behaviours = load_catalogue().behaviours
    chosen = [GoalChoice(key, behaviours[key].target, behaviours[key].weight) for key in keys]
    set_goals(actor, programme, chosen, now=clock.now())
    return keys


def day_of(client: Client) -> dict[str, object]:
    return client.get(reverse("sync-day")).json()


def test_manifest_says_what_a_browser_installs_by() -> None:
    """Members and their rules: Web Application Manifest, W3C Working Draft (2024), section 1; from memory."""
    answer = Client().get("/manifest.webmanifest")
    assert answer["Content-Type"] == "application/manifest+json"
    manifest = answer.json()
    assert (manifest["scope"], manifest["start_url"], manifest["display"]) == ("/", "/logger/", "standalone")
    assert manifest["orientation"] == "any"
    assert {icon["purpose"] for icon in manifest["icons"]} == {"any", "maskable"}
    for icon in manifest["icons"]:
        path = Path(str(finders.find(icon["src"].removeprefix("/static/"))))
        if icon["type"] == "image/png":  # width and height in IHDR: PNG specification (ISO/IEC 15948), 11.2.2
            width, height = struct.unpack(">II", path.read_bytes()[16:24])
            assert f"{width}x{height}" == icon["sizes"]


def test_service_worker_comes_from_the_root_and_is_never_stored() -> None:
    answer = Client().get("/sw.js")
    assert answer["Content-Type"].startswith("text/javascript")
    assert "no-store" in answer["Cache-Control"]
    build = json.loads(re.search(r"const BUILD = (\{.*\});", answer.content.decode()).group(1))
    assert build["shell"] == "/logger/"
    assert all(file.startswith("/static/") for file in build["files"])


def test_service_worker_keeps_every_file_that_the_logger_asks_for(keeper_client: Client) -> None:
    page = keeper_client.get("/logger/").content.decode()
    asked = set(re.findall(r'(?:src|href)="/static/(pupilage/[^"]+\.(?:js|css|svg))"', page))
    waiting = [name for name in asked if name.endswith(".js")]
    while waiting:
        text = Path(str(finders.find(waiting.pop()))).read_text(encoding="utf-8")
        found = {f"pupilage/{name}" for name in IMPORTED.findall(text)} - asked
        asked |= found
        waiting += found
    assert asked == set(SHELL_FILES)


def test_shell_has_nobodys_data(keeper_client: Client, programme: UUID, goals: list[str]) -> None:
    assert keeper_client.get("/logger/").content == Client().get("/logger/").content


def test_day_has_what_a_session_of_each_goal_begins_with(
    keeper_client: Client, actor: Actor, programme: UUID, goals: list[str]
) -> None:
    (stay,) = day_of(keeper_client)["stays"]
    assert set(stay["behaviours"]) == set(goals)
    for key in goals:
        behaviour = load_catalogue().behaviours[key]
        taken = stay["behaviours"][key]
        assert [step["key"] for step in taken["steps"]] == [step.key for step in behaviour.steps]
        assert all(step["words"] for step in taken["steps"])
        assert set(taken["states"]) == {step.key for step in behaviour.steps}
    assert len(stay["behaviours"]["sit"]["tables"]) == 1
    assert stay["behaviours"]["settle-on-mat"]["states"][taken["step"]]["next_hold"]["target_s"] > 0


def test_session_begun_on_the_phone_begins_as_one_begun_here(
    keeper_client: Client, actor: Actor, programme: UUID, goals: list[str]
) -> None:
    (stay,) = day_of(keeper_client)["stays"]
    for key in goals:
        for step in load_catalogue().behaviours[key].steps:
            start = SessionStart(key, step.key)
            session = start_session(actor, programme, start, device_id=uuid4(), tz_offset_min=0, now=clock.now())
            here = live_state(read_live_session(actor, session, now=clock.now()))
            there = stay["behaviours"][key]["states"][step.key]
            own = {"id": "", "reinforcer": ""}
            assert here | own == there | own


def test_mat_begun_on_the_phone_has_the_pays_that_the_server_would_time(
    keeper_client: Client, actor: Actor, programme: UUID, goals: list[str]
) -> None:
    worked = Programme.objects.get(id=programme).dog
    moss = Dog.objects.filter(household_id=worked.household_id, is_resident=True).first()
    assert moss is not None
    (second,) = day_of(keeper_client)["stays"][0]["seconds"]
    assert len({tuple(mat["multiples"]) for mat in second["mats"]}) == N_MATS
    sit = SessionStart("sit", load_catalogue().behaviours["sit"].steps[0].key)
    for n, mat in enumerate(second["mats"]):
        session = start_session(actor, programme, sit, device_id=uuid4(), tz_offset_min=0, now=clock.now())
        begin_mat(actor, mat["session"], second["start"] | {"beside": str(session)})
        here = second_state(read_beside(actor, session, now=clock.now()))
        assert here is not None
        assert (here["id"], list(here["multiples"])) == (mat["session"], mat["multiples"]), n
        own = {"id": "", "reinforcer": ""}
        assert here["state"] | own == second["state"] | own


def test_mat_of_a_dog_without_a_record_begins_on_the_phone_as_here_at_each_step(
    keeper_client: Client, actor: Actor, programme: UUID, goals: list[str]
) -> None:
    moss = Dog.objects.get(household_id=Programme.objects.get(id=programme).dog.household_id, is_resident=True)
    (second,) = day_of(keeper_client)["stays"][0]["seconds"]
    steps = [step["key"] for step in second["head"]["behaviour"]["steps"]]
    assert (list(second["states"]), second["start"]["step"]) == (steps, steps[0])
    own = {"id": "", "reinforcer": ""}
    first = SessionStart("sit", load_catalogue().behaviours["sit"].steps[0].key)
    sit = lambda: start_session(actor, programme, first, device_id=uuid4(), tz_offset_min=0, now=clock.now())  # noqa: E731
    for step in steps:
        by_phone, by_card = sit(), sit()
        begin_mat(actor, str(uuid4()), second["start"] | {"step": step, "beside": str(by_phone)})
        start_beside(actor, by_card, moss.id, can=step, device_id=uuid4(), tz_offset_min=0, now=clock.now())
        for session in (by_phone, by_card):
            here = second_state(read_beside(actor, session, now=clock.now()))
            assert here is not None
            assert here["state"] | own == second["states"][step] | own
    assert Programme.objects.filter(dog=moss).count() == 1


def begin_mat(actor: Actor, session_id: str, payload: dict[str, object]) -> None:
    """Write the start of a mat as a phone would."""
    kind = EventKind.SESSION_STARTED
    start = Event(str(uuid4()), str(uuid4()), 0, session_id, kind, clock.now(), 0, payload)
    (verdict,) = record_events(actor, [start], now=clock.now())
    assert verdict.status is Status.STORED


def test_day_is_not_sent_again_until_something_has_changed(
    keeper_client: Client, actor: Actor, programme: UUID, goals: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    tag = keeper_client.get(reverse("sync-day"))["ETag"]
    assert keeper_client.get(reverse("sync-day"), headers={"If-None-Match": tag}).status_code == 304
    start = SessionStart("sit", load_catalogue().behaviours["sit"].steps[0].key)
    start_session(actor, programme, start, device_id=uuid4(), tz_offset_min=0, now=clock.now())
    newer = keeper_client.get(reverse("sync-day"), headers={"If-None-Match": tag})
    assert (newer.status_code, newer["ETag"] != tag) == (200, True)
    Dog.objects.filter(is_resident=True).update(name="Fern")
    renamed = keeper_client.get(reverse("sync-day"), headers={"If-None-Match": newer["ETag"]})
    assert (renamed.status_code, renamed.json()["stays"][0]["seconds"][0]["head"]["dog"]) == (200, "Fern")
    later = clock.now() + timedelta(hours=2)
    monkeypatch.setattr("pupilage.web.clock.now", lambda: later)
    assert keeper_client.get(reverse("sync-day"))["ETag"] != newer["ETag"]


def test_day_is_there_though_a_phones_clock_is_some_minutes_ahead(
    keeper_client: Client, actor: Actor, programme: UUID, goals: list[str]
) -> None:
    ahead = clock.now() + timedelta(minutes=4)
    start = SessionStart("sit", load_catalogue().behaviours["sit"].steps[0].key)
    session = start_session(actor, programme, start, device_id=uuid4(), tz_offset_min=0, now=ahead)
    met = {"outcome": "met", "pieces": 1}
    at = ahead + timedelta(seconds=5)
    trial = Event(str(uuid4()), str(uuid4()), 1, str(session), EventKind.TRIAL, at, 0, met)
    record_events(actor, [trial], now=clock.now())
    (stay,) = day_of(keeper_client)["stays"]
    assert all(table["rows"] for table in stay["behaviours"]["sit"]["tables"].values())


def test_two_accounts_never_share_a_tag(keeper_client: Client, reader_client: Client, programme: UUID) -> None:
    assert keeper_client.get(reverse("sync-day"))["ETag"] != reader_client.get(reverse("sync-day"))["ETag"]


def test_without_a_stay_there_is_nothing_to_take_along(stranger_client: Client) -> None:
    assert day_of(stranger_client)["stays"] == []


def test_token_tells_the_time(keeper_client: Client) -> None:
    assert keeper_client.get(reverse("sync-token")).json()["now_ms"] == round(clock.now().timestamp() * 1000)
