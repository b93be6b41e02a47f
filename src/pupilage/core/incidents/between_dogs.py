"""What happened between the pup and the dog of the house: who began, over what, how far, what the other dog did."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from enum import StrEnum

from pupilage.core.errors import InvalidInput
from pupilage.core.incidents.teeth import Teeth
from pupilage.core.words import Sentence, sentence


class Who(StrEnum):
    """Which of the two, where somebody saw it. Stored values are fixed for good."""

    PUP = "pup"
    RESIDENT = "resident"
    BOTH = "both"
    PERSON = "person"
    """Only of who ended it."""
    CANNOT_TELL = "cannot-tell"


STARTERS = (Who.PUP, Who.RESIDENT, Who.CANNOT_TELL)
ENDERS = (Who.PUP, Who.RESIDENT, Who.PERSON, Who.CANNOT_TELL)
HURT = (Who.PUP, Who.RESIDENT, Who.BOTH)


class Resource(StrEnum):
    """What lay between them. Stored values are fixed for good."""

    FOOD = "food"
    TOY = "toy"
    PERSON = "person"
    BED = "bed"
    DOORWAY = "doorway"
    NONE = "none"


class Apart(StrEnum):
    """How far they were when it began. Stored values are fixed for good."""

    TOUCHING = "touching"
    WITHIN_1_M = "within-1-m"
    WITHIN_3_M = "within-3-m"
    FURTHER = "further"


class Answered(StrEnum):
    """The most that the resident dog did, the mildest first. Stored values are fixed for good.

    The order follows the ladder of a dog that says no (common practice, no source); every rung but the last two is
    talk, and no rung is a fault.
    """

    NOTHING = "nothing"
    MOVED_AWAY = "moved-away"
    FROZE = "froze"
    LIFTED_LIP = "lifted-lip"
    GROWLED = "growled"
    AIR_SNAP = "air-snap"
    CONTACT = "contact"
    HELD_ON = "held-on"


WHO_WORDS: dict[Who, Sentence] = {
    Who.PUP: sentence("the pup"),
    Who.RESIDENT: sentence("the resident dog"),
    Who.BOTH: sentence("both"),
    Who.PERSON: sentence("a person"),
    Who.CANNOT_TELL: sentence("nobody could tell"),
}
RESOURCE_WORDS: dict[Resource, Sentence] = {
    Resource.FOOD: sentence("food or a chew"),
    Resource.TOY: sentence("a toy"),
    Resource.PERSON: sentence("a person"),
    Resource.BED: sentence("a bed or resting place"),
    Resource.DOORWAY: sentence("a doorway or narrow place"),
    Resource.NONE: sentence("nothing to be seen"),
}
APART_WORDS: dict[Apart, Sentence] = {
    Apart.TOUCHING: sentence("touching"),
    Apart.WITHIN_1_M: sentence("within 1 m"),
    Apart.WITHIN_3_M: sentence("1 to 3 m"),
    Apart.FURTHER: sentence("further"),
}
ANSWERED_WORDS: dict[Answered, Sentence] = {
    Answered.NOTHING: sentence("nothing"),
    Answered.MOVED_AWAY: sentence("moved away"),
    Answered.FROZE: sentence("froze"),
    Answered.LIFTED_LIP: sentence("lifted a lip"),
    Answered.GROWLED: sentence("growled"),
    Answered.AIR_SNAP: sentence("snapped at the air"),
    Answered.CONTACT: sentence("teeth touched the pup, and let go"),
    Answered.HELD_ON: sentence("teeth held on, or shook"),
}
HURT_WORDS: dict[Teeth, Sentence] = {
    Teeth.TOUCH: sentence("open mouth, no pressure"),
    Teeth.PRESSURE: sentence("pressure, no mark"),
    Teeth.MARK: sentence("a mark that is gone within minutes"),
    Teeth.NICK: sentence("skin nicked, no hole"),
    Teeth.BITE: sentence("holes less deep than half a canine tooth"),
    Teeth.DEEP_BITE: sentence("a deeper hole, or bruises from holding on"),
    Teeth.BITES: sentence("several deep bites"),
}


@dataclass(frozen=True)
class BetweenDogs:
    """What somebody saw between the two; None where nobody saw it, or it was not asked.

    started, ended: who; resource: what lay between them; apart: when it began; answered: the most the resident dog
    did; teeth: what teeth did to a dog's skin, hurt: to whose.
    """

    started: Who | None = None
    resource: Resource | None = None
    apart: Apart | None = None
    answered: Answered | None = None
    ended: Who | None = None
    teeth: Teeth | None = None
    hurt: Who | None = None

    def __post_init__(self) -> None:
        for where, who, allowed in (
            ("started", self.started, STARTERS),
            ("ended", self.ended, ENDERS),
            ("hurt", self.hurt, HURT),
        ):
            if who is not None and who not in allowed:
                raise InvalidInput.of(where, "“{who}” does not go here; choose another, or none.", who=who.value)

    @property
    def is_empty(self) -> bool:
        return all(value is None for value in asdict(self).values())


def between_as_stored(between: BetweenDogs | None) -> dict[str, str]:
    """Return what was seen as plain keys and values; nothing for what was not."""
    if between is None:
        return {}
    return {key: str(value) for key, value in asdict(between).items() if value is not None}


def between_from_stored(stored: Mapping[str, str]) -> BetweenDogs | None:
    """Return what was stored; a value that is no longer in use is left out, None where nothing is left."""
    kinds: dict[str, type[StrEnum]] = {
        "started": Who,
        "resource": Resource,
        "apart": Apart,
        "answered": Answered,
        "ended": Who,
        "teeth": Teeth,
        "hurt": Who,
    }
    known = {key: kinds[key](value) for key, value in stored.items() if key in kinds and value in set(kinds[key])}
    between = BetweenDogs(**known)  # type: ignore[arg-type]  # each key has its own kind, above
    return None if between.is_empty else between
