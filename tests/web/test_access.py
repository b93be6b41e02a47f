"""Who may ask for which page: generated over every address of the resolver."""

from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from pupilage.core.access import Actor
from pupilage.services.read_owner import read_owner
from pupilage.web.urls import OPEN
from web.addresses import ALL, NO_ROLE, PLACED, READS, WRITES, Address

pytestmark = pytest.mark.django_db


def named(addresses: list[Address]) -> object:
    return pytest.mark.parametrize("address", addresses, ids=[address.name for address in addresses])


def ask(client: Client, address: Address, path: str, method: str | None = None) -> object:
    """Ask for a page in the way that it is meant to be asked for."""
    if method is None:
        method = "get" if address.name in READS else "post"
    return getattr(client, method)(path)


def test_every_address_is_sorted_into_reads_or_writes() -> None:
    assert {address.name for address in ALL} == READS | WRITES | NO_ROLE


def test_only_the_listed_pages_are_open() -> None:
    found = {address.name for address in ALL if not getattr(address.view, "login_required", True)}
    assert found == set(OPEN)


@named([address for address in ALL if address.name not in OPEN])
def test_signed_out_is_sent_to_the_sign_in(address: Address, places: dict[str, str]) -> None:
    for method in ("get", "post"):
        answer = ask(Client(), address, address.path(places), method)
        assert answer.status_code == 302, method
        assert answer["Location"].startswith("/sign-in/"), method


@named([address for address in ALL if address.name in READS])
def test_keeper_gets_the_page(address: Address, places: dict[str, str], keeper_client: Client) -> None:
    answer = keeper_client.get(address.path(places), follow=True)
    assert answer.status_code == 200
    plain = "'none'" if address.name in {"recording-sound", "family-media-show"} else "'self'"
    assert answer["Content-Security-Policy"].startswith(f"default-src {plain}")
    assert "unsafe" not in answer["Content-Security-Policy"]


OWN = {"own-review"}
"""What the keeper alone may read."""


@named([address for address in ALL if address.name in OWN])
def test_keepers_own_page_is_closed_to_readers(address: Address, places: dict[str, str], reader_client: Client) -> None:
    assert reader_client.get(address.path(places)).status_code == 403


@named([address for address in ALL if address.name in READS - OWN - {"start"}])
def test_reader_gets_the_page(address: Address, places: dict[str, str], reader_client: Client) -> None:
    assert reader_client.get(address.path(places), follow=True).status_code == 200


@named([address for address in ALL if address.name in WRITES and address.name != "sync-push"])
def test_reader_may_not_write(address: Address, places: dict[str, str], reader_client: Client) -> None:
    assert reader_client.post(address.path(places), _plausible(address, places)).status_code == 403


def test_reader_may_not_push(reader: Actor, reader_client: Client) -> None:
    body = {"owner": read_owner(reader), "events": []}
    assert reader_client.post(reverse("sync-push"), body, content_type="application/json").status_code == 403


@named(PLACED)
def test_stranger_gets_404(address: Address, places: dict[str, str], stranger_client: Client) -> None:
    path = address.path(places)
    if address.name in READS:
        assert stranger_client.get(path).status_code == 404
    if address.name in WRITES:
        assert stranger_client.post(path, _plausible(address, places)).status_code == 404


@named(PLACED)
def test_unknown_id_gets_404(address: Address, places: dict[str, str], keeper_client: Client) -> None:
    elsewhere = {**places, **{need: str(uuid4()) for need in address.needs if need.endswith("_id")}}
    path = address.path(elsewhere)
    if address.name in READS:
        assert keeper_client.get(path).status_code == 404
    if address.name in WRITES:
        assert keeper_client.post(path, _plausible(address, places)).status_code == 404


@named(PLACED)
def test_malformed_id_gets_404(address: Address, places: dict[str, str], keeper_client: Client) -> None:
    path = address.path(places)
    for need in address.needs:
        if need.endswith("_id"):
            assert keeper_client.get(path.replace(places[need], "1234")).status_code == 404


@named([address for address in ALL if address.name not in NO_ROLE])
def test_wrong_method_gets_405(address: Address, places: dict[str, str], keeper_client: Client) -> None:
    path = address.path(places)
    wrong = {"put", "delete"}
    if address.name not in READS:
        wrong.add("get")
    if address.name not in WRITES:
        wrong.add("post")
    for method in sorted(wrong):
        assert getattr(keeper_client, method)(path).status_code == 405, method


def _plausible(address: Address, places: dict[str, str]) -> dict[str, str]:
    """Return a form that would be accepted if the address were one's own."""
    forms = {
        "session-correct": {"event": str(uuid4()), "stands": "void"},
        "weight": {"weight": "4.5"},
        "care-log": {"tap": "outing:wee"},
        "exposure-log": {"response": "calm", "intensity": "1"},
        "vet-word": {"topic": "ground"},
        "incident-left": {"behaviour": "counter-stealing"},
    }
    return forms.get(address.name, {})
