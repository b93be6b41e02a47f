"""What to meet today: a few items with intensity, distance, minutes and a reason."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from pupilage.core.care.exposures.item import ExposureGroup, ExposureItem
from pupilage.core.care.exposures.judging import ItemStanding, ItemState, Judgement
from pupilage.core.care.exposures.log import Response
from pupilage.core.care.exposures.pacing import Change, NextMeeting
from pupilage.core.care.exposures.wording import REFERRAL
from pupilage.core.errors import InvalidInput
from pupilage.core.words import Figure, Sentence, sentence

KEEP_UP_DAYS = 7
"""What is known is met again after so many days (common practice, no source)."""

NEED: Mapping[ItemState, float] = {ItemState.NOT_MET: 1.0, ItemState.MET: 0.8, ItemState.MET_WELL: 0.6}
NEED_OF_KNOWN = 0.3
"""How the states compare when there is not time for all (own choice)."""


@dataclass(frozen=True)
class ExposureDay:
    """What the trainer and the calendar say of the day: the pup is unwell; it sees the veterinarian."""

    unwell: bool = False
    at_veterinarian: bool = False


@dataclass(frozen=True)
class ExposureProposal:
    """An item to meet, how, and why. minutes: of the meeting; distance_m: None where it says nothing."""

    item: ExposureItem
    intensity: int
    distance_m: float | None
    minutes: int
    change: Change
    reason: Sentence


@dataclass(frozen=True)
class _Candidate:
    standing: ItemStanding
    meeting: NextMeeting
    worth: float
    strong: bool


def propose_exposures(judgement: Judgement, day: ExposureDay, *, limit: int = 3) -> list[ExposureProposal]:
    """Return at most `limit` items to meet today, the most useful first.

    None on a day at the veterinarian's or when the pup is unwell. Never one that is held back, referred, waits for
    the veterinarian or was met today. Not more than one new strong thing a day. After fear today, and while fear
    spreads, only what was met well before, no stronger and no nearer. Two of one group only where others have no more
    to offer. Ties keep the catalogue's order.
    Raises: InvalidInput for a limit below 0.
    """
    if limit < 0:
        raise InvalidInput.of("limit", "{given} cannot be a number of items; give 0 or more.", given=limit)
    if day.unwell or day.at_veterinarian:
        return []
    candidates = _candidates(judgement)
    room_for_strong = not judgement.strong_today
    chosen: list[_Candidate] = []
    while len(chosen) < limit:
        groups = Counter(one.standing.item.group for one in chosen)
        open_ones = [one for one in candidates if one not in chosen and (room_for_strong or not one.strong)]
        if not open_ones:
            break
        best = max(open_ones, key=lambda one: one.worth / (1 + groups[one.standing.item.group]) ** 2)
        chosen.append(best)
        room_for_strong = room_for_strong and not best.strong
    return [_proposal(one) for one in chosen]


def day_cautions(judgement: Judgement, day: ExposureDay) -> list[Sentence]:
    """Return what stands above today's list: why nothing is proposed, or less than usual."""
    said = []
    if day.unwell:
        said.append(sentence("The pup is not well: nothing new today. The veterinarian first."))
    elif day.at_veterinarian:
        said.append(sentence("A day with the veterinarian: that is enough for one day."))
    if judgement.afraid_of:
        said.append(
            sentence(
                "Afraid of {n} different things within a week: only what went well before, and no more of it.",
                n=len(judgement.afraid_of),
            )
        )
    elif judgement.fear_today:
        said.append(sentence("Something was too much today: for the rest of the day only what the pup knows well."))
    if judgement.afraid_of or any(one.state is ItemState.REFERRED for one in judgement.standings):
        said.append(REFERRAL)
    return said


def meeting_words(proposal: ExposureProposal) -> Sentence:
    """Return a proposal in one line, for the timetable and the programme's plan."""
    facts: dict[str, Figure] = {
        "item": proposal.item.name,
        "intensity": proposal.intensity,
        "minutes": proposal.minutes,
    }
    if proposal.distance_m is None:
        return sentence("{item}: intensity {intensity} of 5, {minutes} min, with food", **facts)
    return sentence(
        "{item}: intensity {intensity} of 5, from {distance_m:g} m, {minutes} min, with food",
        distance_m=proposal.distance_m,
        **facts,
    )


def _candidates(judgement: Judgement) -> list[_Candidate]:
    lack = _lack(judgement.standings)
    careful = judgement.fear_today or bool(judgement.afraid_of)
    found = []
    for standing in judgement.standings:
        need = _need(standing, judgement)
        if not standing.open or standing.next is None or standing.last_on == judgement.today or need == 0.0:
            continue
        worth = need * standing.item.weight * (1.0 + lack[standing.item.group])
        if not careful:
            found.append(_Candidate(standing, standing.next, worth, standing.next_is_strong))
        elif standing.state is ItemState.MET_WELL:
            found.append(_Candidate(standing, _as_before(standing), worth, strong=False))
    return found


def _need(standing: ItemStanding, judgement: Judgement) -> float:
    if not standing.known or standing.last_on is None:
        return NEED.get(standing.state, 0.0)
    return NEED_OF_KNOWN if (judgement.today - standing.last_on).days >= KEEP_UP_DAYS else 0.0


def _lack(standings: Sequence[ItemStanding]) -> Mapping[ExposureGroup, float]:
    """Return for each group the share of its items that were not met well yet."""
    counts = Counter(one.item.group for one in standings)
    lacking = Counter(one.item.group for one in standings if one.state is not ItemState.MET_WELL)
    return {group: lacking[group] / n for group, n in counts.items()}


def _as_before(standing: ItemStanding) -> NextMeeting:
    """Return the meeting that went well last: no stronger, no nearer."""
    last = standing.last
    intensity = min(standing.well_intensity or 1, standing.item.target)
    return NextMeeting(intensity, last.distance_m if last else standing.item.first_m, Change.SAME)


def _proposal(one: _Candidate) -> ExposureProposal:
    standing, meeting = one.standing, one.meeting
    return ExposureProposal(
        item=standing.item,
        intensity=meeting.intensity,
        distance_m=meeting.distance_m,
        minutes=standing.item.minutes,
        change=meeting.change,
        reason=meeting_reason(standing if meeting is standing.next else replace(standing, next=meeting)),
    )


def meeting_reason(standing: ItemStanding) -> Sentence:
    """Return why an item is met next as its standing says."""
    match standing.next.change if standing.next else None:
        case Change.BEGIN:
            return sentence("Not met yet: begin small, with food, and let the pup choose how near.")
        case Change.NEARER:
            return sentence("At ease: the same, a little nearer.")
        case Change.STRONGER:
            if standing.next is None or standing.next.distance_m is None:
                return sentence("At ease: a little stronger.")
            return sentence("At ease as near as this: a little stronger, and not so near.")
        case Change.EASED:
            return sentence("Unsure twice: make it easier.")
        case Change.RETURN:
            return sentence("It was too much last time: weaker and farther away, and only for as long as the pup eats.")
        case Change.VARIED:
            return sentence("At ease as it is: once more with somebody else or somewhere else.")
        case Change.SAME:
            return _reason_for_the_same(standing)
        case None:
            return sentence("Not to be practised: ask the veterinarian about a veterinary behaviourist.")


def _reason_for_the_same(standing: ItemStanding) -> Sentence:
    if (
        standing.state is ItemState.MET_WELL
        and standing.last is not None
        and standing.last.response is not Response.UNSURE
    ):
        return sentence("At ease: the same once more, before anything gets harder.")
    return sentence("Not sure of it yet: the same again, and no more.")
