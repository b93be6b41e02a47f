"""How a trainer wants days to run: read back as written, and refused in words."""

import json
from datetime import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pupilage.core.errors import InvalidInput
from pupilage.core.planning.day.preferences import DayPreferences, minute_of, read_preferences


def test_nothing_stored_is_as_shipped() -> None:
    assert read_preferences({}) == DayPreferences()


@given(
    wake=st.integers(4 * 12, 9 * 12),
    last=st.integers(18 * 12, 24 * 12 - 1),
    resident_min=st.integers(0, 240),
    weights=st.dictionaries(st.sampled_from(["meal-times", "nap-length"]), st.floats(0, 1000)),
    quiet=st.booleans(),
)
def test_what_is_written_is_read_back(
    wake: int, last: int, resident_min: int, weights: dict[str, float], quiet: bool
) -> None:
    chosen = DayPreferences(
        wake=time(wake // 12, wake % 12 * 5),
        last_outing=time(last // 12, last % 12 * 5),
        meals=(time(9, 15), time(13), time(17, 30)),
        quiet=((time(13), time(14, 30)),) if quiet else (),
        resident_min=resident_min,
        weights=weights,
    )
    assert read_preferences(json.loads(json.dumps(chosen.to_json()))) == chosen


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"wake": time(20)}, "too short a day"),
        ({"last_outing": time(0, 30)}, "too short a day"),
        ({"meals": (time(5),)}, "in the pup's night"),
        ({"meals": tuple(time(7 + 2 * n) for n in range(7))}, "too many"),
        ({"meals": (time(12), time(12, 30))}, "less than an hour apart"),
        ({"quiet": ((time(14), time(13)),)}, "ends before it begins"),
        ({"resident_min": 241}, "give 0 to 240"),
        ({"weights": {"nap-length": -1.0}}, "give 0 to 1000"),
    ],
)
def test_what_cannot_be_is_refused_in_words(wrong: dict[str, object], words: str) -> None:
    with pytest.raises(InvalidInput, match=words):
        DayPreferences(**wrong)


def test_every_problem_is_told_at_once() -> None:
    with pytest.raises(InvalidInput) as refused:
        DayPreferences(wake=time(20), resident_min=-1, meals=(time(5),))
    assert {problem.where for problem in refused.value.problems} == {"last_outing", "resident_min", "meals"}


def test_stored_nonsense_is_refused() -> None:
    with pytest.raises(InvalidInput, match="no time of day"):
        read_preferences({"wake": "dawn"})


def test_minutes_run_from_midnight() -> None:
    assert (minute_of(time(0)), minute_of(time(6, 30)), minute_of(time(23, 59))) == (0, 390, 1439)
