"""The session screen says which of the next correct tries is rewarded, after a reload and an undo the same."""

from collections.abc import Callable
from datetime import datetime, timedelta
from uuid import UUID, uuid4

import pytest
from django.test import Client
from django.urls import reverse

from pupilage.core.access import Actor
from pupilage.core.training.record.events import Event, EventKind
from pupilage.core.training.record.evidence import SessionKind
from pupilage.services.read_live_session import read_live_session
from pupilage.services.record_events import record_events
from pupilage.services.save_reinforcer import ReinforcerEntry, save_reinforcer
from pupilage.services.set_goals import GoalChoice, set_goals
from pupilage.storage.catalogue_files import load_catalogue

pytestmark = pytest.mark.django_db


def train(actor, programme, new_session, now, key):
    """Meet every try of every step up to the goal, a step a day, and the goal itself on three days."""
    behaviour = load_catalogue().behaviours[key]
    goal = behaviour.step_index(behaviour.target)
    set_goals(actor, programme, [GoalChoice(key, behaviour.target, 5)], now=now)
    steps = [*behaviour.steps[:goal], *[behaviour.steps[goal]] * 3]
    for n, step in enumerate(steps):
        at = now - timedelta(days=len(steps) - n)
        new_session(actor, programme, key, step.key, ["met"] * 10, at=at)
    return behaviour.target


@pytest.fixture
def live(
    actor: Actor, programme: UUID, new_session: Callable[..., UUID], now: datetime
) -> Callable[..., tuple[UUID, dict]]:
    """Return a function that starts a session at the goal of a sure behaviour and gives its id and a way to read it."""

    def start(key: str = "sit", outcomes: tuple[str, ...] = (), **more: object) -> UUID:
        step = train(actor, programme, new_session, now, key)
        return new_session(
            actor, programme, key, step, list(outcomes), at=now - timedelta(minutes=2), end=False, **more
        )

    return start


def state(client: Client, session: UUID) -> dict:
    return client.get(reverse("sync-session", args=[session])).json()


def test_sure_behaviour_has_a_list_with_its_reason(keeper_client: Client, live: Callable[..., UUID]) -> None:
    pay = state(keeper_client, live())["pay"]
    assert pay["reason"].endswith("reward about 2 in 3 now, and praise every one.")
    assert pay["next"] == pay["paid"][0]
    assert 0 < sum(pay["paid"]) < len(pay["paid"])
    page = keeper_client.get(reverse("live", args=[live()])).content.decode()
    assert 'id="pay"' in page
    assert "Next one right: praise only" in page


def test_list_is_the_same_after_a_reload_and_an_undo(
    keeper_client: Client, live: Callable[..., UUID], actor: Actor, now: datetime
) -> None:
    session = live("sit", ("met", "met", "missed"))
    first = state(keeper_client, session)
    assert state(keeper_client, session) == first
    assert first["pay"]["next"] == first["pay"]["paid"][2]
    met = write(actor, session, EventKind.TRIAL, now, {"outcome": "met", "pieces": 0})
    assert state(keeper_client, session)["pay"]["next"] == first["pay"]["paid"][3]
    write(actor, session, EventKind.WITHDRAWN, now, {"event": met})
    assert state(keeper_client, session)["pay"] == first["pay"]


def write(actor: Actor, session: UUID, kind: EventKind, now: datetime, payload: dict) -> str:
    event = Event(str(uuid4()), str(uuid4()), 1, str(session), kind, now, 0, payload)
    record_events(actor, [event], now=now)
    return event.id


def test_three_misses_in_a_row_reward_every_one_again(keeper_client: Client, live: Callable[..., UUID]) -> None:
    assert state(keeper_client, live("sit", ("met", "missed", "missed", "missed")))["pay"] is None


def test_recall_and_probes_have_no_list(keeper_client: Client, live: Callable[..., UUID]) -> None:
    assert state(keeper_client, live("recall"))["pay"] is None
    assert state(keeper_client, live("sit", kind=SessionKind.PROBE))["pay"] is None


@pytest.mark.parametrize("name", ["tug", ""])
def test_toy_and_praise_stay_free(
    keeper_client: Client, live: Callable[..., UUID], actor: Actor, now: datetime, name: str
) -> None:
    save_reinforcer(actor, ReinforcerEntry("tug", 0.0), now=now)
    session = live("sit")
    before = now - timedelta(seconds=30)
    write(actor, session, EventKind.REINFORCER_CHANGED, before, {"reinforcer": name, "pieces": None})
    assert state(keeper_client, session)["pay"] is None
    write(actor, session, EventKind.REINFORCER_CHANGED, now, {"reinforcer": "cooked chicken", "pieces": 20})
    assert state(keeper_client, session)["pay"] is not None


def test_praise_alone_is_no_reward_a_minute(live: Callable[..., UUID], actor: Actor, now: datetime) -> None:
    session = live("sit")
    for outcome in ("met", "met", "met"):
        write(actor, session, EventKind.TRIAL, now, {"outcome": outcome, "pieces": 0})
    assert read_live_session(actor, session, now=now).per_min == 0.0


def test_session_before_the_goal_has_no_list(
    keeper_client: Client, actor: Actor, programme: UUID, new_session: Callable[..., UUID], now: datetime
) -> None:
    train(actor, programme, new_session, now, "sit")
    first = load_catalogue().behaviours["sit"].steps[0].key
    session = new_session(actor, programme, "sit", first, ["met"], at=now - timedelta(minutes=2), end=False)
    assert state(keeper_client, session)["pay"] is None


def test_usual_latency_is_told_once_five_were_taken(
    keeper_client: Client, live: Callable[..., UUID], actor: Actor, now: datetime
) -> None:
    session = live("sit")
    assert state(keeper_client, session)["latency"] == ""
    for _ in range(5):
        write(actor, session, EventKind.TRIAL, now, {"outcome": "met", "pieces": 0, "latency_s": 1.0})
    assert state(keeper_client, session)["latency"] == "Usually about 1.0\N{NO-BREAK SPACE}s from cue to behaviour"
