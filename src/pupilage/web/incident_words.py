"""Incidents in words: what came before, what the pup had by it, what teeth did."""

from django.utils.translation import gettext_lazy as _

from pupilage.core.incidents.gains import Gain
from pupilage.core.incidents.record import Before
from pupilage.core.incidents.since import Since

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


def since_words(since: Since) -> str:
    """Return what minutes are counted from, as a heading."""
    return str(SINCE_WORDS[since])


def before_words(key: str) -> str:
    """Return what came before, in words; a key of old as it is."""
    return str(BEFORE_WORDS[Before(key)]) if key in set(Before) else key


def gain_words(gain: Gain) -> str:
    """Return what the pup had by it, in words."""
    return str(GAIN_WORDS[gain])
