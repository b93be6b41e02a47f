"""What a trainer's ended stays let expect of the next pup."""

from datetime import date

from pupilage.core.access import Actor
from pupilage.core.errors import InvalidInput
from pupilage.core.training.pooling.dog_summary import DogSummary, summary_of
from pupilage.core.training.pooling.prior_shape import Shape
from pupilage.core.training.pooling.shape_fit import pool_dogs
from pupilage.core.training.posterior.knowledge import know
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Programme
from pupilage.storage.queries.programmes import list_ended_programmes
from pupilage.storage.queries.sessions import list_trials

LEAST_DOGS = 3
LEAST_TRIALS = 50
"""A record shorter than this says next to nothing of a dog, and is not counted as one."""

MOST_DOGS = 30
"""The newest ones; each costs about a tenth of a second, once, when a stay begins."""


def pool_earlier_dogs(actor: Actor, *, today: date) -> Shape | None:
    """Return the shape of the next pup's prior, or None while fewer than three ended stays have 50 trials or more.

    Only reads. Who may: whoever may write, since a stay is begun with it.
    """
    actor.require_write()
    found = (_summary(actor, programme) for programme in list_ended_programmes(actor, today, limit=MOST_DOGS))
    summaries = [summary for summary in found if summary is not None]
    return pool_dogs(summaries) if len(summaries) >= LEAST_DOGS else None


def _summary(actor: Actor, programme: Programme) -> DogSummary | None:
    """Return what one ended stay leaves behind; always under the shipped prior, so that pools never feed on pools."""
    try:
        known = know(load_catalogue().behaviours, list_trials(programme), zone=actor.zone)
    except InvalidInput:
        return None  # an old record that cannot be read must not keep a new stay from beginning
    if known.state.n_trials < LEAST_TRIALS:
        return None
    return summary_of(known.state)
