"""`pupilage decide`: counts in, decision out; no database."""

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import click

from pupilage.cli.clock import now
from pupilage.cli.printing import json_option, print_json
from pupilage.core.errors import InvalidInput, NotFound, Problem
from pupilage.core.words import percent

if TYPE_CHECKING:
    from pupilage.core.catalogue.behaviour import Behaviour
    from pupilage.core.training.criterion.decision import Decision
    from pupilage.core.training.record.evidence import Outcome, Trial

MAX_TRIALS = 1000
BETWEEN = timedelta(seconds=10)
"""Trials without times are set this far apart, on one day: as if they were one session."""


@dataclass(frozen=True)
class Answer:
    """What is printed."""

    behaviour: str
    step: str
    decision: "Decision"


@click.command()
@click.option("--behaviour", required=True, help="A key of the catalogue.", metavar="KEY")
@click.option("--step", help="The step's key.  [default: the first]", metavar="KEY")
@click.option("--met", type=int, default=0, help="Trials met.", metavar="N")
@click.option("--missed", type=int, default=0, help="Trials missed.", metavar="N")
@click.option("--helped", type=int, default=0, help="Trials met with help.", metavar="N")
@click.option("--trials", help="The trials in order: m met, x missed, h helped, v void.", metavar="'m m x h'")
@json_option
def decide(
    behaviour: str, step: str | None, met: int, missed: int, helped: int, trials: str | None, as_json: bool
) -> None:
    """Say whether to raise, keep or lower the criterion after these trials.

    Counts alone tell no order; they are read as mixed evenly. --trials tells it. Reads no database.
    """
    from pupilage.core.training.criterion.decision import decide as decide_by_rule
    from pupilage.core.training.posterior.knowledge import know

    entry, step_key = _find_step(behaviour, step)
    outcomes = _mixed(met, missed, helped) if trials is None else _in_order(trials, met + missed + helped)
    at = now()
    known = know({entry.key: entry}, _as_trials(entry, step_key, outcomes, at))
    decision = decide_by_rule(entry, step_key, known, session_id=None, now=at)
    if as_json:
        print_json(_facts(Answer(entry.key, step_key, decision)))
    else:
        _print(entry, decision)


def _find_step(behaviour: str, step: str | None) -> "tuple[Behaviour, str]":
    from pupilage.storage.catalogue_files import load_catalogue

    entry = load_catalogue().find_behaviour(behaviour)
    if entry is None:
        raise NotFound("“{key}” is not in the catalogue; `pupilage catalogue` lists what is.", key=behaviour)
    return entry, entry.steps[0].key if step is None else step


def _mixed(met: int, missed: int, helped: int) -> "list[Outcome]":
    """Return the outcomes spread evenly, so that no run of misses is made up at the end."""
    from pupilage.core.training.record.evidence import Outcome

    counts = {Outcome.MET: met, Outcome.MISSED: missed, Outcome.HELPED: helped}
    problems = [
        Problem(f"--{outcome.value}", "{n} trials cannot be; give a number from 0 to {most}.", n=n, most=MAX_TRIALS)
        for outcome, n in counts.items()
        if not 0 <= n <= MAX_TRIALS
    ]
    if problems:
        raise InvalidInput(problems)
    # A shared place goes to the miss first and the met trial last.
    spread = [((i + 0.5) / n, -n, outcome) for outcome, n in counts.items() for i in range(n)]
    return [outcome for _, _, outcome in sorted(spread, key=lambda one: one[0])]


def _in_order(trials: str, n_counted: int) -> "list[Outcome]":
    from pupilage.core.sheets.cells import read_outcome

    if n_counted:
        raise InvalidInput.of("--trials", "Give either --trials or counts, not both.")
    words = trials.replace(",", " ").split()
    outcomes = [read_outcome(word) for word in words]
    problems = [
        Problem("--trials", "“{word}” is no outcome; write m (met), x (missed), h (helped) or v (void).", word=word)
        for word, outcome in zip(words, outcomes, strict=True)
        if outcome is None
    ]
    if len(words) > MAX_TRIALS:
        problems.append(Problem("--trials", "{n} trials are too many; give the newest.", n=len(words)))
    if problems:
        raise InvalidInput(problems)
    return [outcome for outcome in outcomes if outcome is not None]


def _as_trials(entry: "Behaviour", step: str, outcomes: "list[Outcome]", at: Any) -> "list[Trial]":
    from pupilage.core.training.record.evidence import SessionKind, Trial

    return [
        Trial(
            event_id=str(n),
            session_id="",
            at=at - BETWEEN * (len(outcomes) - n),
            behaviour=entry.key,
            step=step,
            outcome=outcome,
            kind=SessionKind.TRAINING,
        )
        for n, outcome in enumerate(outcomes)
    ]


def _facts(answer: Answer) -> dict[str, Any]:
    reading = answer.decision.reading
    low, high = reading.interval()
    return {
        "behaviour": answer.behaviour,
        "step": answer.step,
        "action": answer.decision.action,
        "next_step": answer.decision.step,
        "reason": answer.decision.reason,
        "enough": answer.decision.enough,
        "dimension": answer.decision.dimension,
        "n_met": reading.n_met,
        "n_missed": reading.n_missed,
        "n_helped": reading.n_helped,
        "p_met": reading.mean,
        "p_met_low": low,
        "p_met_high": high,
    }


def _print(entry: "Behaviour", decision: "Decision") -> None:
    low, high = decision.reading.interval()
    step = entry.step(decision.step)
    click.echo(f"{decision.action.value}: {decision.reason}")
    click.echo(f"Next step: {decision.step}, {step.summary if step else ''}")
    click.echo(f"Chance of the next one: {percent(low)} to {percent(high)} (90 % interval)")
