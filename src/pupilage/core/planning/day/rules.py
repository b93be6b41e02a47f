"""The rules of the timetable: hard ones that no plan breaks, and soft ones that are weighed against each other."""

from enum import StrEnum

from pupilage.core.words import Sentence, sentence

AFTER_TRIGGER_MIN = 5
"""An outing begins within so many minutes of waking, eating, leaving the crate or playing (handbook advice)."""

AFTER_BIG_MEAL_MIN = 30
"""No lesson, play or outing into the world for so long after a big meal: common practice, no source."""

BIG_MEAL_SHARE = 0.2
"""A meal is big when its bowl holds at least this share of the day's food: our own line, no source."""

REST_BETWEEN_SESSIONS_MIN = 10
"""Between two sessions of one awake block: rest between sessions helps (Demant et al. 2011); the length is our own."""

SHORTEST_NAP_MIN = 30
"""A shorter rest is no nap: common practice, no source."""

AFTER_WAKING_MIN = 20
"""A session is better placed so long after waking: common practice, no source."""


SPREAD_MIN = 30
"""A session this near its even place in the day counts as spread: our own line, no source."""


class HardRule(StrEnum):
    """What no plan breaks. Stored values are fixed for good."""

    OUT_AFTER_NAP = "out-after-nap"
    OUT_AFTER_MEAL = "out-after-meal"
    OUT_AFTER_PLAY = "out-after-play"
    OUT_BEFORE_CRATE = "out-before-crate"
    OUT_IN_TIME = "out-in-time"
    AWAKE_NO_LONGER = "awake-no-longer"
    NAP_LONG_ENOUGH = "nap-long-enough"
    CALM_AFTER_BIG_MEAL = "calm-after-big-meal"
    APPOINTMENTS_FIXED = "appointments-fixed"
    ONE_THING_AT_A_TIME = "one-thing-at-a-time"
    REST_BETWEEN_SESSIONS = "rest-between-sessions"
    NOT_TWICE_IN_A_ROW = "not-twice-in-a-row"
    EVERY_MEAL = "every-meal"
    DAY_BOUNDS = "day-bounds"


HARD_RULES: dict[HardRule, Sentence] = {
    HardRule.OUT_AFTER_NAP: sentence(
        "An outing begins within 5 minutes of every nap and every release from the crate."
    ),
    HardRule.OUT_AFTER_MEAL: sentence("An outing begins within 5 minutes of every meal."),
    HardRule.OUT_AFTER_PLAY: sentence("An outing begins within 5 minutes of every bout of play."),
    HardRule.OUT_BEFORE_CRATE: sentence(
        "An outing comes directly before the crate, with or without something to chew."
    ),
    HardRule.OUT_IN_TIME: sentence("No outing begins later after the last one than the toilet model allows."),
    HardRule.AWAKE_NO_LONGER: sentence(
        "The pup is awake no longer at a stretch than its age allows; an appointment to which it comes along may "
        "lengthen this by itself and the outings around it."
    ),
    HardRule.NAP_LONG_ENOUGH: sentence("A nap lasts at least 30 minutes."),
    HardRule.CALM_AFTER_BIG_MEAL: sentence(
        "No session, play or exposure in the 30 minutes after a big meal (a fifth of the day's food or more in the "
        "bowl); after a small one, a session may come sooner."
    ),
    HardRule.APPOINTMENTS_FIXED: sentence(
        "The trainer's appointments stay where they are; the pup rests or comes along."
    ),
    HardRule.ONE_THING_AT_A_TIME: sentence("The trainer does one thing at a time."),
    HardRule.REST_BETWEEN_SESSIONS: sentence("At least 10 minutes lie between two sessions."),
    HardRule.NOT_TWICE_IN_A_ROW: sentence("No behaviour is trained twice in a row without a nap between."),
    HardRule.EVERY_MEAL: sentence("Every meal is given; food is never kept back to make a dog work."),
    HardRule.DAY_BOUNDS: sentence("The day begins at waking and ends with the last outing at its time."),
}


class SoftRule(StrEnum):
    """What a plan keeps as well as it can. Stored values are fixed for good."""

    MEAL_LEFT_OUT = "meal-left-out"
    """Only when a day that already runs has no room for a late meal any more."""
    SESSION_LEFT_OUT = "session-left-out"
    EXPOSURE_LEFT_OUT = "exposure-left-out"
    PLAY_LEFT_OUT = "play-left-out"
    CHEW_BEFORE_NAP = "chew-before-nap"
    RESIDENT_TIME = "resident-time"
    MEAL_TIMES = "meal-times"
    SESSIONS_SPREAD = "sessions-spread"
    SESSION_AFTER_WAKING = "session-after-waking"
    QUIET_HOURS = "quiet-hours"
    FEWER_OUTINGS = "fewer-outings"
    NAP_LENGTH = "nap-length"
    AWAKE_SHORT = "awake-short"
    AWAKE_LONG = "awake-long"
    KEEP_PLAN = "keep-plan"


DEFAULT_WEIGHTS: dict[str, float] = {
    SoftRule.MEAL_LEFT_OUT: 1000.0,
    SoftRule.SESSION_LEFT_OUT: 100.0,
    SoftRule.EXPOSURE_LEFT_OUT: 70.0,
    SoftRule.PLAY_LEFT_OUT: 40.0,
    SoftRule.CHEW_BEFORE_NAP: 8.0,
    SoftRule.RESIDENT_TIME: 6.0,
    SoftRule.MEAL_TIMES: 2.0,
    SoftRule.SESSIONS_SPREAD: 1.0,
    SoftRule.SESSION_AFTER_WAKING: 3.0,
    SoftRule.QUIET_HOURS: 20.0,
    SoftRule.FEWER_OUTINGS: 4.0,
    SoftRule.NAP_LENGTH: 2.0,
    SoftRule.AWAKE_SHORT: 1.0,
    SoftRule.AWAKE_LONG: 5.0,
    SoftRule.KEEP_PLAN: 1.0,
}
"""Cost of a unit: of each thing left out, each outing too many, and elsewhere each 5 minutes. Our own, to be set."""
