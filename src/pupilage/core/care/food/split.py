"""The day's food, split into bowls and pouch: what each meal keeps for the rewards until the next, and what is short.

The pouch never empties the bowl: rewards that the food cannot pay are said to be too many, and the meals stay.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from pupilage.core.care.food.demand import DayFood, FoodWish, split_problems
from pupilage.core.care.food.rewards import Reward, grams_in, treat_limit_kcal
from pupilage.core.errors import InvalidInput
from pupilage.core.words import Sentence, sentence

MOST_REWARDS = 2000
"""In a day; food that would pay more than this is not what is short."""


@dataclass(frozen=True)
class Portion:
    """Pieces of one reinforcer; grams and kcal of all of them together."""

    reinforcer: str
    pieces: int
    grams: float
    energy_kcal: float
    from_ration: bool


@dataclass(frozen=True)
class SessionFood:
    """What a session gets: its portions, the largest first; n_short: rewards that no food is left for."""

    wish: FoodWish
    after_meal: int
    portions: tuple[Portion, ...]
    n_short: int = 0

    @property
    def reinforcer(self) -> str:
        """The name of the reinforcer with the most pieces, "" without food."""
        return self.portions[0].reinforcer if self.portions else ""

    @property
    def pieces(self) -> int:
        return sum(one.pieces for one in self.portions)


@dataclass(frozen=True)
class MealFood:
    """A meal: what goes into the bowl, and of the day's food what is kept for the rewards until the next meal."""

    bowl_g: float
    pouch_g: float


class ShortOf(StrEnum):
    """What a plan lacks. Stored values are fixed for good."""

    FOOD = "food"
    """More rewards than the pouch may hold."""
    TREATS = "treats"
    """The tenth of the day is used up before every hard session has its treat."""
    RATION_PIECES = "ration-pieces"
    """No reinforcer on the list comes out of the ration."""
    ENERGY = "energy"
    """A treat's energy is unknown, so it cannot be counted."""
    SAFE = "safe"
    """A reinforcer has an ingredient that must not be fed."""


@dataclass(frozen=True)
class Shortage:
    """One thing that is short. n_rewards: how many rewards lack food for it, 0 where the ration stands in."""

    of: ShortOf
    reason: Sentence
    n_rewards: int = 0


@dataclass(frozen=True)
class DaySplit:
    """The day's food, split. food_g: bowl and pouch together, treats taken off; treats in kcal; meals in time order.

    sessions: in the order of the wishes; short: what is short, empty when nothing is.
    """

    food_g: float
    treats_kcal: float
    treat_limit_kcal: float
    meals: tuple[MealFood, ...]
    sessions: tuple[SessionFood, ...]
    short: tuple[Shortage, ...]

    @property
    def enough(self) -> bool:
        """Whether every reward that is wanted has food."""
        return not any(one.n_short for one in self.sessions)

    @property
    def n_short(self) -> int:
        return sum(one.n_short for one in self.sessions)


def split_day(food: DayFood, wishes: Sequence[FoodWish], rewards: Sequence[Reward]) -> DaySplit:
    """Return how much of a day's food goes into each bowl and into the pouch, and what each session is paid with.

    Model: hard sessions, in their order, take the best-ranked treat (1 first, unranked last) while treats stay within
    a tenth of the day's energy; the rest is paid with the first reinforcer out of the ration, and easy sessions with
    treats only when the pouch is empty. Treats come off the food by their energy. The pouch holds at most
    (1 − bowl_floor) of the food that is left when treats take their tenth; bowls are equal. Toys cost nothing.
    Parameters: rewards, of the trainer's list as it stands; wishes may be none.
    Raises: InvalidInput with every figure that cannot be.
    """
    problems = split_problems(food, wishes, rewards)
    if problems:
        raise InvalidInput(problems)
    pot = _Pot(food, rewards)
    order = sorted(range(len(wishes)), key=lambda i: not wishes[i].hard)
    treated = {i: pot.pay_treats(wishes[i]) for i in order if wishes[i].hard}
    sessions: dict[int, SessionFood] = {}
    for i in order:
        after = wishes[i].after_meal
        meal = i * food.n_meals // len(wishes) if after is None else min(after, food.n_meals - 1)
        portions = pot.pay(wishes[i], treated.get(i, []))
        n_short = max(0, wishes[i].n_rewards - sum(one.pieces for one in portions))
        by_size = tuple(sorted(portions, key=lambda one: -one.pieces))
        sessions[i] = SessionFood(wishes[i], meal, by_size, n_short)
    paid = tuple(sessions[i] for i in range(len(wishes)))
    return DaySplit(
        food_g=pot.food_g,
        treats_kcal=pot.treats_kcal,
        treat_limit_kcal=pot.limit_kcal,
        meals=tuple(_meals(food.n_meals, pot.food_g, paid)),
        sessions=paid,
        short=tuple(_shortages(paid, rewards, pot)),
    )


def rewards_a_day(food: DayFood, rewards: Sequence[Reward]) -> int:
    """Return how many rewards a day's food can pay at most: the pouch's share in pieces, then treats up to a tenth.

    Raises: InvalidInput with every figure that cannot be.
    """
    problems = split_problems(food, [], rewards)
    if problems:
        raise InvalidInput(problems)
    pot = _Pot(food, rewards)
    n_pieces = _most(MOST_REWARDS, pot.kibble[0].piece_g, pot.pouch_left_g) if pot.kibble else 0
    n_treats = _most(MOST_REWARDS, pot.treats[0].piece_kcal or 0.0, pot.limit_kcal) if pot.treats else 0
    return min(MOST_REWARDS, n_pieces + n_treats)


class _Pot:
    """What is left to pay with while the sessions are gone through."""

    def __init__(self, food: DayFood, rewards: Sequence[Reward]) -> None:
        self.food = food
        self.limit_kcal = treat_limit_kcal(food.energy_kcal)
        safe = [one for one in rewards if not one.unsafe]
        self.toys = {one.name for one in safe if not one.is_food}
        self.kibble = [one for one in safe if one.from_ration and one.is_food]
        known = [one for one in safe if not one.from_ration and one.is_food and one.piece_kcal is not None]
        self.treats = sorted(known, key=lambda one: math.inf if one.rank is None else one.rank)
        self.treats_kcal = 0.0
        spared = self.limit_kcal if self.treats else 0.0
        self.pouch_left_g = (1.0 - food.bowl_floor) * grams_in(food.energy_kcal - spared, food.kcal_per_100g)

    @property
    def food_g(self) -> float:
        """The day's food less what the treats so far bring."""
        return grams_in(self.food.energy_kcal - self.treats_kcal, self.food.kcal_per_100g)

    def pay_treats(self, wish: FoodWish, n: int | None = None) -> list[Portion]:
        """Return as many of the best treat as a tenth of the day allows, at most n."""
        choices = [one for one in self.treats if not wish.reinforcer or one.name == wish.reinforcer]
        if not choices or wish.reinforcer in self.toys:
            return []
        best = choices[0]
        wanted = wish.n_rewards if n is None else n
        left = self.limit_kcal - self.treats_kcal
        each = best.piece_kcal or 0.0
        pieces = _most(wanted, each, left)
        if pieces <= 0:
            return []
        self.treats_kcal += pieces * each
        return [Portion(best.name, pieces, pieces * best.piece_g, pieces * each, from_ration=False)]

    def pay(self, wish: FoodWish, treated: list[Portion]) -> list[Portion]:
        """Return what a session is paid with: its treats, then the ration, then treats again."""
        if wish.reinforcer in self.toys:
            return [Portion(wish.reinforcer, wish.n_rewards, 0.0, 0.0, from_ration=False)]
        portions = list(treated)
        missing = wish.n_rewards - sum(one.pieces for one in portions)
        if wish.reinforcer and not wish.hard and missing:
            portions += self._named(wish, missing)
            missing = wish.n_rewards - sum(one.pieces for one in portions)
        if missing:
            portions += self._out_of_ration(wish, missing)
            missing = wish.n_rewards - sum(one.pieces for one in portions)
        return portions + self._last_treats(wish, missing) if missing else portions

    def _named(self, wish: FoodWish, missing: int) -> list[Portion]:
        if any(one.name == wish.reinforcer for one in self.kibble):
            return []
        return self._last_treats(wish, missing)

    def _out_of_ration(self, wish: FoodWish, missing: int) -> list[Portion]:
        named = [one for one in self.kibble if one.name == wish.reinforcer]
        if not self.kibble:
            return []
        one = (named or self.kibble)[0]
        pieces = _most(missing, one.piece_g, self.pouch_left_g)
        if pieces <= 0:
            return []
        grams = pieces * one.piece_g
        self.pouch_left_g -= grams
        return [Portion(one.name, pieces, grams, grams * self.food.kcal_per_100g / 100.0, from_ration=True)]

    def _last_treats(self, wish: FoodWish, missing: int) -> list[Portion]:
        """Return treats for a session that the pouch cannot pay."""
        plain = wish if any(one.name == wish.reinforcer for one in self.treats) else replace(wish, reinforcer="")
        return self.pay_treats(plain, missing)


def _most(wanted: int, each: float, left: float) -> int:
    """Return how many pieces of so much each fit into what is left, at most as many as are wanted."""
    return wanted if wanted * each <= left else max(0, math.floor(left / each + 1e-9))


def _meals(n_meals: int, food_g: float, sessions: Sequence[SessionFood]) -> list[MealFood]:
    pouch = [
        math.fsum(p.grams for one in sessions if one.after_meal == meal for p in one.portions if p.from_ration)
        for meal in range(n_meals)
    ]
    bowl_g = (food_g - math.fsum(pouch)) / n_meals
    return [MealFood(bowl_g, pouch_g) for pouch_g in pouch]


def _shortages(sessions: Sequence[SessionFood], rewards: Sequence[Reward], pot: _Pot) -> list[Shortage]:
    found = [
        Shortage(ShortOf.SAFE, sentence("“{name}” is left out: see what stands in it.", name=one.name))
        for one in rewards
        if one.unsafe
    ]
    found += [
        Shortage(
            ShortOf.ENERGY,
            sentence("“{name}” is left out: without its kcal per 100 g it cannot be counted.", name=one.name),
        )
        for one in rewards
        if one.is_food and not one.from_ration and one.kcal_per_100g is None and not one.unsafe
    ]
    if sessions and not pot.kibble:
        found.append(
            Shortage(
                ShortOf.RATION_PIECES,
                sentence("Nothing on your list comes out of the ration: add the pup's own food as a reinforcer."),
            )
        )
    found += _treats_short(sessions, pot)
    n_short = sum(one.n_short for one in sessions)
    return [*found, _food_short(sessions, n_short)] if n_short else found


def _treats_short(sessions: Sequence[SessionFood], pot: _Pot) -> list[Shortage]:
    asked = {"", *(one.name for one in pot.treats)}
    hard = [one for one in sessions if one.wish.hard and one.wish.reinforcer in asked]
    lacking = [one for one in hard if sum(p.pieces for p in one.portions if not p.from_ration) < one.wish.n_rewards]
    if not lacking or not pot.treats:
        return []
    reason = sentence(
        "Treats end at {limit:.0f} kcal, a tenth of the day: {n} of {all} hard sessions are paid with the ration too.",
        limit=pot.limit_kcal,
        n=len(lacking),
        all=len(hard),
    )
    return [Shortage(ShortOf.TREATS, reason)]


def _food_short(sessions: Sequence[SessionFood], n_short: int) -> Shortage:
    n_wanted = sum(one.wish.n_rewards for one in sessions)
    minutes = math.fsum(one.wish.minutes for one in sessions)
    reason = sentence(
        "Not enough food for this plan: {n} of {wanted} rewards have none, and the bowls stay as they are. It would do "
        "for {rate:.1f} a minute; or take smaller pieces, fewer sessions, or play.",
        n=n_short,
        wanted=n_wanted,
        rate=(n_wanted - n_short) / minutes,
    )
    return Shortage(ShortOf.FOOD, reason, n_short)
