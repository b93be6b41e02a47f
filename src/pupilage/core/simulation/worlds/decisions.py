"""How good our policy is in each world: beside the fixed rules, the ceilings and the bound, same dogs, same luck."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from pupilage.core.simulation.worlds.ceilings import FAMILY_OF, KnowingPolicy, lagrange_bound
from pupilage.core.simulation.worlds.comparison import FIXED, OURS, Maker, ours, play, require_dogs
from pupilage.core.simulation.worlds.fixed_rules import FIXED_RULES, FixedRule
from pupilage.core.simulation.worlds.following import Following
from pupilage.core.simulation.worlds.laws import Array
from pupilage.core.simulation.worlds.regimes import (
    KNOWN_TRUTHS,
    N_DAYS,
    Chance,
    Dogs,
    World,
    draw_chance,
    draw_dogs,
)
from pupilage.core.simulation.worlds.scoring import Figure, gap_closed, mean_and_error, mean_difference, mean_of
from pupilage.core.simulation.worlds.season_values import SeasonValues, mean_worn

FOLLOWED = "ours, followed 70 %"
P_FOLLOWED = 0.7
FAIR, ALL_SEEING, BOUND = "fair ceiling", "all-seeing policy", "Lagrangian bound"
ROUND_ROBIN = next(iter(FIXED))
"""Sets of five, behaviour after behaviour: where the gap begins, and the habit of a trainer who does not follow."""

SHARE_TARGETS = {"hard": 0.75, "mod": 0.85}
"""Of the gap from round robin to the fair ceiling: the mean of the three kinds of dogs."""
WORLD_TARGET = 0.60
FIXED_TARGET = -1.0
"""Standard errors: never further behind the best fixed rule, which is chosen in hindsight."""


@dataclass(frozen=True)
class Line:
    """One figure: its standard error, and its target with whether it is reached, where it has them."""

    world: str
    what: str
    value: float
    error: float | None = None
    target: float | None = None
    reached: bool | None = None


@dataclass(frozen=True)
class WorldScores:
    """Goals met (N,) in one world by every policy, and the bound's; a ceiling only where one is known."""

    world: World
    by_policy: dict[str, Array]

    @property
    def best_fixed(self) -> str:
        """Return the fixed rule that did best here, in hindsight."""
        return max(FIXED_RULES, key=lambda name: float(self.by_policy[name].mean()))

    @property
    def closed(self) -> Figure | None:
        """Return the share of the gap from round robin to the fair ceiling; None without a ceiling, or a gap."""
        if FAIR not in self.by_policy:
            return None
        below, above = self.by_policy[ROUND_ROBIN], self.by_policy[FAIR]
        return gap_closed(self.by_policy[OURS], below, above) if above.mean() > below.mean() else None

    def ahead(self, policy: str) -> Figure:
        """Return by how many goals a policy is ahead of the best fixed rule."""
        return mean_difference(self.by_policy[policy], self.by_policy[self.best_fixed])


def score_worlds(
    worlds: Sequence[World],
    *,
    n_dogs: int,
    seed: int,
    our: Maker = ours,
    after_part: Callable[[int], object] = lambda n: None,
) -> Iterator[WorldScores]:
    """Yield the scores of one world after another; those of a regime next to each other, they share their tables.

    The n-th dogs of a regime's worlds have the same draws. `after_part(n)` hears of n dogs done, as `n_parts` counts.
    Raises InvalidInput for a number of dogs that cannot be scored.
    """
    require_dogs(n_dogs)
    for world in worlds:
        rng = np.random.default_rng(seed)
        dogs, chance = draw_dogs(world, n_dogs, rng), draw_chance(world, n_dogs, rng)
        goals_met = {name: play(world, dogs, chance, make, after_part=after_part) for name, make in FIXED.items()}
        for name, make in _with_tables(world, our, seed).items():
            goals_met[name] = play(world, dogs, chance, make, after_part=after_part)
        if world.truth in KNOWN_TRUTHS:
            goals_met[BOUND] = bound(world, dogs, chance)
        yield WorldScores(world, goals_met)


def n_parts(worlds: Sequence[World], n_dogs: int) -> int:
    """Return how many seasons of a dog `score_worlds` plays."""
    return n_dogs * sum(len(FIXED) + len(_with_tables(world, ours, 0)) for world in worlds)


def bound(world: World, dogs: Dogs, chance: Chance) -> Array:
    """Return the Lagrangian bound (N,) with the dogs' true parameters and these missed sessions."""
    tables = SeasonValues(world, sees_levels=True, families=[FAMILY_OF[world.truth]])
    return lagrange_bound(tables, world, dogs, chance)


@lru_cache(maxsize=1)
def _true_tables(world: World) -> SeasonValues:
    return SeasonValues(world, sees_levels=True, worn=mean_worn(world), families=[FAMILY_OF[world.truth]])


def knowing(*, sees_form: bool) -> Maker:
    """Return the maker of a policy that knows state and parameters of every dog; see `ceilings.KnowingPolicy`."""
    return lambda world, dogs: KnowingPolicy(_true_tables(world), world, sees_form=sees_form)


def partly_followed(our: Maker, seed: int) -> Maker:
    """Return the maker of a policy followed in seven sessions of ten; it is asked for part after part of the dogs."""
    rng = np.random.default_rng([seed, 7])

    def make(world: World, dogs: Dogs) -> Following:
        follows = rng.random((dogs.n, N_DAYS, world.regime.capacity)) < P_FOLLOWED
        return Following(our(world, dogs), FixedRule(dogs.n, *FIXED_RULES[ROUND_ROBIN]), follows)

    return make


def _with_tables(world: World, our: Maker, seed: int) -> dict[str, Maker]:
    """Return our policy, followed wholly and in part, and those that know more, where there are any."""
    makers = {OURS: our, FOLLOWED: partly_followed(our, seed)}
    if world.truth in KNOWN_TRUTHS:
        makers |= {FAIR: knowing(sees_form=False), ALL_SEEING: knowing(sees_form=True)}
    return makers


def lines_of(scores: WorldScores) -> list[Line]:
    """Return what there is to say of one world."""
    name = scores.world.name
    lines = [Line(name, policy, *mean_and_error(goals)) for policy, goals in scores.by_policy.items()]
    if scores.closed is not None:
        lines.append(_share(name, "share of the gap closed", scores.closed, WORLD_TARGET))
    for policy, target in ((OURS, FIXED_TARGET), (FOLLOWED, 0.0)):
        ahead = scores.ahead(policy)
        lines.append(Line(name, f"{policy}: goals ahead of “{scores.best_fixed}”", ahead.value, ahead.error))
        if ahead.error > 0.0:  # two policies that never differ have no error to count in
            n = ahead.value / ahead.error
            lines.append(Line(name, f"{policy}: the same in standard errors", n, None, target, n >= target))
    return lines


def _share(name: str, what: str, figure: Figure, target: float) -> Line:
    return Line(name, what, figure.value, figure.error, target, figure.value >= target)


def means_of(scores: Sequence[WorldScores]) -> list[Line]:
    """Return the mean share of the gap closed of each regime whose three kinds of dogs have all been scored."""
    lines = []
    for regime in dict.fromkeys(one.world.regime.name for one in scores):
        shares = [one.closed for one in scores if one.world.regime.name == regime and one.closed is not None]
        if len(shares) == len(KNOWN_TRUTHS):
            mean = mean_of(shares)
            line = Line(regime, "share of the gap closed, mean of rw, pfa, bkt", mean.value, mean.error)
            target = SHARE_TARGETS.get(regime)
            lines.append(line if target is None else replace(line, target=target, reached=mean.value >= target))
    return lines
