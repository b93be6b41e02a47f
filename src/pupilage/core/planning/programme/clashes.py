"""What a plan cannot do, with the rules that clash over it in words."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from math import ceil

from pupilage.core.catalogue.behaviour import Catalogue
from pupilage.core.errors import Conflict
from pupilage.core.planning.programme.plan import Clash
from pupilage.core.planning.programme.prospects import Prospect
from pupilage.core.planning.programme.room import DayRoom
from pupilage.core.planning.programme.rules import PROBES_A_SESSION, Rule
from pupilage.core.words import Sentence, sentence

DAYS_BEYOND = 180
"""Days after the hand-over that are looked at, to tell a stay that is too short from rules that shut every day."""

ROOM_RULES = (Rule.ARRIVAL, Rule.DAYS_OFF, Rule.SESSIONS, Rule.MINUTES, Rule.PUP, Rule.FOOD)


class NoPlan(Conflict):
    """No plan can be made; `clash` says which rules stand against each other."""

    def __init__(self, clash: Clash) -> None:
        self.clash = clash
        super().__init__("{what} {why}", what=str(clash.what), why=" ".join(map(str, (*clash.rules, *clash.ways))))


@dataclass(frozen=True)
class Ground:
    """The days and goals that clashes are looked for in."""

    prospects: Sequence[Prospect]
    rooms: Sequence[DayRoom]
    catalogue: Catalogue

    @property
    def n_days(self) -> int:
        return len(self.rooms)


def require_a_plan(ground: Ground) -> None:
    """Refuse where there is nothing to plan: no goals, no day, or no room on any. Raises NoPlan."""
    if not ground.prospects:
        raise NoPlan(
            Clash(
                sentence("There is nothing to plan: the stay has no goals."),
                (),
                (sentence("Choose goals first."),),
            )
        )
    if ground.n_days == 0:
        raise NoPlan(
            Clash(
                sentence("There is no day left to plan before the hand-over."),
                (),
                (sentence("Give a later hand-over date."),),
            )
        )
    core = _core(_shut_for_any(ground), ground.n_days)
    if core:
        raise NoPlan(_clash(sentence("No day before the hand-over has room for a session."), core, ground))


def find_clashes(ground: Ground) -> tuple[Clash, ...]:
    """Return what the plan cannot do: goals without a day, cold probes on the last day, nights between sessions.

    Each names a smallest set of rules that clash (`cores.find_core`).
    """
    return (*_goals_without_a_day(ground), *_probes_without_room(ground), *_no_night(ground))


def _core(shut: Mapping[Rule, Collection[int]], n_days: int, n_needed: int = 1) -> tuple[Rule, ...]:
    """Return the clashing rules; the solver is asked only where the days do not suffice."""
    closed = {day for days in shut.values() for day in days if day < n_days + DAYS_BEYOND}
    if n_days + DAYS_BEYOND - len(closed) >= n_needed:
        return ()
    from pupilage.core.planning.programme.cores import find_core

    return find_core(shut, n_days=n_days + DAYS_BEYOND, n_needed=n_needed)


def _shut_for_any(ground: Ground) -> dict[Rule, set[int]]:
    """Return the days that each rule shuts for every goal; beyond the hand-over a day is like the last one."""
    shut: dict[Rule, set[int]] = {Rule.HANDOVER: set(range(ground.n_days, ground.n_days + DAYS_BEYOND))}
    for day in range(ground.n_days + DAYS_BEYOND):
        limits = ground.rooms[min(day, ground.n_days - 1)].limits
        for rule in ROOM_RULES:
            lasting = day < ground.n_days or rule not in (Rule.DAYS_OFF, Rule.ARRIVAL)
            if lasting and limits.get(rule, 1) == 0:
                shut.setdefault(rule, set()).add(day)
    return shut


def _goals_without_a_day(ground: Ground) -> Iterator[Clash]:
    for one in ground.prospects:
        shut = _shut_for_any(ground)
        every_day = set(range(ground.n_days + DAYS_BEYOND))
        if one.missing:
            shut[Rule.PREREQUISITE] = every_day
        elif one.first_day > one.old_on:
            shut[Rule.PREREQUISITE] = set(range(min(one.first_day, len(every_day))))
        if one.old_on:
            shut[Rule.AGE] = set(range(min(one.old_on, len(every_day))))
        core = _core(shut, ground.n_days)
        if core:
            what = sentence("“{goal}” can have no session before the hand-over.", goal=one.behaviour.name)
            yield _clash(what, core, ground, one)


def _probes_without_room(ground: Ground) -> Iterator[Clash]:
    """Yield the clash where not every goal that can be trained has its cold first try on the last day."""
    n_goals = sum(not one.missing and one.first_day < ground.n_days for one in ground.prospects)
    n_rooms = ceil(n_goals / PROBES_A_SESSION)
    last, beyond = ground.n_days - 1, ground.n_days + DAYS_BEYOND
    shut: dict[Rule, set[int]] = {Rule.PROBE_DAY: set(range(beyond)) - {last}}
    limits = ground.rooms[last].limits
    for rule in ROOM_RULES:
        if limits.get(rule, n_rooms) < n_rooms:
            shut[rule] = {last}
    core = _core(shut, ground.n_days)
    if core:
        what = sentence("Not every goal can have its cold try on the last day; they move to the day before, or go.")
        yield _clash(what, core, ground)


def _no_night(ground: Ground) -> Iterator[Clash]:
    """Yield the clash where a single day is left: what is learnt needs nights."""
    if ground.n_days > 1:
        return
    yield Clash(
        sentence("The hand-over is tomorrow: nothing new will hold by then."),
        (
            sentence("The hand-over is on {day}.", day=_day(ground, ground.n_days)),
            sentence("What is learnt needs nights between sessions."),
        ),
        (sentence("Keep what is there, write the cold tries down for the family, or give a later hand-over date."),),
    )


def _day(ground: Ground, day: int) -> str:
    first = ground.rooms[0].day
    return (first + timedelta(days=day)).isoformat()


def _clash(what: Sentence, core: tuple[Rule, ...], ground: Ground, one: Prospect | None = None) -> Clash:
    said = [_said(rule, ground, one) for rule in core]
    ways = [way for rule in core if (way := _way(rule, ground, one)) is not None]
    return Clash(what, tuple(said), tuple(ways))


def _said(rule: Rule, ground: Ground, one: Prospect | None) -> Sentence:
    last = ground.rooms[-1]
    match rule:
        case Rule.ARRIVAL:
            return sentence("The pup has not arrived yet.")
        case Rule.DAYS_OFF:
            off = [room.day for room in ground.rooms if Rule.DAYS_OFF in room.limits]
            if len(off) == len(ground.rooms):
                return sentence("Every day until the hand-over is a day off.")
            return sentence("Days off: {days}.", days=", ".join(day.isoformat() for day in off))
        case Rule.SESSIONS:
            return sentence("The last day has room for {n} sessions.", n=last.limits[rule])
        case Rule.MINUTES:
            least = min(room.limits[rule] for room in ground.rooms)
            return sentence("Your minutes leave room for {n} sessions.", n=least)
        case Rule.PUP:
            return sentence("A pup of this age, with the day's exposures and visits, takes no more sessions.")
        case Rule.FOOD:
            return sentence("The day's food is not enough for the rewards of a session.")
        case Rule.HANDOVER:
            return sentence("The hand-over is on {day}.", day=_day(ground, ground.n_days))
        case Rule.PROBE_DAY:
            return sentence(
                "The last day before the hand-over, {day}, is for the cold tries.", day=last.day.isoformat()
            )
        case Rule.AGE:
            return _said_of_age(one)
        case Rule.PREREQUISITE:
            return _said_of_prerequisites(ground, one)


def _said_of_age(one: Prospect | None) -> Sentence:
    if one is None:
        return sentence("The pup is too young.")
    return sentence("“{goal}” begins at {n} weeks of age.", goal=one.behaviour.name, n=one.behaviour.min_age_weeks)


def _said_of_prerequisites(ground: Ground, one: Prospect | None) -> Sentence:
    if one is None or not (one.missing or one.needs):
        return sentence("A behaviour that comes first has not been met.")
    first = one.missing[0] if one.missing else one.needs[0].behaviour
    names = {"goal": one.behaviour.name, "first": _name(ground, first)}
    if one.missing:
        return sentence("“{goal}” builds on “{first}”, which has never been met and cannot be trained here.", **names)
    return sentence("“{goal}” waits until “{first}” has been met.", **names)


def _name(ground: Ground, key: str) -> str:
    behaviour = ground.catalogue.find_behaviour(key)
    return key if behaviour is None else behaviour.name


def _way(rule: Rule, ground: Ground, one: Prospect | None) -> Sentence | None:
    match rule:
        case Rule.DAYS_OFF:
            return sentence("Take a day off back.")
        case Rule.SESSIONS:
            return sentence("Allow more sessions a day.")
        case Rule.MINUTES:
            return sentence("Find more minutes, or move an appointment.")
        case Rule.FOOD:
            return sentence("Use smaller pieces, or keep more of the day's food for training; feed no less.")
        case Rule.PREREQUISITE if one is not None and one.missing:
            return sentence("Make “{first}” a goal, or drop this one.", first=_name(ground, one.missing[0]))
        case Rule.HANDOVER:
            return sentence("Give a later hand-over date.")
        case Rule.AGE:
            return sentence("Choose another goal.")
    return None
