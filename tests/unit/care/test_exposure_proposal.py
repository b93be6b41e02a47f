"""What is proposed for a day, and what never is."""

import pytest

from exposure_days import at, judged, met
from pupilage.core.care.exposures.item import VetTopic
from pupilage.core.care.exposures.log import VetWord
from pupilage.core.care.exposures.proposal import (
    ExposureDay,
    day_cautions,
    meeting_words,
    propose_exposures,
)
from pupilage.core.errors import InvalidInput

PLAIN = ExposureDay()


def keys(log, *, day=10, limit=10, what=PLAIN):
    return [one.item.key for one in propose_exposures(judged(log, day=day), what, limit=limit)]


def test_heaviest_unmet_item_comes_first_and_groups_take_turns():
    found = keys([], limit=3)
    assert found[0] == "man"
    assert len({"man", "child"} & set(found)) == 1


def test_limit_is_kept_and_zero_is_nothing():
    assert len(keys([], limit=2)) == 2
    assert keys([], limit=0) == []
    with pytest.raises(InvalidInput):
        keys([], limit=-1)


def test_not_more_than_one_new_strong_thing():
    assert len({"child", "thunder"} & set(keys([]))) == 1
    assert not {"child", "thunder"} & set(keys([met("child", 10)]))


def test_strong_item_that_went_well_before_does_not_count_as_new():
    assert {"child", "thunder"} <= set(keys([met("child", 3)]))


def test_what_was_met_today_is_not_proposed_again():
    assert "man" not in keys([met("man", 10)])


def test_dog_waits_for_the_veterinarian():
    assert "dog" not in keys([met("child", 9), met("thunder", 9)])
    assert "dog" in keys([met("child", 9), met("thunder", 9), VetWord("w", VetTopic.DOGS, at(9))])


def test_held_back_item_comes_back_on_its_day_as_the_strong_thing_of_that_day():
    log = [met("man", 0, "afraid", recovery_s=30.0)]
    assert "man" not in keys(log, day=2)
    found = keys(log, day=3)
    assert "man" in found
    assert not {"child", "thunder"} & set(found)


def test_referred_item_is_never_proposed():
    assert "man" not in keys([met("man", 0, "afraid", recovery_s=300.0)], day=20)


@pytest.mark.parametrize("what", [ExposureDay(unwell=True), ExposureDay(at_veterinarian=True)])
def test_unwell_or_at_the_veterinarians_is_no_day_for_it(what):
    assert keys([met("man", 1)], what=what) == []
    assert len(day_cautions(judged([], day=10), what)) == 1


def test_after_fear_today_only_what_went_well_before_and_no_more_of_it():
    log = [
        met("man", 1, "curious", distance_m=8.0),
        met("grass", 1, "unsure"),
        met("bell", 10, "worried", recovery_s=10.0),
    ]
    found = propose_exposures(judged(log, day=10), PLAIN, limit=9)
    assert [(one.item.key, one.intensity, one.distance_m) for one in found] == [("man", 1, 8.0)]
    assert "too much today" in str(day_cautions(judged(log, day=10), PLAIN)[0])


def test_while_fear_spreads_nothing_new_is_proposed_and_the_behaviourist_is_named():
    log = [met("man", 5, "afraid"), met("grass", 6, "afraid"), met("bell", 7, "afraid")]
    assert keys(log, day=8) == []
    told = " ".join(str(one) for one in day_cautions(judged(log, day=8), PLAIN))
    assert "3 different things" in told
    assert "veterinary behaviourist" in told


def test_what_is_known_comes_again_after_a_week():
    log = [met("man", n, intensity=3, distance_m=2.0) for n in range(3)]
    assert "man" not in keys(log, day=8)
    assert "man" in keys(log, day=9)


def test_words_for_the_timetable_say_how_and_with_food():
    first = propose_exposures(judged([], day=0), PLAIN, limit=9)
    words = {one.item.key: str(meeting_words(one)) for one in first}
    assert words["man"] == "man: intensity 1 of 5, from 8 m, 2 min, with food"
    assert words["grass"] == "grass: intensity 1 of 5, 2 min, with food"


def test_every_proposal_has_a_reason():
    log = [met("man", 1), met("grass", 1, "unsure"), met("bell", 1, "curious"), met("paws", 1, "worried", recovery_s=9)]
    for one in propose_exposures(judged(log, day=10), PLAIN, limit=9):
        assert str(one.reason).endswith(".")
