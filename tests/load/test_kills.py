"""A small share of the kills that `make load` makes: nothing that was acknowledged is lost, nothing stands twice."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Playwright

from load.harness import KillableServer
from load.kills import kill_browser_while_tapping, kill_server_while_pushing, sign_in

pytestmark = [pytest.mark.browser, pytest.mark.processes]


@pytest.fixture
def server(tmp_path: Path) -> Iterator[KillableServer]:
    (tmp_path / "data").mkdir()
    made = KillableServer(tmp_path / "data")
    made.start()
    yield made
    made.close()


def test_server_killed_in_the_middle_of_pushes_loses_and_doubles_nothing(
    browser: Browser, server: KillableServer
) -> None:
    context = browser.new_context(service_workers="block")
    page = context.new_page()
    sign_in(page, server)
    found = kill_server_while_pushing(page, server, 15)
    context.close()
    assert found.n_kills == 15
    assert found.n_kept >= 10
    assert (found.n_lost, found.n_doubled) == (0, 0)


def test_browser_killed_in_the_middle_of_taps_loses_and_doubles_nothing(
    playwright: Playwright, tmp_path: Path, server: KillableServer
) -> None:
    found = kill_browser_while_tapping(playwright, tmp_path / "phone", server, 2)
    assert found.n_kept >= 2
    assert (found.n_lost, found.n_doubled) == (0, 0)
