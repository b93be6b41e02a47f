"""Which goals to propose at intake: from the catalogue, by age, days and household."""

from dataclasses import dataclass

from pupilage.core.catalogue.behaviour import Behaviour, Catalogue
from pupilage.core.words import Sentence, sentence

GOALS_A_WEEK = 4.0
"""Behaviours that a stay of one week has room for. Common practice, no source; the planner refines it."""
MIN_GOALS, MAX_GOALS = 4, 14
RESIDENT_ONLY = "calm-near-dog"


@dataclass(frozen=True)
class GoalProposal:
    """A behaviour with the step proposed as its goal. chosen: ticked by default; reason says why or why not."""

    behaviour: Behaviour
    step: str
    weight: int
    reason: Sentence
    chosen: bool


def propose_goals(catalogue: Catalogue, *, age_weeks: float, n_days: int, has_resident: bool) -> list[GoalProposal]:
    """Return every behaviour with a proposal, the weightiest first, prerequisites before what builds on them.

    **Model**: old enough by the hand-over; then by weight, as many as the days have room for (`GOALS_A_WEEK` for
    each week). A chosen behaviour brings its prerequisites along.

    Parameters: age_weeks at arrival; n_days of the stay; has_resident whether a dog lives there.
    """
    age_at_handover = age_weeks + n_days / 7
    room = round(min(MAX_GOALS, max(MIN_GOALS, GOALS_A_WEEK * n_days / 7)))
    ranked = sorted(catalogue.behaviours.values(), key=lambda b: (-_weight(b, has_resident), b.key))
    fit = [b for b in ranked if b.min_age_weeks <= age_at_handover and (has_resident or b.key != RESIDENT_ONLY)]
    chosen: dict[str, Behaviour] = {}
    for behaviour in fit:
        needed = _with_prerequisites(behaviour, catalogue)
        new = [b for b in needed if b.key not in chosen]
        if len(chosen) + len(new) <= room and all(b.min_age_weeks <= age_at_handover for b in new):
            chosen.update((b.key, b) for b in new)
    return [
        GoalProposal(
            behaviour=b,
            step=b.target,
            weight=_weight(b, has_resident),
            reason=_reason(b, age_at_handover, chosen=b.key in chosen, has_resident=has_resident),
            chosen=b.key in chosen,
        )
        for b in ranked
    ]


def _weight(behaviour: Behaviour, has_resident: bool) -> int:
    """Return the default weight; living with another dog makes calm near it matter most."""
    return 5 if has_resident and behaviour.key == RESIDENT_ONLY else behaviour.weight


def _with_prerequisites(behaviour: Behaviour, catalogue: Catalogue) -> list[Behaviour]:
    """Return the behaviour after everything it builds on."""
    found: dict[str, Behaviour] = {}

    def visit(key: str) -> None:
        if key in found or key not in catalogue.behaviours:
            return
        for prerequisite in catalogue.behaviours[key].prerequisites:
            visit(prerequisite)
        found[key] = catalogue.behaviours[key]

    visit(behaviour.key)
    return list(found.values())


def _reason(behaviour: Behaviour, age_at_handover: float, *, chosen: bool, has_resident: bool) -> Sentence:
    if behaviour.min_age_weeks > age_at_handover:
        return sentence("Too young still: from {n} weeks of age.", n=behaviour.min_age_weeks)
    if behaviour.key == RESIDENT_ONLY and not has_resident:
        return sentence("No dog lives there to practise with.")
    if chosen:
        return sentence("A family needs this early, and the days have room for it.")
    return sentence("Can wait: the days are better spent on the others first.")
