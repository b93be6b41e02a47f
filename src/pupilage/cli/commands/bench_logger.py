"""`pupilage bench logger`: the logger on a slow phone: cold and offline, tap by tap, and how much script it is."""

import os
import re
import statistics
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pupilage.cli.printing import json_option, print_json, print_table
from pupilage.cli.project import start_django

if TYPE_CHECKING:
    from playwright.sync_api import BrowserContext, Page, Playwright

SLOWDOWN = 4
N_SESSIONS, N_TAPS = 10, 20
"""Sessions, and tries in each: after fifteen the engine says that it is enough."""
PAUSE_MS = 1000
"""Between the try on the screen and the next tap: a hand that also gives food is no quicker."""
N_COLD_STARTS = 7
HEAD = ("what", "measured", "goal", "how")

Row = tuple[str, str, str, str]

WORKER_IS_ACTIVE = """async () => { const { active } = await navigator.serviceWorker.ready;
if (active.state !== "activated") await new Promise((resolve) => active.addEventListener("statechange", resolve)); }"""

KNOWS_THE_DAY = """() => new Promise((resolve) => { const open = indexedDB.open("pupilage");
open.onsuccess = () => { const base = open.result;
  if (!base.objectStoreNames.contains("days")) { base.close(); resolve(false); return; }
  const asked = base.transaction("days").objectStore("days").get("owner");
  asked.onsuccess = () => { base.close(); resolve(Boolean(asked.result)); }; }; })"""

PAINTED = """() => performance.getEntriesByName("first-contentful-paint")[0]?.startTime ?? null"""

# from the touch, by the event's own time, to the frame after the one in which the try stands on the screen
TIME_TAPS = """() => { let touched = 0; window.tapTimes = [];
document.getElementById("met").addEventListener("click", (event) => { touched = event.timeStamp; }, { capture: true });
const page = document.getElementById("page"); let shown = page.dataset.tries;
new MutationObserver(() => { if (page.dataset.tries === shown) return; shown = page.dataset.tries;
  requestAnimationFrame(() => { const channel = new MessageChannel();
    channel.port1.onmessage = () => window.tapTimes.push(performance.now() - touched);
    channel.port2.postMessage(0); }); })
  .observe(page, { attributes: true, attributeFilter: ["data-tries"] }); }"""


@click.command()
@json_option
def logger(as_json: bool = False) -> None:
    """Measure the logger in Chromium at a quarter of the processor's speed, without and with the server."""
    import tempfile

    with tempfile.TemporaryDirectory(prefix="pupilage-bench-", ignore_cleanup_errors=True) as folder:
        os.environ["PUPILAGE_DATA"] = folder
        os.environ.pop("PUPILAGE_DATABASE", None)
        os.environ.pop("DATABASE_URL", None)
        rows = [*_measure(Path(folder)), _script()]
    if as_json:
        print_json([dict(zip(HEAD, row, strict=True)) for row in rows])
    else:
        print_table(HEAD, rows)


def _measure(folder: Path) -> Iterator[Row]:
    from playwright.sync_api import sync_playwright

    from pupilage.cli.commands.bench import fill_stay, free_port, served

    start_django()
    from pupilage.storage.database import prepare_database

    prepare_database()
    fill_stay()
    port = free_port()  # one for all: what a browser keeps is kept by address
    with sync_playwright() as playwright:
        with served(folder, port) as link:
            context = _phone(playwright, folder)
            _take_along(context.pages[0], link)
            context.close()
        address = link.split("/sign-in/")[0]
        painted, usable = zip(*(_cold_start(playwright, folder, address) for _ in range(N_COLD_STARTS)), strict=True)
        how = f"median of {N_COLD_STARTS} cold starts without the server, {SLOWDOWN}× slower"
        yield ("first paint of the installed logger", f"{statistics.median(painted):.0f} ms", "under 1 s", how)
        yield ("the same, ready for a tap", f"{statistics.median(usable):.0f} ms", "–", how)
        context = _phone(playwright, folder)
        yield _tap_row(_tapped(context.pages[0], address), "no server")
        context.close()
        with served(folder, port) as link:
            context = _phone(playwright, folder)
            _take_along(context.pages[0], link)
            yield _tap_row(_tapped(context.pages[0], link.split("/sign-in/")[0]), "the server on the same machine")
            context.close()


def _phone(playwright: "Playwright", folder: Path) -> "BrowserContext":
    from pupilage.cli.commands.bench import CHROMIUM_ARGUMENTS

    return playwright.chromium.launch_persistent_context(
        str(folder / "phone"),
        executable_path="/usr/bin/chromium",
        args=CHROMIUM_ARGUMENTS,
        viewport={"width": 390, "height": 844},
        has_touch=True,
    )


def _take_along(page: "Page", link: str) -> None:
    """Sign in, and wait until the phone has the worker and the day."""
    page.goto(link)
    page.goto(link.split("/sign-in/")[0] + "/")
    page.evaluate(WORKER_IS_ACTIVE)
    while not page.evaluate(KNOWS_THE_DAY):
        page.wait_for_timeout(100)


def _slow_down(page: "Page") -> None:
    page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": SLOWDOWN})


def _cold_start(playwright: "Playwright", folder: Path, address: str) -> tuple[float, float]:
    """Start the browser, open the logger, and return the milliseconds to its first paint and until it takes a tap."""
    context = _phone(playwright, folder)
    page = context.pages[0]
    _slow_down(page)
    page.goto(f"{address}/logger/")
    page.wait_for_selector("body[data-ready=yes]")
    usable: Any = page.evaluate("performance.now()")
    painted: Any = None
    while painted is None:
        painted = page.evaluate(PAINTED)
    context.close()
    return float(painted), float(usable)


def _tapped(page: "Page", address: str) -> list[float]:
    """Hold sessions and return the milliseconds from each touch to the try on the screen."""
    times: list[float] = []
    _slow_down(page)
    for _ in range(N_SESSIONS):
        page.goto(f"{address}/logger/")
        page.wait_for_selector("#begin-form:visible")
        page.locator("#begin").tap()
        page.wait_for_selector("#page[data-ready=yes]")
        page.evaluate(TIME_TAPS)
        for n in range(N_TAPS):
            page.locator("#met").tap()
            page.wait_for_selector(f"#page[data-tries='{n + 1}']")
            page.wait_for_timeout(PAUSE_MS)
        times += page.evaluate("window.tapTimes")
    return times


def _tap_row(times: list[float], where: str) -> Row:
    ordered = sorted(times)
    p99 = ordered[min(len(ordered) - 1, int(0.99 * len(ordered)))]
    measured = f"median {statistics.median(times):.0f} ms, 99 % {p99:.0f} ms"
    how = f"{len(times)} taps in Chromium, {PAUSE_MS / 1000:g} s apart, {SLOWDOWN}× slower, {where}"
    return ("tap to the try kept and on screen", measured, "under 50 ms, 99 % under 100 ms", how)


def _script() -> Row:
    """Weigh what the logger loads: its two scripts and all that they import, compressed."""
    import gzip

    from django.contrib.staticfiles import finders

    texts: dict[str, bytes] = {}
    waiting = ["live.js", "install.js"]
    while waiting:
        name = waiting.pop()
        if name not in texts:
            texts[name] = Path(str(finders.find(f"pupilage/{name}"))).read_bytes()
            waiting += re.findall(r'from "\./([\w.]+)"', texts[name].decode())
    n_bytes = sum(len(gzip.compress(text, 9)) for text in texts.values())
    return ("script of the logger", f"{n_bytes / 1000:.1f} kB", "under 60 kB", f"{len(texts)} files, compressed")
