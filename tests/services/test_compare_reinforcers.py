"""What the reinforcers do is worked out once for a record, and as from the whole record when it has changed."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from pupilage.core.training.posterior.knowledge import know
from pupilage.core.training.rewards.foresight import foresee
from pupilage.core.training.rewards.reinforcers import compare_reinforcers as compare
from pupilage.core.training.rewards.reinforcers import reinforcers_of, tries_of
from pupilage.services.compare_reinforcers import compare_reinforcers
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.queries.programmes import programme_readable_by
from pupilage.storage.queries.sessions import list_pouches, list_trials

pytestmark = pytest.mark.django_db


@pytest.fixture
def ask(actor, programme):
    return lambda: compare_reinforcers(actor, programme_readable_by(actor, programme))


def train(actor, programme, new_session, now, days):
    step = load_catalogue().behaviours["sit"].steps[0].key
    for day in days:
        new_session(actor, programme, "sit", step, ["met"] * 6 + ["missed"] * 2, at=now - timedelta(days=day))


def test_unchanged_record_is_compared_once(ask, actor, programme, new_session, now):
    train(actor, programme, new_session, now, (3, 2))
    first = ask()
    row = programme_readable_by(actor, programme)
    with CaptureQueriesContext(connection) as caught:
        assert compare_reinforcers(actor, row) is first
    assert len(caught) == 0


def test_new_tries_are_compared_as_if_from_the_whole_record(ask, actor, programme, new_session, now):
    train(actor, programme, new_session, now, (6, 5))
    before = ask().comparison.of("dry food")
    train(actor, programme, new_session, now, (4, 3, 2))
    found = ask().comparison
    assert found.of("dry food").n == before.n + 24
    row = programme_readable_by(actor, programme)
    known = know(load_catalogue().behaviours, list_trials(row), zone=actor.zone)
    names = reinforcers_of(known.trials, list_pouches(row))
    assert found == compare(tries_of(known.trials, foresee(known).p, names))
