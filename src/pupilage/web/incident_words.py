"""Incidents in words: what came before, what the pup had by it, what teeth did."""

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from pupilage.core.incidents.between_dogs import (
    ANSWERED_WORDS,
    APART_WORDS,
    HURT_WORDS,
    RESOURCE_WORDS,
    WHO_WORDS,
    BetweenDogs,
)
from pupilage.core.incidents.context import Context, context_as_stored
from pupilage.core.incidents.gains import Gain
from pupilage.core.incidents.record import Before
from pupilage.core.incidents.since import Since
from pupilage.web.outing_words import show_minutes
from pupilage.web.words import said

BEFORE_WORDS = {
    Before.WOKE: _("had just woken"),
    Before.RELEASED: _("had just left the crate"),
    Before.ATE: _("had just eaten"),
    Before.PLAYED: _("had just played"),
    Before.TRAINED: _("had just trained"),
    Before.UNWATCHED: _("loose and unwatched"),
    Before.IN_REACH: _("food or things in reach"),
    Before.VISITOR: _("a visitor in the house"),
    Before.RESIDENT_NEAR: _("the resident dog near"),
    Before.BUSY: _("you were busy"),
    Before.BELL: _("the bell"),
    Before.NOISE: _("a noise"),
    Before.CHILD: _("a child"),
    Before.STRANGE_DOG: _("a strange dog"),
}
GAIN_WORDS = {
    Gain.ATTENTION: _("attention"),
    Gain.THING: _("food or a thing"),
    Gain.ESCAPE: _("something stopped, or it got away"),
    Gain.PLAY: _("a game or a chase"),
    Gain.RELIEF: _("relief: toilet, chewing itself"),
}
SINCE_WORDS = {
    Since.WAKING: _("Since waking"),
    Since.MEAL: _("Since a meal"),
    Since.OUTING: _("Since an outing"),
    Since.PLAY: _("Since play"),
}


PLACES = (_("kitchen"), _("living room"), _("hall"), _("garden"), _("street"), _("car"))
"""Where, until a stay has places of its own."""

DID_WORDS = (
    _("did nothing"),
    _("looked or spoke"),
    _("called it away"),
    _("swapped"),
    _("led it away"),
    _("took it away"),
    _("laughed or ran after"),
    _("told it off"),
)
"""What people did, to tap: a record of what happened, not of what to do."""


def since_words(since: Since) -> str:
    """Return what minutes are counted from, as a heading."""
    return str(SINCE_WORDS[since])


def known_words(context: Context | None) -> list[str]:
    """Return what the log knew: minutes since each thing, the newest first; nothing for what it did not know."""
    if context is None:
        return []
    templates = {
        "waking_min": _("awake for %(time)s"),
        "meal_min": _("a meal %(time)s before"),
        "outing_min": _("outside %(time)s before"),
        "play_min": _("play %(time)s before"),
        "session_min": _("a session %(time)s before"),
    }
    known = sorted(context_as_stored(context).items(), key=lambda one: one[1])
    return [
        str(templates[name]) % {"time": show_minutes(minutes) if minutes else gettext("under 1 min")}
        for name, minutes in known
    ]


def before_words(key: str) -> str:
    """Return what came before, in words; a key of old as it is."""
    return str(BEFORE_WORDS[Before(key)]) if key in set(Before) else key


def between_words(between: BetweenDogs | None) -> str:
    """Return what was seen between the two dogs, in one line."""
    if between is None:
        return ""
    parts = [
        (gettext("started by {who}"), "who", WHO_WORDS, between.started),
        (gettext("over {what}"), "what", RESOURCE_WORDS, between.resource),
        ("{where}", "where", APART_WORDS, between.apart),
        (gettext("the resident dog: {did}"), "did", ANSWERED_WORDS, between.answered),
        (gettext("ended by {who}"), "who", WHO_WORDS, between.ended),
        (gettext("teeth: {what}"), "what", HURT_WORDS, between.teeth),
        (gettext("on {who}"), "who", WHO_WORDS, between.hurt),
    ]
    return "; ".join(
        words.format(**{name: said(known[seen])}) for words, name, known, seen in parts if seen is not None
    )


def gain_words(gain: Gain) -> str:
    """Return what the pup had by it, in words."""
    return str(GAIN_WORDS[gain])
