"""What the points of the scales, the states and the veterinarian's topics are called."""

from collections.abc import Mapping

from pupilage.core.care.exposures.item import ExposureGroup, VetTopic
from pupilage.core.care.exposures.judging import ItemStanding, ItemState
from pupilage.core.care.exposures.log import Response
from pupilage.core.words import Sentence, sentence

INTENSITY_WORDS: Mapping[int, Sentence] = {
    1: sentence("barely there: still, far off or very soft"),
    2: sentence("a little: moves or sounds gently"),
    3: sentence("as on a quiet day of a family"),
    4: sentence("as on a busy day of a family"),
    5: sentence("a great deal: loud, fast, close or many at once"),
}
"""Our own five points of intensity (common practice, no source: nothing of the kind is standardised)."""

RESPONSE_WORDS: Mapping[Response, Sentence] = {
    Response.CURIOUS: sentence("curious"),
    Response.CALM: sentence("calm"),
    Response.UNSURE: sentence("unsure"),
    Response.WORRIED: sentence("worried"),
    Response.AFRAID: sentence("afraid"),
}

RESPONSE_SIGNS: Mapping[Response, Sentence] = {
    Response.CURIOUS: sentence("loose, goes closer by itself, eats"),
    Response.CALM: sentence("loose, looks, eats, turns to other things"),
    Response.UNSURE: sentence("stops or looks for long, comes no closer, still eats"),
    Response.WORRIED: sentence("turns or backs away, low or stiff, hardly eats"),
    Response.AFRAID: sentence("flees, hides, freezes, trembles or cries, does not eat"),
}

GROUP_WORDS: Mapping[ExposureGroup, Sentence] = {
    ExposureGroup.PEOPLE: sentence("People"),
    ExposureGroup.DOGS: sentence("Dogs"),
    ExposureGroup.SURFACES: sentence("Surfaces"),
    ExposureGroup.SOUNDS: sentence("Sounds"),
    ExposureGroup.HANDLING: sentence("Handling"),
    ExposureGroup.PLACES: sentence("Places"),
    ExposureGroup.VEHICLES: sentence("Vehicles"),
}

TOPIC_WORDS: Mapping[VetTopic, Sentence] = {
    VetTopic.GROUND: sentence("ground where unknown dogs walk: streets, parks, stations"),
    VetTopic.DOGS: sentence("touching dogs from other homes"),
    VetTopic.PUPPIES: sentence("meetings and classes of puppies"),
}

REFERRAL = sentence(
    "Fear that does not pass within minutes, comes again, or spreads to other things is for a veterinarian, or the"
    " veterinary behaviourist they send you to. Until then: plenty of distance, and no practice with it."
)
"""AVSAB (2021): fear needs management, behaviour modification and sometimes medication. Trainers do not diagnose."""


def standing_words(standing: ItemStanding) -> Sentence:
    """Return where an item stands; the day until which it is held back stands beside it."""
    match standing.state:
        case ItemState.NOT_MET:
            return sentence("not met yet")
        case ItemState.MET:
            return sentence("{n} × met, not at ease yet", n=standing.n_met)
        case ItemState.MET_WELL:
            return sentence(
                "{n} × at ease at intensity {intensity}, wanted {target}",
                n=standing.n_well,
                intensity=standing.well_intensity or 0,
                target=standing.item.target,
            )
        case ItemState.HELD_BACK:
            return sentence("held back")
        case ItemState.REFERRED:
            return sentence("for a veterinary behaviourist")
