"""Takes the pictures of the README and the docs from the running program: the demo, in Chromium at a phone's size.

Usage: .venv/bin/python scripts/take_pictures.py [recording]      (with “recording” only those of a recording's way)
"""

import os
import re
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from recording_pictures import take_recording

PICTURES = Path(__file__).resolve().parent.parent / "docs" / "pictures"
ARGUMENTS = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-sync"]
PHONE = {"width": 390, "height": 844}
TAPS = ["met", "met", "missed", "met", "helped", "met", "met", "met", "met", "met", "met"]


@contextmanager
def served_demo() -> Iterator[str]:
    """Serve a fresh demo and give its link."""
    with tempfile.TemporaryDirectory() as folder:
        environment = {**os.environ, "PUPILAGE_DATA": folder, "TZ": "Europe/Lisbon"}
        command = [sys.executable, "-m", "pupilage", "demo", "--no-open"]
        process = subprocess.Popen(command, env=environment, stdout=subprocess.PIPE, text=True)
        try:
            lines = process.stdout or iter(())
            yield next(found.group() for line in lines if (found := re.search(r"http://\S+/sign-in/\S+", line)))
        finally:
            process.terminate()
            process.wait(timeout=10)


def take_session(page: Page, home: str) -> None:
    """Tap part of a session and take its picture."""
    page.goto(f"{home}/train/")
    page.goto(f"{page.url.split('?')[0]}?behaviour=sit")
    page.get_by_role("button", name="Begin").click()
    page.wait_for_selector("[data-ready=yes]")
    for n, name in enumerate(TAPS):
        page.locator(f"#{name}").click()
        page.wait_for_selector(f"[data-tries='{n + 1}'][data-unsent='0']")
    page.screenshot(path=PICTURES / "session.png")


def take_day(page: Page) -> None:
    """Wait for the day's timetable and take its picture."""
    page.wait_for_selector("#timetable form.make", state="detached", timeout=30_000)
    page.locator("#timetable").scroll_into_view_if_needed()
    page.evaluate("document.querySelector('#timetable').scrollIntoView()")
    page.screenshot(path=PICTURES / "today.png")


def main() -> None:
    """Take the pictures."""
    PICTURES.mkdir(parents=True, exist_ok=True)
    with served_demo() as link, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=ARGUMENTS)
        home = link.split("/sign-in/")[0]
        context = browser.new_context(viewport=PHONE, device_scale_factor=1, has_touch=True)
        page = context.new_page()
        page.goto(link)
        with tempfile.TemporaryDirectory() as folder:
            take_recording(page, home, Path(folder))
        if sys.argv[1:] != ["recording"]:
            sharp = browser.new_context(viewport=PHONE, device_scale_factor=2, storage_state=context.storage_state())
            page = sharp.new_page()
            page.goto(home)
            take_day(page)
            take_session(page, home)
        browser.close()
    print(f"Pictures are in {PICTURES.relative_to(Path.cwd())}.")


if __name__ == "__main__":
    main()
