"""The time in which something could happen, read from the care log: awake, and not shut in."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date, datetime, tzinfo

from pupilage.core.care.events import DETAILS_OF, CareDetail, CareEvent, CareKind
from pupilage.core.clock import local_day
from pupilage.core.incidents.lasting import read_lasting
from pupilage.core.incidents.opportunity import just_after
from pupilage.core.incidents.record import Before
from pupilage.core.incidents.since import Since
from pupilage.core.incidents.stretches import Stretch, union, without

RESTS = (CareKind.NAP, CareKind.CRATE)
LASTING_BEFORE = {
    CareKind.UNWATCHED: Before.UNWATCHED,
    CareKind.IN_REACH: Before.IN_REACH,
    CareKind.VISITOR: Before.VISITOR,
    CareKind.RESIDENT: Before.RESIDENT_NEAR,
    CareKind.BUSY: Before.BUSY,
}
MOMENTS = {
    (CareKind.NAP, CareDetail.END): Before.WOKE,
    (CareKind.CRATE, CareDetail.END): Before.RELEASED,
    (CareKind.MEAL, CareDetail.PLAIN): Before.ATE,
    (CareKind.PLAY, CareDetail.END): Before.PLAYED,
    (CareKind.PLAY, CareDetail.PLAIN): Before.PLAYED,
}
SINCE = {
    (CareKind.NAP, CareDetail.END): Since.WAKING,
    (CareKind.CRATE, CareDetail.END): Since.WAKING,
    (CareKind.MEAL, CareDetail.PLAIN): Since.MEAL,
    **{(CareKind.OUTING, detail): Since.OUTING for detail in DETAILS_OF[CareKind.OUTING]},
    (CareKind.PLAY, CareDetail.END): Since.PLAY,
    (CareKind.PLAY, CareDetail.PLAIN): Since.PLAY,
}


def free_time(events: Sequence[CareEvent], zone: tzinfo) -> list[Stretch]:
    """Return the time awake and not shut in: of each local day, from its first entry to its last, less naps and crate.

    A day without an entry was not watched and counts for nothing. A rest that nobody ended lasts until the next entry
    that only a pup that is up can have (an outing, a meal, play), else until the day's last entry.
    Parameters: events that stand, in time order.
    """
    days: dict[date, list[CareEvent]] = defaultdict(list)
    for event in events:
        days[local_day(event.at, zone)].append(event)
    return [
        stretch
        for entries in days.values()
        for stretch in without(
            [Stretch(entries[0].at, entries[-1].at)],
            [rest for kind in RESTS for rest in _stretches(entries, kind, until=entries[-1].at)],
        )
    ]


def present_time(
    events: Sequence[CareEvent], session_ends: Iterable[datetime], zone: tzinfo
) -> dict[Before, list[Stretch]]:
    """Return when each antecedent was there: a quarter of an hour after moments, and what lasted, as tapped."""
    found: dict[Before, list[Stretch]] = {before: [] for before in MOMENTS.values()}
    for event in events:
        before = MOMENTS.get((event.kind, event.detail))
        if before is not None:
            found[before] += just_after([event.at])
    found[Before.TRAINED] = just_after(session_ends)
    for kind, stretches in read_lasting(events, zone).stretches.items():
        found[LASTING_BEFORE[kind]] = list(stretches)
    return {before: union(stretches) for before, stretches in found.items()}


def moments_since(events: Iterable[CareEvent]) -> dict[Since, list[datetime]]:
    """Return when the pup woke, ate, was out, and had played: what the minutes are counted from."""
    found: dict[Since, list[datetime]] = {since: [] for since in Since}
    for event in events:
        since = SINCE.get((event.kind, event.detail))
        if since is not None:
            found[since].append(event.at)
    return found


def _stretches(events: Sequence[CareEvent], kind: CareKind, *, until: datetime) -> list[Stretch]:
    found: list[Stretch] = []
    since: datetime | None = None
    for event in events:
        if event.kind is kind and event.detail is CareDetail.START:
            since = since or event.at
        elif since is not None and (event.kind is kind or (kind in RESTS and _is_up(event))):
            found.append(Stretch(since, event.at))
            since = None
    return found if since is None else [*found, Stretch(since, until)]


def _is_up(event: CareEvent) -> bool:
    return event.kind in (CareKind.OUTING, CareKind.INDOORS, CareKind.MEAL, CareKind.PLAY)
