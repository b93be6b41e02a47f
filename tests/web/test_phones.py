"""Pairing a phone: once, for ten minutes, as the one who made the code; and signing it out from the laptop."""

import re
from collections.abc import Callable
from datetime import datetime, timedelta
from uuid import UUID

import pytest
from django.test import Client, override_settings
from django.urls import reverse

from pupilage.core.access import Actor
from pupilage.core.errors import NotFound
from pupilage.services.pair_phone import (
    CODE_LASTS,
    list_phones,
    make_pairing_code,
    note_phone_seen,
    pair_phone,
    revoke_phone,
)
from pupilage.storage.models import AuditEntry, PairedPhone

pytestmark = pytest.mark.django_db

IPHONE = "Mozilla/5.0 (iPhone; CPU iPhone OS 17_0 like Mac OS X)"


@pytest.fixture
def phone(actor: Actor, now: datetime) -> Client:
    """A phone that was paired by its link."""
    client = Client(headers={"User-Agent": IPHONE})
    code = make_pairing_code(actor, now=now).code
    assert client.post(reverse("pair"), {"code": code}).status_code == 302
    return client


def test_paired_phone_is_signed_in_as_the_one_who_made_the_code(phone: Client, actor: Actor) -> None:
    assert phone.get("/settings/").status_code == 200
    assert phone.session["_auth_user_id"] == str(actor.user_id)
    assert [one.name for one in list_phones(actor)] == ["iPhone"]


def test_code_used_twice_refuses(actor: Actor, now: datetime) -> None:
    code = make_pairing_code(actor, now=now).code
    assert Client().post(reverse("pair"), {"code": code}).status_code == 302
    second = Client()
    answer = second.post(reverse("pair"), {"code": code})
    assert answer.status_code == 404
    assert "has been used or is older than 10 minutes" in answer.content.decode()
    assert second.get("/").status_code == 302
    assert len(list_phones(actor)) == 1


def test_expired_code_refuses(actor: Actor, now: datetime, monkeypatch: pytest.MonkeyPatch) -> None:
    code = make_pairing_code(actor, now=now).code
    monkeypatch.setattr("pupilage.web.clock.now", lambda: now + CODE_LASTS)
    assert Client().post(reverse("pair"), {"code": code}).status_code == 404
    assert not list_phones(actor)


def test_looking_at_the_link_uses_nothing_up(actor: Actor, now: datetime) -> None:
    """A camera or a messenger fetches the address to draw a preview."""
    code = make_pairing_code(actor, now=now).code
    for _ in range(3):
        answer = Client().get(reverse("pair-link", args=[code]))
        assert answer.status_code == 200
        # with no-referrer browsers send "Origin: null" along with the form, which the check of origins refuses
        assert answer["Referrer-Policy"] == "same-origin"
    assert Client().post(reverse("pair"), {"code": code}).status_code == 302


def test_code_is_taken_as_people_type_it(actor: Actor, now: datetime) -> None:
    code = make_pairing_code(actor, now=now).code
    assert pair_phone(f" {code.lower().replace('-', ' ')} ", "mine", now=now).name == "mine"


def test_new_code_stops_the_one_before(actor: Actor, now: datetime) -> None:
    first = make_pairing_code(actor, now=now).code
    make_pairing_code(actor, now=now)
    with pytest.raises(NotFound):
        pair_phone(first, "", now=now)


def test_only_a_hash_of_the_code_is_kept(actor: Actor, now: datetime) -> None:
    code = make_pairing_code(actor, now=now).code.replace("-", "")
    row = str(PairedPhone.objects.values().get()) + str(list(AuditEntry.objects.values()))
    assert code not in row
    assert re.fullmatch(r"[2-9A-HJ-NP-Z]{12}", code)


def test_revoked_phone_is_signed_out_at_its_next_request(phone: Client, actor: Actor, keeper_client: Client) -> None:
    phone_id = list_phones(actor)[0].id
    assert keeper_client.post(reverse("phone-revoke", args=[phone_id])).status_code == 302
    answer = phone.get("/")
    assert answer.status_code == 302
    assert answer["Location"].startswith("/sign-in/")
    assert keeper_client.get("/settings/").status_code == 200


def test_revoked_phone_keeps_its_unsent_taps_since_its_push_is_not_answered_as_stored(
    phone: Client, actor: Actor, now: datetime
) -> None:
    revoke_phone(actor, list_phones(actor)[0].id, now=now)
    answer = phone.post(reverse("sync-push"), {"events": []}, content_type="application/json")
    assert answer.status_code in {302, 401, 403}


def test_nobody_signs_out_the_phone_of_another(
    phone: Client, actor: Actor, reader: Actor, signed_in: Callable[[Actor], Client], stranger_client: Client
) -> None:
    path = reverse("phone-revoke", args=[list_phones(actor)[0].id])
    assert stranger_client.post(path).status_code == 404
    assert signed_in(reader).post(path).status_code == 404
    assert phone.get("/settings/").status_code == 200


def test_reader_pairs_a_phone_that_is_a_reader(reader: Actor, reader_client: Client) -> None:
    text = reader_client.post(reverse("phone-code")).content.decode()
    code = re.search(r"/pair/([^/]+)/", text)
    assert code is not None
    phone = Client()
    assert phone.post(reverse("pair"), {"code": code[1]}).status_code == 302
    assert phone.session["_auth_user_id"] == str(reader.user_id)
    assert phone.post(reverse("settings"), {}).status_code == 403


def test_page_shows_the_code_once_with_a_picture(keeper_client: Client) -> None:
    with override_settings(PHONE_URL="https://192.168.1.20:8413", TRUST_URL="http://192.168.1.20:8414"):
        answer = keeper_client.post(reverse("phone-code"))
        text = answer.content.decode()
        assert re.search(r"https://192\.168\.1\.20:8413/pair/[2-9A-Z]{4}-[2-9A-Z]{4}-[2-9A-Z]{4}/", text)
        assert "data:image/svg+xml" in text
        assert "no-store" in answer["Cache-Control"]
        assert "/pair/" not in keeper_client.get(reverse("phones")).content.decode()


def test_page_shows_how_to_trust_first(keeper_client: Client) -> None:
    with override_settings(
        PHONE_URL="https://192.168.1.20:8413", TRUST_URL="http://192.168.1.20:8414", AUTHORITY_FINGERPRINT="AB:CD"
    ):
        text = keeper_client.get(reverse("phones")).content.decode()
    assert "http://192.168.1.20:8414" in text
    assert "AB:CD" in text
    assert "over plain HTTP</h2>" not in text


def test_plain_way_says_what_will_not_work() -> None:
    with override_settings(ALLOWED_HOSTS=["192.168.1.20"]):
        text = Client(headers={"Host": "192.168.1.20:8413"}).get(reverse("pair")).content.decode()
        for word in ("Installing", "without a network", "screen awake", "microphone", "read along"):
            assert word in text
        safe = Client(headers={"Host": "192.168.1.20:8413"}).get(reverse("pair"), secure=True).content.decode()
        assert "microphone" not in safe


def test_cookies_are_secure_over_https_and_not_on_localhost(actor: Actor, now: datetime) -> None:
    """RFC 6265, 4.1.2.5: a cookie with the Secure attribute travels over secure channels only."""
    for secure in (True, False):
        client = Client()
        answer = client.post(reverse("pair"), {"code": make_pairing_code(actor, now=now).code}, secure=secure)
        assert bool(answer.cookies["sessionid"]["secure"]) is secure
        assert "Strict-Transport-Security" not in answer


def test_phone_is_noted_as_seen_at_most_once_a_minute(actor: Actor, now: datetime) -> None:
    phone = pair_phone(make_pairing_code(actor, now=now).code, "", now=now)
    assert note_phone_seen(phone.id, actor.user_id, now=now + timedelta(seconds=59))
    assert list_phones(actor)[0].last_seen_at == now
    assert note_phone_seen(phone.id, actor.user_id, now=now + timedelta(seconds=60))
    assert list_phones(actor)[0].last_seen_at == now + timedelta(seconds=60)


def test_revoking_twice_is_revoking_once(phone: Client, actor: Actor, now: datetime) -> None:
    phone_id = list_phones(actor)[0].id
    for later in (0, 5):
        revoke_phone(actor, phone_id, now=now + timedelta(seconds=later))
    assert list_phones(actor)[0].revoked_at == now
    assert AuditEntry.objects.filter(action="revoke-phone").count() == 1


def test_session_of_a_phone_of_another_person_is_nobodys(actor: Actor, reader: Actor, now: datetime) -> None:
    phone = pair_phone(make_pairing_code(actor, now=now).code, "", now=now)
    assert not note_phone_seen(phone.id, reader.user_id, now=now)
    assert not note_phone_seen(UUID(int=1), actor.user_id, now=now)
