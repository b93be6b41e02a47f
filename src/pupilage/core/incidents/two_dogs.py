"""Two dogs: how often it flares up in an hour of calm together, over what, who begins, and what to do about it."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum

from pupilage.core.incidents.antecedents import Suspect, weigh_antecedents
from pupilage.core.incidents.between_dogs import Answered, BetweenDogs, Resource, Who
from pupilage.core.incidents.opportunity import tables_of
from pupilage.core.incidents.rates import Interval, Tally, rate_of
from pupilage.core.incidents.record import Before, Incident
from pupilage.core.incidents.stretches import Stretch, both, holds, hours_of, without
from pupilage.core.incidents.teeth import BROKEN_SKIN, TO_BE_SEEN, Teeth, what_to_do
from pupilage.core.training.posterior.intervals import clopper_pearson
from pupilage.core.words import Sentence, sentence

BEHAVIOURS = ("rough-play-with-dog", "guarding")
"""Unwanted behaviours whose answers say what the two dogs do."""

SETTLES = timedelta(minutes=10)
"""After an incident they are not calm; another within these minutes is the same one going on (an assumption)."""

LEAST_HOURS = 1.0


@dataclass(frozen=True)
class Share:
    """How many of those told, with exact limits of the share."""

    key: str
    n: int
    of: int
    low: float
    high: float


@dataclass(frozen=True)
class TwoDogs:
    """What the record says of the two.

    n: incidents between them; n_flares: those in hours logged as together, one that went on counted once; n_outside:
    those in no such hour; n_left: times the pup left the other dog be; hours_together, hours_calm; rate: flare-ups a
    calm hour, None with under one; resources, started, apart, answered, ended: the commonest first; around: what
    else was there; urgent: sentences to act on at once; says; to_do; next.
    """

    n: int
    n_flares: int
    n_outside: int
    n_left: int
    hours_together: float
    hours_calm: float
    rate: Interval | None
    resources: tuple[Share, ...]
    started: tuple[Share, ...]
    apart: tuple[Share, ...]
    answered: tuple[Share, ...]
    ended: tuple[Share, ...]
    around: tuple[Suspect, ...]
    urgent: tuple[Sentence, ...]
    says: tuple[Sentence, ...]
    to_do: tuple[Sentence, ...]
    next: tuple[Sentence, ...]


SIGNS = (
    sentence("A bite that makes a hole in skin, on either dog or a person."),
    sentence("Teeth that hold on or shake, or a fight that does not stop when one gives way."),
    sentence("Fear that lasts: a dog that hides, will not come past, or will not eat where the other is."),
    sentence("A dog that cannot rest while the other is there."),
    sentence("A stiff, silent stare that comes back, or trouble with nothing to be seen between them."),
)
"""Each sends the trainer to a veterinary behaviourist at once; the words are common practice, no source."""

ALWAYS = (
    sentence("Feed them apart, behind a door or a gate, and pick up the bowls before they meet."),
    sentence("Pick up chews and toys before both are loose."),
    sentence("Give the older dog a way out and a place that the pup cannot reach."),
    sentence("End it while it goes well: call both away after a few calm minutes, and rest the pup apart."),
    sentence("Never punish a growl. It is the older dog’s way to ask for room: lead the pup away."),
)

FOR_RESOURCE = {
    Resource.FOOD: sentence("Most often over food: no meal, chew or crumb while both are loose, training treats too."),
    Resource.TOY: sentence("Most often over a toy: toys only when one of the two is behind a gate."),
    Resource.PERSON: sentence(
        "Most often over a person: stand up and move off when one comes between; time alone for each."
    ),
    Resource.BED: sentence("Most often over a bed: beds far apart, and the older dog’s where the pup cannot go."),
    Resource.DOORWAY: sentence(
        "Most often in a doorway: one dog through at a time, called by name, the other held back by a gate."
    ),
}


def is_between(incident: Incident) -> bool:
    """Return whether an incident was between the two dogs."""
    return incident.between is not None or incident.behaviour == BEHAVIOURS[0]


def calm_time(together: Sequence[Stretch], incidents: Sequence[Incident]) -> list[Stretch]:
    """Return the time together less the minutes after each incident."""
    return without(together, [Stretch(one.at, one.at + SETTLES) for one in incidents])


def answer_two_dogs(
    incidents: Sequence[Incident], *, free: Sequence[Stretch], present: Mapping[Before, Sequence[Stretch]]
) -> TwoDogs:
    """Return what the record says of the two dogs.

    Model: flare-ups are Poisson in the calm hours together; n ÷ T with Garwood's exact limits. Calm together: both
    loose by the log, less ten minutes after each incident; an incident in those minutes is the last one going on.
    Parameters: incidents of any behaviour, those between the dogs are taken; free, present: see `tables_of`.
    Source: Garwood (1936), by `rate_of`; shares: Clopper & Pearson (1934). Worked by hand in
    tests/unit/incidents/test_two_dogs.py; beside the tables in tests/external/test_two_dogs.py.
    """
    own = sorted((one for one in incidents if is_between(one)), key=lambda one: one.at)
    happened = [one for one in own if one.happened]
    together = both(free, present.get(Before.RESIDENT_NEAR, ()))
    calm = calm_time(together, happened)
    flares = _flares([one for one in happened if holds(together, one.at)])
    hours = hours_of(calm)
    rate = rate_of(Tally(len(flares), hours)) if hours >= LEAST_HOURS else None
    seen = [one.between for one in happened if one.between is not None]
    resources = _shares(one.resource for one in seen)
    started = _shares(one.started for one in seen)
    outside = sum(not holds(together, one.at) for one in happened)
    return TwoDogs(
        n=len(happened),
        n_flares=len(flares),
        n_outside=outside,
        n_left=sum(one.left_it for one in own),
        hours_together=hours_of(together),
        hours_calm=hours,
        rate=rate,
        resources=resources,
        started=started,
        apart=_shares(one.apart for one in seen),
        answered=_shares(one.answered for one in seen),
        ended=_shares(one.ended for one in seen),
        around=tuple(_around(flares, together, present)),
        urgent=tuple(_urgent(happened)),
        says=tuple(_says(len(happened), len(flares), hours, rate, started, resources)),
        to_do=tuple(_to_do(resources)),
        next=tuple(_next(happened, seen, hours)),
    )


def _flares(inside: Sequence[Incident]) -> list[Incident]:
    """Return the incidents that began from calm: none within ten minutes of the one before."""
    return [one for i, one in enumerate(inside) if i == 0 or one.at - inside[i - 1].at >= SETTLES]


def _shares(seen: Iterable[StrEnum | None]) -> tuple[Share, ...]:
    """Return what was seen, the commonest first; what nobody could tell is in no share."""
    counts = Counter(str(one) for one in seen if one is not None and one is not Who.CANNOT_TELL)
    total = sum(counts.values())
    return tuple(Share(key, n, total, *clopper_pearson(n, total)) for key, n in counts.most_common())


def _around(
    flares: Sequence[Incident], together: Sequence[Stretch], present: Mapping[Before, Sequence[Stretch]]
) -> list[Suspect]:
    """Return what else was there, compared within the time together."""
    others: dict[Before, Sequence[Stretch]] = {
        before: stretches for before, stretches in present.items() if before is not Before.RESIDENT_NEAR
    }
    return weigh_antecedents(tables_of(flares, free=together, present=others)) if flares else []


def _urgent(happened: Sequence[Incident]) -> list[Sentence]:
    seen = [one.between for one in happened if one.between is not None]
    found = []
    if any(one.teeth in BROKEN_SKIN for one in seen):
        found.append(
            sentence(
                "Teeth broke a dog’s skin: such a wound is seen by a veterinarian the same day, since small holes hide "
                "deep ones, and the two stay apart until then."
            )
        )
    of_people = sorted((one.teeth for one in happened if one.teeth in BROKEN_SKIN), key=list(Teeth).index)
    if of_people and (first := what_to_do(of_people[-1])) is not None:
        found.append(first)
    if any(one.teeth in TO_BE_SEEN or one.answered is Answered.HELD_ON for one in seen):
        found.append(
            sentence("Ask for a veterinary behaviourist before they meet again; this is more than training mends.")
        )
    return found


def _says(
    n: int,
    n_flares: int,
    hours: float,
    rate: Interval | None,
    started: Sequence[Share],
    resources: Sequence[Share],
) -> list[Sentence]:
    if rate is None and n == 0:
        return [sentence("Nothing between the two is written down, and no hour together: nothing can be told yet.")]
    if rate is None:
        return [
            sentence(
                "{n} between them, and {hours:.1f} calm hours together written down: a rate needs one hour at least.",
                n=n,
                hours=hours,
            )
        ]
    said = [_often(n_flares, hours, rate)]
    if started:
        said.append(_who(started))
    if resources:
        first = resources[0]
        said.append(sentence("Over what: {k} of {n} with the first line of the list below.", k=first.n, n=first.of))
    return said


def _often(n_flares: int, hours: float, rate: Interval) -> Sentence:
    if n_flares == 0:
        return sentence(
            "{hours:.1f} calm hours together and not one incident; up to {high:.1f} in ten such hours still fit.",
            hours=hours,
            high=10 * rate.high,
        )
    return sentence(
        "{n} in {hours:.1f} calm hours together: about {rate:.1f} in ten; {low:.1f} to {high:.1f} fit the record.",
        n=n_flares,
        hours=hours,
        rate=10 * rate.value,
        low=10 * rate.low,
        high=10 * rate.high,
    )


def _who(started: Sequence[Share]) -> Sentence:
    pup = next((one for one in started if one.key == Who.PUP), None)
    n = started[0].of
    k = 0 if pup is None else pup.n
    low, high = clopper_pearson(k, n)
    if low > 0.5:
        return sentence("The pup starts it: {k} of the {n} that could be told.", k=k, n=n)
    if high < 0.5:
        return sentence("The older dog starts it: {k} of the {n} that could be told.", k=n - k, n=n)
    return sentence("Who starts it cannot be told yet: the pup {k} of {n}.", k=k, n=n)


def _to_do(resources: Sequence[Share]) -> list[Sentence]:
    """Return what to do, first about what the record has most often; about each of them where several are equal."""
    most = resources[0].n if resources else 0
    commonest = [Resource(one.key) for one in resources if one.n == most]
    return [*(FOR_RESOURCE[one] for one in commonest if one in FOR_RESOURCE), *ALWAYS]


def _next(happened: Sequence[Incident], seen: Sequence[BetweenDogs], hours: float) -> list[Sentence]:
    asked = []
    if hours < LEAST_HOURS:
        asked.append(
            sentence(
                "Tap “With the resident dog” on Today when both are loose, and again when they part: calm hours count."
            )
        )
    if sum(one.resource is not None for one in seen) < len(happened):
        asked.append(sentence("Note what lay between them each time, also when it was nothing to be seen."))
    return asked
