"""What is known of one dog: its trials, and the posterior folded from them. Every judgement is asked of this.

The family weights and the form of a day are shared by all behaviours, so a judgement on one needs the trials of all.
A knowledge is a value; it only keeps what has been worked out from it.
"""

from bisect import bisect_left
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, tzinfo
from operator import attrgetter
from typing import Any, TypeVar

from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.clock import day_bounds, local_day, require_aware
from pupilage.core.training.posterior.prior import Prior
from pupilage.core.training.posterior.state import DogState, Now, arrive, at_moment, fold, fresh_state, in_time
from pupilage.core.training.record.evidence import Trial

Found = TypeVar("Found")


@dataclass(frozen=True)
class Knowledge:
    """A dog's trials in time order, and its state after them.

    n_before, before: how many of the trials lie before the newest session, and the state then: what a correction in
    that session leaves standing. What was known on a morning is handed on to the knowledges of that day.
    """

    behaviours: Mapping[str, Behaviour]
    trials: tuple[Trial, ...]
    state: DogState
    n_before: int
    before: DogState
    _kept: dict[tuple[Any, ...], Any] = field(default_factory=dict, compare=False, repr=False)
    _mornings: "dict[date, Knowledge]" = field(default_factory=dict, compare=False, repr=False)

    def of(self, behaviour: str) -> Sequence[Trial]:
        """Return the trials of one behaviour, in time order."""
        return self._own.get(behaviour, ())

    @property
    def _own(self) -> dict[str, list[Trial]]:
        return self.keep(("trials",), self._by_behaviour)

    def _by_behaviour(self) -> dict[str, list[Trial]]:
        own: dict[str, list[Trial]] = {}
        for trial in self.trials:
            own.setdefault(trial.behaviour, []).append(trial)
        return own

    def with_trial(self, trial: Trial) -> "Knowledge":
        """Return what would be known after one more trial, at or after the newest: quicker than `know` of them all."""
        known_session = bool(self.trials) and self.trials[-1].session_id == trial.session_id
        n, before = (self.n_before, self.before) if known_session else (len(self.trials), self.state)
        after = Knowledge(
            self.behaviours, (*self.trials, trial), fold(self.state, [trial]), n, before, _mornings=self._mornings
        )
        after.keep(("trials",), lambda: self._own_and([trial]))
        return after

    def _own_and(self, more: Iterable[Trial]) -> dict[str, list[Trial]]:
        """Return the trials by behaviour with newer ones added; this knowledge keeps its own lists."""
        own = dict(self._own)
        for trial in more:
            own[trial.behaviour] = [*own.get(trial.behaviour, ()), trial]
        return own

    def at(self, behaviour: str, now: datetime) -> Now:
        """Return what is believed of a behaviour on the day of `now`, the block in progress counted."""
        day = local_day(require_aware(now, "now"), self.state.zone)
        return self.keep(("at", behaviour, day), lambda: at_moment(self.arrived(now), behaviour, now=now))

    def arrived(self, now: datetime) -> DogState:
        """Return the state on the day of `now`: earlier days are over."""
        return self.keep(("day", local_day(now, self.state.zone)), lambda: arrive(self.state, now))

    def morning(self, now: datetime) -> "Knowledge":
        """Return what was known before the first trial of the local day of `now`: plans for a day are made on this."""
        day = local_day(require_aware(now, "now"), self.state.zone)
        start, _ = day_bounds(day, self.state.zone)
        n = bisect_left(self.trials, start, key=attrgetter("at"))
        found = self._mornings.get(day)
        if found is None or found.trials != self.trials[:n]:
            dawn = self.state.dawn if self.state.day == day else arrive(self.state, now)
            state = self.state if dawn is None else dawn
            found = Knowledge(self.behaviours, self.trials[:n], state, n, state)
            self._mornings.clear()
            self._mornings[day] = found
        return found

    def keep(self, key: tuple[Any, ...], make: Callable[[], Found]) -> Found:
        """Return what was made under this key before, or make it."""
        if key not in self._kept:
            self._kept[key] = make()
        found: Found = self._kept[key]
        return found


def know(
    behaviours: Mapping[str, Behaviour],
    trials: Iterable[Trial],
    *,
    zone: tzinfo = UTC,
    prior: Prior | None = None,
    earlier: Knowledge | None = None,
) -> Knowledge:
    """Return what these trials, all of one dog and in whatever order, let us know.

    Parameters: zone, where the dog's days begin and end; earlier, a knowledge of the same dog, behaviours, zone and
    prior, whose fold is gone on with where the trials allow it: the answer is the same, and comes sooner.
    Raises: InvalidInput as `history.require_history`.
    """
    ordered, n_known = _in_time(behaviours, tuple(trials), earlier)
    n_before = _n_before_newest_session(ordered)
    state, n_folded = _go_on(earlier, ordered, n_before)
    if state is None:
        state = fresh_state(behaviours.values(), prior=prior, zone=zone)
    before = fold(state, ordered[n_folded:n_before])
    mornings = {} if earlier is None else earlier._mornings
    after = fold(before, ordered[n_before:])
    known = Knowledge(behaviours, ordered, after, n_before, before, _mornings=dict(mornings))
    if earlier is not None and n_known:
        own = earlier._own_and(ordered[n_known:])
        known.keep(("trials",), lambda: own)
    return known


def _in_time(
    behaviours: Mapping[str, Behaviour], trials: tuple[Trial, ...], earlier: Knowledge | None
) -> tuple[tuple[Trial, ...], int]:
    """Return the trials in time order, and how many of them are all those known earlier: they are not sorted again."""
    n = 0 if earlier is None else len(earlier.trials)
    if earlier is not None and n and trials[:n] == earlier.trials:
        more = in_time(behaviours, trials[n:])
        if not more or more[0].at > earlier.trials[-1].at:
            return (*earlier.trials, *more), n
    return tuple(in_time(behaviours, trials)), 0


def _n_before_newest_session(ordered: Sequence[Trial]) -> int:
    """Return how many trials lie before the first one of the session that the newest one belongs to."""
    if not ordered:
        return 0
    newest = ordered[-1].session_id
    return next(i for i, trial in enumerate(ordered) if trial.session_id == newest)


def _go_on(earlier: Knowledge | None, ordered: tuple[Trial, ...], n_before: int) -> tuple[DogState | None, int]:
    """Return the newest earlier state that still stands and lies before the newest session, and its trials."""
    if earlier is None:
        return None, 0
    known = (len(earlier.trials), earlier.state), (earlier.n_before, earlier.before)
    for n, state in known:
        if n <= n_before and ordered[:n] == earlier.trials[:n]:
            return state, n
    return None, 0
