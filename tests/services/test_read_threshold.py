"""What a pup can bear of a behaviour, read through the service."""

from datetime import timedelta

import pytest

from pupilage.core.errors import InvalidInput, NotFound
from pupilage.services.read_threshold import read_threshold
from pupilage.services.set_goals import GoalChoice, set_goals

pytestmark = pytest.mark.django_db


@pytest.fixture
def trained(actor, programme, new_session, now):
    for days in range(6, 0, -1):
        new_session(actor, programme, "sit", "word", ["met"] * 9 + ["missed"], at=now - timedelta(days=days))
    return programme


def test_household_level_is_the_goals_step_and_else_the_catalogues(actor, trained, now):
    set_goals(actor, trained, [GoalChoice("sit", "other-rooms", 3)], now=now)
    assert read_threshold(actor, trained, "sit", now=now).target.key == "other-rooms"
    assert read_threshold(actor, trained, "recall", now=now).target.key == "garden-visitor"


def test_step_is_the_one_to_practise_next_unless_another_is_given(actor, trained, now):
    assert read_threshold(actor, trained, "sit", now=now).step.key in {"word", "quick"}
    assert read_threshold(actor, trained, "sit", step="lure", now=now).map.step == "lure"


def test_reading_twice_is_reading_once(actor, trained, now):
    one, other = (read_threshold(actor, trained, "sit", now=now).map for _ in range(2))
    assert one is other
    assert (one.n_trials, one.enough) == (60, True)


def test_reader_may_read_and_a_stranger_finds_nothing(reader, stranger, trained, now):
    assert read_threshold(reader, trained, "sit", now=now).map.enough
    with pytest.raises(NotFound):
        read_threshold(stranger, trained, "sit", now=now)


def test_what_the_catalogue_does_not_have_is_said(actor, trained, now):
    with pytest.raises(NotFound, match="pupilage catalogue"):
        read_threshold(actor, trained, "somersault", now=now)
    with pytest.raises(InvalidInput, match="its steps are"):
        read_threshold(actor, trained, "sit", step="gone", now=now)
