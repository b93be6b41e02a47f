"""The own look back in rows of words: how outcomes were read, how long goals took, slips by kind."""

from collections.abc import Mapping, Sequence

from django.utils.translation import gettext

from pupilage.core.own_review.outcomes import BehaviourRoad, Evidence, Middle
from pupilage.core.own_review.slips import Slips
from pupilage.core.recordings.handling import Share
from pupilage.reports.formatting import show_chance, show_number


def evidence_rows(by_evidence: Mapping[Evidence, int]) -> list[tuple[str, int]]:
    """Return how the outcomes of goals were read, and how many each way."""
    words = {
        Evidence.COLD: gettext("tested cold about the hand-over"),
        Evidence.PRACTICE: gettext("from the last ten tries in practice"),
        Evidence.NOT_REACHED: gettext("practised, and never at the goal’s step"),
        Evidence.UNKNOWN: gettext("too few tries to say; in no score"),
    }
    return [(words[one], by_evidence[one]) for one in Evidence if by_evidence.get(one)]


def road_rows(roads: Sequence[BehaviourRoad]) -> list[tuple[str, str]]:
    """Return each behaviour with how long it took, in one line."""
    return [(one.name, _road(one)) for one in roads]


def _road(one: BehaviourRoad) -> str:
    summary = one.summary
    came = gettext("came to the goal in {n} of {all} stays").format(n=summary.n_reached, all=summary.n)
    if summary.sessions is None or summary.tries is None or summary.days is None:
        return gettext("{came}; not enough yet for a time").format(came=came)
    middles = [
        gettext("{n} sessions").format(n=_middle(summary.sessions)) if summary.sessions.value is not None else "",
        gettext("{n} tries").format(n=_middle(summary.tries)) if summary.tries.value is not None else "",
        gettext("{n} days").format(n=_middle(summary.days)) if summary.days.value is not None else "",
    ]
    told = [one for one in middles if one]
    if not told:
        return gettext("{came}: too few for a middle").format(came=came)
    return gettext("{came}; in the middle {told}").format(came=came, told=", ".join(told))


def _middle(middle: Middle) -> str:
    """Return a middle with its limits, for one that the stays reach."""
    value = middle.value or 0.0
    low = "?" if middle.low is None else show_number(middle.low)
    high = "?" if middle.high is None else show_number(middle.high)
    return gettext("{value} ({low} to {high})").format(value=show_number(value), low=low, high=high)


def slip_rows(slips: Slips) -> list[tuple[str, str]]:
    """Return the slips by kind; one that nothing can be said of says so."""
    rows = [
        (gettext("Cue said more than once"), _share(slips.repeated_cues)),
        (gettext("Reward came late"), _share(slips.late_rewards)),
        (gettext("Marker without a reward"), _share(slips.unrewarded)),
        (gettext("Talk"), _talk(slips)),
        (gettext("Entries taken back"), _share(slips.taken_back)),
        (gettext("Outcomes corrected"), _share(slips.corrected)),
        (gettext("Began above the step advised"), _share(slips.higher)),
        (gettext("Began below the step advised"), _share(slips.lower)),
    ]
    changes = gettext("{n} in {all} sessions").format(n=slips.n_step_changes, all=slips.n_sessions)
    return [*rows, (gettext("Step changed within a session"), changes)]


def _talk(slips: Slips) -> str:
    if slips.talk_s_per_min is None:
        return gettext("nothing recorded yet")
    return gettext("{s} s of each minute").format(s=show_number(slips.talk_s_per_min))


def _share(share: Share | None) -> str:
    if share is None:
        return gettext("nothing recorded yet")
    return gettext("{n} of {all} ({low} to {high})").format(
        n=share.n, all=share.of, low=show_chance(share.low), high=show_chance(share.high)
    )
