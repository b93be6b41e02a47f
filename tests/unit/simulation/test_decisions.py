"""Our policy beside the fixed rules, the ceilings and the bound: a few dogs of two worlds."""

import numpy as np
import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.simulation.worlds.comparison import FIXED, OURS
from pupilage.core.simulation.worlds.decisions import (
    ALL_SEEING,
    BOUND,
    FAIR,
    FOLLOWED,
    ROUND_ROBIN,
    WorldScores,
    lines_of,
    means_of,
    n_parts,
    score_worlds,
)
from pupilage.core.simulation.worlds.fixed_rules import FixedRule
from pupilage.core.simulation.worlds.following import Following
from pupilage.core.simulation.worlds.regimes import N_DAYS, Truth, draw_chance, draw_dogs, part_of, world_of
from pupilage.core.simulation.worlds.season import Season

N = 40
WORLD = world_of("hard", Truth.BKT)


def drawn(world, n=N, seed=2):
    rng = np.random.default_rng(seed)
    return draw_dogs(world, n, rng), draw_chance(world, n, rng)


@pytest.fixture(scope="module")
def scored():
    """The scores of one world, our policy played by eight of ten with skipping, which needs no tables."""
    parts = []
    found = next(score_worlds([WORLD], n_dogs=N, seed=2, our=FIXED["eight of ten, skip done"], after_part=parts.append))
    assert sum(parts) == n_parts([WORLD], N)
    return found


def test_no_policy_that_knows_less_or_more_is_above_the_bound(scored):
    bound_mean = scored.by_policy[BOUND].mean()
    for policy, goals in scored.by_policy.items():
        if policy != BOUND:
            assert goals.mean() < bound_mean, policy


def test_who_knows_the_dogs_does_better_than_who_does_not(scored):
    goals = {policy: found.mean() for policy, found in scored.by_policy.items()}
    assert (
        goals[ALL_SEEING] > goals[FAIR] - 0.1
    )  # both are policies, not bounds; equal within error where form counts little
    assert goals[FAIR] > max(goals[rule] for rule in FIXED)
    assert goals[ROUND_ROBIN] != goals[FOLLOWED] != goals[OURS]


def test_lines_say_the_shares_and_the_leads_with_their_targets(scored):
    lines = {line.what: line for line in lines_of(scored)}
    share = lines["share of the gap closed"]
    assert share.value < 1.0
    assert share.error > 0.0
    assert share.target == 0.60
    assert share.reached == (share.value >= 0.60)
    lead = lines[f"{OURS}: goals ahead of “{scored.best_fixed}”"]
    in_errors = lines[f"{OURS}: the same in standard errors"]
    assert in_errors.value == pytest.approx(lead.value / lead.error)
    assert in_errors.reached == (in_errors.value >= -1.0)


def test_mean_share_needs_all_three_kinds_of_dogs(scored):
    assert means_of([scored]) == []
    three = [WorldScores(world_of("hard", truth), scored.by_policy) for truth in (Truth.RW, Truth.PFA, Truth.BKT)]
    (line,) = means_of(three)
    assert line.value == pytest.approx(scored.closed.value)
    assert line.target == 0.75


@pytest.mark.parametrize("n", [1, 20_001])
def test_number_of_dogs_that_cannot_be_scored_is_refused(n):
    with pytest.raises(InvalidInput, match="cannot be scored"):
        next(score_worlds([WORLD], n_dogs=n, seed=1))


def test_dogs_one_part_at_a_time_are_the_dogs_at_once():
    dogs, chance = drawn(WORLD, n=12)
    whole = Season(WORLD, dogs, chance, FixedRule(12)).run()
    parts = [
        Season(WORLD, part_of(dogs, rows), part_of(chance, rows), FixedRule(6)).run()
        for rows in (slice(0, 6), slice(6, 12))
    ]
    assert (whole == np.concatenate(parts)).all()


def test_trials_of_a_behaviour_have_the_same_luck_whoever_trains():
    dogs, chance = drawn(WORLD, n=12)
    first = [Recorded(12, trials) for trials in (5, 10)]
    for policy in first:
        Season(WORLD, dogs, chance, policy).run()
    both = set(first[0].blocks) & set(first[1].blocks)
    assert len(both) == 12 * 4 * 2  # four sessions on the first day, all with the same behaviours
    assert all(first[0].blocks[key] == first[1].blocks[key] for key in both if key[2] == 0)


class Recorded(FixedRule):
    """A fixed rule that keeps the first block of every behaviour, by dog, behaviour and count."""

    def __post_init__(self):
        super().__post_init__()
        self.blocks, self.count = {}, np.zeros((self.n, 8), dtype=int)

    def observe(self, outcomes):
        for dog, behaviour, n_met in zip(outcomes.rows, outcomes.behaviour, outcomes.n_met, strict=True):
            if outcomes.day == 0:
                self.blocks[dog, behaviour, self.count[dog, behaviour]] = n_met
            self.count[dog, behaviour] += 1
        super().observe(outcomes)


@pytest.mark.parametrize("share", [0.0, 1.0])
def test_policy_followed_always_or_never_is_the_one_or_the_habit(share):
    dogs, chance = drawn(WORLD, n=20)
    follows = np.full((20, N_DAYS, WORLD.regime.capacity), bool(share))
    followed = Following(FixedRule(20, 10, True), FixedRule(20), follows)
    alone = FixedRule(20, 10, True) if share else FixedRule(20)
    assert (Season(WORLD, dogs, chance, followed).run() == Season(WORLD, dogs, chance, alone).run()).all()
