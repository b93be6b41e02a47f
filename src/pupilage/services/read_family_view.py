"""The family's page behind a link: one stay, in plain words, without anything that the trainer leaves out."""

from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID

from pupilage.core.access import Actor, FamilyGuest
from pupilage.core.catalogue.behaviour import UnwantedBehaviour
from pupilage.core.errors import NotFound
from pupilage.core.handover.family_log import Entry, standing
from pupilage.core.handover.family_parts import MediaKind, Part
from pupilage.core.handover.follow_up import FollowUp
from pupilage.core.units import WeightUnit
from pupilage.reports.family.page import FamilyText, write_family_page
from pupilage.reports.pack.options import Language, usual_language
from pupilage.services.gather_pack import facts_of
from pupilage.services.plan_follow_ups import follow_ups_of
from pupilage.services.save_family_page import Choices, MediaLine, choices_of, list_media
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Programme
from pupilage.storage.queries.family import list_entries, list_own_entries, media_of, page_of, stay_of
from pupilage.storage.queries.programmes import programme_readable_by

MOST_OWN = 30
"""So many of the newest entries are shown; all of them are kept."""


@dataclass(frozen=True)
class FamilyView:
    """What the page shows. own: entries of this link that stand, the newest first; ask: the follow-up to do now."""

    stay: UUID
    text: FamilyText
    media: tuple[MediaLine, ...]
    own: tuple[Entry, ...]
    unwanted: tuple[UnwantedBehaviour, ...]
    ask: FollowUp | None
    may_write: bool
    language: Language


def read_family_view(guest: FamilyGuest, *, now: datetime) -> FamilyView:
    """Return the page of a link. Who may: whoever has the link; every query is of its stay alone."""
    programme = stay_of(guest)
    choices = choices_of(page_of(programme))
    ask = None
    if guest.may_write:
        ask = next(
            (one for one in follow_ups_of(guest, programme, list_entries(programme), now=now) if one.is_open), None
        )
    return FamilyView(
        stay=programme.id,
        text=_text(programme, choices, guest, now=now),
        media=() if Part.MEDIA in choices.parts_left_out else list_media(programme),
        own=tuple(reversed(standing(list_own_entries(guest))))[:MOST_OWN],
        unwanted=tuple(load_catalogue().unwanted.values()),
        ask=ask,
        may_write=guest.may_write,
        language=usual_language(guest.language),
    )


def preview_family_view(actor: Actor, programme_id: UUID, language: str, *, now: datetime) -> FamilyView:
    """Return the page as a family would see it, for the trainer. Who may: whoever may read. Raises NotFound."""
    programme = programme_readable_by(actor, programme_id)
    choices = choices_of(page_of(programme))
    media = () if Part.MEDIA in choices.parts_left_out else list_media(programme)
    guest = FamilyGuest(
        link_id=programme.id, workspace_id=actor.workspace_id, programme_id=programme.id, dog_id=programme.dog_id,
        for_whom="", may_write=False, timezone=actor.timezone, weight_unit=actor.weight_unit, language=language,
    )  # fmt: skip
    text = _text(programme, choices, guest, now=now)
    return FamilyView(programme.id, text, media, (), (), None, may_write=False, language=usual_language(language))


def get_shown_media(guest: FamilyGuest, media_id: UUID) -> tuple[bytes, str]:
    """Return the bytes of a picture or clip and its type of content. Raises NotFound for one not of this page."""
    shown = Part.MEDIA not in choices_of(page_of(stay_of(guest))).parts_left_out
    row = media_of(guest).filter(id=media_id).first() if shown else None
    if row is None:
        raise NotFound("This picture cannot be shown; it may have been taken away.")
    return bytes(row.body), MediaKind(row.kind).content_type


def _text(programme: Programme, choices: Choices, guest: FamilyGuest, *, now: datetime) -> FamilyText:
    facts = facts_of(guest, programme, now=now, n_weeks=0)
    goals = tuple(goal for goal in facts.goals if goal.behaviour.key not in choices.behaviours_left_out)
    return write_family_page(
        replace(facts, goals=goals),
        choices.parts_left_out,
        language=usual_language(guest.language),
        unit=WeightUnit(guest.weight_unit),
        words=choices.words,
    )
