"""A family's link: told once, kept only as a hash, stopped, past its day or guessed: the same refusal."""

from dataclasses import fields
from datetime import timedelta

import pytest

from pupilage.core.access import Actor, FamilyGuest
from pupilage.core.errors import Forbidden, InvalidInput, NotFound
from pupilage.services.share_family_page import (
    MOST_LINKS,
    OPENED_EVERY,
    NewLink,
    list_family_links,
    make_family_link,
    open_family_link,
    revoke_family_link,
)
from pupilage.storage.models import AuditEntry, FamilyLink

HANDOVER_END_WEEKS = timedelta(weeks=10)


@pytest.fixture
def token(actor, programme, now):
    return make_family_link(actor, programme, NewLink("Grandmother", may_write=True), now=now)


def test_token_has_256_bits_and_stands_nowhere_in_the_database(token):
    assert len(token) == 43
    row = FamilyLink.objects.get()
    assert token not in str(row.__dict__)
    assert len(row.token_hash) == 64


def test_link_opens_one_stay_and_says_for_whom(token, actor, programme, dog, now):
    guest = open_family_link(token, now=now)
    assert (guest.programme_id, guest.dog_id, guest.for_whom) == (programme, dog, "Grandmother")
    assert guest.may_write


def test_guest_is_no_actor_and_carries_no_person():
    assert not issubclass(FamilyGuest, Actor)
    assert not {"user_id", "role"} & {field.name for field in fields(FamilyGuest)}


def test_stopped_link_a_late_one_and_a_guess_are_refused_in_the_same_words(token, actor, programme, now):
    late = list_family_links(actor, programme, now=now)[0].expires_at
    said = []
    for given, at in ((token, late), ("x" * 43, now)):
        with pytest.raises(NotFound) as refused:
            open_family_link(given, now=at)
        said.append(str(refused.value))
    revoke_family_link(actor, programme, FamilyLink.objects.get().id, now=now)
    with pytest.raises(NotFound) as refused:
        open_family_link(token, now=now)
    assert {*said, str(refused.value)} == {str(refused.value)}


def test_every_refusal_asks_the_database_once_and_the_same(token, now, django_assert_num_queries):
    late = FamilyLink.objects.get().expires_at
    asked = []
    for given, at in ((token, late), ("x" * 43, now)):
        with django_assert_num_queries(1) as queries, pytest.raises(NotFound):
            open_family_link(given, now=at)
        asked.append(queries[0]["sql"].split("WHERE")[0])
    assert asked[0] == asked[1]


def test_link_ends_weeks_after_the_hand_over_and_after_today_once_that_is_past(actor, programme, now):
    make_family_link(actor, programme, NewLink("early", weeks=2), now=now)
    later = now + timedelta(weeks=20)
    make_family_link(actor, programme, NewLink("late", weeks=2), now=later)
    late, early = list_family_links(actor, programme, now=later)
    assert early.expires_at.date().isoformat() == "2026-06-06"
    assert late.expires_at.date() == (later + timedelta(weeks=2)).date()
    assert late.works
    assert not early.works


def test_opening_is_noted_once_a_minute(token, actor, programme, now):
    for at in (now, now + OPENED_EVERY / 2):
        open_family_link(token, now=at)
    assert list_family_links(actor, programme, now=now)[0].last_opened_at == now
    open_family_link(token, now=now + OPENED_EVERY)
    assert list_family_links(actor, programme, now=now)[0].last_opened_at == now + OPENED_EVERY


def test_one_link_is_stopped_and_the_others_go_on(token, actor, programme, now):
    other = make_family_link(actor, programme, NewLink("Linden house"), now=now)
    first = FamilyLink.objects.get(for_whom="Grandmother")
    for _ in range(2):
        revoke_family_link(actor, programme, first.id, now=now)
    assert open_family_link(other, now=now).for_whom == "Linden house"
    assert AuditEntry.objects.filter(action="revoke-family-link").count() == 1


@pytest.mark.parametrize("new", [NewLink(" "), NewLink("x" * 81), NewLink("a", weeks=0), NewLink("a", weeks=53)])
def test_link_without_a_name_or_with_odd_weeks_is_refused(new, actor, programme, now):
    with pytest.raises(InvalidInput):
        make_family_link(actor, programme, new, now=now)


def test_more_links_than_anybody_needs_are_refused(actor, programme, now):
    for n in range(MOST_LINKS):
        make_family_link(actor, programme, NewLink(f"aunt {n}"), now=now)
    with pytest.raises(InvalidInput, match="stop one"):
        make_family_link(actor, programme, NewLink("one more"), now=now)


def test_reader_makes_and_stops_no_link_and_a_stranger_finds_none(token, reader, stranger, programme, now):
    link = FamilyLink.objects.get().id
    with pytest.raises(Forbidden):
        make_family_link(reader, programme, NewLink("a"), now=now)
    with pytest.raises(Forbidden):
        revoke_family_link(reader, programme, link, now=now)
    for ask in (
        lambda: make_family_link(stranger, programme, NewLink("a"), now=now),
        lambda: revoke_family_link(stranger, programme, link, now=now),
        lambda: list_family_links(stranger, programme, now=now),
    ):
        with pytest.raises(NotFound):
            ask()


def test_token_that_is_no_token_is_refused_too(now, db):
    for given in ("", "‮😀" * 40, "a" * 5000):
        with pytest.raises(NotFound):
            open_family_link(given, now=now)
