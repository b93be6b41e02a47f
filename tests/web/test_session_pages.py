"""The card before a session, and its record afterwards."""

from collections.abc import Callable
from html import unescape
from uuid import UUID, uuid4

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from pupilage.core.access import Actor
from pupilage.core.training.record.events import Event, EventKind
from pupilage.services.record_events import record_events
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Dog, Programme, SessionEvent, TrainingSession, Trial
from pupilage.web import clock

pytestmark = pytest.mark.django_db


def card(programme: UUID, **query: str) -> str:
    return reverse("session-card", args=[programme], query=query)


def test_card_proposes_behaviour_step_and_training(keeper_client: Client, programme: UUID) -> None:
    page = keeper_client.get(card(programme))
    proposal = page.context["card"].proposal
    form = page.context["form"]
    assert page.context["behaviour"].key == proposal.behaviour_key
    assert (form["step"].value(), form["kind"].value()) == (proposal.step_key, "training")


def test_card_says_the_criterion_and_what_counts_in_words(keeper_client: Client, programme: UUID) -> None:
    sit = load_catalogue().behaviours["sit"]
    text = keeper_client.get(card(programme, behaviour="sit")).content.decode()
    assert sit.outcomes.met in text.replace("&#x27;", "'").replace("&quot;", '"')
    assert "distraction 0 of 5: Nothing but what the exercise itself needs" in text


def test_beginning_writes_the_start_and_goes_to_the_screen(keeper_client: Client, programme: UUID) -> None:
    step = load_catalogue().behaviours["sit"].steps[1].key
    form = {"behaviour": "sit", "step": step, "kind": "probe", "reinforcer": "dry food", "pieces": "25"}
    answer = keeper_client.post(card(programme), form)
    session = TrainingSession.objects.get()
    assert answer["Location"] == reverse("live", args=[session.id])
    assert (session.behaviour, session.step, session.kind) == ("sit", step, "probe")
    payload = SessionEvent.objects.get().payload
    assert (payload["pieces"], payload["cold"]) == (25, True)


@pytest.mark.parametrize(
    ("wrong", "field"),
    [({"step": "no-such-step"}, "step"), ({"pieces": "9000"}, "pieces"), ({"pieces": "many"}, "pieces")],
)
def test_wrong_choice_is_said_and_starts_nothing(
    keeper_client: Client, programme: UUID, wrong: dict[str, str], field: str
) -> None:
    step = load_catalogue().behaviours["sit"].steps[0].key
    form = {"behaviour": "sit", "step": step, "kind": "training", "reinforcer": "dry food", "pieces": "25", **wrong}
    answer = keeper_client.post(card(programme), form)
    assert answer.status_code == 400
    assert set(answer.context["form"].errors) == {field}
    assert not TrainingSession.objects.exists()


def stands(client: Client, session: UUID, event: object, outcome: str) -> object:
    return client.post(reverse("session-correct", args=[session]), {"event": str(event), "stands": outcome})


def test_correction_changes_what_stands_and_erases_nothing(keeper_client: Client, session: UUID) -> None:
    missed = Trial.objects.filter(outcome="missed").first()
    n_before = SessionEvent.objects.count()
    assert stands(keeper_client, session, missed.event_id, "met")["Location"] == reverse("session", args=[session])
    assert Trial.objects.get(event_id=missed.event_id).outcome == "met"
    assert SessionEvent.objects.count() == n_before + 1
    text = keeper_client.get(reverse("session", args=[session])).content.decode()
    assert "Put right: entry" in text
    assert "10 of 12" in text


def test_same_correction_twice_writes_one_event(keeper_client: Client, session: UUID) -> None:
    trial = Trial.objects.first()
    for _ in range(2):
        stands(keeper_client, session, trial.event_id, "helped")
    assert SessionEvent.objects.filter(kind="corrected").count() == 1


def test_trial_taken_back_leaves_the_record_and_stays_in_the_log(keeper_client: Client, session: UUID) -> None:
    trial = Trial.objects.first()
    stands(keeper_client, session, trial.event_id, "take-back")
    assert not Trial.objects.filter(event_id=trial.event_id).exists()
    text = keeper_client.get(reverse("session", args=[session])).content.decode()
    assert "<s>Try · Met</s>" in text
    assert "8 of 11" in text
    assert stands(keeper_client, session, trial.event_id, "met").status_code == 404


def test_trial_of_another_session_cannot_be_put_right(
    keeper_client: Client, actor: Actor, programme: UUID, session: UUID, new_session: Callable[..., UUID]
) -> None:
    other = new_session(actor, programme, "sit", load_catalogue().behaviours["sit"].steps[0].key, ["met"])
    trial = Trial.objects.get(session_id=other)
    assert stands(keeper_client, session, trial.event_id, "void").status_code == 404


@pytest.mark.parametrize(
    ("event", "outcome"), [("nonsense", "met"), ("455504df-f21b-4541-abc2-bc9f1612d4d0", "splendid")]
)
def test_unreadable_correction_is_refused(keeper_client: Client, session: UUID, event: str, outcome: str) -> None:
    assert stands(keeper_client, session, event, outcome).status_code == 400
    assert not SessionEvent.objects.filter(kind="corrected").exists()


def test_stay_shows_not_enough_yet_with_the_counts(keeper_client: Client, programme: UUID, session: UUID) -> None:
    text = keeper_client.get(reverse("programme", args=[programme])).content.decode()
    assert "Chance: not enough yet, 1 of 3 sessions." in text
    assert "Sets of five say" in text


def test_probes_stand_apart_from_training(
    keeper_client: Client, actor: Actor, programme: UUID, new_session: Callable[..., UUID]
) -> None:
    from pupilage.core.training.record.evidence import SessionKind

    behaviour = next(iter(load_catalogue().behaviours.values()))
    new_session(
        actor, programme, behaviour.key, behaviour.steps[0].key, ["met", "missed", "missed"], kind=SessionKind.PROBE
    )
    page = keeper_client.get(reverse("programme", args=[programme]))
    standing = next(s for s in page.context["page"].standings if s.behaviour.key == behaviour.key)
    assert (standing.n_trials, standing.n_sessions, standing.baseline.n) == (0, 0, 3)
    assert "1 of 3 met" in page.content.decode()


def test_rules_that_stand_beside_each_other_show_how_often_they_err(keeper_client: Client, programme: UUID) -> None:
    # binomial: P(4 or 5 of 5 | p = 0.6) = 5 * 0.6^4 * 0.4 + 0.6^5 = 0.33696 (computed by hand from the formula)
    text = keeper_client.get(reverse("programme", args=[programme])).content.decode()
    assert "Sets of five raise it after one set with a chance of 34\N{NO-BREAK SPACE}%" in text


SIT = {"behaviour": "sit", "kind": "training", "reinforcer": "dry food", "pieces": "25"}


def test_card_remembers_where_and_with_whom_on_this_phone(keeper_client: Client, programme: UUID) -> None:
    form = {**SIT, "step": load_catalogue().behaviours["sit"].steps[0].key, "place": " the  barn ", "handler": "王 🐾"}
    keeper_client.post(card(programme), form)
    session = TrainingSession.objects.get()
    assert (session.place, session.handler) == ("the barn", "王 🐾")
    payload = SessionEvent.objects.get().payload
    assert (payload["place"], payload["handler"]) == ("the barn", "王 🐾")
    again = keeper_client.get(card(programme)).context["form"]
    assert (again["place"].value(), again["handler"].value()) == ("the barn", "王 🐾")


def test_card_of_another_phone_starts_with_the_trainer_and_offers_the_places(
    actor: Actor, signed_in: Callable[[Actor], Client], programme: UUID
) -> None:
    form = {**SIT, "step": load_catalogue().behaviours["sit"].steps[0].key, "place": "barn", "handler": "aunt"}
    signed_in(actor).post(card(programme), form)
    page = signed_in(actor).get(card(programme))
    assert (page.context["form"]["place"].value(), page.context["form"]["handler"].value()) == ("", "")
    assert '<option value="barn">' in page.content.decode()


def test_session_says_where_and_who(keeper_client: Client, programme: UUID) -> None:
    form = {**SIT, "step": load_catalogue().behaviours["sit"].steps[0].key, "place": "<b>barn</b>", "handler": "أمي"}
    keeper_client.post(card(programme), form)
    text = keeper_client.get(reverse("session", args=[TrainingSession.objects.get().id])).content.decode()
    assert "&lt;b&gt;barn&lt;/b&gt;" in text
    assert "أمي" in text


def test_name_of_more_than_eighty_letters_is_refused(keeper_client: Client, programme: UUID) -> None:
    form = {**SIT, "step": load_catalogue().behaviours["sit"].steps[0].key, "place": "p" * 81}
    assert set(keeper_client.post(card(programme), form).context["form"].errors) == {"place"}
    assert not TrainingSession.objects.exists()


# ---- the dog on its mat beside ---------------------------------------------------------------------------------------


def begin_beside(client: Client, programme: UUID, dog: Dog, **more: str) -> HttpResponse:
    form = {"behaviour": "sit", "step": "lure", "kind": "training", "reinforcer": "", "pieces": ""}
    return client.post(card(programme), form | {"beside": str(dog.id)} | more)


@pytest.fixture
def moss(programme: UUID) -> Dog:
    return Dog.objects.get(household_id=Programme.objects.get(id=programme).dog.household_id, is_resident=True)


def test_card_asks_what_a_dog_without_a_record_can_and_only_once_it_is_chosen(
    keeper_client: Client, programme: UUID, moss: Dog
) -> None:
    assert "can" not in keeper_client.get(card(programme)).context["form"].fields
    chosen = keeper_client.get(card(programme, beside=str(moss.id)))
    steps = load_catalogue().behaviours["settle-on-mat"].steps
    assert chosen.context["form"]["can"].value() == steps[0].key
    text = unescape(chosen.content.decode())
    assert "What can Moss already?" in text
    assert all(step.summary in text for step in steps)
    for nobody in ("no-dog", str(Programme.objects.get(id=programme).dog_id)):
        assert "can" not in keeper_client.get(card(programme, beside=nobody)).context["form"].fields


def test_mat_begins_at_the_step_that_was_said(keeper_client: Client, programme: UUID, moss: Dog) -> None:
    answer = begin_beside(keeper_client, programme, moss, can="two-minutes")
    assert answer.status_code == 302
    mat = TrainingSession.objects.get(programme__dog=moss)
    assert (mat.behaviour, mat.step, Trial.objects.count()) == ("settle-on-mat", "two-minutes", 0)


@pytest.mark.parametrize("said", [{}, {"can": ""}, {"can": "on-its-head"}])
def test_nothing_begins_before_it_is_said_what_the_dog_can(
    keeper_client: Client, programme: UUID, moss: Dog, said: dict[str, str]
) -> None:
    answer = begin_beside(keeper_client, programme, moss, **said)
    assert answer.status_code == 400
    assert list(answer.context["form"].errors) == ["can"]
    assert not TrainingSession.objects.exists()


def test_card_does_not_ask_once_the_dog_has_tried_something(
    keeper_client: Client, actor: Actor, programme: UUID, moss: Dog
) -> None:
    begin_beside(keeper_client, programme, moss, can="two-minutes")
    mat, at = TrainingSession.objects.get(programme__dog=moss), clock.now()
    hold, device = str(uuid4()), str(uuid4())
    told = [
        (hold, EventKind.HOLD_STARTED, {"target_s": 69.0}),
        (str(uuid4()), EventKind.HOLD_RELEASED, {"hold": hold, "held_s": 70.0}),
    ]
    events = [Event(key, device, n, str(mat.id), kind, at, 0, payload) for n, (key, kind, payload) in enumerate(told)]
    record_events(actor, events, now=at)
    assert "can" not in keeper_client.get(card(programme, beside=str(moss.id))).context["form"].fields
    assert begin_beside(keeper_client, programme, moss).status_code == 302
