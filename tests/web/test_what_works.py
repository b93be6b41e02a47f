"""The pup's page and the session's card say which reinforcer works, and when they cannot tell."""

from collections.abc import Callable
from datetime import datetime, timedelta
from uuid import UUID, uuid4

import pytest
from django.test import Client
from django.urls import reverse

from pupilage.core.access import Actor
from pupilage.core.training.record.events import Event, EventKind
from pupilage.services.record_events import record_events
from pupilage.storage.catalogue_files import load_catalogue

pytestmark = pytest.mark.django_db


@pytest.fixture
def trained(actor: Actor, programme: UUID, now: datetime) -> UUID:
    """Eight days of sit: dry food meets half, the chicken that follows in the same session nearly all."""
    step = load_catalogue().behaviours["sit"].steps[1].key
    for day in range(8, 0, -1):
        session, device = str(uuid4()), str(uuid4())
        start = {"programme": str(programme), "behaviour": "sit", "step": step, "reinforcer": "dry food", "pieces": 40}
        entries = [
            (EventKind.SESSION_STARTED, start),
            *((EventKind.TRIAL, {"outcome": o, "pieces": 1, "latency_s": 1.5}) for o in ["met", "missed"] * 3),
            (EventKind.REINFORCER_CHANGED, {"reinforcer": "cooked chicken", "pieces": 20}),
            *((EventKind.TRIAL, {"outcome": o, "pieces": 1}) for o in ["met"] * 6),
            (EventKind.SESSION_ENDED, {}),
        ]
        events = [
            Event(str(uuid4()), device, n, session, kind, now - timedelta(days=day, seconds=-8 * n), 0, payload)
            for n, (kind, payload) in enumerate(entries)
        ]
        verdicts = record_events(actor, events, now=now)
        assert not [v for v in verdicts if v.reason]
    return programme


def test_pups_page_compares_the_reinforcers(keeper_client: Client, trained: UUID, dog: UUID) -> None:
    page = keeper_client.get(reverse("dog", args=[dog]))
    comparison = page.context["works"].comparison
    assert set(comparison.names) == {"dry food", "cooked chicken"}
    better = comparison.of("cooked chicken").p_better or 1.0 - comparison.of("dry food").p_better
    assert better > 0.9
    text = page.content.decode()
    assert "What works for this pup" in text
    assert "better than the usual one" in text
    assert "Hunger, the hour and the place are not taken out" in text
    assert "From cue to behaviour" in text


def test_pup_without_tries_has_not_enough_yet(keeper_client: Client, programme: UUID, dog: UUID) -> None:
    assert "no tries with a named reinforcer" in keeper_client.get(reverse("dog", args=[dog])).content.decode()


def test_only_reinforcer_is_not_praised_for_what_the_engine_expected_too_low(
    keeper_client: Client,
    actor: Actor,
    programme: UUID,
    dog: UUID,
    new_session: Callable[..., UUID],
    now: datetime,
) -> None:
    step = load_catalogue().behaviours["sit"].steps[0].key
    for day in range(1, 5):
        new_session(actor, programme, "sit", step, ["met"] * 10, at=now - timedelta(days=day))
    text = keeper_client.get(reverse("dog", args=[dog])).content.decode()
    assert "the only one so far: nothing to compare with" in text


def test_change_that_was_taken_back_leaves_the_reinforcer(
    actor: Actor, programme: UUID, new_session: Callable[..., UUID], keeper_client: Client, dog: UUID, now: datetime
) -> None:
    session = str(new_session(actor, programme, "sit", load_catalogue().behaviours["sit"].steps[0].key, [], end=False))
    change, device = str(uuid4()), str(uuid4())
    entries = [
        (change, EventKind.REINFORCER_CHANGED, {"reinforcer": "cooked chicken", "pieces": 5}),
        (str(uuid4()), EventKind.WITHDRAWN, {"event": change}),
        (str(uuid4()), EventKind.TRIAL, {"outcome": "met"}),
    ]
    record_events(
        actor,
        [Event(id_, device, n, session, kind, now, 0, payload) for n, (id_, kind, payload) in enumerate(entries)],
        now=now,
    )
    assert keeper_client.get(reverse("dog", args=[dog])).context["works"].comparison.names == ("dry food",)


def test_card_says_with_which_reinforcer_to_begin(keeper_client: Client, trained: UUID) -> None:
    page = keeper_client.get(reverse("session-card", args=[trained], query={"behaviour": "sit"}))
    choice = page.context["choice"]
    assert page.context["form"]["reinforcer"].value() == choice.reinforcer
    assert str(choice.reason) in page.content.decode().replace("&nbsp;", "\N{NO-BREAK SPACE}")


def test_card_of_a_short_record_says_that_it_cannot_tell(keeper_client: Client, programme: UUID) -> None:
    page = keeper_client.get(reverse("session-card", args=[programme]))
    assert page.context["choice"].enough is False
    assert "Not enough yet to tell your reinforcers apart" in page.content.decode()


def test_stranger_and_reader_are_treated_as_on_every_page(
    stranger_client: Client, reader_client: Client, trained: UUID, dog: UUID
) -> None:
    assert stranger_client.get(reverse("dog", args=[dog])).status_code == 404
    assert "What works for this pup" in reader_client.get(reverse("dog", args=[dog])).content.decode()
