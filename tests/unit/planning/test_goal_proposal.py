"""The goals proposed at intake."""

from hypothesis import given
from hypothesis import strategies as st

from pupilage.core.catalogue.loading import load_bundled
from pupilage.core.planning.goal_proposal import MAX_GOALS, MIN_GOALS, propose_goals

CATALOGUE = load_bundled()


@given(age=st.floats(6, 60), n_days=st.integers(1, 180), resident=st.booleans())
def test_chosen_goals_fit_the_days_and_bring_their_prerequisites(age: float, n_days: int, resident: bool) -> None:
    proposals = propose_goals(CATALOGUE, age_weeks=age, n_days=n_days, has_resident=resident)
    assert {p.behaviour.key for p in proposals} == set(CATALOGUE.behaviours)
    chosen = {p.behaviour.key for p in proposals if p.chosen}
    assert len(chosen) <= MAX_GOALS
    for proposal in proposals:
        if proposal.chosen:
            assert set(proposal.behaviour.prerequisites) <= chosen
            assert proposal.behaviour.min_age_weeks <= age + n_days / 7
        assert 1 <= proposal.weight <= 5
        assert proposal.step == proposal.behaviour.target


def test_three_weeks_have_room_for_a_dozen() -> None:
    proposals = propose_goals(CATALOGUE, age_weeks=9, n_days=21, has_resident=False)
    assert 10 <= sum(p.chosen for p in proposals) <= 12


def test_short_stay_still_gets_a_few_goals() -> None:
    proposals = propose_goals(CATALOGUE, age_weeks=9, n_days=3, has_resident=False)
    assert 1 <= sum(p.chosen for p in proposals) <= MIN_GOALS


def test_living_with_a_dog_makes_calm_near_it_matter_most() -> None:
    with_dog = propose_goals(CATALOGUE, age_weeks=9, n_days=21, has_resident=True)
    assert next(p for p in with_dog if p.behaviour.key == "calm-near-dog").weight == 5


def test_calm_near_a_dog_is_not_proposed_where_no_dog_lives() -> None:
    proposals = propose_goals(CATALOGUE, age_weeks=9, n_days=21, has_resident=False)
    proposal = next(p for p in proposals if p.behaviour.key == "calm-near-dog")
    assert not proposal.chosen
    assert str(proposal.reason) == "No dog lives there to practise with."


def test_behaviour_for_older_dogs_says_from_what_age() -> None:
    oldest = max(CATALOGUE.behaviours.values(), key=lambda b: b.min_age_weeks)
    proposals = propose_goals(CATALOGUE, age_weeks=oldest.min_age_weeks - 3, n_days=7, has_resident=False)
    proposal = next(p for p in proposals if p.behaviour.key == oldest.key)
    assert not proposal.chosen
    assert str(proposal.reason) == f"Too young still: from {oldest.min_age_weeks} weeks of age."


def test_proposals_are_the_same_every_time() -> None:
    first = propose_goals(CATALOGUE, age_weeks=10, n_days=14, has_resident=True)
    assert first == propose_goals(CATALOGUE, age_weeks=10, n_days=14, has_resident=True)
