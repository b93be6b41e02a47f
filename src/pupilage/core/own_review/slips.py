"""Own slips by kind, added up over recordings and sessions: counted with what they were counted in, and no blame."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from pupilage.core.recordings.handling import Handling, Share
from pupilage.core.training.posterior.intervals import clopper_pearson


@dataclass(frozen=True)
class LogCounts:
    """What the log of sessions holds: tries, those taken back, those corrected, and changes of step in a session."""

    n_tries: int
    n_taken_back: int
    n_corrected: int
    n_step_changes: int
    n_sessions: int


@dataclass(frozen=True)
class Slips:
    """Shares are None where nothing was there to count from. talk_s_per_min: over recordings with talk in them.

    n_recordings: those with words in them that were read; higher, lower: sessions begun above, and below, the step
    that was advised.
    """

    n_recordings: int
    repeated_cues: Share | None
    late_rewards: Share | None
    unrewarded: Share | None
    talk_s_per_min: float | None
    taken_back: Share | None
    corrected: Share | None
    higher: Share | None
    lower: Share | None
    n_step_changes: int
    n_sessions: int


def add_up(
    handlings: Sequence[tuple[Handling, float]], log: LogCounts, *, n_advised: int, n_higher: int, n_lower: int
) -> Slips:
    """Return the slips. handlings: each with its recording's minutes.

    Exact limits take the tries for independent; those of one session hang together, so that the true ones are wider.
    """
    with_talk = [(one.talk.seconds_per_min, minutes) for one, minutes in handlings if one.talk is not None]
    all_min = sum(minutes for _, minutes in with_talk)
    return Slips(
        n_recordings=len(handlings),
        repeated_cues=_sum(one.repeated for one, _ in handlings),
        late_rewards=_sum(one.late_rewards for one, _ in handlings),
        unrewarded=_sum(one.unrewarded for one, _ in handlings),
        talk_s_per_min=sum(s * m for s, m in with_talk) / all_min if all_min > 0.0 else None,
        taken_back=_share(log.n_taken_back, log.n_tries),
        corrected=_share(log.n_corrected, log.n_tries),
        higher=_share(n_higher, n_advised),
        lower=_share(n_lower, n_advised),
        n_step_changes=log.n_step_changes,
        n_sessions=log.n_sessions,
    )


def _sum(shares: Iterable[Share | None]) -> Share | None:
    found = [share for share in shares if share is not None]
    return _share(sum(share.n for share in found), sum(share.of for share in found))


def _share(n: int, of: int) -> Share | None:
    return Share(min(n, of), of, *clopper_pearson(min(n, of), of)) if of else None
