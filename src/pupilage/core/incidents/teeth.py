"""What teeth did to skin, in neutral words, and whom to ask."""

from enum import StrEnum

from pupilage.core.words import Sentence, sentence


class Teeth(StrEnum):
    """From an open mouth to wounds. Stored values are fixed for good.

    The finer steps of ordinary pup mouthing are our own; those from `BITE` on follow the depth of wounds, as the trade
    has it (the six-level wound scale of Dunbar, in other words).
    """

    TOUCH = "touch"
    PRESSURE = "pressure"
    MARK = "mark"
    NICK = "nick"
    BITE = "bite"
    DEEP_BITE = "deep-bite"
    BITES = "bites"


WORDS: dict[Teeth, Sentence] = {
    Teeth.TOUCH: sentence("open mouth on skin, no pressure"),
    Teeth.PRESSURE: sentence("pressure, no mark"),
    Teeth.MARK: sentence("a mark that is gone within minutes"),
    Teeth.NICK: sentence("skin nicked, no hole"),
    Teeth.BITE: sentence("one bite, holes less deep than half a canine tooth"),
    Teeth.DEEP_BITE: sentence("one bite, a deeper hole, or bruises from holding on"),
    Teeth.BITES: sentence("several deep bites"),
}

BROKEN_SKIN = (Teeth.NICK, Teeth.BITE, Teeth.DEEP_BITE, Teeth.BITES)
TO_BE_SEEN = (Teeth.BITE, Teeth.DEEP_BITE, Teeth.BITES)


def what_to_do(teeth: Teeth | None) -> Sentence | None:
    """Return what a person does first, None where nothing was hurt. No diagnosis: who to ask."""
    if teeth in TO_BE_SEEN:
        return sentence(
            "Wash the wound and see a doctor. Then a veterinarian, who may send you to a veterinary behaviourist, "
            "before you train on. Local law may ask you to report it."
        )
    if teeth in BROKEN_SKIN:
        return sentence("Wash the skin with soap and water; a doctor where it is more than a scratch.")
    return None
