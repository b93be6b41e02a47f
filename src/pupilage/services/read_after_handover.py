"""The weeks after a hand-over, for the trainer: what was kept, what the family told, who needs a call, follow-ups."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.care.events import CareKind
from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.clock import day_bounds, local_day
from pupilage.core.errors import InvalidInput
from pupilage.core.handover.calls import OWN_DAYS, OwnAccidents, Why, reasons_to_call
from pupilage.core.handover.family_log import Entry, cues_of, standing
from pupilage.core.handover.follow_up import FollowUp
from pupilage.core.handover.kept import DAYS_DRAWN, Kept, KeptCurve, KeptTotal, curve_of, hold_against, total_of
from pupilage.core.training.posterior.knowledge import Knowledge
from pupilage.services.auditing import audit
from pupilage.services.know_dog import know_dog
from pupilage.services.plan_follow_ups import KeptSteps, follow_ups_of, kept_steps, read_cold
from pupilage.services.read_programme import ProgrammeHead, head_of
from pupilage.storage.models import FamilyCall, Programme
from pupilage.storage.queries.dogs import list_care_events
from pupilage.storage.queries.family import list_entries
from pupilage.storage.queries.programmes import (
    programme_readable_by,
    programme_writable_by,
    programmes_readable_by,
)

CARED_FOR_WEEKS = 10
"""A stay is among those that may need a call until so many weeks after its hand-over."""

LOOKED_BACK = timedelta(weeks=6)
"""The days before the hand-over among which those with a care log are looked for."""

MOST_SHOWN = 30
MOST_CALL_WORDS = 2000


@dataclass(frozen=True)
class KeptLine:
    """A behaviour after the hand-over beside its forecast; step: in words; curve: None where nothing was told of it."""

    behaviour: Behaviour
    step: str
    kept: Kept
    curve: KeptCurve | None = None


@dataclass(frozen=True)
class Call:
    """A call that was made."""

    at: datetime
    words: str


@dataclass(frozen=True)
class AfterPage:
    """What the page shows. begun: the hand-over was; forecast_on: today, or the hand-over while that is to come.

    n_told: entries that stand, of which `entries` are the newest.
    """

    head: ProgrammeHead
    begun: bool
    forecast_on: date
    lines: tuple[KeptLine, ...]
    follow_ups: tuple[FollowUp, ...]
    whys: tuple[Why, ...]
    entries: tuple[Entry, ...]
    n_told: int
    calls: tuple[Call, ...]


@dataclass(frozen=True)
class FamilyToCall:
    """A family of the list; whys: empty for one that needs no call. n_told: entries that stand.

    kept: what was told of each cue since the hand-over, beside its forecast; follow_ups: the four of the stay.
    """

    programme_id: UUID
    dog: str
    family: str
    handover_on: date
    whys: tuple[Why, ...]
    n_told: int
    last_told_at: datetime | None
    kept: tuple[KeptLine, ...]
    follow_ups: tuple[FollowUp, ...]

    @property
    def total(self) -> KeptTotal:
        """What was told of all cues together."""
        return total_of([line.kept for line in self.kept])


def read_after_handover(actor: Actor, programme_id: UUID, *, now: datetime) -> AfterPage:
    """Return a stay's page of the weeks after. Who may: whoever may read. Raises NotFound."""
    programme = programme_readable_by(actor, programme_id)
    told = standing(list_entries(programme))
    calls = _calls(programme)
    known, steps = know_dog(actor, programme), kept_steps(actor, programme)
    follow_ups = follow_ups_of(actor, programme, told, now=now, steps=steps)
    return AfterPage(
        head=head_of(actor, programme, now=now),
        begun=local_day(now, actor.zone) >= programme.handover_on,
        forecast_on=max(local_day(now, actor.zone), programme.handover_on),
        lines=_lines(known, steps, programme, told, now=now),
        follow_ups=follow_ups,
        whys=_whys(actor, programme, told, calls, follow_ups, now=now),
        entries=tuple(reversed(told))[:MOST_SHOWN],
        n_told=len(told),
        calls=calls,
    )


def list_families_to_call(actor: Actor, *, now: datetime) -> list[FamilyToCall]:
    """Return the families of the last ten weeks, those that need a call first. Who may: whoever may read."""
    today = local_day(now, actor.zone)
    first = today - timedelta(weeks=CARED_FOR_WEEKS)
    stays = programmes_readable_by(actor).filter(handover_on__lte=today, handover_on__gte=first)
    found = []
    for programme in stays:
        told = standing(list_entries(programme))
        known, steps = know_dog(actor, programme), kept_steps(actor, programme)
        follow_ups = follow_ups_of(actor, programme, told, now=now, steps=steps)
        found.append(
            FamilyToCall(
                programme.id,
                programme.dog.name,
                programme.family.name if programme.family else "",
                programme.handover_on,
                _whys(actor, programme, told, _calls(programme), follow_ups, now=now),
                len(told),
                told[-1].at if told else None,
                _lines(known, steps, programme, told, now=now, drawn=False),
                follow_ups,
            )
        )
    return sorted(found, key=lambda one: (not one.whys, -one.handover_on.toordinal()))


def note_family_call(actor: Actor, programme_id: UUID, words: str, *, now: datetime) -> None:
    """Write that the family was called: what was told up to now is settled by it. Who may: whoever may write."""
    programme = programme_writable_by(actor, programme_id)
    if len(words) > MOST_CALL_WORDS:
        raise InvalidInput.of("words", "These words have {most} letters at most.", most=MOST_CALL_WORDS)
    with transaction.atomic():
        row = FamilyCall.objects.create(
            workspace_id=actor.workspace_id, programme=programme, at=now, by=actor.user_id, words=words.strip()
        )
        audit(actor, "note-family-call", str(row.id), now=now)


def _calls(programme: Programme) -> tuple[Call, ...]:
    rows = FamilyCall.objects.filter(workspace_id=programme.workspace_id, programme=programme)
    return tuple(Call(at, words) for at, words in rows.order_by("-at").values_list("at", "words"))


def _lines(
    known: Knowledge, steps: KeptSteps, programme: Programme, told: list[Entry], *, now: datetime, drawn: bool = True
) -> tuple[KeptLine, ...]:
    """Return each cue beside its forecast; drawn: with the curve, where something was told of it."""
    found = []
    for key, (behaviour, step) in steps.items():
        cues = _since_handover(cues_of(told, key), programme, known)
        kept = _kept(known, key, step, cues, programme, now=now)
        curve = _curve(known, key, step, cues, programme, now=now) if cues and drawn else None
        found.append(KeptLine(behaviour, behaviour.steps[step].summary, kept, curve))
    return tuple(found)


def _since_handover(cues: list[Entry], programme: Programme, known: Knowledge) -> list[Entry]:
    start = day_bounds(programme.handover_on, known.state.zone)[0]
    return [one for one in cues if one.at >= start]


def _curve(
    known: Knowledge, key: str, step: int, cues: list[Entry], programme: Programme, *, now: datetime
) -> KeptCurve:
    first, zone = programme.handover_on, known.state.zone
    readings = [read_cold(known, key, step, day=first + timedelta(days=n), now=now) for n in DAYS_DRAWN]
    return curve_of(readings, [((local_day(one.at, zone) - first).days, bool(one.met)) for one in cues])


def _kept(known: Knowledge, key: str, step: int, cues: list[Entry], programme: Programme, *, now: datetime) -> Kept:
    """Return what was told of a cue beside the forecast."""
    zone = known.state.zone
    today = read_cold(known, key, step, day=max(local_day(now, zone), programme.handover_on), now=now)
    pairs = [(read_cold(known, key, step, day=local_day(one.at, zone), now=now), bool(one.met)) for one in cues]
    return hold_against(today, pairs, behaviour=key, step=known.behaviours[key].steps[step].key)


def _whys(
    actor: Actor,
    programme: Programme,
    told: list[Entry],
    calls: tuple[Call, ...],
    follow_ups: tuple[FollowUp, ...],
    *,
    now: datetime,
) -> tuple[Why, ...]:
    """Return why to call. What was told up to the last call is settled, and so counts for nothing here."""
    if local_day(now, actor.zone) < programme.handover_on:
        return ()
    called_at = calls[0].at if calls else None
    start = day_bounds(programme.handover_on, actor.zone)[0]
    fresh = [one for one in told if one.at >= start and (called_at is None or one.at > called_at)]
    lines = _lines(know_dog(actor, programme), kept_steps(actor, programme), programme, fresh, now=now, drawn=False)
    return reasons_to_call(
        fresh,
        [line.kept for line in lines],
        follow_ups,
        _own_accidents(actor, programme),
        now=now,
        called_at=called_at,
    )


def _own_accidents(actor: Actor, programme: Programme) -> OwnAccidents:
    """Return the accidents of the newest fourteen days before the hand-over that have anything in the care log."""
    until = day_bounds(programme.handover_on, actor.zone)[1]
    events = list_care_events(programme.dog, since=until - LOOKED_BACK, until=until)
    days = sorted({local_day(one.at, actor.zone) for one in events})[-round(OWN_DAYS) :]
    inside = [one for one in events if one.kind is CareKind.INDOORS and local_day(one.at, actor.zone) in days]
    return OwnAccidents(len(inside), float(len(days)))
