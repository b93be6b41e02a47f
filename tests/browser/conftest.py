"""The distribution's Chromium at a phone's size, on a real server process with a filled file database."""

import json
import os
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page

PHONE = {"width": 390, "height": 844}


def wait_until(page: Page, expression: str, *, timeout_s: float = 20.0) -> None:
    """Wait until the expression holds in the page.

    Playwright's own wait_for_function evaluates again from inside the page, which our content security policy forbids
    from the second time on.
    """
    ends_at = time.monotonic() + timeout_s
    while not page.evaluate(expression):
        assert time.monotonic() < ends_at, f"never came true: {expression}"
        page.wait_for_timeout(50)


@dataclass(frozen=True)
class Served:
    """A running server: its address, its process, its database file, and the ids of what stands in it."""

    url: str
    process: subprocess.Popen[str]
    database: Path
    known: dict[str, str]

    def rows(self, query: str, *values: object) -> list[tuple[Any, ...]]:
        """Return what a query finds in the database file, read from outside."""
        connection = sqlite3.connect(self.database)
        try:
            return connection.execute(query, values).fetchall()
        finally:
            connection.close()


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory, request: pytest.FixtureRequest) -> Iterator[Served]:
    """A server process on a database of its own, filled through the services.

    A module that needs a certain time of day names it as FILLED_WITH: the server's clock then begins at that hour.
    """
    filled_with = getattr(request.module, "FILLED_WITH", ())
    folder = tmp_path_factory.mktemp("served")
    environment = {**os.environ, "PUPILAGE_DATA": str(folder), "DATABASE_URL": ""}
    script = Path(__file__).with_name("filled.py")
    process = subprocess.Popen(
        [sys.executable, str(script), *filled_with], stdout=subprocess.PIPE, text=True, env=environment
    )
    try:
        line = process.stdout.readline()
        assert line, "the server did not start"
        known = json.loads(line)
        yield Served(known.pop("url"), process, folder / "pupilage.sqlite3", known)
    finally:
        process.terminate()
        process.wait(timeout=10)
        process.stdout.close()


@pytest.fixture(scope="module")
def signed_in(browser: Browser, served: Served) -> Any:
    """The cookies of a browser that has opened the one-time link."""
    context = browser.new_context(viewport=PHONE)
    page = context.new_page()
    page.goto(f"{served.url}/sign-in/{served.known['token']}/")
    assert page.url == f"{served.url}/", page.url
    state = context.storage_state()
    context.close()
    return state


@pytest.fixture
def new_phone(browser: Browser, served: Served, signed_in: Any) -> Iterator[Callable[..., Page]]:
    """Return a function that gives a signed-in page at a phone's size.

    An error or a warning on its console fails the test, unless `allow_errors` has a part of it.
    """
    contexts: list[BrowserContext] = []
    said: list[str] = []
    allowed = ["Service Worker registration blocked by Playwright"]

    def make(*, allow_errors: tuple[str, ...] = (), **options: Any) -> Page:
        allowed.extend(allow_errors)
        # a service worker would take requests out of the hands of page.route; the tests of it ask for it
        options = {"service_workers": "block", "storage_state": signed_in, **options}
        context = browser.new_context(base_url=served.url, viewport=PHONE, has_touch=True, **options)
        contexts.append(context)
        page = context.new_page()
        page.on("console", lambda message: said.append(f"{message.type}: {message.text}"))
        page.on("pageerror", lambda error: said.append(f"error: {error}"))
        return page

    yield make
    for context in contexts:
        context.close()
    wrong = [line for line in said if line.startswith(("error", "warning"))]
    assert not [line for line in wrong if not any(part in line for part in allowed)]


@pytest.fixture
def page(new_phone: Callable[..., Page]) -> Page:
    """A signed-in page at a phone's size, in the light scheme."""
    return new_phone()
