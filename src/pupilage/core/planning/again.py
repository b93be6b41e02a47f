"""After a session: whether to do another of the same behaviour, and when."""

from collections.abc import Sequence
from dataclasses import dataclass

from pupilage.core.planning.proposal import MAX_SESSIONS_A_DAY
from pupilage.core.training.criterion.watching import Suggestion, Watch
from pupilage.core.words import Sentence, sentence

HAD_ENOUGH = (Suggestion.END, Suggestion.BREAK)


@dataclass(frozen=True)
class Again:
    """Whether another session of the behaviour is for today, and why."""

    today: bool
    reason: Sentence


def judge_again(n_today: int, watches: Sequence[Watch]) -> Again:
    """Return whether to do another session of a behaviour today.

    Parameters: n_today, sessions of it held today, this one counted (0 or more); watches, what this session suggested.
    Model: none after a session that asked for a break or an end, none after two in a day, else one after a rest.
    Two a day at most: Demant et al. (2011), as `proposal.MAX_SESSIONS_A_DAY`; the rest is common practice, no source.
    """
    if any(one.suggestion in HAD_ENOUGH for one in watches):
        return Again(
            today=False, reason=sentence("Not today: this session said that the pup had enough. Tomorrow, easier.")
        )
    if n_today >= MAX_SESSIONS_A_DAY:
        return Again(today=False, reason=sentence("{n} today are enough of this one: tomorrow again.", n=n_today))
    return Again(today=True, reason=sentence("One more today, after a nap or two hours, if the pup likes to."))
