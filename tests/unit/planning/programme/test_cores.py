"""A smallest set of rules that clash: none of them can be spared."""

from collections.abc import Collection, Mapping

from hypothesis import given, settings
from hypothesis import strategies as st

from pupilage.core.planning.programme.cores import find_core
from pupilage.core.planning.programme.rules import Rule

N_DAYS = 6

shutters = st.dictionaries(
    st.sampled_from([Rule.DAYS_OFF, Rule.MINUTES, Rule.FOOD, Rule.HANDOVER, Rule.AGE]),
    st.sets(st.integers(0, N_DAYS - 1)),
    max_size=5,
)


def n_open(shut: Mapping[Rule, Collection[int]]) -> int:
    return N_DAYS - len({day for days in shut.values() for day in days})


@settings(max_examples=60)
@given(shut=shutters, n_needed=st.integers(1, 3))
def test_core_clashes_and_without_any_one_of_its_rules_it_does_not(shut: dict[Rule, set[int]], n_needed: int) -> None:
    core = find_core(shut, n_days=N_DAYS, n_needed=n_needed)
    assert bool(core) == (n_open(shut) < n_needed)
    if core:
        assert n_open({rule: shut[rule] for rule in core}) < n_needed
        for spared in core:
            assert n_open({rule: shut[rule] for rule in core if rule is not spared}) >= n_needed


def test_rules_that_shut_nothing_needed_are_not_named() -> None:
    shut = {Rule.DAYS_OFF: {0}, Rule.MINUTES: set(range(4)), Rule.HANDOVER: {4, 5}, Rule.FOOD: {1}}
    assert find_core(shut, n_days=N_DAYS) == (Rule.MINUTES, Rule.HANDOVER)
