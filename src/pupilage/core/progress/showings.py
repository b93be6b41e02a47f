"""Where and with whom a behaviour has been shown: counted by the names that its sessions carry."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, tzinfo

from pupilage.core.clock import local_day
from pupilage.core.handover.places import FEW, LATELY, LEAST, RELIABLE, Standing
from pupilage.core.progress.days import SessionSpan
from pupilage.core.training.posterior.belief import Belief, believe
from pupilage.core.training.record.evidence import Outcome, Trial


@dataclass(frozen=True)
class Showing:
    """The tries with one person, or at one place: all of them, and the belief that the newest LATELY carry.

    name: empty for the trainer among people, and for “not said” among places.
    """

    name: str
    n: int
    n_days: int
    last_on: date
    lately: Belief

    @property
    def standing(self) -> Standing:
        """What the count says, by the same rule as the pack's places."""
        if self.lately.n < FEW:
            return Standing.FEW
        works = self.lately.n >= LEAST and self.lately.n_met >= RELIABLE * self.lately.n
        return Standing.WORKS if works else Standing.UNSURE


def list_places(trials: Sequence[Trial], spans: Mapping[str, SessionSpan], zone: tzinfo) -> tuple[Showing, ...]:
    """Return the places at which one behaviour was tried, the newest first; see `list_people`."""
    return _list(trials, {key: span.place for key, span in spans.items()}, zone)


def list_people(trials: Sequence[Trial], spans: Mapping[str, SessionSpan], zone: tzinfo) -> tuple[Showing, ...]:
    """Return the people with whom one behaviour was tried, the newest first.

    Parameters: trials, of the behaviour in time order; spans, of their sessions by id. Names that differ in nothing
    but large and small letters are one, written as they were last. A void try is not counted.
    """
    return _list(trials, {key: span.handler for key, span in spans.items()}, zone)


def _list(trials: Sequence[Trial], names: Mapping[str, str], zone: tzinfo) -> tuple[Showing, ...]:
    own: dict[str, list[Trial]] = {}
    written: dict[str, str] = {}
    for trial in trials:
        if trial.outcome is Outcome.VOID or trial.session_id not in names:
            continue
        name = names[trial.session_id]
        own.setdefault(name.casefold(), []).append(trial)
        written[name.casefold()] = name
    found = [_showing(written[key], some, zone) for key, some in own.items()]
    return tuple(sorted(found, key=lambda one: one.last_on, reverse=True))


def _showing(name: str, trials: Sequence[Trial], zone: tzinfo) -> Showing:
    days = {local_day(trial.at, zone) for trial in trials}
    return Showing(name, len(trials), len(days), max(days), believe(trials[-LATELY:]))
