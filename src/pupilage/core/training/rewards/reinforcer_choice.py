"""With which reinforcer to begin: the best for a difficult step, the plainest that still works for an easy one.

Keeping what the dog values most for what is hardest is common practice, no source.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from pupilage.core.training.rewards.reinforcers import EASY, Band, Comparison
from pupilage.core.words import Sentence, sentence

SURE = 0.8
"""How sure it must be that another one is better than the usual one, or that a plain one works, before it is named."""

STILL_WORKS = 0.75
"""A plain reinforcer still works where the step is met with it three times in four, this surely."""


@dataclass(frozen=True)
class ReinforcerChoice:
    """The reinforcer to take and why; `enough` is False while the record cannot tell. None when the list is empty."""

    reinforcer: str | None
    reason: Sentence
    enough: bool


def choose_reinforcer(
    p: float, comparison: Comparison, offered: Sequence[str], *, habit: str | None = None
) -> ReinforcerChoice:
    """Return which of the reinforcers on offer to begin with, for a step expected to be met with p (0 to 1).

    Parameters: offered, from the plainest to the finest, as the trainer's list stands (out of the ration first); habit,
    what this behaviour was practised with last.
    Model: difficult (p below 0.75): the one whose chance of being better than the usual one there is the highest, if
    it is 0.8 or more; easy: the first on the list with which the step is 0.8 sure to be met in 0.75. Otherwise the
    habit, else the usual one, else the first on the list; the sentence says where the record cannot tell.
    """
    if not offered:
        return ReinforcerChoice(None, sentence("No reinforcer is on your list yet."), enough=False)
    usual = next((name for name in (habit, comparison.usual) if name is not None and name in offered), offered[0])
    return _for_easy(p, comparison, offered, usual) if p >= EASY else _for_difficult(comparison, offered, usual)


def _for_difficult(comparison: Comparison, offered: Sequence[str], usual: str) -> ReinforcerChoice:
    shown = [s for name in offered if (s := comparison.of(name, Band.DIFFICULT)) is not None and s.enough]
    better = [s for s in shown if s.p_better is not None and s.p_better >= SURE]
    if better:
        best = max(better, key=lambda s: s.p_better or 0.0)
        reason = sentence(
            "A difficult step: with {name} this pup meets more than with {usual} ({p:.0%} sure, {n} tries).",
            name=best.reinforcer,
            usual=comparison.usual or usual,
            p=best.p_better or 0.0,
            n=best.n,
        )
        return ReinforcerChoice(best.reinforcer, reason, enough=True)
    if not any(s.p_better is not None for s in shown):
        return _cannot_tell(usual)
    reason = sentence("A difficult step: none on your list is clearly better than {usual}.", usual=usual)
    return ReinforcerChoice(usual, reason, enough=True)


def _for_easy(p: float, comparison: Comparison, offered: Sequence[str], usual: str) -> ReinforcerChoice:
    for name in offered:
        shift = comparison.of(name, Band.EASY)
        if shift is not None and shift.enough and shift.p_at_least(STILL_WORKS, p) >= SURE:
            reason = sentence(
                "An easy step: {name} still works, {met} of {n} met where about {expected} were expected.",
                name=name,
                met=round(shift.n * (shift.seen or 0.0)),
                n=shift.n,
                expected=round(shift.n * (shift.expected or 0.0)),
            )
            return ReinforcerChoice(name, reason, enough=True)
    return _cannot_tell(usual)


def _cannot_tell(usual: str) -> ReinforcerChoice:
    reason = sentence("Not enough yet to tell your reinforcers apart: begin with {usual}.", usual=usual)
    return ReinforcerChoice(usual, reason, enough=False)
