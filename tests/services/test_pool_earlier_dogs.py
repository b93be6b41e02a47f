"""What is expected of a new pup comes from the trainer's own ended stays once there are enough, and then stays put."""

from dataclasses import replace
from datetime import timedelta

import pytest

from pupilage.core.errors import Forbidden
from pupilage.core.training.pooling.prior_shape import SHIPPED, find_shape
from pupilage.core.training.posterior.prior import shipped_prior
from pupilage.services.know_dog import know_dog
from pupilage.services.pool_earlier_dogs import LEAST_DOGS, pool_earlier_dogs
from pupilage.services.read_programme import read_programme
from pupilage.services.start_programme import start_programme
from pupilage.storage.models import Programme
from pupilage.storage.queries.programmes import programme_readable_by

pytestmark = pytest.mark.django_db


@pytest.fixture
def ended_stay(new_programme, new_session, now):
    """Return a function that writes a stay with sessions of five tries a day, and ends it last week."""

    def make(actor, outcomes=("met", "missed", "missed", "met", "missed"), *, n_days=10):
        programme = new_programme(actor)
        for day in range(n_days):
            new_session(actor, programme, "sit", "word", list(outcomes), at=now - timedelta(days=10 - day))
        Programme.objects.filter(id=programme).update(handover_on=now.date() - timedelta(days=1))
        return programme

    return make


def begun(actor, intake, now):
    later = replace(intake, handover_on=now.date() + timedelta(days=20))
    return programme_readable_by(actor, start_programme(actor, later, now=now))


def test_fewer_than_three_ended_stays_leave_the_shipped_prior(actor, ended_stay, intake, now):
    for _ in range(LEAST_DOGS - 1):
        ended_stay(actor)
    ended_stay(actor, n_days=2)  # ten tries say next to nothing
    new = begun(actor, intake, now)
    assert new.prior_shape is None
    assert know_dog(actor, new).state.prior is shipped_prior()
    assert "simulator: no dog was measured" in str(read_programme(actor, new.id, now=now).origin)


def test_ended_stays_make_the_prior_of_the_next_pup_and_its_page_says_how_many(actor, ended_stay, intake, now):
    for _ in range(LEAST_DOGS):
        ended_stay(actor)
    new = begun(actor, intake, now)
    shape = find_shape(new.prior_shape)
    assert shape.n_dogs == LEAST_DOGS
    assert shape.log_rate_mean < SHIPPED.log_rate_mean  # these pups learned nothing in ten days
    assert know_dog(actor, new).state.prior.name == "pooled-3"
    assert "3 earlier dogs of yours" in str(read_programme(actor, new.id, now=now).origin)


def test_prior_of_a_stay_that_runs_does_not_move_when_another_ends(actor, ended_stay, programme, now):
    before = programme_readable_by(actor, programme).prior_shape
    for _ in range(LEAST_DOGS):
        ended_stay(actor)
    assert programme_readable_by(actor, programme).prior_shape == before
    assert know_dog(actor, programme_readable_by(actor, programme)).state.prior is shipped_prior()


def test_dogs_of_another_workspace_are_not_counted(actor, stranger, ended_stay, now):
    for _ in range(LEAST_DOGS):
        ended_stay(stranger)
    assert pool_earlier_dogs(actor, today=now.date()) is None
    assert pool_earlier_dogs(stranger, today=now.date()).n_dogs == LEAST_DOGS


def test_stay_that_still_runs_is_not_counted(actor, ended_stay, programme, new_session, now):
    for _ in range(LEAST_DOGS - 1):
        ended_stay(actor)
    for day in range(10):
        new_session(actor, programme, "sit", "word", ["met"] * 5, at=now - timedelta(days=10 - day))
    assert pool_earlier_dogs(actor, today=now.date()) is None


def test_reader_may_not_pool(reader, now):
    with pytest.raises(Forbidden):
        pool_earlier_dogs(reader, today=now.date())
