"""What a person saw in the dog beside its tries: signs of stress that were ticked, and how the mouth took food."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from pupilage.core.words import Sentence, sentence


class StressSign(StrEnum):
    """A sign that the trade knows for stress. Stored values are fixed for good."""

    TURNS_AWAY = "turns-away"
    MOVES_OFF = "moves-off"
    LOW_POSTURE = "low-posture"
    EARS_BACK = "ears-back"
    LIP_LICK = "lip-lick"
    YAWN = "yawn"
    PAW_LIFT = "paw-lift"
    PANTS = "pants"
    SHAKES_OFF = "shakes-off"
    SCRATCHES = "scratches"
    TREMBLES = "trembles"
    WHINES = "whines"
    FREEZES = "freezes"
    WHITE_OF_EYE = "white-of-eye"
    REFUSES_FOOD = "refuses-food"


SIGN_WORDS: dict[StressSign, Sentence] = {
    StressSign.TURNS_AWAY: sentence("turns head or body away"),
    StressSign.MOVES_OFF: sentence("moves off"),
    StressSign.LOW_POSTURE: sentence("low, tail down"),
    StressSign.EARS_BACK: sentence("ears back"),
    StressSign.LIP_LICK: sentence("licks its lips"),
    StressSign.YAWN: sentence("yawns, not sleepy"),
    StressSign.PAW_LIFT: sentence("lifts a paw"),
    StressSign.PANTS: sentence("pants, not hot"),
    StressSign.SHAKES_OFF: sentence("shakes itself"),
    StressSign.SCRATCHES: sentence("scratches"),
    StressSign.TREMBLES: sentence("trembles"),
    StressSign.WHINES: sentence("whines"),
    StressSign.FREEZES: sentence("freezes"),
    StressSign.WHITE_OF_EYE: sentence("white of the eye shows"),
    StressSign.REFUSES_FOOD: sentence("does not take the food"),
}
"""Source: Vieira de Castro et al. (2020), PLoS ONE 15(12):e0225023, Table 2 (turn and move away, low posture, lip lick,
yawn, paw lift, panting, body shake, scratching, whine); the other four are common practice, no source."""

MOUTH_WORDS: dict[int, Sentence] = {
    0: sentence("lips or tongue only"),
    1: sentence("teeth touch, no pressure"),
    2: sentence("pressure, no mark"),
    3: sentence("a mark, gone within minutes"),
    4: sentence("skin broken"),
}
"""How the mouth took food, 0 to 4. Our own scale for ordinary pup mouths, below every bite scale: no source."""

HARDEST_MOUTH = max(MOUTH_WORDS)


@dataclass(frozen=True)
class Seen:
    """One tick: signs of stress (none where only the mouth was noted), and the mouth from 0 to 4 or None."""

    event_id: str
    at: datetime
    signs: tuple[StressSign, ...] = ()
    mouth: int | None = None


def signs_of(seen: Iterable[Seen]) -> list[StressSign]:
    """Return each sign once, in the order in which they were first seen."""
    return list(dict.fromkeys(sign for one in seen for sign in one.signs))


def mouths_of(seen: Sequence[Seen]) -> list[int]:
    """Return the mouths noted, in time order."""
    return [one.mouth for one in seen if one.mouth is not None]
