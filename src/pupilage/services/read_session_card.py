"""What stands on the card before a session: the goals to choose from, the proposal, the pouch."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.care.food.unsafe import Finding, find_unsafe
from pupilage.core.planning.proposal import Proposal, propose_sessions
from pupilage.core.planning.standing import Standing
from pupilage.services.know_dog import know_dog
from pupilage.services.read_programme import ProgrammeHead, head_of, standings_of
from pupilage.storage.queries.dogs import list_reinforcers
from pupilage.storage.queries.programmes import programme_readable_by


@dataclass(frozen=True)
class ReinforcerCard:
    """A reinforcer to choose from: grams a piece, kcal per 100 g; findings: what in it is not fed, or not yet."""

    id: UUID
    name: str
    piece_g: float
    kcal_per_100g: float | None
    from_ration: bool
    ingredients: str = ""
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True)
class SessionCard:
    """The choices before a session. proposal is None when there are no goals yet, or nothing more fits today."""

    head: ProgrammeHead
    standings: tuple[Standing, ...]
    proposal: Proposal | None
    reinforcers: tuple[ReinforcerCard, ...]


def read_session_card(actor: Actor, programme_id: UUID, *, now: datetime) -> SessionCard:
    """Return the card for the next session. Who may: whoever may read. Raises NotFound."""
    programme = programme_readable_by(actor, programme_id)
    standings = standings_of(actor, programme, know_dog(actor, programme), now=now, compare=False)
    proposals = propose_sessions([standing.state for standing in standings], now=now, limit=1)
    return SessionCard(
        head=head_of(actor, programme, now=now),
        standings=tuple(standings),
        proposal=proposals[0] if proposals else None,
        reinforcers=tuple(list_reinforcer_cards(actor)),
    )


def list_reinforcer_cards(actor: Actor) -> list[ReinforcerCard]:
    """Return the reinforcers in use."""
    return [
        ReinforcerCard(
            r.id, r.name, r.piece_g, r.kcal_per_100g, r.from_ration, r.ingredients,
            find_unsafe(f"{r.name}; {r.ingredients}") if r.piece_g > 0 else (),
        )
        for r in list_reinforcers(actor)
    ]  # fmt: skip
