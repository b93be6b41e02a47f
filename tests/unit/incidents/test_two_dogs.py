from datetime import UTC, datetime, timedelta

import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.incidents.between_dogs import (
    Answered,
    Apart,
    BetweenDogs,
    Resource,
    Who,
    between_as_stored,
    between_from_stored,
)
from pupilage.core.incidents.record import Before, Incident
from pupilage.core.incidents.stretches import Stretch
from pupilage.core.incidents.teeth import Teeth
from pupilage.core.incidents.two_dogs import answer_two_dogs

START = datetime(2026, 5, 4, 6, tzinfo=UTC)
DAYS = 12


def at(day, minute=0):
    return START + timedelta(days=day, minutes=minute)


FREE = [Stretch(at(d), at(d, 600)) for d in range(DAYS)]
TOGETHER = [Stretch(at(d, 60), at(d, 120)) for d in range(DAYS)]


def between(day, minute=70, **seen):
    return Incident(f"{day}-{minute}", "rough-play-with-dog", at(day, minute), between=BetweenDogs(**seen))


def ask(incidents, together=TOGETHER, **present):
    return answer_two_dogs(incidents, free=FREE, present={Before.RESIDENT_NEAR: together, **present})


def said(sentences):
    return " ".join(map(str, sentences))


def test_rate_is_for_a_calm_hour_with_garwoods_limits():
    """Three in 12 h less three times 10 min: 11.5 h; k = 3 has 0.6187 and 8.7673 (Garwood, 1936, the table)."""
    found = ask([between(d) for d in range(3)])
    assert (found.n, found.n_flares) == (3, 3)
    assert found.hours_together == pytest.approx(12.0)
    assert found.hours_calm == pytest.approx(11.5)
    assert (found.rate.low, found.rate.high) == pytest.approx((0.6187 / 11.5, 8.7673 / 11.5), abs=1e-4)
    assert "3 in 11.5 calm hours together: about 2.6 in ten; 0.5 to 7.6 fit the record." in said(found.says)


def test_one_that_goes_on_is_one_flare_up():
    found = ask([between(0, 70), between(0, 75), between(0, 90)])
    assert (found.n, found.n_flares) == (3, 2)
    assert found.hours_calm == pytest.approx(12.0 - 25 / 60)


def test_calm_hours_without_an_incident_have_an_upper_limit():
    """Garwood, k = 0: 3.6889."""
    found = ask([])
    assert found.rate.high == pytest.approx(3.6889 / 12, abs=1e-4)
    assert "not one incident; up to 3.1 in ten such hours still fit" in said(found.says)


def test_no_hour_together_gives_no_rate_and_says_what_to_tap():
    found = ask([between(0)], together=[])
    assert (found.rate, found.n_outside) == (None, 1)
    assert "a rate needs one hour at least" in said(found.says)
    assert "Tap “With the resident dog”" in said(found.next)
    assert "nothing can be told yet" in said(ask([], together=[]).says)


def test_who_starts_it_is_named_only_where_the_limits_leave_one_half():
    """Six of six: Clopper and Pearson's lower limit is 0.5407 (0.025 to the power of 1/6); five of five: 0.4782."""
    six = ask([between(d, started=Who.PUP) for d in range(6)])
    assert six.started[0].low == pytest.approx(0.025 ** (1 / 6))
    assert "The pup starts it: 6 of the 6" in said(six.says)
    assert "cannot be told yet: the pup 5 of 5" in said(ask([between(d, started=Who.PUP) for d in range(5)]).says)
    older = ask([between(d, started=Who.RESIDENT) for d in range(6)])
    assert "The older dog starts it: 6 of the 6" in said(older.says)


def test_those_that_nobody_could_tell_are_in_no_share():
    found = ask([between(0, started=Who.CANNOT_TELL), between(1, started=Who.PUP)])
    assert [(one.key, one.n, one.of) for one in found.started] == [("pup", 1, 1)]


def test_commonest_resource_comes_first_and_decides_what_to_do_first():
    seen = [between(0, resource=Resource.TOY), between(1, resource=Resource.FOOD), between(2, resource=Resource.FOOD)]
    found = ask(seen)
    assert [(one.key, one.n) for one in found.resources] == [("food", 2), ("toy", 1)]
    assert "Most often over food" in str(found.to_do[0])
    assert {"way out", "Feed them apart", "Never punish a growl"} <= {
        part for part in ("way out", "Feed them apart", "Never punish a growl") if part in said(found.to_do)
    }


def test_equal_resources_are_all_told_what_to_do_about():
    found = ask([between(0, resource=Resource.TOY), between(1, resource=Resource.BED)])
    assert [str(one).split(":")[0] for one in found.to_do[:2]] == ["Most often over a toy", "Most often over a bed"]


def test_food_in_reach_is_compared_within_the_time_together():
    reach = [Stretch(at(d, 60), at(d, 80)) for d in range(DAYS)]
    found = ask([between(d) for d in range(6)], **{Before.IN_REACH: reach})
    assert (found.around[0].key, found.around[0].n, found.around[0].is_called) == ("in-reach", 6, True)


@pytest.mark.parametrize(
    ("seen", "words"),
    [
        ({"teeth": Teeth.NICK}, "seen by a veterinarian the same day"),
        ({"teeth": Teeth.BITE}, "veterinary behaviourist before they meet again"),
        ({"answered": Answered.HELD_ON}, "veterinary behaviourist before they meet again"),
    ],
)
def test_what_is_more_than_training_mends_is_said_first(seen, words):
    assert words in said(ask([between(0, **seen)]).urgent)


def test_a_person_bitten_between_them_is_sent_to_the_doctor():
    bitten = Incident("b", "rough-play-with-dog", at(0, 70), teeth=Teeth.BITE)
    nicked = Incident("n", "rough-play-with-dog", at(1, 70), teeth=Teeth.NICK)
    assert "see a doctor" in said(ask([bitten, nicked]).urgent)


@pytest.mark.parametrize("answered", [Answered.GROWLED, Answered.AIR_SNAP, Answered.CONTACT])
def test_a_dog_that_says_no_is_no_emergency(answered):
    assert not ask([between(0, answered=answered)]).urgent


def test_times_it_left_the_other_be_are_no_incident():
    left = Incident("l", "rough-play-with-dog", at(0, 70), left_it=True)
    near = Incident("n", "rough-play-with-dog", at(1, 70), near_miss=True)
    found = ask([left, near])
    assert (found.n, found.n_left, found.hours_calm) == (0, 1, pytest.approx(12.0))


def test_guarding_from_a_person_is_not_between_dogs():
    person = Incident("p", "guarding", at(0, 70))
    dog = Incident("d", "guarding", at(1, 70), between=BetweenDogs(resource=Resource.FOOD))
    assert ask([person, dog]).n == 1


def test_what_was_seen_is_stored_and_read_back_the_same():
    seen = BetweenDogs(
        Who.PUP, Resource.BED, Apart.WITHIN_1_M, Answered.AIR_SNAP, Who.PERSON, Teeth.TOUCH, Who.RESIDENT
    )
    assert between_from_stored(between_as_stored(seen)) == seen
    assert between_from_stored({}) is None
    assert between_from_stored({"resource": "the-moon", "started": "pup"}) == BetweenDogs(started=Who.PUP)
    assert between_as_stored(None) == {}


@pytest.mark.parametrize("wrong", [{"started": Who.PERSON}, {"ended": Who.BOTH}, {"hurt": Who.PERSON}])
def test_words_that_do_not_go_together_are_refused(wrong):
    with pytest.raises(InvalidInput):
        BetweenDogs(**wrong)


def test_figures_in_ten_hours_are_those_of_garwood_for_forty():
    """Forty in 10 calm hours; Garwood's limits of 40 are 28.577 and 54.469 (SciPy, chi-square ÷ 2)."""
    found = answer_two_dogs(
        [between(0, 15 + 25 * i) for i in range(40)],
        free=[Stretch(at(0), at(1))],
        present={Before.RESIDENT_NEAR: [Stretch(at(0), at(0, 1000))]},
    )
    assert found.hours_calm == pytest.approx(10.0)
    assert "about 40.0 in ten; 28.6 to 54.5 fit the record" in said(found.says)


@pytest.mark.parametrize(("minutes", "has_rate"), [(60, True), (59.9, False)])
def test_an_hour_together_gives_a_rate_and_less_asks_for_more(minutes, has_rate):
    """Garwood, k = 0: 3.6889 in that one hour, 36.9 in ten."""
    found = ask([], together=[Stretch(at(0, 60), at(0, 60 + minutes))])
    assert (found.rate is not None) is has_rate
    assert ("up to 36.9 in ten such hours" in said(found.says)) is has_rate
    assert ("Tap “With the resident dog”" in said(found.next)) is not has_rate


@pytest.mark.parametrize(("later", "n_flares"), [(9.95, 1), (10, 2)])
def test_ten_minutes_after_it_is_another_flare_up(later, n_flares):
    assert ask([between(0, 70), between(0, 70 + later)]).n_flares == n_flares


@pytest.mark.parametrize(("k", "n", "words"), [(13, 17, "starts it: 13 of the 17"), (16, 22, "cannot be told yet")])
def test_who_starts_it_is_named_from_limits_just_beyond_one_half(k, n, words):
    """Clopper and Pearson's lower limit is 0.5010 for 13 of 17 and 0.4978 for 16 of 22 (SciPy, binomtest)."""
    for who, other in ((Who.PUP, Who.RESIDENT), (Who.RESIDENT, Who.PUP)):
        seen = [between(d % 12, 70 + d, started=who if d < k else other) for d in range(n)]
        assert words in said(ask(seen).says)


def test_what_lay_between_them_is_asked_for_until_all_have_it():
    seen = [between(0, resource=Resource.TOY), between(1, resource=Resource.NONE)]
    assert "what lay between them" not in said(ask(seen).next)
    assert "what lay between them" in said(ask([*seen, between(2)]).next)
