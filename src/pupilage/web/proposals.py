"""Proposed sessions with the names that a page shows."""

from collections.abc import Iterable
from dataclasses import dataclass

from pupilage.core.catalogue.behaviour import Behaviour, Step
from pupilage.core.planning.proposal import Proposal
from pupilage.core.words import Sentence
from pupilage.services.read_catalogue import read_catalogue


@dataclass(frozen=True)
class ProposalRow:
    """A session to hold: what, at which step, and why."""

    behaviour: Behaviour
    step: Step
    reason: Sentence


def proposal_rows(proposals: Iterable[Proposal]) -> list[ProposalRow]:
    """Return the proposals with their behaviours and steps."""
    catalogue = read_catalogue()
    rows = []
    for proposal in proposals:
        behaviour = catalogue.behaviours[proposal.behaviour_key]
        step = behaviour.step(proposal.step_key) or behaviour.steps[0]
        rows.append(ProposalRow(behaviour, step, proposal.reason))
    return rows
