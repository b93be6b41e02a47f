"""A recording as a thing that is read: what it is of, and how far the reading is."""

from enum import StrEnum


class Purpose(StrEnum):
    """What a recording is of. Stored values are fixed for good."""

    SESSION = "session"
    ALONE = "alone"


class ReadingState(StrEnum):
    """How far a recording is. Stored values are fixed for good."""

    ARRIVING = "arriving"
    """Its bytes are on their way; a broken upload goes on from where it stopped."""
    WAITING = "waiting"
    """It is whole, and waits until the reader has time."""
    READING = "reading"
    READ = "read"
    FAILED = "failed"
    CANCELLED = "cancelled"


ENDED = frozenset({ReadingState.READ, ReadingState.FAILED, ReadingState.CANCELLED})


class LearningState(StrEnum):
    """How far a voice is with learning its words. Stored values are fixed for good."""

    IDLE = "idle"
    WAITING = "waiting"
    LEARNING = "learning"
    FAILED = "failed"


class WordRole(StrEnum):
    """What a word of a person is for. Stored values are fixed for good, and are those of the events it makes."""

    CUE = "cue"
    MARKER = "marker"
    RELEASE = "release"
    PRAISE = "praise"
    NAME = "name"
    REWARD = "reward"
    IGNORE = "ignore"
    CLICK = "click"
    WHISTLE = "whistle"
    BARK = "bark"
    WHINE = "whine"
    TALK = "talk"
    """A stretch of the person's plain talk: what the words must not be taken for."""
    BACKGROUND = "background"
    """A stretch of the usual background, without a word or a dog in it."""


SPOKEN_ROLES = frozenset({
    WordRole.CUE, WordRole.MARKER, WordRole.RELEASE, WordRole.PRAISE, WordRole.NAME, WordRole.REWARD, WordRole.IGNORE,
})  # fmt: skip
STRETCHES = frozenset({WordRole.TALK, WordRole.BACKGROUND})
TAUGHT = (
    WordRole.CUE, WordRole.MARKER, WordRole.RELEASE, WordRole.PRAISE, WordRole.NAME, WordRole.REWARD, WordRole.IGNORE,
    WordRole.CLICK, WordRole.WHISTLE, WordRole.TALK, WordRole.BACKGROUND,
)  # fmt: skip
"""The roles that a person teaches, in the order in which they are shown."""
