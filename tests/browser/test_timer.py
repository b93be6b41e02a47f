"""The timer of paid stretches at a phone's size: it tells when, resets, sleeps, and loses no tap."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect
from tests.browser.conftest import Served
from tests.browser.test_pages import AXE

from pupilage.core.incidents.interval_runs import RunEvent, RunEventKind, RunState, Spacing, fold_run

pytestmark = pytest.mark.browser

BEGIN_AT = datetime(2026, 5, 12, 8, 0, tzinfo=UTC)
LISTENS = """
  window.shakes = [];
  navigator.vibrate = (pattern) => { window.shakes.push(pattern); return true; };
  window.tones = [];
  const start = OscillatorNode.prototype.start;
  OscillatorNode.prototype.start = function (at) {
    window.tones.push(at - this.context.currentTime);
    return start.call(this, at);
  };
"""
"""Writes down what the phone would do, since nobody hears it here."""


@pytest.fixture
def begin(served: Served) -> Callable[..., Page]:
    """Return a function that starts a run from twelve in thirty minutes and gives its timer, the page's clock held."""

    def start(page: Page, spacing: str = "all alike", target: str = "mouthing-hands") -> Page:
        page.set_default_timeout(6_000)
        page.add_init_script(LISTENS)
        page.goto(f"/dogs/{served.known['dog']}/intervals/?target={target}")
        page.get_by_label("It came so often").fill("12")
        page.get_by_label("in so many minutes").fill("30")
        page.get_by_label(spacing).check()
        page.clock.install(time=BEGIN_AT)
        page.get_by_role("button", name="To the timer").tap()
        expect(page.locator("#page")).to_have_attribute("data-ready", "yes")
        page.clock.pause_at(BEGIN_AT + timedelta(minutes=2))
        return page

    return start


def stored(served: Served, page: Page) -> tuple[list[str], RunState]:
    """Return the kinds that the database file holds of this run, and where the engine says that it stands."""
    run = str(page.locator("#page").get_attribute("data-run")).replace("-", "")
    ((mean_s, spacing, seed),) = served.rows(
        "select first_mean_s, spacing, seed from storage_intervalrun where id = ?", run
    )
    rows = served.rows(
        "select event_id, kind, at, mean_s, interval_s, withdraws from storage_runevent where run_id = ? order by at",
        run,
    )
    events = [
        RunEvent(key, RunEventKind(kind), datetime.fromisoformat(at).replace(tzinfo=UTC), mean, interval, withdraws)
        for key, kind, at, mean, interval, withdraws in rows
    ]
    return [event.kind.value for event in events], fold_run(mean_s, Spacing(spacing), seed, events)


def expect_state(page: Page, **wanted: object) -> None:
    for name, value in wanted.items():
        expect(page.locator("#page")).to_have_attribute(f"data-{name}", str(value))


def test_timer_tells_when_by_screen_sound_and_vibration(page: Page, begin: Callable[..., Page]) -> None:
    begin(page)
    page.get_by_role("button", name="Begin").tap()
    expect(page.locator("#left")).to_have_text("2:00")
    expect_state(page, state="runs", due="no", interval=120)
    assert page.evaluate("window.tones.map(Math.round)") == [120, 120, 121]
    page.clock.run_for(119_000)
    expect(page.locator("#left")).to_have_text("0:01")
    expect(page.get_by_role("button", name="Paid")).to_be_hidden()
    assert page.evaluate("window.shakes") == []
    page.clock.run_for(1_200)
    expect(page.locator("#left")).to_have_text("Pay now")
    expect(page.get_by_role("button", name="Paid")).to_be_in_viewport(ratio=0.99)
    assert len(page.evaluate("window.shakes")) == 1
    page.get_by_role("button", name="Paid").tap()
    expect(page.locator("#left")).to_have_text("2:00")
    expect_state(page, paid=1, came=0, due="no")


def test_coming_begins_a_shorter_stretch_and_the_engine_agrees(
    served: Served, page: Page, begin: Callable[..., Page]
) -> None:
    begin(page, "varied around a mean")
    page.get_by_role("button", name="Begin").tap()
    for n in range(7):
        page.clock.run_for(1000 * (5 + 2 * n))
        came = page.get_by_role("button", name="It did it")
        paid = page.get_by_role("button", name="Paid")
        if n == 3:
            page.clock.fast_forward(600_000)
            page.clock.run_for(500)
            paid.tap()
        else:
            came.tap()
    expect_state(page, unsent=0, came=6, paid=1)
    kinds, state = stored(served, page)
    assert kinds == ["began", "came", "came", "came", "paid", "came", "came", "came"]
    assert (state.n_came, state.n_paid) == (6, 1)
    expect_state(page, mean=f"{state.mean_s:.3f}", interval=f"{state.interval_s:g}", timed=state.n_timed)


def test_page_that_slept_knows_that_the_time_is_over(page: Page, begin: Callable[..., Page]) -> None:
    """`fast_forward` is a phone that slept: no timer fired meanwhile."""
    begin(page)
    page.get_by_role("button", name="Begin").tap()
    page.clock.fast_forward(180_000)
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    expect(page.locator("#left")).to_have_text("Pay now")
    expect(page.locator("#over")).to_have_text("for 1:00 already")


def test_three_paid_in_a_row_lengthen_and_a_wrong_tap_is_taken_back(
    served: Served, page: Page, begin: Callable[..., Page]
) -> None:
    begin(page)
    page.get_by_role("button", name="Begin").tap()
    for n in range(3):
        page.clock.run_for(121_000)
        page.get_by_role("button", name="Paid").tap()
        expect_state(page, paid=n + 1)
    expect_state(page, interval=138, mean="138.000")
    page.clock.run_for(10_000)
    page.get_by_role("button", name="It did it").tap()
    expect_state(page, came=1, interval=82.8)
    page.get_by_role("button", name="Take back").tap()
    expect_state(page, came=0, interval=138, unsent=0)
    expect(page.locator("#left")).to_have_text("2:08")
    assert stored(served, page)[1].interval_s == 138.0


def test_wanted_behaviour_that_stopped_is_not_timed_until_it_does_it_again(
    served: Served, page: Page, begin: Callable[..., Page]
) -> None:
    begin(page, target="settle-on-mat")
    page.get_by_role("button", name="Begin").tap()
    page.clock.run_for(50_000)
    page.get_by_role("button", name="It stopped").tap()
    expect_state(page, state="waits", came=1, interval=72)
    page.clock.run_for(300_000)
    expect(page.get_by_role("button", name="Paid")).to_be_hidden()
    page.get_by_role("button", name="It does it again").tap()
    expect(page.locator("#left")).to_have_text("1:12")
    expect_state(page, unsent=0)
    kinds, state = stored(served, page)
    assert (kinds, state.interval_s) == (["began", "stopped", "began"], 72.0)


def test_thumb_that_taps_twice_means_once(page: Page, begin: Callable[..., Page]) -> None:
    begin(page)
    page.get_by_role("button", name="Begin").tap()
    page.clock.run_for(30_000)
    page.get_by_role("button", name="It did it").tap()
    page.get_by_role("button", name="It did it").tap()
    expect_state(page, came=1, interval=72)


def test_taps_without_a_server_survive_a_restart_and_are_stored_once(
    served: Served, new_phone: Callable[..., Page], begin: Callable[..., Page]
) -> None:
    page = begin(new_phone(allow_errors=("Failed to load resource", "ERR_FAILED")))
    page.get_by_role("button", name="Begin").tap()
    expect_state(page, unsent=0)
    page.route("**/events/", lambda route: route.abort())
    page.clock.run_for(20_000)
    page.get_by_role("button", name="It did it").tap()
    expect(page.get_by_role("alert")).to_contain_text("every tap is kept on this device")
    expect_state(page, unsent=1, came=1)
    page.reload()
    expect(page.locator("#page")).to_have_attribute("data-ready", "yes")
    expect_state(page, state="runs", unsent=1, came=1, interval=72)
    assert stored(served, page)[0] == ["began"]
    page.unroute("**/events/")
    page.clock.run_for(6_000)
    expect_state(page, unsent=0)
    page.reload()
    expect_state(page, came=1, unsent=0)
    assert stored(served, page)[0] == ["began", "came"]


def test_ended_run_stands_in_the_history(served: Served, page: Page, begin: Callable[..., Page]) -> None:
    begin(page)
    page.get_by_role("button", name="Begin").tap()
    page.clock.run_for(121_000)
    page.get_by_role("button", name="Paid").tap()
    end = page.locator("#end")
    end.tap()
    expect(end).to_have_text("Tap again to end")
    end.tap()
    expect_state(page, state="ended", unsent=0)
    page.get_by_role("link", name="To the runs").tap()
    expect(page.locator(".ruled li").first).to_contain_text("Paid 1, broken off 0. On average 2 min at first, 2 min")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_running_timer_has_no_violation_and_large_targets(
    scheme: str, new_phone: Callable[..., Page], begin: Callable[..., Page]
) -> None:
    page = begin(new_phone(color_scheme=scheme), "varied around a mean")
    page.get_by_role("button", name="Begin").tap()
    page.clock.run_for(600_000)
    page.locator("summary").tap()
    page.clock.resume()  # axe-core waits by timers
    found = Axe().run(page, options=AXE)
    assert found.violations_count == 0, found.generate_report()
    for button in page.locator("button:visible, summary").all():
        box = button.bounding_box()
        assert box is not None
        assert min(box["height"], box["width"]) >= 48, button.inner_text()
