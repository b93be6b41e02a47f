"""What is known of a pup is kept while its record stays the same, and is never older than the record."""

from datetime import timedelta
from uuid import UUID, uuid4

import pytest
from django.forms.models import model_to_dict

from pupilage.core.training.posterior.knowledge import know
from pupilage.core.training.posterior.reading import read_step
from pupilage.core.training.record.evidence import Outcome
from pupilage.services.correct_trial import Correction, correct_trial
from pupilage.services.know_dog import know_dog
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import SessionEvent
from pupilage.storage.queries.programmes import programme_readable_by
from pupilage.storage.queries.sessions import list_trials, session_readable_by

pytestmark = pytest.mark.django_db


@pytest.fixture
def known(actor, programme):
    """Return a function that asks what is known now, and checks it against a fold of the whole record."""

    def ask(who=actor):
        row = programme_readable_by(who, programme)
        found = know_dog(who, row)
        fresh = know(load_catalogue().behaviours, list_trials(row), zone=who.zone)
        assert found.trials == fresh.trials
        return found, fresh

    return ask


def chance(knowledge, now):
    return read_step(knowledge.at("sit", now), 2).mean


def test_unchanged_record_is_folded_once(known, actor, programme, new_session, now):
    new_session(actor, programme, "sit", "word", ["met", "missed", "met"])
    assert known()[0] is known()[0]


def test_new_session_is_in_it_at_once_as_if_all_had_been_folded_anew(known, actor, programme, new_session, now):
    new_session(actor, programme, "sit", "word", ["met"] * 4, at=now - timedelta(days=2))
    before, _ = known()
    new_session(actor, programme, "down", "lure", ["met", "missed"], at=now - timedelta(days=1))
    new_session(actor, programme, "sit", "word", ["missed"] * 3, at=now - timedelta(hours=1))
    after, fresh = known()
    assert chance(after, now) == pytest.approx(chance(fresh, now), abs=1e-12)
    assert chance(after, now) < chance(before, now)


@pytest.mark.parametrize("which", [0, 1])
def test_correction_in_an_old_or_the_newest_session_is_seen(known, actor, programme, new_session, now, which):
    sessions = [
        new_session(actor, programme, "sit", "word", ["met"] * 4, at=now - timedelta(days=days)) for days in (2, 1)
    ]
    before, _ = known()
    session = sessions[which]
    trial = next(t for t in before.trials if t.session_id == str(session))
    correct_trial(
        actor,
        session,
        Correction(UUID(trial.event_id), Outcome.MISSED),
        device_id=uuid4(),
        tz_offset_min=0,
        now=now,
    )
    after, fresh = known()
    assert chance(after, now) == pytest.approx(chance(fresh, now), abs=1e-12)
    assert chance(after, now) < chance(before, now)


def test_entry_that_becomes_visible_after_a_newer_one_is_seen(known, actor, programme, new_session):
    new_session(actor, programme, "sit", "word", ["met"])
    before, _ = known()
    newest = SessionEvent.objects.latest("id")
    late = model_to_dict(newest, exclude=["id", "workspace"]) | {"id": -1, "event_id": uuid4()}
    SessionEvent.objects.bulk_create([SessionEvent(workspace_id=newest.workspace_id, **late)])
    assert known()[0] is not before


def test_programme_read_along_with_a_session_gives_the_same(known, actor, programme, new_session):
    session = new_session(actor, programme, "sit", "word", ["met", "missed"])
    assert know_dog(actor, session_readable_by(actor, session).programme) is known()[0]


def test_other_workspace_s_entries_do_not_touch_it(known, actor, stranger, programme, new_session, new_programme):
    new_session(actor, programme, "sit", "word", ["met"])
    before, _ = known()
    new_session(stranger, new_programme(stranger), "sit", "word", ["missed"] * 5)
    assert known()[0] is before
