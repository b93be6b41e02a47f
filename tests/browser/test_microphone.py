"""Examples of a word recorded in the page: Chromium is given a sound file in place of a microphone, and allows it."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from playwright.sync_api import Page, expect
from tests.browser.conftest import PHONE, Served

from chromium import ARGUMENTS, CHROMIUM
from pupilage.core.errors import InvalidInput
from pupilage.storage.sound.cutting import as_wav
from pupilage.storage.sound.embedding import find_model
from spoken import Spoken, spoken

if TYPE_CHECKING:
    from playwright.sync_api import Playwright

pytestmark = pytest.mark.browser
RECORDED_MS = 3500


@pytest.fixture(scope="module")
def said() -> Spoken:
    """One word, in a sound as long as what is recorded: wherever the recording begins in it, the word is in it once."""
    try:
        find_model()
    except InvalidInput as error:
        pytest.skip(str(error))
    return spoken(["sit"], seed=3, pause_s=1.5)


@pytest.fixture
def page(playwright: "Playwright", signed_in: Any, served: Served, said: Spoken, tmp_path: Path) -> Iterator[Page]:
    """A signed-in page whose microphone hears the word again and again, between pauses."""
    heard = tmp_path / "said.wav"
    heard.write_bytes(as_wav(np.repeat(said.sound, 3), rate_hz=48_000))  # a microphone's rate
    given = [
        "--use-fake-device-for-media-stream",
        "--use-fake-ui-for-media-stream",
        f"--use-file-for-fake-audio-capture={heard}",
    ]
    chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=[*ARGUMENTS, *given])
    context = chromium.new_context(
        base_url=served.url, viewport=PHONE, has_touch=True, storage_state=signed_in, service_workers="block"
    )
    yield context.new_page()
    chromium.close()


def test_three_examples_are_recorded_in_the_page_learned_and_their_sound_let_go(
    page: Page, served: Served, said: Spoken
) -> None:
    wrong: list[str] = []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.goto("/voices/")
    page.get_by_label("Who it is, or which set of words").fill("Robin")
    page.get_by_role("button", name="Add", exact=True).click()
    page.get_by_label("The word, as it is said").fill("sit")
    page.get_by_role("button", name="Add the word").click()
    for n in range(1, 4):
        with page.expect_navigation(timeout=30_000):  # the page loads anew once the example is kept
            page.get_by_role("button", name="Record one example").click()
            expect(page.get_by_role("button", name="Stop")).to_be_visible()
            page.wait_for_timeout(RECORDED_MS)
            page.get_by_role("button", name="Stop").click()
            expect(page.locator("#said")).to_contain_text(f"Example {n} of “sit”", timeout=15_000)
        expect(page.locator("[data-sample]")).to_have_count(n)
    assert page.locator("#problem").is_hidden()
    ((start_s, end_s, _),) = said.said
    voices = "JOIN storage_voiceword w ON w.id = s.word_id JOIN storage_voice v ON v.id = w.voice_id"
    kept = f"FROM storage_voicesample s {voices} WHERE v.name = 'Robin'"
    assert [row[0] for row in served.rows(f"SELECT duration_s {kept}")] == pytest.approx([end_s - start_s] * 3, abs=0.2)
    assert not list((served.database.parent / "recordings").glob("sample-*")), "what was recorded is not kept whole"
    page.get_by_role("button", name="Learn these words now").click()
    expect(page.locator("#learning")).to_contain_text("Last learned", timeout=90_000)
    assert served.rows(f"SELECT count(*) {kept} AND s.sound IS NULL AND length(s.numbers) > 0") == [(3,)]
    assert not wrong
