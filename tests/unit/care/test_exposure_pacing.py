"""One thing at a time, and only after the pup was at ease."""

import pytest

from exposure_days import CATALOGUE, judged, met
from pupilage.core.care.exposures.pacing import Change


def following(log, key="man", day=20):
    found = judged(log, day=day).of(key).next
    return found.intensity, found.distance_m, found.change


def test_first_meeting_is_the_faintest_from_the_first_distance():
    assert following([]) == (1, 8.0, Change.BEGIN)
    assert following([], "grass") == (1, None, Change.BEGIN)


def test_calm_once_is_the_same_again_and_twice_is_nearer():
    assert following([met("man", 0)]) == (1, 8.0, Change.SAME)
    assert following([met("man", 0), met("man", 1)]) == (1, 4.0, Change.NEARER)


def test_curious_once_is_nearer():
    assert following([met("man", 0, "curious")]) == (1, 4.0, Change.NEARER)


def test_nearest_is_never_passed():
    assert following([met("man", 0, "curious", distance_m=3.0)]) == (1, 2.0, Change.NEARER)


def test_at_the_nearest_it_becomes_stronger_and_is_farther_away():
    assert following([met("man", 0, "curious", distance_m=2.0)]) == (2, 4.0, Change.STRONGER)


def test_without_a_distance_only_the_intensity_rises():
    assert following([met("grass", 0, "curious")], "grass") == (2, None, Change.STRONGER)
    assert following([met("man", 0, "curious", distance_m=None)]) == (2, None, Change.STRONGER)


def test_at_the_target_it_is_varied_and_never_stronger():
    assert following([met("man", 0, "curious", intensity=3, distance_m=2.0)]) == (3, 2.0, Change.VARIED)
    assert following([met("man", 0, "curious", intensity=5, distance_m=2.0)]) == (3, 2.0, Change.VARIED)


def test_ease_at_another_setting_does_not_count():
    assert following([met("man", 0), met("man", 1, distance_m=4.0)]) == (1, 4.0, Change.SAME)
    assert following([met("man", 0), met("man", 1, intensity=2)]) == (2, 8.0, Change.SAME)


def test_unsure_once_is_the_same_again_and_twice_is_easier():
    assert following([met("man", 0, "unsure", intensity=2)]) == (2, 8.0, Change.SAME)
    assert following([met("man", n, "unsure", intensity=2) for n in (0, 1)]) == (1, 8.0, Change.EASED)
    assert following([met("man", n, "unsure") for n in (0, 1)]) == (1, 16.0, Change.EASED)


@pytest.mark.parametrize(("response", "intensity"), [("worried", 2), ("afraid", 1)])
def test_after_too_much_it_is_weaker_and_farther_away(response, intensity):
    log = [met("man", 0, response, intensity=3, distance_m=5.0, recovery_s=20.0)]
    assert following(log) == (intensity, 10.0, Change.RETURN)


def test_after_too_much_it_is_never_nearer_than_the_first_distance():
    log = [met("man", 0, "afraid", intensity=1, distance_m=1.0, recovery_s=20.0)]
    assert following(log) == (1, 8.0, Change.RETURN)
    log = [met("man", 0, "afraid", intensity=1, distance_m=None, recovery_s=20.0)]
    assert following(log) == (1, 8.0, Change.RETURN)


def test_farthest_is_two_hundred_metres():
    log = [met("man", 0, "worried", distance_m=180.0, recovery_s=20.0)]
    assert following(log)[1] == 200.0


def test_a_pup_that_is_always_calm_comes_to_the_target_in_a_few_meetings():
    log, n = [], 0
    while not judged(log, day=n).of("man").known and n < 40:
        intensity, distance_m, _ = following(log, day=n)
        log.append(met("man", n, "curious", intensity=intensity, distance_m=distance_m))
        n += 1
    assert n <= 9
    assert CATALOGUE.items["man"].target == max(one.intensity for one in log)
