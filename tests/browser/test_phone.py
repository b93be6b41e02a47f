"""A phone that reaches a real `pupilage serve --phone` over HTTPS at this machine's address in its network."""

import base64
import hashlib
import http.client
import os
import re
import socket
import ssl
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from axe_playwright_python.sync_playwright import Axe
from cryptography import x509
from cryptography.hazmat.primitives import serialization
from playwright.sync_api import Browser, BrowserContext, Page, Playwright, expect
from tests.browser.conftest import PHONE

from chromium import ARGUMENTS, CHROMIUM
from pupilage.cli.lan import find_addresses

pytestmark = pytest.mark.browser

USER_AGENT = "Mozilla/5.0 (Linux; Android 14) AppleWebKit/537.36 (KHTML, like Gecko) Mobile Safari/537.36"


@dataclass(frozen=True)
class Laptop:
    """A running server: what its terminal has said, and its data folder."""

    said: str
    folder: Path

    def found(self, pattern: str) -> str:
        match = re.search(pattern, self.said)
        assert match, self.said
        return match[0]

    @property
    def pair_link(self) -> str:
        return self.found(r"https://\S+/pair/\S+")

    @property
    def trust_url(self) -> str:
        return self.found(r"http://[\d.]+:\d+(?= on it)")

    @property
    def sign_in_link(self) -> str:
        return self.found(r"http://localhost:\S+")


@pytest.fixture(scope="module")
def laptop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Laptop]:
    """`pupilage serve --phone` as a process, with a data folder of its own."""
    if not find_addresses():
        pytest.skip("This machine is in no network, so that no phone could reach it.")
    folder = tmp_path_factory.mktemp("laptop")
    command = [sys.executable, "-m", "pupilage", "serve", "--no-open", "--phone"]
    command += ["--port", str(_free_port()), "--phone-port", str(_free_port())]
    environment = {**os.environ, "PUPILAGE_DATA": str(folder), "DATABASE_URL": "", "PYTHONUNBUFFERED": "1"}
    environment.pop("DJANGO_SETTINGS_MODULE", None)
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment)
    try:
        said = ""
        while "Ctrl-C" not in said:
            line = process.stdout.readline()
            assert line, said
            said += line
        yield Laptop(said, folder)
    finally:
        process.terminate()
        assert process.wait(timeout=20) == 0
        process.stdout.close()


@pytest.fixture
def phone(playwright: Playwright, laptop: Laptop, tmp_path: Path) -> Iterator[BrowserContext]:
    """Chromium at a phone's size that takes this server's key for trusted, and no other.

    certutil, which puts an authority into Chromium's store, is not on every machine; the authority itself is verified
    in tests/storage/test_certificates.py and below, by OpenSSL.
    """
    context = playwright.chromium.launch_persistent_context(
        str(tmp_path / "profile"),
        executable_path=CHROMIUM,
        args=[*ARGUMENTS, f"--ignore-certificate-errors-spki-list={_key_hash(laptop.folder)}"],
        viewport=PHONE,
        has_touch=True,
        user_agent=USER_AGENT,
    )
    yield context
    context.close()


def test_phone_is_paired_by_the_link_works_securely_and_is_signed_out_from_the_laptop(
    phone: BrowserContext, laptop: Laptop, browser: Browser
) -> None:
    page = phone.new_page()
    page.goto(laptop.pair_link)
    assert page.evaluate("window.isSecureContext")
    expect(page.get_by_text("What will not work")).to_have_count(0)
    assert not _violations(page)
    page.get_by_role("button", name="Pair this phone").click()
    assert urlsplit(page.url).path in {"/", "/start/"}
    assert page.url.startswith("https://")
    kept = [one for one in phone.cookies() if one["name"] in {"sessionid", "csrftoken"}]
    assert kept
    assert all(one["secure"] for one in kept)
    page.goto(page.url.split("/start")[0].rstrip("/") + "/settings/phones/")
    expect(page.get_by_text("this one", exact=True)).to_be_visible()
    assert not _violations(page)

    own = browser.new_context(viewport=PHONE).new_page()
    own.goto(laptop.sign_in_link)
    own.goto(laptop.sign_in_link.split("/sign-in")[0] + "/settings/phones/")
    assert not _violations(own)
    own.get_by_role("button", name="Make a code").click()
    expect(own.get_by_role("img", name="A QR code")).to_be_visible()
    assert not _violations(own)
    assert own.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    own.get_by_role("button", name="Sign it out Android").click()
    expect(own.get_by_text("That phone is signed out.")).to_be_visible()

    page.reload()
    assert urlsplit(page.url).path == "/sign-in/"
    page.goto(laptop.pair_link)
    page.get_by_role("button", name="Pair this phone").click()
    expect(page.locator("p[role=alert]")).to_contain_text("has been used")


def test_trust_page_gives_the_authority_that_openssl_then_verifies_the_server_by(
    browser: Browser, laptop: Laptop
) -> None:
    context = browser.new_context(viewport=PHONE)
    page = context.new_page()
    page.goto(laptop.trust_url)
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    assert not _violations(page)
    given = context.request.get(laptop.trust_url + "/pupilage-authority.crt")
    authority = given.body()
    assert given.headers["content-type"] == "application/x-x509-ca-cert"
    digest = hashlib.sha256(authority).hexdigest().upper()
    shown = ":".join(digest[at : at + 2] for at in range(0, 64, 2))
    expect(page.get_by_text(shown)).to_be_visible()
    assert shown in laptop.said
    assert not context.cookies()
    context.close()

    place = urlsplit(laptop.pair_link)
    trusting = ssl.create_default_context(cadata=authority)
    with closing(http.client.HTTPSConnection(place.hostname, place.port, context=trusting, timeout=10)) as connection:
        connection.request("GET", "/pair/")
        answer = connection.getresponse()
        assert answer.status == 200
        assert answer.headers["Strict-Transport-Security"] is None


def test_silent_connection_holds_up_the_phone_for_seconds_only(laptop: Laptop) -> None:
    place = urlsplit(laptop.pair_link)
    with closing(socket.create_connection((place.hostname, place.port))):
        time.sleep(0.2)
        started = time.monotonic()
        careless = ssl._create_unverified_context()  # noqa: S323  who answers is tested above; here, when
        with closing(
            http.client.HTTPSConnection(place.hostname, place.port, context=careless, timeout=20)
        ) as connection:
            connection.request("GET", "/pair/")
            assert connection.getresponse().status == 200
        assert time.monotonic() - started < 6  # 3 s for the handshake that does not come, and a slow machine


def test_foreign_host_name_is_refused(laptop: Laptop) -> None:
    """What protects from a name that somebody else points at this machine."""
    place = urlsplit(laptop.pair_link)
    careless = ssl._create_unverified_context()  # noqa: S323
    with closing(http.client.HTTPSConnection(place.hostname, place.port, context=careless, timeout=20)) as connection:
        connection.request("GET", "/pair/", headers={"Host": "elsewhere.example"})
        assert connection.getresponse().status == 400


def _violations(page: Page) -> list[str]:
    return [found["id"] for found in Axe().run(page).response["violations"]]


def _key_hash(folder: Path) -> str:
    """Return the SHA-256 of the server's public key (SubjectPublicKeyInfo), as Chromium's switch takes it."""
    leaf = x509.load_pem_x509_certificates((folder / "phone" / "server.pem").read_bytes())[0]
    info = leaf.public_key().public_bytes(serialization.Encoding.DER, serialization.PublicFormat.SubjectPublicKeyInfo)
    return base64.b64encode(hashlib.sha256(info).digest()).decode()


def _free_port() -> int:
    with closing(socket.socket()) as probe:
        probe.bind(("", 0))
        return probe.getsockname()[1]
