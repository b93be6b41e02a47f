"""The policies that can be asked for by name."""

from pupilage.core.simulation.worlds.comparison import FIXED, OURS, Maker, ours
from pupilage.core.simulation.worlds.engine import Engine
from pupilage.core.simulation.worlds.own_policies import own_policies

ENGINE = "engine"

POLICIES: dict[str, Maker] = {**FIXED, OURS: ours, ENGINE: own_policies(Engine, ENGINE)}
"""engine: the program itself, one dog at a time, from the prior that ships; about a second a dog."""
