"""What the solver answers."""

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True)
class Placement:
    """Sessions of each behaviour on each day, and the day of its probe (None without one).

    status: “optimal” or “within” (the gap is proven); value, bound: of the expected weight less what is lost, and the
    most that any plan could have; gap: of the value, 0 or more; n_models: how many of the three models it took;
    seconds, spent.
    """

    sessions: Mapping[str, tuple[int, ...]]
    probes: Mapping[str, int | None]
    status: str
    value: float
    bound: float
    gap: float
    n_models: int
    seconds: float = field(default=0.0, compare=False)
