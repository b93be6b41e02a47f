"""The rules that a plan keeps, by name, and the figures that stand in them."""

from enum import StrEnum


class Rule(StrEnum):
    """What a plan keeps, or what takes room from it. Stored values are fixed for good."""

    ARRIVAL = "arrival"
    DAYS_OFF = "days-off"
    SESSIONS = "sessions-a-day"
    MINUTES = "minutes"
    PUP = "pup"
    FOOD = "food"
    HANDOVER = "handover"
    AGE = "age"
    PREREQUISITE = "prerequisite"
    PROBE_DAY = "probe-day"


MOST_A_DAY = 2
"""Sessions of one behaviour in a day. Single sessions taught better than three in a row (Demant et al., 2011, Appl.
Anim. Behav. Sci.); two with another behaviour or a rest between are common practice."""

OFTEN = 0.75
"""A behaviour stands twice on a day only where its sessions are more than this share of its open days."""

ROOM_TO_ALTERNATE = 3
"""Sessions that a day needs before one behaviour stands on it twice: another one lies between."""

SESSION_PRICE = 0.002
"""Weight × chance that a session must bring: less is within the forecast's own error, and a rest is worth as much."""

WORTH_OF_UPKEEP = 0.03
"""Weight × this is lost for every interval in which a behaviour at its goal is not practised (an assumption)."""

ELSEWHERE_DAYS = 5
ELSEWHERE_SESSIONS = 2
WORTH_OF_ELSEWHERE = 0.01
"""A goal expected sure has two sessions with a new place or person in the last five days before the probe. Common
practice, no source; weight × this is lost for each that is missing (an assumption)."""

SURE = 0.6
"""A chance from which a goal is taken elsewhere before the hand-over (an assumption)."""

OUT_OF_REACH = 0.2
"""A goal whose chance stays below this with two sessions on every day is said to be out of reach (an assumption)."""

PROBES_A_SESSION = 3
"""Cold probes that take the room of one session: one first try each, and a walk between."""

PROBE_TRIES = 1
PROBE_MINUTES = 1

EARLY_PROBE = 0.005
NO_PROBE = 0.1
"""Weight × this is lost for a probe on the day before the last, and for none (assumptions)."""

FIRST_MET = 0.8
"""A prerequisite counts as met from the session by which one of its tries has been met with this chance."""

TRIES_A_SESSION = 10
"""As in the forecast's course: two sets of five."""
