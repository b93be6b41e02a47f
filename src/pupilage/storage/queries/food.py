"""What a dog's food is reckoned from, as core's types."""

from pupilage.core.access import Actor
from pupilage.core.care.food.growth import Weighing
from pupilage.core.care.food.rewards import Reward
from pupilage.core.care.food.unsafe import is_unsafe
from pupilage.storage.models import Dog, Reinforcer
from pupilage.storage.queries.dogs import list_reinforcers


def list_weighings(dog: Dog) -> list[Weighing]:
    """Return a dog's weighings in time order. One query."""
    rows = dog.weights.order_by("at", "id").values_list("at", "weight_kg", "body_condition")
    return [Weighing(*row) for row in rows]


def list_rewards(actor: Actor, dog: Dog, *, retired: bool = False) -> list[Reward]:
    """Return the reinforcers as food, with this dog's ranks; those out of the ration first. One query."""
    ranks = {reinforcer: n for n, reinforcer in enumerate(dog.likes, start=1)}
    return [reward_of(row, ranks.get(str(row.id))) for row in list_reinforcers(actor, retired=retired)]


def reward_of(row: Reinforcer, rank: int | None = None) -> Reward:
    """Return a reinforcer as food; what stands in its name or ingredients decides whether it may be fed."""
    return Reward(
        name=row.name,
        piece_g=row.piece_g,
        kcal_per_100g=row.kcal_per_100g,
        from_ration=row.from_ration,
        rank=rank,
        unsafe=is_unsafe(f"{row.name}; {row.ingredients}"),
    )
