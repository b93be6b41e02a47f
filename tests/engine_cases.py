"""Made-up behaviours and trials for the tests of the learning engine."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

from pupilage.core.catalogue.behaviour import Behaviour, Criterion, OutcomeWords, Place, Prompt, Scoring, Step
from pupilage.core.training.posterior.knowledge import Knowledge, know
from pupilage.core.training.record.evidence import Hold, Outcome, SessionKind, Trial

START = datetime(2031, 5, 4, 9, 0, tzinfo=UTC)

LETTERS = {"m": Outcome.MET, "x": Outcome.MISSED, "h": Outcome.HELPED, "v": Outcome.VOID}
"""One letter a trial: m met, x missed, h helped, v void."""


def ladder(*durations_s: float, scoring: Scoring = Scoring.TRIAL, key: str = "wait-at-door") -> Behaviour:
    """Return a behaviour with steps a, b, c, … of these durations; the last is the target."""
    steps = tuple(
        Step(
            key=chr(ord("a") + i),
            summary=f"step {chr(ord('a') + i)}",
            criterion=Criterion(duration_s, 0.0, 0, Place.QUIET_ROOM, Prompt.CUE, None),
        )
        for i, duration_s in enumerate(durations_s)
    )
    return Behaviour(
        key=key,
        name="Wait at the door",
        definition="All four feet stay behind the sill until the release word.",
        cue="wait",
        scoring=scoring,
        prerequisites=(),
        min_age_weeks=8,
        steps=steps,
        outcomes=OutcomeWords("stays", "leaves", "stays with help", "disturbed"),
        target=steps[-1].key,
        maintain_every_days=3,
        safety=(),
        weight=3,
    )


WAIT = ladder(0.0, 0.0, 0.0, 0.0)
MAT = ladder(5.0, 30.0, 120.0, scoring=Scoring.HOLD, key="settle-on-mat")


def series(
    letters: str,
    *,
    step: str = "a",
    session: str = "s1",
    start: datetime = START,
    every_s: float = 6.0,
    kind: SessionKind = SessionKind.TRAINING,
    behaviour: str = WAIT.key,
    latencies_s: Sequence[float | None] = (),
) -> list[Trial]:
    """Return one trial a letter, `every_s` seconds apart."""
    return [
        Trial(
            event_id=f"{session}-{step}-{start:%H%M}-{i}",
            session_id=session,
            at=start + timedelta(seconds=every_s * i),
            behaviour=behaviour,
            step=step,
            outcome=LETTERS[letter],
            kind=kind,
            latency_s=latencies_s[i] if i < len(latencies_s) else None,
        )
        for i, letter in enumerate(letters)
    ]


def daily_trials(behaviour: Behaviour, letters: str, *, step: int = 0, day: int = 0) -> list[Trial]:
    """Return one training session on the day-th day, at a step counted from 0, a trial every 9 seconds."""
    return [
        Trial(
            event_id=f"{day}-{step}-{i}",
            session_id=f"s{day}",
            at=START + timedelta(days=day, seconds=9 * i),
            behaviour=behaviour.key,
            step=behaviour.steps[step].key,
            outcome=LETTERS[letter],
            kind=SessionKind.TRAINING,
        )
        for i, letter in enumerate(letters)
    ]


def known_of(trials: Sequence[Trial], behaviour: Behaviour = WAIT) -> Knowledge:
    """Return what these trials let us know of a dog that is taught one behaviour."""
    return know({behaviour.key: behaviour}, trials)


def hold_trials(*holds: tuple[float, float, bool], step: str = "b", session: str = "s1") -> list[Trial]:
    """Return one trial of MAT for each (held_s, target_s, broke), its outcome following from the times."""
    return [
        Trial(
            event_id=f"{session}-{step}-{i}",
            session_id=session,
            at=START + timedelta(minutes=i),
            behaviour=MAT.key,
            step=step,
            outcome=Outcome.MET if held >= target else Outcome.MISSED if broke else Outcome.VOID,
            kind=SessionKind.TRAINING,
            hold=Hold(held, target, broke),
        )
        for i, (held, target, broke) in enumerate(holds)
    ]


def day(n: int, *, hour: int = 9) -> datetime:
    """Return an instant on the n-th day of the tests' calendar."""
    return START.replace(hour=hour) + timedelta(days=n)
