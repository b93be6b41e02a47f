"""Every page but the session screen, in the distribution's Chromium at a phone's size."""

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect
from tests.browser.conftest import Served

pytestmark = pytest.mark.browser

PAGES = {
    "hands": "/hands/",
    "today": "/",
    "intake": "/start/",
    "stays": "/stays/",
    "stay": "/stays/{programme}/",
    "goals": "/stays/{programme}/goals/",
    "dates": "/stays/{programme}/dates/",
    "day": "/stays/{programme}/day/",
    "day sheet": "/today/sheet/",
    "exposures": "/stays/{programme}/exposures/",
    "exposure": "/stays/{programme}/exposures/vacuum-cleaner/",
    "plan": "/stays/{programme}/plan/",
    "pack": "/stays/{programme}/pack/",
    "family's page": "/stays/{programme}/family/",
    "family's page as they see it": "/stays/{programme}/family/preview/",
    "family's link": "/for/{family}/",
    "family's lesson": "/stays/{programme}/lesson/",
    "after the hand-over": "/stays/{programme}/after/",
    "who needs a call": "/families/",
    "what if": "/stays/{programme}/plan/what-if/?sessions_a_day=6",
    "progress": "/stays/{programme}/progress/",
    "progress of a behaviour": "/stays/{programme}/progress/sit/",
    "progress of one never tried": "/stays/{programme}/progress/stay/",
    "celeration": "/stays/{programme}/progress/sit/rates/",
    "thresholds": "/stays/{programme}/thresholds/sit/",
    "session card": "/stays/{programme}/session/",
    "session record": "/sessions/{session}/",
    "code session": "/sessions/{session}/code/",
    "agreement": "/sessions/{session}/agreement/",
    "agreement of two": "/sessions/{coded}/agreement/",
    "paid stretches": "/dogs/{dog}/intervals/",
    "timer": "/intervals/{run}/",
    "dog": "/dogs/{dog}/",
    "dog put right": "/dogs/{dog}/change/",
    "for the veterinarian": "/dogs/{dog}/for-the-vet/",
    "ration": "/dogs/{dog}/ration/",
    "ration short": "/dogs/{dog}/ration/?sessions=12&minutes=5&rate=15",
    "eaten": "/eaten/",
    "dose": "/eaten/?what=dark-chocolate&amount=20",
    "outings": "/dogs/{dog}/outings/",
    "care log": "/dogs/{dog}/log/",
    "incident": "/dogs/{dog}/incident/",
    "incidents": "/dogs/{dog}/incidents/",
    "recordings": "/dogs/{dog}/recordings/",
    "recording": "/recordings/{recording}/",
    "voices": "/voices/",
    "voice": "/voices/{voice}/",
    "teach": "/recordings/{recording}/teach/?voice={voice}",
    "incident with the other dog": "/dogs/{dog}/incident/?two-dogs",
    "two dogs": "/dogs/{dog}/two-dogs/",
    "plan against it": "/dogs/{dog}/incidents/{planned}/plan/",
    "incidents as a sheet": "/dogs/{dog}/incidents/sheet/",
    "time alone": "/dogs/{dog}/alone/",
    "leave": "/dogs/{dog}/alone/leave/",
    "absence": "/dogs/{dog}/alone/write/",
    "catalogue": "/behaviours/",
    "behaviour": "/behaviours/stay/",
    "unwanted behaviour": "/behaviours/{unwanted}/",
    "settings": "/settings/",
    "phones": "/settings/phones/",
    "pairing": "/pair/",
    "looking back": "/looking-back/",
    "cautions": "/cautions/",
}

AXE = {"resultTypes": ["violations"], "rules": {"color-contrast-enhanced": {"enabled": True}}}
"""All of axe-core's rules, and its rule for WCAG 2.2 success criterion 1.4.6: text has a contrast of 7 to 1."""

SMALLEST_TEXT = """() => Math.min(...[...document.querySelectorAll(".chart svg text")].map(
  one => parseFloat(one.getAttribute("font-size")) * one.ownerSVGElement.getBoundingClientRect().width
    / one.ownerSVGElement.viewBox.baseVal.width))"""

SMALL_TARGETS = """() => [...document.querySelectorAll("button, .button, select, summary, label:has(input),"
  + " .tabs a, .ruled a, .foot a, input:not([type=hidden], [type=checkbox], [type=radio])")]
  .filter(one => one.checkVisibility())
  .map(one => [one.textContent.trim().slice(0, 30), one.getBoundingClientRect()])
  .filter(([, box]) => box.height < 47.5 || box.width < 47.5)
  .map(([text, box]) => `${text} ${Math.round(box.width)}x${Math.round(box.height)}`)"""


def each(names: dict[str, str]) -> object:
    return pytest.mark.parametrize("path", names.values(), ids=names.keys())


@pytest.mark.parametrize("scheme", ["light", "dark"])
@each(PAGES)
def test_axe_finds_no_violation_and_nothing_is_wider_than_the_phone(
    path: str, scheme: str, served: Served, new_phone: Callable[..., Page]
) -> None:
    page = new_phone(color_scheme=scheme)
    assert page.goto(path.format(**served.known)).status == 200
    page.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")
    found = Axe().run(page, options=AXE)
    assert found.violations_count == 0, found.generate_report()
    assert page.evaluate("document.documentElement.scrollWidth") <= 390


@each(PAGES)
def test_touch_targets_are_large_enough(path: str, served: Served, page: Page) -> None:
    page.goto(path.format(**served.known))
    assert page.evaluate(SMALL_TARGETS) == []


def test_charts_of_incidents_have_text_of_11_px_and_one_sentence_each(served: Served, page: Page) -> None:
    page.goto(PAGES["incidents"].format(**served.known))
    page.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")
    charts = page.locator("figure.chart")
    assert charts.count() >= 4
    for chart in charts.all():
        says = chart.locator("figcaption").inner_text()
        expect(chart.get_by_role("img", name=says, exact=True)).to_be_visible()
    assert page.evaluate(SMALLEST_TEXT) >= 11.0


def test_tap_on_today_is_written_down_and_taken_back(served: Served, page: Page) -> None:
    def n_stored() -> int:
        return served.rows("select count(*) from storage_careevent")[0][0]

    page.goto("/")
    before = n_stored()
    page.get_by_role("group", name="Outside").get_by_role("button", name="poo").tap()
    written = page.locator(".written")
    expect(written).to_contain_text("Written down: Outside: poo")
    expect(written).to_be_in_viewport()
    assert n_stored() == before + 1
    written.get_by_role("button", name="Take back").tap()
    expect(written).to_contain_text("Taken back.")
    assert n_stored() == before + 2
    assert page.url == f"{served.url}/"


def test_page_that_lies_open_asks_for_the_outing_again(page: Page) -> None:
    page.goto("/")
    with page.expect_response("**/log/outing/") as answer:
        page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    assert answer.value.status == 200
    expect(page.locator("#outing")).to_have_count(1)


def test_meal_takes_food_off_the_ration_without_a_reload(page: Page) -> None:
    page.goto("/")
    before = page.locator(".ration").inner_text()
    page.get_by_label("Meal", exact=True).fill("10")
    page.get_by_role("button", name="eaten").tap()
    expect(page.locator(".written")).to_contain_text("Written down: Meal")
    assert page.locator(".ration").inner_text() != before


def test_refused_tap_is_said_on_the_page(served: Served, new_phone: Callable[..., Page]) -> None:
    page = new_phone(allow_errors=("status of 400", "Response Status Error Code 400"))
    page.goto("/")
    page.get_by_label("Meal", exact=True).fill("90000")
    page.get_by_role("button", name="eaten").tap()
    alert = page.get_by_role("alert")
    expect(alert).to_contain_text("90000 g is no meal; give grams between 1 and 3000.")
    expect(alert).to_be_in_viewport()
    page.get_by_label("Meal", exact=True).fill("20")
    page.get_by_role("button", name="eaten").tap()
    expect(alert).to_be_empty()


def test_tap_that_nobody_answered_is_said_not_to_be_written_down(new_phone: Callable[..., Page]) -> None:
    page = new_phone(allow_errors=("ERR_FAILED", "htmx"))
    page.goto("/")
    page.route("**/log/add/", lambda route: route.abort())
    page.get_by_role("button", name="drink").tap()
    expect(page.get_by_role("alert")).to_contain_text("Not written down: Pupilage does not answer.")


def test_proposed_session_begins_in_two_taps(served: Served, page: Page) -> None:
    page.goto("/")
    page.get_by_role("link", name="Get ready").tap()
    page.get_by_role("button", name="Begin").tap()
    page.wait_for_url("**/live/")
    session = page.url.rstrip("/").split("/")[-2].replace("-", "")
    assert served.rows("select count(*) from storage_sessionevent where session_id = ?", session) == [(1,)]


def test_goal_shows_its_step_and_weight_only_when_ticked(served: Served, page: Page) -> None:
    page.goto(f"/stays/{served.known['programme']}/goals/")
    choice = page.locator("fieldset.choice").first
    box, step = choice.get_by_role("checkbox"), choice.get_by_label("At hand-over")
    box.set_checked(False)
    expect(step).to_be_hidden()
    box.set_checked(True)
    expect(step).to_be_visible()


def test_ticking_a_sign_says_the_veterinarian_first(page: Page) -> None:
    page.goto("/start/")
    words = page.get_by_text("Let a veterinarian see the pup before you train")
    expect(words).to_be_hidden()
    page.get_by_label("Vomits, or has diarrhoea").check()
    expect(words).to_be_visible()


def test_intake_takes_few_taps_from_an_empty_form_to_goals(page: Page) -> None:
    page.goto("/start/")
    page.get_by_label("The pup's name").fill("Sorrel")
    born = page.evaluate("new Date(Date.now() - 65 * 864e5).toISOString().slice(0, 10)")
    page.get_by_label("Born on", exact=True).fill(born)
    page.get_by_role("button", name="On to the goals").tap()
    page.get_by_role("button", name="Set these goals").tap()
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    assert page.get_by_text("The goals are set.").is_visible()


def test_meeting_is_written_down_in_one_tap_in_its_place_and_taken_back_in_one(served: Served, page: Page) -> None:
    def n_stored() -> int:
        return served.rows("select count(*) from storage_exposureevent")[0][0]

    page.goto(f"/stays/{served.known['programme']}/exposures/grass/")
    before = n_stored()
    page.get_by_role("button", name="calm").tap()
    noted = page.locator(".noted")
    expect(noted).to_contain_text("Written down: calm")
    expect(page.get_by_role("button", name="calm")).to_have_count(0)
    assert n_stored() == before + 1
    noted.get_by_role("button", name="Take back").tap()
    expect(page.get_by_text("Taken back.")).to_be_visible()
    expect(page.get_by_role("button", name="calm")).to_be_visible()
    assert n_stored() == before + 2


@pytest.fixture
def well(served: Served) -> Iterator[None]:
    """Take the sign of illness off the pup while a test runs, so that there is a list for today."""

    def write(signs: str) -> None:
        with closing(sqlite3.connect(served.database, timeout=10)) as connection, connection:
            connection.execute("update storage_dog set signs = ? where is_resident = 0", (signs,))

    write("")
    yield
    write("limping")


@pytest.mark.usefixtures("well")
def test_second_tap_on_the_same_place_stores_nothing_more(served: Served, page: Page) -> None:
    """A thumb that taps twice must not write down another item that has moved under it."""

    def n_stored() -> int:
        return served.rows("select count(*) from storage_exposureevent")[0][0]

    page.goto(f"/stays/{served.known['programme']}/exposures/")
    before = n_stored()
    for name in ("calm", "afraid"):
        box = page.get_by_role("button", name=name).first.bounding_box()
        place = (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
        page.touchscreen.tap(*place)
        expect(page.locator(".noted")).to_contain_text(f"Written down: {name}")
        page.touchscreen.tap(*place)
        expect(page.locator(".noted")).to_have_count(1)
        assert n_stored() == before + 1
        page.locator(".noted").get_by_role("button", name="Take back").tap()
        expect(page.locator(".noted")).to_have_count(0)
        assert n_stored() == before + 2
        before += 2


@pytest.mark.usefixtures("well")
def test_list_for_today_has_no_violation_and_targets_that_are_large_enough(
    served: Served, new_phone: Callable[..., Page]
) -> None:
    page = new_phone()
    page.goto(f"/stays/{served.known['programme']}/exposures/")
    expect(page.locator(".responses").first).to_be_visible()
    page.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")
    found = Axe().run(page, options=AXE)
    assert found.violations_count == 0, found.generate_report()
    assert page.evaluate(SMALL_TARGETS) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
