"""The main job, end to end: the demo's link, a tapped session, the decision, the forecast, the same rows outside."""

import csv
import json
import os
import re
import socket
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from playwright.sync_api import Browser, Page, expect
from tests.browser.conftest import PHONE

pytestmark = pytest.mark.browser

SEED = "9"
ZONE = ZoneInfo("Europe/Lisbon")
TAPS = ["met", "met", "missed", "met", "helped", "met", "met", "missed", "met", "met", "met", "met"]
WRONG_TAP = "missed"
BEHAVIOUR, NAME = "sit", "Sits on cue"


@dataclass(frozen=True)
class Demo:
    """A demo in a data folder of its own."""

    folder: Path

    @property
    def environment(self) -> dict[str, str]:
        inherited = {key: value for key, value in os.environ.items() if key != "DJANGO_SETTINGS_MODULE"}
        return {**inherited, "PUPILAGE_DATA": str(self.folder), "DATABASE_URL": "", "TZ": ZONE.key}

    def run(self, *arguments: str) -> str:
        """Run the command line on this demo and return what it prints."""
        command = [sys.executable, "-m", "pupilage", *arguments]
        done = subprocess.run(command, env=self.environment, capture_output=True, text=True, timeout=60)
        assert done.returncode == 0, done.stderr
        return done.stdout

    def standing(self) -> dict[str, Any]:
        """Return where the goal stands, as the command line tells it."""
        shown = json.loads(self.run("--demo", "programme", "show", "--json"))
        return next(s for s in shown["goals"] if s["behaviour"] == BEHAVIOUR)

    def rows(self, query: str, *values: object) -> list[tuple[Any, ...]]:
        """Return what a query finds in the database file, read from outside."""
        connection = sqlite3.connect(self.folder / "demo.sqlite3")
        try:
            return connection.execute(query, values).fetchall()
        finally:
            connection.close()


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@pytest.fixture
def served_demo(tmp_path: Path) -> Iterator[tuple[Demo, str]]:
    """A demo served by its own command, and the one link that the command prints."""
    demo = Demo(tmp_path / "tapped")
    command = [sys.executable, "-m", "pupilage", "demo", "--seed", SEED, "--no-open", "--port", str(free_port())]
    process = subprocess.Popen(command, env=demo.environment, stdout=subprocess.PIPE, text=True)
    try:
        link = None
        while link is None:
            line = process.stdout.readline()
            assert line, "the demo ended before it printed a link"
            link = re.search(r"http://localhost:\d+/sign-in/\S+", line)
        yield demo, link.group()
    finally:
        process.terminate()
        process.wait(timeout=10)
        process.stdout.close()


def tap(page: Page, name: str) -> None:
    """Tap one outcome and wait until the screen says that it is kept and sent."""
    before = int(page.locator("#page").get_attribute("data-tries") or 0)
    page.get_by_role("button", name=name.capitalize(), exact=True).tap()
    expect(page.locator("#page")).to_have_attribute("data-tries", str(before + 1))
    expect(page.locator("#page")).to_have_attribute("data-unsent", "0")


def write_spreadsheet(file: Path, tapped: Demo, session: str) -> None:
    """Write the tapped trials as a trainer's spreadsheet would hold them: semicolons, a byte-order mark."""
    trials = tapped.rows(
        "select at, step, outcome, pieces from storage_trial where session_id = ? order by at, id", session
    )
    with file.open("w", encoding="utf-8-sig", newline="") as out:
        table = csv.writer(out, delimiter=";")
        table.writerow(["date", "time", "behaviour", "step", "outcome", "pieces"])
        for at, step, outcome, pieces in trials:
            local = datetime.fromisoformat(f"{at}+00:00").astimezone(ZONE)
            table.writerow([f"{local:%Y-%m-%d}", f"{local:%H:%M:%S}", BEHAVIOUR, step, outcome, pieces])


def test_tapped_session_gives_decision_forecast_and_the_same_numbers_as_a_spreadsheet(
    browser: Browser, served_demo: tuple[Demo, str], tmp_path: Path
) -> None:
    demo, link = served_demo
    assert demo.rows("select timezone from storage_workspace") == [(ZONE.key,)]
    before = demo.standing()
    context = browser.new_context(viewport=PHONE, has_touch=True)
    page = context.new_page()

    page.goto(link)
    expect(page.get_by_role("heading", level=1)).to_contain_text("day 11 of 21")
    home = page.url
    page.get_by_role("link", name="Train").click()
    page.goto(f"{page.url.split('?')[0]}?behaviour={BEHAVIOUR}")
    page.get_by_role("button", name="Begin").tap()
    expect(page.locator("#page")).to_have_attribute("data-ready", "yes")

    for name in TAPS[:7]:
        tap(page, name)
    tap(page, WRONG_TAP)
    page.get_by_role("button", name="Take back").tap()
    expect(page.locator("#page")).to_have_attribute("data-tries", "7")
    expect(page.locator("#page")).to_have_attribute("data-unsent", "0")
    page.reload()
    expect(page.locator("#page")).to_have_attribute("data-ready", "yes")
    expect(page.locator("#page")).to_have_attribute("data-tries", "7")
    for name in TAPS[7:]:
        tap(page, name)
    expect(page.locator("#tries")).to_have_text("9 of 12 met")
    advice = page.locator("#advice-word").inner_text()
    reason = page.locator("#advice-reason").inner_text()
    assert advice in {"Raise", "Keep", "Lower", "Pause"}
    assert re.search(r"\d+ of \d+ met", reason)

    session = page.locator("#page").get_attribute("data-session")
    page.get_by_role("button", name="End session").tap()
    page.get_by_role("button", name="Tap again to end").tap()
    page.wait_for_url(re.compile(rf"/sessions/{session}/$"))

    after = demo.standing()
    assert after["n_trials"] == before["n_trials"] + 12
    page.goto(home)
    assert before["p_ready"] is not None
    assert after["p_ready"] != before["p_ready"]
    row = page.get_by_role("row", name=NAME)
    expect(row).to_contain_text(f"{round(100 * after['p_ready'])} %")
    context.close()

    kinds = [kind for (kind,) in demo.rows(
        "select kind from storage_sessionevent where session_id = ? order by at, device_seq",
        session.replace("-", ""),
    )]  # fmt: skip
    assert kinds == ["session-started", *["trial"] * 8, "withdrawn", *["trial"] * 5, "session-ended"]

    sheet = tmp_path / "trials.csv"
    write_spreadsheet(sheet, demo, session.replace("-", ""))
    imported = Demo(tmp_path / "imported")
    imported.run("demo", "--no-serve", "--seed", SEED)
    assert imported.standing()["belief"] == before["belief"]
    imported.run("--demo", "import", "trials", str(sheet))
    for name in ("step", "decision", "reason", "belief", "n_trials", "p_ready"):
        assert imported.standing()[name] == after[name], name
    imported.run("--demo", "import", "trials", str(sheet))
    assert imported.standing()["n_trials"] == after["n_trials"]
