"""Preferences and reinforcers: every problem at once, and nothing of another workspace."""

from dataclasses import replace
from datetime import datetime
from uuid import UUID

import pytest

from pupilage.core.access import Actor
from pupilage.core.errors import Forbidden, InvalidInput
from pupilage.services.read_session_card import list_reinforcer_cards
from pupilage.services.read_workspace import read_workspace
from pupilage.services.save_reinforcer import ReinforcerEntry, save_reinforcer
from pupilage.services.set_preferences import Preferences, set_preferences
from pupilage.storage.models import Weight

pytestmark = pytest.mark.django_db


def test_change_of_unit_leaves_stored_kilograms_alone(actor: Actor, programme: UUID, now: datetime) -> None:
    before = list(Weight.objects.values_list("weight_kg", flat=True))
    set_preferences(actor, Preferences("en", "Europe/Lisbon", "lb"), now=now)
    assert list(Weight.objects.values_list("weight_kg", flat=True)) == before
    assert read_workspace(actor).weight_unit == "lb"


def test_every_wrong_preference_is_named_at_once(actor: Actor, now: datetime) -> None:
    with pytest.raises(InvalidInput) as caught:
        set_preferences(actor, Preferences("xx", "Mars/Olympus", "stone"), now=now)
    assert [problem.where for problem in caught.value.problems] == ["language", "timezone", "weight_unit"]


def test_preferences_of_one_workspace_leave_the_other_alone(actor: Actor, stranger: Actor, now: datetime) -> None:
    set_preferences(actor, Preferences("en", "Asia/Tokyo", "lb"), now=now)
    assert read_workspace(stranger).timezone == "Europe/Lisbon"


def test_reader_changes_neither(reader: Actor, now: datetime) -> None:
    with pytest.raises(Forbidden):
        set_preferences(reader, Preferences("en", "Asia/Tokyo", "lb"), now=now)
    with pytest.raises(Forbidden):
        save_reinforcer(reader, ReinforcerEntry("cheese", 0.5), now=now)


def test_same_name_changes_the_reinforcer_and_another_workspace_keeps_its_own(
    actor: Actor, stranger: Actor, now: datetime
) -> None:
    entry = ReinforcerEntry("cheese", 0.5, 403.0)
    save_reinforcer(actor, entry, now=now)
    save_reinforcer(stranger, replace(entry, piece_g=0.9), now=now)
    save_reinforcer(actor, replace(entry, piece_g=0.3), now=now)
    assert [card.piece_g for card in list_reinforcer_cards(actor)] == [0.3]
    assert [card.piece_g for card in list_reinforcer_cards(stranger)] == [0.9]


@pytest.mark.parametrize("wrong", [float("nan"), float("inf"), -0.1, 51.0])
def test_impossible_piece_is_refused(actor: Actor, now: datetime, wrong: float) -> None:
    with pytest.raises(InvalidInput):
        save_reinforcer(actor, ReinforcerEntry("cheese", wrong), now=now)
