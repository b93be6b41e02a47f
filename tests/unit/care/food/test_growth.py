"""What a pup might weigh at its age, and when its growth belongs before a veterinarian."""

from datetime import UTC, datetime, timedelta

import pytest

from pupilage.core.care.food.growth import (
    Weighing,
    doubt_figures,
    growth_warning,
    typical_fraction,
    typical_weight,
)
from pupilage.core.care.food.pup import AdultWeightSource, Pup, fraction_sentence

BORN = datetime(2026, 2, 25, tzinfo=UTC)


def at(week, kg):
    return Weighing(BORN + timedelta(weeks=week), kg)


def usual(week, adult=20.0):
    return typical_fraction(week, adult) * adult


@pytest.mark.parametrize("adult", [2, 8, 12, 25, 35, 60])
def test_fraction_rises_with_age_and_ends_near_one(adult):
    found = [typical_fraction(week, adult) for week in range(0, 105, 4)]
    assert found == sorted(found)
    assert found[0] < 0.03
    assert found[-1] > 0.97


def test_large_dogs_are_a_smaller_part_of_themselves_at_one_age():
    found = [typical_fraction(12, adult) for adult in (5, 12, 25, 35, 60)]
    assert found == sorted(found, reverse=True)


def test_a_fifth_is_allowed_to_either_side():
    found = typical_weight(12, 20)
    assert found.low_kg == pytest.approx(0.8 * found.weight_kg)
    assert found.high_kg == pytest.approx(1.2 * found.weight_kg)


def test_steady_growth_along_its_own_line_is_no_warning():
    for share in (0.7, 1.0, 1.3):
        line = [at(week, share * usual(week)) for week in (9, 10, 11, 12, 13)]
        assert growth_warning(line, born_at=BORN, adult_weight_kg=20) is None


def test_lost_weight_is_a_warning_even_without_a_grown_weight():
    found = growth_warning([at(9, 3.0), at(10, 3.4), at(11, 3.3)], born_at=BORN, adult_weight_kg=None)
    assert "It has lost weight (3.4 kg, now 3.3 kg)" in str(found)


def test_within_the_error_of_a_scale_nothing_is_lost():
    assert growth_warning([at(9, 3.00), at(10, 2.97)], born_at=BORN, adult_weight_kg=None) is None


def test_leaving_its_own_line_is_a_warning_up_and_down():
    slow = [at(9, usual(9)), at(11, usual(11) * 0.84)]
    fast = [at(9, usual(9)), at(11, usual(11) * 1.20)]
    assert "fallen behind" in str(growth_warning(slow, born_at=BORN, adult_weight_kg=20))
    assert "do not cut" in str(growth_warning(fast, born_at=BORN, adult_weight_kg=20))


def test_one_weighing_or_two_close_ones_tell_nothing():
    assert growth_warning([at(9, 3.0)], born_at=BORN, adult_weight_kg=20) is None
    assert growth_warning([at(9, 3.0), at(9.5, 3.9)], born_at=BORN, adult_weight_kg=20) is None


def test_weight_far_from_the_usual_puts_the_figures_in_doubt():
    usual_12 = typical_weight(12, 20)
    assert doubt_figures(usual_12.weight_kg * 1.5, usual_12) is None
    for share in (0.55, 1.7):
        assert "date of birth and the grown weight" in str(doubt_figures(usual_12.weight_kg * share, usual_12))


def test_fraction_of_the_grown_weight_carries_its_error():
    said = str(fraction_sentence(Pup(12, 5, 20, AdultWeightSource.PARENTS))).replace("\N{NO-BREAK SPACE}", " ")
    assert "25 % of its grown weight, 21 % to 31 %" in said
    assert fraction_sentence(Pup(12, 5)) is None
    near = str(fraction_sentence(Pup(40, 19, 20))).replace("\N{NO-BREAK SPACE}", " ")
    assert "95 % of its grown weight, 70 % to over 99 %" in near
