"""Two dogs in one session, without a free finger: the mat's own clock, its pays and breaks, keys, signs, dark."""

import json
import re
from collections.abc import Callable
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect
from tests.browser.conftest import Served
from tests.browser.test_pages import AXE

pytestmark = pytest.mark.browser

CAN = "One full second; pay on the mat, between the front feet."
"""What is said of the resident dog, of which nothing is known before the first of these tests."""

MAT_TRIES = "select id from storage_trial where behaviour = 'settle-on-mat'"

FAILED = ("Failed to load resource",)


@pytest.fixture
def begin(served: Served, page: Page) -> Callable[..., Page]:
    """Return a function that begins a session of sit with the resident dog on its mat, and gives its screen."""

    def start(on: Page = page, *, second: bool = True, behaviour: str = "sit") -> Page:
        on.goto(f"/stays/{served.known['programme']}/session/?behaviour={behaviour}")
        if second:
            on.get_by_label("On its mat beside").select_option(label="Moss")
            if not served.rows(MAT_TRIES):
                on.get_by_label("What can Moss already?").select_option(label=CAN)
        on.get_by_role("button", name="Begin", exact=True).tap()
        expect(on.locator("#page")).to_have_attribute("data-ready", "yes")
        return on

    return start


def session_of(page: Page) -> str:
    return str(page.locator("#page").get_attribute("data-session")).replace("-", "")


def log_of_mat(served: Served, page: Page) -> list[tuple[str, dict[str, Any]]]:
    """Return the log of the mat beside the session on the screen, once nothing waits to be sent."""
    expect(page.locator("#page")).to_have_attribute("data-unsent", "0", timeout=15_000)
    query = """select e.kind, e.payload from storage_sessionevent e
        join storage_trainingsession s on s.id = e.session_id where s.beside = ? order by e.at, e.device_seq"""
    return [(kind, json.loads(payload)) for kind, payload in served.rows(query, session_of(page))]


def test_dog_without_a_record_is_asked_for_on_the_card_and_on_the_screen(
    served: Served, begin: Callable[..., Page], page: Page
) -> None:
    question = page.get_by_label("What can Moss already?")
    page.goto(f"/stays/{served.known['programme']}/session/?behaviour=sit")
    expect(question).to_have_count(0)
    page.get_by_label("On its mat beside").select_option(label="Moss")
    expect(question).to_have_value("first-instant")
    found = Axe().run(page, options=AXE)
    assert found.violations_count == 0, found.generate_report()
    page.get_by_label("On its mat beside").select_option(label="no other dog")
    expect(question).to_have_count(0)
    begin(second=False)
    page.get_by_role("button", name="Moss on its mat beside").tap()
    expect(question).to_have_value("first-instant")
    found = Axe().run(page, options=AXE)
    assert found.violations_count == 0, found.generate_report()
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    box, thumb = page.locator("#mat-begin").bounding_box(), page.locator(".thumb").bounding_box()
    assert box is not None
    assert thumb is not None
    assert 0 <= box["y"] <= thumb["y"] - box["height"]
    question.select_option(label=CAN)
    page.locator("#mat-begin").tap()
    expect(page.locator("#mat-start")).to_have_text("Lies down: ask for a moment (0.5 s)")
    ((kind, start),) = log_of_mat(served, page)
    assert (kind, start["step"]) == ("session-started", "one-second")


def test_second_dog_has_its_own_clock_pays_and_breaks_and_its_own_record(
    served: Served, begin: Callable[..., Page]
) -> None:
    page = begin()
    expect(page.get_by_role("heading", name="Moss on its mat")).to_be_visible()
    page.locator("#mat-start").tap()
    expect(page.locator("#mat-elapsed")).not_to_have_text("0.0")
    page.get_by_role("button", name="Met", exact=True).tap()  # the pup is worked meanwhile
    expect(page.locator("#mat-pay")).to_have_text("Pay now", timeout=15_000)
    page.locator("#mat-pay").tap()
    expect(page.locator("#mat")).to_have_attribute("data-paid", "1")
    page.get_by_role("button", name="release word said to the other").tap()
    expect(page.locator("#mat-start")).to_be_visible()
    log = log_of_mat(served, page)
    assert [kind for kind, _ in log] == ["session-started", "hold-started", "paid", "hold-broke"]
    assert log[0][1]["beside"].replace("-", "") == session_of(page)
    assert log[3][1]["cause"] == "release-word"
    assert log[2][1]["interval_s"] >= 1.0
    ((dog, is_resident),) = served.rows(
        """select d.name, d.is_resident from storage_trial t join storage_programme p on p.id = t.programme_id
        join storage_dog d on d.id = p.dog_id
        join storage_trainingsession s on s.id = t.session_id where s.beside = ?""",
        session_of(page),
    )
    assert (dog, is_resident) == ("Moss", 1)
    page.get_by_role("button", name="End session").tap()
    page.get_by_role("button", name="Tap again to end").tap()
    page.wait_for_url(re.compile(r"/sessions/[0-9a-f-]{36}/$"))
    expect(page.get_by_role("heading", name="Moss on its mat")).to_be_visible()
    expect(page.get_by_text("release word said to the other: 1")).to_be_visible()
    assert page.goto("/").status == 200
    expect(page.get_by_text("Tansy").first).to_be_visible()  # the stay that runs is still the pup's


def test_without_the_machine_each_dog_gets_its_next_target_and_nothing_is_lost(
    served: Served, new_phone: Callable[..., Page], begin: Callable[..., Page]
) -> None:
    page = begin(new_phone(allow_errors=FAILED))
    page.route("**/sync/**", lambda route: route.abort())
    for n in range(1, 4):
        page.locator("#mat-start").tap()
        page.wait_for_timeout(300)
        page.locator("#mat-released" if n < 3 else "[data-cause=excitement]").tap()
        expect(page.locator("#mat")).to_have_attribute("data-holds", str(n))
    expect(page.locator("#mat-why")).to_have_text(re.compile("^The last one broke at"))
    page.get_by_role("button", name="Met", exact=True).tap()
    expect(page.locator("#page")).to_have_attribute("data-unsent", "7")
    reckoned = page.locator("#mat-start").inner_text()
    page.reload()
    expect(page.locator("#mat")).to_have_attribute("data-holds", "3")
    page.unroute("**/sync/**")
    page.evaluate("dispatchEvent(new Event('online'))")
    log = log_of_mat(served, page)
    assert [kind for kind, _ in log] == [
        "session-started",
        *["hold-started", "hold-released"] * 2,
        "hold-started",
        "hold-broke",
    ]
    told = page.locator("#mat-start").inner_text()
    assert told.split() == reckoned.split(), "the engine asks for what the phone asked for"


def test_keys_run_the_mat_and_can_be_given_to_others(served: Served, begin: Callable[..., Page], page: Page) -> None:
    page.goto("/hands/")
    expect(page.locator("body")).to_have_attribute("data-ready", "yes")
    page.locator("[data-add=mat-pay]").tap()
    page.keyboard.press("PageUp")
    expect(page.locator("#keys-mat-pay")).to_have_text("p, PageUp")
    expect(page.locator("#keys-missed")).to_have_text("ArrowLeft, AudioVolumeDown")
    begin(page)
    page.keyboard.press("m")
    expect(page.locator("#mat-timer")).to_be_visible()
    page.keyboard.press("PageUp")
    expect(page.locator("#mat")).to_have_attribute("data-paid", "1")
    page.keyboard.press("m")
    expect(page.locator("#mat")).to_have_attribute("data-holds", "1")
    page.keyboard.press("ArrowRight")
    expect(page.locator("#page")).to_have_attribute("data-tries", "1")
    assert [kind for kind, _ in log_of_mat(served, page)][1:] == ["hold-started", "paid", "hold-released"]


def test_signs_and_mouth_are_one_tap_and_bring_a_suggestion(served: Served, begin: Callable[..., Page]) -> None:
    page = begin(second=False)
    page.get_by_text("Seen in the pup: signs, mouth").tap()
    page.get_by_role("button", name="licks its lips").tap()
    expect(page.locator("#watching")).to_be_hidden()
    page.get_by_role("button", name="turns head or body away").tap()
    expect(page.locator("#watching")).to_have_text(re.compile("Make it easier.*2 signs of stress"))
    page.get_by_role("button", name="licks its lips").tap()  # taken back
    expect(page.locator("#watching")).to_be_hidden()
    page.get_by_role("button", name="3 – a mark, gone within minutes").tap()
    expect(page.locator("#watching")).to_have_text(re.compile("Take a break.*left a mark"))
    expect(page.locator("#page")).to_have_attribute("data-unsent", "0")
    query = "select kind from storage_sessionevent where session_id = ? order by at, device_seq"
    kinds = [kind for (kind,) in served.rows(query, session_of(page))]
    assert kinds == ["session-started", "seen", "seen", "withdrawn", "seen"]


def test_prompts_and_tones_are_given_once_a_try(begin: Callable[..., Page], new_phone: Callable[..., Page]) -> None:
    page = new_phone()
    page.add_init_script("""const all = { sounds: true, speech: true, vibrate: true };
        localStorage.setItem("pupilage-hands", JSON.stringify(all));
        window.heard = []; window.buzzed = [];
        speechSynthesis.speak = (one) => heard.push(one.text); navigator.vibrate = (one) => buzzed.push(one);""")
    begin(page, second=False)
    assert page.evaluate("heard.length") == 0
    page.get_by_role("button", name="Missed").tap()
    expect(page.locator("#page")).to_have_attribute("data-tries", "1")
    page.wait_for_timeout(500)
    assert page.evaluate("buzzed.length") == 1
    assert page.evaluate("heard.length") == 1


def test_dark_large_and_left_handed_are_kept_on_the_device(page: Page, begin: Callable[..., Page]) -> None:
    page.goto("/hands/")
    expect(page.locator("body")).to_have_attribute("data-ready", "yes")
    page.get_by_label("Light or dark").select_option("dark")
    page.get_by_label("Large type").check()
    page.get_by_label("Left-handed").check()
    begin(page)
    assert page.evaluate("getComputedStyle(document.documentElement).backgroundColor") == "rgb(20, 25, 27)"
    boxes = [page.get_by_role("button", name=name, exact=True).bounding_box() for name in ("Met", "Missed")]
    assert boxes[0]["x"] < boxes[1]["x"]
    found = Axe().run(page, options=AXE)
    assert found.violations_count == 0, found.generate_report()
    assert page.evaluate("document.documentElement.scrollWidth") <= 390


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_with_two_dogs_and_gloves_can_tap(
    scheme: str, new_phone: Callable[..., Page], begin: Callable[..., Page]
) -> None:
    page = begin(new_phone(color_scheme=scheme, reduced_motion="reduce"))
    page.locator("#mat-start").tap()
    page.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")
    found = Axe().run(page, options=AXE)
    assert found.violations_count == 0, found.generate_report()
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    for button in page.locator("#mat button:visible, .ticks button, #met, #missed, #helped").all():
        box = button.bounding_box()
        assert box is not None
        assert box["height"] >= 55.9, button.inner_text()


def test_at_twice_the_zoom_every_button_is_there_and_nothing_is_cut(
    new_phone: Callable[..., Page], begin: Callable[..., Page]
) -> None:
    page = begin(new_phone())
    page.set_viewport_size({"width": 195, "height": 422})  # what 200 % leaves of 390 × 844
    assert page.evaluate("document.documentElement.scrollWidth") <= 195
    for name in ("Met", "Missed", "Helped", "Take back", "End session"):
        expect(page.get_by_role("button", name=name, exact=True)).to_be_visible()
