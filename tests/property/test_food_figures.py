"""Whatever figures are given for a pup or a dose: an answer, or every fault in a sentence, and nothing else."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pupilage.core.care.food.doses import CALL_NOW, answer_dose, list_eaten
from pupilage.core.care.food.feeding import FeedingQuestion, question_problems, work_out
from pupilage.core.care.food.growth import typical_fraction
from pupilage.core.care.food.label import LabelUnit, read_label
from pupilage.core.errors import InvalidInput

anything = st.floats(allow_nan=True, allow_infinity=True)
likely = st.one_of(anything, st.floats(0.1, 100.0))
maybe = st.one_of(st.none(), likely)


@given(
    st.builds(
        FeedingQuestion, weight_kg=maybe, age_weeks=maybe, adult_weight_kg=maybe, kcal_per_100g=maybe, piece_g=likely,
        n_sessions=st.one_of(st.none(), st.integers(-5, 20)), minutes=maybe, rate_per_min=maybe,
    )
)  # fmt: skip
def test_a_pup_is_fed_or_every_fault_is_said(question):
    problems = question_problems(question)
    assert all(str(problem.sentence).endswith((".", "?")) for problem in problems)
    if problems:
        with pytest.raises(InvalidInput):
            work_out(question)
        return
    found = work_out(question)
    assert 0 < found.energy_kcal < math.inf
    for one in found.comparison.estimates:
        if one.energy_kcal is not None:
            assert 0 < one.low_kcal <= one.energy_kcal <= one.high_kcal < math.inf


@given(st.sampled_from(list_eaten()), maybe, maybe)
def test_a_dose_is_never_answered_without_the_words(eaten, amount, weight_kg):
    try:
        answer = answer_dose(eaten, amount=amount, weight_kg=weight_kg)
    except InvalidInput:
        return
    assert answer.call_now is CALL_NOW
    assert str(answer.band).endswith(".")


@given(maybe, st.sampled_from(list(LabelUnit)), st.dictionaries(st.sampled_from(
    ["protein", "fat", "fibre", "moisture", "ash"]), st.one_of(st.none(), likely)))  # fmt: skip
def test_a_label_is_read_or_every_fault_is_said(energy, unit, parts):
    label, problems = read_label(energy, unit, parts)
    assert problems or label.kcal_per_100g is None or 0 < label.kcal_per_100g <= 900
    if problems:
        assert label.kcal_per_100g is None


@given(st.floats(0, 200), st.floats(0, 200), st.floats(0.5, 90))
def test_an_older_pup_is_never_a_smaller_part_of_itself(one, other, adult_weight_kg):
    younger, older = sorted((one, other))
    assert 0 < typical_fraction(younger, adult_weight_kg) <= typical_fraction(older, adult_weight_kg) < 1 + 1e-9
