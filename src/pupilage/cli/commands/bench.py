"""`pupilage bench`: where speed is measured. It prints, it does not judge; tests are not timed."""

import os
import re
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import uuid4

import click

from pupilage.cli.clock import now
from pupilage.cli.commands.bench_decisions import decisions
from pupilage.cli.commands.bench_plans import plans
from pupilage.cli.printing import json_option, print_json, print_table
from pupilage.cli.project import start_django
from pupilage.core.access import Actor

if TYPE_CHECKING:
    from django.test import Client

N_TRIALS, N_GOALS, N_A_SESSION, N_DAYS = 5000, 12, 12, 30
N_TAPS = 40
CHROMIUM_ARGUMENTS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]

Row = tuple[str, str, str, str]


@click.group(invoke_without_command=True)
@click.pass_context
def bench(ctx: click.Context) -> None:
    """Measure speed on this machine; without a further word, everyday speed."""
    if ctx.invoked_subcommand is None:
        ctx.invoke(speed)


bench.add_command(decisions)
bench.add_command(plans)


@bench.command()
@json_option
def speed(as_json: bool = False) -> None:
    """Measure the everyday waits: a tap, a decision, the Today page, the start of the command line."""
    import tempfile

    with tempfile.TemporaryDirectory(prefix="pupilage-bench-") as folder:
        os.environ["PUPILAGE_DATA"] = folder
        os.environ.pop("PUPILAGE_DATABASE", None)
        os.environ.pop("DATABASE_URL", None)
        rows = [_start_up(), _block(), _decision(), *_on_a_long_stay(), *_taps(Path(folder))]
    if as_json:
        print_json([dict(zip(("what", "measured", "goal", "how"), row, strict=True)) for row in rows])
    else:
        print_table(("what", "measured", "goal", "how"), rows)


def _median_ms(work: Callable[[], object], n: int) -> float:
    import statistics

    times = []
    for _ in range(n):
        start = time.perf_counter()
        work()
        times.append(1000 * (time.perf_counter() - start))
    return statistics.median(times)


def _start_up() -> Row:
    import subprocess

    command = [sys.executable, "-m", "pupilage", "decide", "--behaviour", "sit", "--met", "4", "--missed", "1"]
    took = _median_ms(lambda: subprocess.run(command, capture_output=True, check=False), 7)
    return ("command line: start to a decision", f"{took / 1000:.2f} s", "under 0.4 s", "median of 7 processes")


def visit_filled_stay() -> "tuple[Client, Actor]":
    """Fill an empty database with a long stay; return a signed-in client of its pages and the trainer."""
    start_django()
    from django.conf import settings
    from django.contrib.auth import get_user_model
    from django.test import Client

    from pupilage.storage.database import prepare_database

    settings.STORAGES["staticfiles"]["BACKEND"] = "django.contrib.staticfiles.storage.StaticFilesStorage"
    Path(settings.STATIC_ROOT).mkdir()
    prepare_database()
    actor = fill_stay()
    client = Client(SERVER_NAME="localhost")
    client.force_login(get_user_model().objects.get(pk=actor.user_id))
    return client, actor


def _on_a_long_stay() -> Iterator[Row]:
    import statistics

    start_django()
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    client, actor = visit_filled_stay()
    with CaptureQueriesContext(connection) as queries:
        answer = client.get("/")
    n_queries = len(queries)  # the next request empties the log
    took = _median_ms(lambda: client.get("/"), 15)
    yield (
        f"Today page, {N_DAYS} days, {N_TRIALS} trials",
        f"{took:.0f} ms, {n_queries} queries, status {answer.status_code}",
        "under 100 ms, under 12 queries",
        "median of 15, on the server, nothing new in the record",
    )
    changed_ms = statistics.median(_first_view_ms(client, actor) for _ in range(7))
    yield ("the same after a new try", f"{changed_ms:.0f} ms", "under 100 ms", "median of 7 first views")


def _first_view_ms(client: "Client", actor: Actor) -> float:
    """Write one more try into the newest session, and time the first Today page after it."""
    write_one_try(actor)
    start = time.perf_counter()
    client.get("/")
    return 1000 * (time.perf_counter() - start)


def write_one_try(actor: Actor) -> None:
    """Write one more try into the newest session."""
    from pupilage.core.training.record.events import Event, EventKind
    from pupilage.services.find_last_session import find_last_session
    from pupilage.services.record_events import record_events

    at, session = now(), str(find_last_session(actor))
    payload = {"outcome": "met", "pieces": 1}
    trial = Event(str(uuid4()), str(uuid4()), 1, session, EventKind.TRIAL, at, 0, payload)
    record_events(actor, [trial], now=at)


def _block() -> Row:
    """Count one block of five tries in a grid of six steps, and let it teach."""
    from pupilage.core.training.posterior import grid as grids
    from pupilage.core.training.posterior.prior import shipped_prior

    before = grids.fresh_grid(shipped_prior(), 6)
    block = grids.Block(2, 1.2, -0.15, taught="mmxmm")

    def count_and_teach() -> None:
        grid = before.copy()
        grids.observe(grid, block)
        grids.teach(grid, block)

    took = 1000 * _median_ms(count_and_teach, 2000)
    return ("a block into the grid", f"{took:.0f} µs", "under 50 µs", "median of 2,000, five tries, 6 models")


def _decision() -> Row:
    """Fold one more try and decide, on a behaviour's record as long as a stay of 5,000 trials makes it."""
    from pupilage.core.catalogue.loading import load_bundled
    from pupilage.core.training.criterion.decision import decide
    from pupilage.core.training.posterior.knowledge import know
    from pupilage.core.training.record.evidence import Outcome, SessionKind, Trial

    at, behaviour = now(), load_bundled().behaviours["sit"]
    n, steps = N_TRIALS // N_GOALS, [step.key for step in behaviour.steps]
    step = steps[-1]
    trials = [
        Trial(
            event_id=str(i),
            session_id=str(i // N_A_SESSION),
            at=at - timedelta(seconds=30 * (n - i)),
            behaviour=behaviour.key,
            step=steps[i * len(steps) // n],
            outcome=Outcome.MISSED if i % 5 == 0 else Outcome.MET,
            kind=SessionKind.TRAINING,
            pieces=1,
        )
        for i in range(n)
    ]
    behaviours, session = {behaviour.key: behaviour}, trials[-1].session_id
    before = know(behaviours, trials[:-1])

    def fold_and_decide() -> None:
        decide(behaviour, step, know(behaviours, trials, earlier=before), session_id=session, now=at)

    took = _median_ms(fold_and_decide, 200)
    how = f"median of 200, a record of {n} trials up the steps, the session's folded again"
    return ("a try folded and a decision", f"{took:.2f} ms", "under 1 ms", how)


def fill_stay() -> Actor:
    """Write a stay of 30 days with 5,000 trials through the services."""
    from pupilage.core.catalogue.loading import load_bundled
    from pupilage.core.training.record.events import Event, EventKind
    from pupilage.services.open_workspace import NewWorkspace, open_workspace
    from pupilage.services.record_events import MAX_EVENTS_A_CALL, record_events
    from pupilage.services.set_goals import GoalChoice, set_goals
    from pupilage.services.start_programme import Intake, NewDog, NewReinforcer, start_programme

    at = now()
    actor = open_workspace(NewWorkspace("bench", "bench", "Bench", "UTC"), now=at)
    arrival = at.date() - timedelta(days=20)
    intake = Intake(
        household="bench",
        pup=NewDog("Pup", arrival - timedelta(weeks=9), daily_food_g=200.0),
        arrival_on=arrival,
        handover_on=arrival + timedelta(days=N_DAYS),
        reinforcers=(NewReinforcer("kibble", 0.4, 370.0, from_ration=True),),
    )
    programme_id = start_programme(actor, intake, now=at)
    behaviours = [b for b in load_bundled().behaviours.values() if b.scoring == "trial"][:N_GOALS]
    set_goals(actor, programme_id, [GoalChoice(b.key, b.target, b.weight) for b in behaviours], now=at)
    device, events = str(uuid4()), []
    n_sessions = N_TRIALS // N_A_SESSION
    for n in range(n_sessions):
        behaviour = behaviours[n % len(behaviours)]
        step = behaviour.steps[min(len(behaviour.steps) - 1, n * len(behaviour.steps) // n_sessions)]
        session, begin = str(uuid4()), at - timedelta(days=20 * (n_sessions - n) / n_sessions)
        start = {"programme": str(programme_id), "behaviour": behaviour.key, "step": step.key, "pieces": 20}
        entries = [(EventKind.SESSION_STARTED, start)]
        entries += [
            (EventKind.TRIAL, {"outcome": "missed" if (n + i) % 5 == 0 else "met", "pieces": 1, "latency_s": 1.5})
            for i in range(N_A_SESSION)
        ]
        entries.append((EventKind.SESSION_ENDED, {}))
        events += [
            Event(str(uuid4()), device, len(events) + i, session, kind, begin + timedelta(seconds=6 * i), 0, payload)
            for i, (kind, payload) in enumerate(entries)
        ]
    for first in range(0, len(events), MAX_EVENTS_A_CALL):
        record_events(actor, events[first : first + MAX_EVENTS_A_CALL], now=at)
    return actor


def free_port() -> int:
    """Return a port that nobody listens on."""
    import socket

    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def served(folder: Path, port: int | None = None) -> Iterator[str]:
    """Serve the folder's database by the real command and give the link that it prints."""
    import subprocess

    port = free_port() if port is None else port
    environment = {**os.environ, "PUPILAGE_DATA": str(folder)}
    environment.pop("DJANGO_SETTINGS_MODULE", None)
    command = [sys.executable, "-m", "pupilage", "serve", "--no-open", "--port", str(port)]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment)
    try:
        lines = process.stdout or iter(())
        yield next(found.group() for line in lines if (found := re.search(r"http://\S+/sign-in/\S+", line)))
    finally:
        process.terminate()
        process.wait(timeout=10)


def _taps(folder: Path) -> Iterator[Row]:
    """Tap in Chromium, where Playwright and Chromium are installed."""
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        yield ("a tap", "not measured", "under 30 ms", "needs Playwright and Chromium (make test installs them)")
        return
    import statistics

    with served(folder) as link, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=CHROMIUM_ARGUMENTS)
        page = browser.new_page(viewport={"width": 390, "height": 844})
        page.goto(link)
        page.goto(link.split("/sign-in/")[0] + "/train/")
        page.get_by_role("button", name="Begin").click()
        page.wait_for_selector("[data-ready=yes]")
        for n in range(N_TAPS):
            page.locator("#met").click()
            page.wait_for_selector(f"[data-tries='{n + 1}'][data-unsent='0']")
        measures = page.evaluate("performance.getEntriesByType('measure').map((one) => [one.name, one.duration])")
        browser.close()
    for name, what in (
        ("tap-to-kept", "tap to event stored, on screen"),
        ("tap-to-stored", "tap to the server's answer"),
    ):
        times = [duration for measure, duration in measures if measure == name]
        goal = "under 30 ms" if name == "tap-to-kept" else "–"
        yield (
            what,
            f"{statistics.median(times):.0f} ms",
            goal,
            f"median of {len(times)} in Chromium, same machine",
        )
