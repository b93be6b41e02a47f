"""A Chromium of its own process group, with a disk of its own, that can be killed where it stands."""

import os
import signal
import subprocess
import time
from contextlib import suppress
from pathlib import Path
from typing import Any

from playwright.sync_api import Error, Page, Playwright

from chromium import ARGUMENTS as USUAL
from load.harness import CHROMIUM

ARGUMENTS = [*USUAL, "--remote-debugging-port=0"]

QUEUE = """async ({ owner }) => {
  const { Queue } = await import("/static/pupilage/queue.js");
  window.queue = new Queue({ owner, pushAddress: "/sync/push/", tokenAddress: "/sync/token/" });
  await window.queue.opened;
}"""
"""Makes the real queue of the pages."""


class KillableChromium:
    """Chromium started by its own command, so that the whole of it can be killed at once."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._process: subprocess.Popen[bytes] | None = None
        self._browser: Any = None

    def start(self, playwright: Playwright) -> Page:
        """Start it on its disk and give its page. In the thread of `playwright`, which forgets the dead one first."""
        if self._browser is not None:
            with suppress(Error):  # there is nobody to say goodbye to
                self._browser.close()
        port_file = self.folder / "DevToolsActivePort"
        port_file.unlink(missing_ok=True)
        self._process = subprocess.Popen(
            [CHROMIUM, *ARGUMENTS, f"--user-data-dir={self.folder}", "about:blank"],
            start_new_session=True,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        for _ in range(600):
            if port_file.exists() and port_file.read_text().count("\n"):
                break
            time.sleep(0.05)
        port = port_file.read_text().splitlines()[0]
        self._browser = playwright.chromium.connect_over_cdp(f"http://127.0.0.1:{port}")
        page: Page = self._browser.contexts[0].pages[0]
        return page

    def kill(self) -> None:
        """Kill the browser and all of its processes, as a dead battery would; from any thread."""
        assert self._process is not None
        os.killpg(self._process.pid, signal.SIGKILL)
        self._process.wait()
        for name in ("SingletonLock", "SingletonCookie", "SingletonSocket"):
            (self.folder / name).unlink(missing_ok=True)
