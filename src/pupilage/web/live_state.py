"""A live session as JSON for the screen, its sentences in the language of the request."""

from collections.abc import Mapping
from dataclasses import asdict
from datetime import datetime
from typing import Any

from django.utils.translation import gettext

from pupilage.core.catalogue.behaviour import Behaviour, Scoring, Step
from pupilage.core.incidents.beside import pay_multiples
from pupilage.core.training.criterion.advice import Action
from pupilage.core.training.criterion.decision import Decision
from pupilage.core.training.criterion.probe import probe_advice
from pupilage.core.training.criterion.sets_of_five import operating_characteristics, set_of_five_chances
from pupilage.core.training.posterior.reading import Reading
from pupilage.core.training.record.evidence import Outcome, Trial
from pupilage.core.training.rewards.paying import PayPlan
from pupilage.reports.formatting import show_chance, show_seconds
from pupilage.services.read_ahead import Ahead
from pupilage.services.read_beside import SecondStart
from pupilage.services.read_live_session import LiveSession
from pupilage.web.words import said

STILL_UNSURE = 0.6
"""The true chance at which a raise is called wrong when rules are compared (as in docs/science)."""


def action_word(action: Action) -> str:
    """Return the word for a decision."""
    return {
        Action.RAISE: gettext("Raise"),
        Action.KEEP: gettext("Keep"),
        Action.LOWER: gettext("Lower"),
        Action.PAUSE: gettext("Pause"),
    }[action]


def live_head(live: LiveSession) -> dict[str, Any]:
    """Return what stays the same in a session: whose it is, and the behaviour in words."""
    return {
        "id": str(live.id),
        "dog": live.dog,
        "programme": str(live.programme_id),
        "probe": live.is_probe,
        "behaviour": behaviour_state(live.behaviour),
    }


def second_state(second: LiveSession | None) -> dict[str, Any] | None:
    """Return the mat beside a session as the screen draws it."""
    if second is None:
        return None
    own_id = str(second.id)
    return {"id": own_id, "head": live_head(second), "state": live_state(second), "multiples": pay_multiples(own_id)}


def second_choice(second: SecondStart) -> dict[str, Any]:
    """Return a mat that could be begun, what its start would say, and ids to begin it with, each with its pays.

    states: by step, for a dog that is asked what it can already.
    """
    live = second.live
    start = {"programme": str(live.programme_id), "behaviour": live.behaviour.key, "step": live.step.key}
    mats = [{"session": str(one), "multiples": pay_multiples(str(one))} for one in second.ids]
    states = {key: live_state(one) for key, one in second.by_step.items()}
    return {"head": live_head(live), "state": live_state(live), "start": start, "mats": mats, "states": states}


def behaviour_state(behaviour: Behaviour) -> dict[str, Any]:
    """Return a behaviour as the session screen needs it."""
    return {
        "key": behaviour.key,
        "name": behaviour.name,
        "cue": behaviour.cue,
        "hold": behaviour.scoring is Scoring.HOLD,
        "outcomes": asdict(behaviour.outcomes),
        "safety": list(behaviour.safety),
        "steps": [
            {"key": step.key, "summary": step.summary, "duration_s": step.criterion.duration_s}
            for step in behaviour.steps
        ],
    }


def live_state(live: LiveSession) -> dict[str, Any]:
    """Return what the session screen draws. Every text is ready to show; the screen makes no sentence itself."""
    record = live.record
    tried = [trial for trial in record.trials if trial.outcome is not Outcome.VOID]
    return {
        "id": str(live.id),
        "ended": record.ended_at is not None,
        "step": live.step.key,
        "step_summary": live.step.summary,
        "pieces_left": record.pieces_left,
        "reinforcer": record.reinforcer,
        "trials": [_trial(trial) for trial in record.trials],
        "n": len(tried),
        "n_met": sum(trial.outcome is Outcome.MET for trial in tried),
        "per_min": None if live.per_min is None else f"{live.per_min:.1f}",
        "decision": _measuring(live, len(tried)) if live.is_probe else _decision(live),
        "chance": "" if live.is_probe else _chance(live.decision.reading),
        "set_of_five": None if live.is_probe else _set_of_five(live),
        "open_hold": _open_hold(live),
        "next_hold": _next_hold(live),
        "pay": pay_state(live.pay),
        "latency": _latency(live.latency_s),
        "goal": live.goal,
        "alone": _alone(live),
        "watches": [{"suggestion": one.suggestion.value, "reason": said(one.reason)} for one in live.watches],
        "seen": [{"event": one.event_id, "signs": list(one.signs), "mouth": one.mouth} for one in record.seen],
        "pays": [{"event": one.event_id, "at": _ms(one.at), "hold": one.hold} for one in record.pays],
    }


def _ms(at: datetime) -> int:
    return round(at.timestamp() * 1000)


def _alone(live: LiveSession) -> dict[str, Any] | None:
    """Return what the phone decides by when it hears nothing (`deciding.js`)."""
    alone = live.alone
    if alone is None:
        return None
    return {
        "step": alone.step,
        "run": alone.run,
        "holds": {key: [{"held_s": h.held_s, "broke": h.broke} for h in holds] for key, holds in alone.holds.items()},
        "expected_s": dict(alone.expected_s),
    }


def pay_state(plan: PayPlan | None) -> dict[str, Any] | None:
    """Return which correct responses of this session are rewarded: a list that the phone can go on with by itself."""
    if plan is None:
        return None
    return {"next": plan.next_paid, "paid": list(plan.paid), "reason": said(plan.reason)}


def _latency(typical_s: float | None) -> str:
    if typical_s is None:
        return ""
    return gettext("Usually about {time} from cue to behaviour").format(time=show_seconds(typical_s))


def ahead_state(ahead: Ahead | None) -> dict[str, Any]:
    """Return the decisions after the next tries, as the screen shows them, and what they go on from."""
    if ahead is None:
        return {"rows": {}}
    table = table_state(ahead.behaviour, ahead.decisions)
    return {"step": ahead.step, "n": ahead.n_trials, "after": ahead.newest_trial, **table}


def table_state(behaviour: Behaviour, decisions: Mapping[str, Decision]) -> dict[str, Any]:
    """Return a decision table: for each string of outcomes the number of a row, and the rows as the screen shows them.

    Most strings share their row with others, so that a table of 500 strings is a few kilobytes.
    """
    numbers: dict[tuple[str, ...], int] = {}
    rows = {}
    for outcomes, decision in decisions.items():
        shown = _shown(decision, behaviour.step(decision.step) or behaviour.steps[0])
        rows[outcomes] = numbers.setdefault(tuple(shown.values()), len(numbers))
    names = ("action", "word", "reason", "step", "step_summary")
    return {"rows": rows, "says": [dict(zip(names, row, strict=True)) for row in numbers]}


def _chance(reading: Reading) -> str:
    low, high = reading.interval()
    return gettext("Next try: {mean}, likely {low} to {high}").format(
        mean=show_chance(reading.mean), low=show_chance(low), high=show_chance(high)
    )


def _next_hold(live: LiveSession) -> dict[str, Any] | None:
    hold = live.next_hold
    if hold is None:
        return None
    return {"target_s": hold.target_s, "reason": said(hold.reason)}


def _decision(live: LiveSession) -> dict[str, str]:
    return _shown(live.decision, live.next_step)


def _shown(decision: Decision, step: Step) -> dict[str, str]:
    return {
        "action": decision.action.value,
        "word": action_word(decision.action),
        "reason": said(decision.reason),
        "step": step.key,
        "step_summary": step.summary,
    }


def _measuring(live: LiveSession, n_trials: int) -> dict[str, str]:
    """Return the advice for a probe: it is kept apart from training and decides nothing."""
    return {
        "action": Action.KEEP.value,
        "word": gettext("Measure"),
        "reason": said(probe_advice(n_trials)),
        "step": live.step.key,
        "step_summary": live.step.summary,
    }


def _set_of_five(live: LiveSession) -> dict[str, str] | None:
    """Return what the common practice would do with the last complete set, and how often each rule errs."""
    if live.set_of_five is None:
        return None
    by_five = set_of_five_chances(STILL_UNSURE)[Action.RAISE]
    ours = operating_characteristics(STILL_UNSURE).p_raise
    return {
        "text": gettext("Sets of five would say: {word}").format(word=action_word(live.set_of_five)),
        "errs": gettext(
            "Where {unsure} of tries succeed, one set of five raises {by_five} of the time, our test {ours}."
        ).format(unsure=show_chance(STILL_UNSURE), by_five=show_chance(by_five), ours=show_chance(ours)),
        "step": live.set_of_five_step.key,
        "step_summary": live.set_of_five_step.summary,
    }


def _trial(trial: Trial) -> dict[str, Any]:
    return {
        "event": trial.event_id,
        "outcome": trial.outcome.value,
        "held": show_seconds(trial.hold.held_s) if trial.hold else None,
        "step": trial.step,
        "at": _ms(trial.at),
        "latency_s": trial.latency_s,
        "pieces": trial.pieces,
        "hold": {"held_s": trial.hold.held_s, "broke": trial.hold.broke} if trial.hold else None,
    }


def _open_hold(live: LiveSession) -> dict[str, Any] | None:
    event = live.record.open_hold
    if event is None:
        return None
    return {"id": event.id, "at": event.at.isoformat(), "target_s": event.payload["target_s"]}
