"""How likely a block opens a behaviour that waits: tables over all states, for skills and for mastered levels."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from pupilage.core.simulation.worlds.ceilings import p_shown
from pupilage.core.simulation.worlds.regimes import N_LEVELS
from pupilage.core.simulation.worlds.season_values import stride_of
from pupilage.core.training.posterior.learners import FORMS, Family
from pupilage.core.training.worth.values import TIRED_BLOCKS, Setting

Small = NDArray[np.float32]


def shown_tables(settings: Sequence[Setting]) -> tuple[Small, Small]:
    """Return the chance to meet 4 of 5, by skill and by mastered levels: (settings, 3 forms, states, 2 x 2 x L).

    The last axis: session of the behaviour that day, block, level. States are those of the beliefs.
    """
    by_skill, by_level = (
        np.array([[_shown(one, family, float(form)) for form in FORMS] for one in settings], dtype=np.float32)
        for family in (Family.TOWARD_LEVEL, Family.BY_LEVELS)
    )
    return by_skill, by_level


def _shown(setting: Setting, family: Family, form: float) -> Small:
    course = setting.course(family, setting.rates[0])  # the rate plays no part in the chance of a trial
    blocks = [tired + setting.worn for session in TIRED_BLOCKS for tired in session]
    chances = [course.chance(level, form, tired) for tired in blocks for level in range(N_LEVELS)]
    return np.stack([p_shown(p[:: stride_of(family)]) for p in chances], axis=-1).astype(np.float32)
