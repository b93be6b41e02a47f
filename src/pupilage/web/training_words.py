"""Training in words: a step's criterion, outcomes, kinds of session, decisions."""

from collections.abc import Sequence

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from pupilage.core.catalogue.behaviour import Criterion, Prompt, Scoring
from pupilage.core.training.record.events import EventKind
from pupilage.core.training.record.evidence import Outcome, SessionKind
from pupilage.reports import formatting
from pupilage.reports.block_words import PLACE_WORDS

OUTCOME_WORDS = {
    Outcome.MET: _("Met"),
    Outcome.MISSED: _("Missed"),
    Outcome.HELPED: _("Helped"),
    Outcome.VOID: _("Void"),
}
KIND_WORDS = {SessionKind.TRAINING: _("training"), SessionKind.PROBE: _("probe, cold")}
SCORING_WORDS = {
    Scoring.TRIAL: _("Scored try by try."),
    Scoring.HOLD: _("Scored as holds: seconds until the break or the release."),
}
PROMPT_WORDS = {
    Prompt.LURE: _("with food in the hand to follow"),
    Prompt.TARGET: _("with a target to follow"),
    Prompt.GESTURE: _("with a gesture"),
    Prompt.CUE: _("on the cue alone"),
    Prompt.NONE: _("without a cue"),
}
EVENT_WORDS = {
    EventKind.SESSION_STARTED: _("Session begun"),
    EventKind.TRIAL: _("Try"),
    EventKind.HOLD_STARTED: _("Hold begun"),
    EventKind.HOLD_BROKE: _("Hold broke"),
    EventKind.HOLD_RELEASED: _("Released"),
    EventKind.STEP_CHANGED: _("Step changed"),
    EventKind.REINFORCER_CHANGED: _("Pouch changed"),
    EventKind.PAID: _("Paid on the mat"),
    EventKind.SEEN: _("Seen in the dog"),
    EventKind.WITHDRAWN: _("Taken back"),
    EventKind.CORRECTED: _("Put right"),
    EventKind.NOTE: _("Note"),
    EventKind.SESSION_ENDED: _("Session ended"),
}


def criterion_words(criterion: Criterion, distractions: Sequence[str]) -> list[str]:
    """Return what counts as correct at a step, a phrase for each dimension that matters.

    distractions: what each number means, or nothing where the page explains the numbers elsewhere.
    """
    words = [str(PLACE_WORDS[criterion.place]), str(PROMPT_WORDS[criterion.prompt])]
    if criterion.duration_s:
        words.append(gettext("lasts {time}").format(time=formatting.show_seconds(criterion.duration_s)))
    if criterion.distance_m:
        words.append(gettext("person {distance} away").format(distance=formatting.show_distance(criterion.distance_m)))
    if criterion.latency_s is not None:
        words.append(
            gettext("begins within {time} of the cue").format(time=formatting.show_seconds(criterion.latency_s))
        )
    words.append(_distraction(criterion.distraction, distractions))
    return words


def _distraction(n: int, distractions: Sequence[str]) -> str:
    if not distractions:
        return gettext("distraction {n} of 5").format(n=n)
    return gettext("distraction {n} of 5: {anchor}").format(n=n, anchor=distractions[n])
