"""The timetable in the distribution's Chromium: one thumb, at nine in the morning of a stay's eleventh day."""

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect
from tests.browser.conftest import Served

pytestmark = pytest.mark.browser

FILLED_WITH = ("9", "planned")

PLANNED = "select key, starts_at, state from storage_planblock order by starts_at, key"


@pytest.fixture
def day(page: Page) -> Page:
    """Today, with its timetable made by the page itself."""
    page.goto("/")
    expect(page.locator(".now-line")).to_be_visible()
    expect(page.locator("#timetable form.make")).to_have_count(0, timeout=15_000)
    return page


def coming(page: Page) -> list[str]:
    """Return the rows that lie ahead, as they are read."""
    rows = page.locator("#timetable .hours > .planned")
    return [" ".join(text.split()) for text in rows.all_text_contents()]


def test_accident_moves_the_plan(day: Page, served: Served) -> None:
    before, stored = coming(day), served.rows(PLANNED)
    day.get_by_role("group", name="Indoors").get_by_role("button", name="wee").tap()
    expect(day.locator(".written")).to_contain_text("Written down: Indoors: wee")
    assert served.rows("select count(*) from storage_careevent where kind = 'indoors'") == [(1,)]
    expect(day.locator("#timetable .now-line")).to_be_visible()
    assert coming(day) != before
    assert served.rows(PLANNED) != stored


def test_block_is_ticked_off_with_one_tap_and_taken_back_with_another(day: Page, served: Served) -> None:
    day.locator("details.over > summary").tap()
    row = day.locator("details.over .block.planned").filter(has_text="Play").first
    row.get_by_role("button", name="Done").tap()
    expect(day.locator(".written")).to_contain_text("Play: done.")
    assert served.rows("select count(*) from storage_planblock where state = 'done' and kind = 'play'") == [(1,)]
    day.locator(".written").get_by_role("button", name="Take back").tap()
    expect(day.locator(".written")).to_contain_text("Taken back.")
    assert served.rows("select count(*) from storage_planblock where state = 'done' and kind = 'play'") == [(0,)]


def test_two_appointments_at_once_are_refused_in_words(day: Page, new_phone: Callable[..., Page]) -> None:
    page = new_phone(allow_errors=("status of 400",))
    page.goto("/")
    page.get_by_role("link", name="Change the day").tap()
    expect(page.get_by_role("heading", name="Your appointments")).to_be_visible()
    today = page.evaluate("new Date().toISOString().slice(0, 10)")

    def keep(start: str, end: str, words: str) -> None:
        page.get_by_label("From", exact=True).fill(f"{today}T{start}")
        page.get_by_label("Until", exact=True).fill(f"{today}T{end}")
        page.locator("#id_words").fill(words)
        page.get_by_role("button", name="Keep").tap()

    keep("15:00", "14:00", "Dentist")
    expect(page.get_by_text("The appointment ends before it starts; give a later end.")).to_be_visible()
    expect(page.locator("#id_words")).to_have_value("Dentist")
    keep("14:00", "15:00", "Dentist")
    expect(page.get_by_text("The appointment is written down.")).to_be_visible()
    keep("14:30", "16:00", "Hairdresser")
    expect(page.get_by_text("nobody can be in two places")).to_be_visible()
    page.goto("/")
    page.locator("details.later > summary").tap()
    expect(page.locator("#timetable").get_by_text("Dentist")).to_be_visible()


def test_sheet_prints_to_one_page(day: Page, served: Served) -> None:
    day.goto("/today/sheet/")
    document = day.pdf(prefer_css_page_size=True)
    assert n_pages(document) == 1
    box = re.search(rb"/MediaBox\s*\[\s*0\s+0\s+([\d.]+)\s+([\d.]+)", document)
    width, height = (float(one) for one in box.groups())
    # ISO 216: A4 is 210 mm by 297 mm; a point is 1/72 inch
    assert (width, height) == (pytest.approx(210 / 25.4 * 72, abs=1), pytest.approx(297 / 25.4 * 72, abs=1))


def n_pages(document: bytes) -> int:
    """Return how many pages a PDF has: its page objects stand uncompressed in what Chromium writes."""
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", document))


def test_fullest_sheet_still_prints_to_one_page(day: Page) -> None:
    """Sixty-five rows, each with a note of two lines: more than a day of five-minute outings holds."""
    day.goto("/today/sheet/")
    day.evaluate("""() => {
      document.querySelector(".sheet").classList.add("close");
      const rows = document.querySelector(".rows"), first = rows.children[0];
      first.children[1].append(" and a note that is long enough to need a second line of its column");
      while (rows.children.length < 65) rows.append(first.cloneNode(true));
    }""")
    assert n_pages(day.pdf(prefer_css_page_size=True)) == 1


def test_calendar_link_is_read_by_a_calendar(day: Page, served: Served) -> None:
    import urllib.request

    import icalendar

    day.get_by_role("link", name="Change the day").tap()
    day.get_by_role("button", name="Make a new link").tap()
    address = day.get_by_label("Address").input_value()
    with urllib.request.urlopen(address) as answer:  # noqa: S310  our own server on this machine
        calendar = icalendar.Calendar.from_ical(answer.read())
    stored = {key for key, _, _ in served.rows(PLANNED)}
    read = {str(event["uid"]).split("-", 8)[-1].removesuffix("@pupilage") for event in calendar.walk("VEVENT")}
    assert read == stored
