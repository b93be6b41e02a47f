"""The weeks after a hand-over: what an invented family taps by its link, and what the trainer does about it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from numpy.random import Generator

from pupilage.core.clock import local_day
from pupilage.core.handover.family_log import EntryKind, OutingWord
from pupilage.core.handover.follow_up import N_TRIES, WEEKS
from pupilage.core.simulation.chance import between, happens, pick, pick_some, whole
from pupilage.core.simulation.course import Course
from pupilage.core.simulation.stay import Stay

P_WRITES = 0.85
"""The chance of a day on which the family writes anything, in the first week; it falls by a quarter a week."""

FALLS_BY = 0.75
N_CUES, P_CUE, P_CUE_WORKED, P_WEAK_WORKED = 4, 0.6, 0.9, 0.3
N_WEAK, WEAK_FROM_DAY = 9, 8
"""Of the word that works less than it did: so many tries, from that day on."""

ACCIDENT_DAYS = (1, 2, 4, 13, 14)
"""The first days in another house, and a lapse in the second week (own choice)."""

STORY_DAYS = (3, 6, 11, 19)
ANSWER_MIN = 18 * 60 + 30
FIRST_MIN, HOME_MIN, LAST_MIN = 7 * 60, 17 * 60, 21 * 60

STORIES = (
    ("mouthing-hands", "In the evening, when the children sit on the floor with it."),
    ("jumping-up", "When grandmother came through the door."),
    ("chewing-household-things", "A slipper, while I was on the telephone."),
    ("barking-at-door", "The post."),
)

CALL_WORDS = (
    "They let it out after breakfast only, not before. Before and after from now on; accidents should stop. "
    "The word for settling is used in one room only: two more rooms this week."
)


@dataclass(frozen=True)
class Habits:
    """How a family is. weeks_told: follow-ups that they answered; weak: the key of what works far less than it did.

    called_on_day: days after the hand-over on which the trainer called them, None for never.
    """

    weeks_told: tuple[int, ...]
    weak: str = ""
    called_on_day: int | None = None


@dataclass(frozen=True)
class FamilyTold:
    """One entry by the link; n_met of n tries of a cue, 0 for what is none."""

    at: datetime
    kind: EntryKind
    subject: str
    n_met: int = 0
    n: int = 0
    note: str = ""


@dataclass(frozen=True)
class Answer:
    """A follow-up as the family answers it: for each cue that it asks for, how many of the tries worked."""

    at: datetime
    week: int
    n_met: tuple[int, ...]


@dataclass(frozen=True)
class MadeCall:
    """A call of the trainer's."""

    at: datetime
    words: str


@dataclass(frozen=True)
class Aftercare:
    """The weeks after a hand-over, each part in time order."""

    told: Sequence[FamilyTold]
    answers: Sequence[Answer]
    calls: Sequence[MadeCall]


def write_aftercare(courses: Sequence[Course], habits: Habits, stay: Stay, now: datetime, rng: Generator) -> Aftercare:
    """Return what came after a stay, up to `now`. courses: as they stood at the hand-over."""
    n_days = (local_day(now, stay.zone) - stay.handover_on).days
    cues = [one.behaviour.key for one in sorted(courses, key=lambda one: one.difficulty - one.learner.skill)]
    said = [cue for cue in cues if cue != habits.weak][:N_CUES]
    told = [one for day in range(n_days + 1) for one in _day(day, said, stay, rng)]
    told += _mishaps(stay, rng) + (_weak(habits.weak, n_days, stay, rng) if habits.weak else [])
    calls = [] if habits.called_on_day is None else [MadeCall(_at(stay, habits.called_on_day, 19 * 60), CALL_WORDS)]
    return Aftercare(
        sorted((one for one in told if one.at <= now), key=lambda one: one.at),
        [one for one in _answers(habits, stay, rng) if one.at <= now],
        [one for one in calls if one.at <= now],
    )


def _day(day: int, cues: Sequence[str], stay: Stay, rng: Generator) -> list[FamilyTold]:
    """Return a day's taps: outings, and a word that worked or did not; none on a day on which nobody writes."""
    if not happens(rng, P_WRITES * FALLS_BY ** (day // 7)):
        return []
    outings = [_told(EntryKind.OUTING, OutingWord.DONE, day, stay, rng) for _ in range(whole(rng, 1, 2))]
    if not happens(rng, P_CUE):
        return outings
    return [*outings, _cue(pick(rng, cues), P_CUE_WORKED, day, stay, rng)]


def _mishaps(stay: Stay, rng: Generator) -> list[FamilyTold]:
    """Return accidents indoors, and what else was unwanted, in the family's words."""
    accidents = [_told(EntryKind.OUTING, OutingWord.ACCIDENT, day, stay, rng) for day in ACCIDENT_DAYS]
    stories = [
        replace(_told(EntryKind.INCIDENT, behaviour, day, stay, rng), note=note)
        for day, (behaviour, note) in zip(STORY_DAYS, STORIES, strict=True)
    ]
    return [*accidents, *stories]


def _weak(cue: str, n_days: int, stay: Stay, rng: Generator) -> list[FamilyTold]:
    """Return tries of a word that the family finds works less and less."""
    days = pick_some(rng, range(WEAK_FROM_DAY, n_days), N_WEAK)
    return [_cue(cue, P_WEAK_WORKED, day, stay, rng) for day in days]


def _cue(cue: str, p_worked: float, day: int, stay: Stay, rng: Generator) -> FamilyTold:
    return replace(_told(EntryKind.CUE, cue, day, stay, rng), n_met=int(happens(rng, p_worked)), n=1)


def _told(kind: EntryKind, subject: str, day: int, stay: Stay, rng: Generator) -> FamilyTold:
    """Return an entry at some hour of the day, on the first one after the family came home."""
    first = FIRST_MIN if day else HOME_MIN
    return FamilyTold(_at(stay, day, between(rng, first, LAST_MIN)), kind, subject)


def _answers(habits: Habits, stay: Stay, rng: Generator) -> list[Answer]:
    return [
        Answer(_at(stay, 7 * week, ANSWER_MIN), week, tuple(whole(rng, 2, N_TRIES) for _ in range(3)))
        for week in WEEKS
        if week in habits.weeks_told
    ]


def _at(stay: Stay, day: int, clock_min: float) -> datetime:
    return stay.instant(stay.n_done + day, clock_min)
