"""The whole job: a session's video is brought in, its words taught by taps, heard, checked by keys, and counted."""

import json
import os
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect
from tests.browser.conftest import Served, wait_until
from tests.browser.test_pages import AXE, SMALL_TARGETS
from tests.browser.test_review import left, settle

from pupilage.core.errors import InvalidInput
from pupilage.storage.sound.embedding import find_model
from spoken import Spoken, spoken, write_video

pytestmark = pytest.mark.browser
CAN_PLAY = "document.getElementById('player')?.readyState > 0"
TRIALS = ["sit", "yes", "down", "yes", "sit", "yes", "sit", "yes", "down", "down", "yes"]


@pytest.fixture(scope="module")
def session() -> Spoken:
    try:
        find_model()
    except InvalidInput as error:
        pytest.skip(str(error))
    return spoken([*["sit", "down", "yes"] * 3, *TRIALS], seed=8, pause_s=1.6)


@pytest.fixture(scope="module")
def video(session: Spoken, tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("video") / "garden.webm"
    write_video(file, session.wav)
    return file


def command(served: Served, *arguments: str) -> subprocess.CompletedProcess[str]:
    """Run the command line on the data of the server."""
    own = {"PUPILAGE_DATA": str(served.database.parent), "DATABASE_URL": ""}
    environment = {**os.environ, **own, "DJANGO_SETTINGS_MODULE": "pupilage.settings.local"}
    run = [sys.executable, "-m", "pupilage", *arguments]
    return subprocess.run(run, env=environment, capture_output=True, text=True, timeout=120)


def bring(page: Page, served: Served, video: Path) -> str:
    """Upload the video by the page, and return the recording's id."""
    page.goto(f"/dogs/{served.known['dog']}/recordings/")
    page.set_input_files("#file", video)
    with page.expect_navigation(timeout=60_000):
        page.get_by_role("button", name="Bring it in").click()
    link = page.locator("li", has_text="garden.webm").first
    expect(link.locator("a", has_text="garden.webm")).to_be_visible(timeout=60_000)
    return link.get_attribute("id").removeprefix("recording-")


def add_word(page: Page, text: str, role: str, behaviour: str = "") -> None:
    adding = page.locator("details", has_text="Add a word")
    if adding.get_attribute("open") is None:
        adding.locator("summary").click()
    adding.get_by_label("The word, as it is said").fill(text)
    adding.get_by_label("What it is for").select_option(role)
    adding.get_by_label("What a cue asks for").select_option(behaviour)
    adding.get_by_role("button", name="Add the word").click()
    expect(page.locator("#word option:checked")).to_contain_text(text)


def tap_at(page: Page, at_s: float) -> None:
    """Move the player there and press the key, as somebody does just after the word."""
    page.evaluate(
        """at => new Promise(done => { const one = document.getElementById('player');
      one.addEventListener('seeked', done, {once: true}); one.currentTime = at; })""",
        at_s,
    )
    page.keyboard.press("t")


def troubles(page: Page) -> list[object]:
    """Return each breach of the accessibility rules on the page and where, and each target too small for a thumb."""
    found = Axe().run(page, options=AXE)
    breaches = [(one["id"], node["html"]) for one in found.response["violations"] for node in one["nodes"]]
    return [*breaches, *page.evaluate(SMALL_TARGETS)]


def on_record(page: Page, served: Served, behaviour: str) -> int:
    """Return how many tries the behaviour's page of progress counts."""
    page.goto(f"/stays/{served.known['programme']}/progress/{behaviour}/")
    return int(re.search(r"(\d+) tries, days", page.locator("main").inner_text()).group(1))


def test_a_video_is_brought_in_taught_heard_checked_and_counted(
    served: Served, new_phone: Callable[..., Page], session: Spoken, video: Path, tmp_path: Path
) -> None:
    page = new_phone()
    n_before = on_record(page, served, "sit")
    recording = bring(page, served, video)

    page.goto("/voices/")
    page.get_by_label("Who it is, or which set of words").fill("Wren")
    page.get_by_role("button", name="Add", exact=True).click()
    page.get_by_role("link", name="Teach from it").first.click()
    wait_until(page, CAN_PLAY)
    for text, role, behaviour in (("sit", "cue", "sit"), ("down", "cue", "down"), ("yes", "marker", "")):
        add_word(page, text, role, behaviour)
        wait_until(page, CAN_PLAY)
        page.locator("#said").click()
        for n, start_s in enumerate(session.times(text)[:3], start=1):
            tap_at(page, start_s + 0.3)
            expect(page.locator("#said")).to_contain_text(f"Example {n} of “{text}”", timeout=15_000)
    page.keyboard.press("u")
    expect(page.locator("#said")).to_contain_text("Taken back")
    tap_at(page, session.times("yes")[2] + 0.3)
    expect(page.locator("#said")).to_contain_text("Example 3 of “yes”", timeout=15_000)
    assert not troubles(page)
    page.get_by_role("link", name="Done").click()
    page.get_by_role("button", name="Learn these words now").click()
    expect(page.locator("#learning")).to_contain_text("Last learned", timeout=90_000)
    page.get_by_role("link", name="Show what sounds alike").click()
    expect(page.get_by_role("link", name="Read it with this voice").first).to_be_visible()
    assert not troubles(page)

    page.goto(f"/recordings/{recording}/")
    page.get_by_label("Wren").check(force=True)
    page.get_by_role("button", name="Read it again with these").click()
    line = page.locator(f"#recording-{recording}")
    expect(line).to_contain_text("sounds checked", timeout=90_000)
    page.goto(f"/recordings/{recording}/")
    state = page.evaluate("JSON.parse(document.getElementById('state').textContent)")
    cues = sorted(one["start"] for one in state["events"] if one["kind"] == "cue" and one["band"] != "hidden")
    wanted = sorted(session.times("sit") + session.times("down"))
    assert cues == pytest.approx(wanted, abs=0.2)

    while left(page)[0]:
        page.keyboard.press("y")
    page.keyboard.press("a")
    settle(page)
    page.keyboard.press("m")
    while left(page)[2]:
        page.keyboard.press("2")
    settle(page)
    assert left(page) == [0, 0, 0]
    page.get_by_role("button", name="Let them count").click()
    expect(page.locator(".notices")).to_contain_text("count", timeout=30_000)
    n_sit = served.rows("select count(*) from storage_trial where source = 'recorded' and behaviour = 'sit'")[0][0]
    assert n_sit == len(session.times("sit"))
    assert on_record(page, served, "sit") == n_before + n_sit
    page.goto(f"/recordings/{recording}/")
    page.locator("#amounts a[href^='/sessions/']").first.click()
    expect(page.locator("main")).to_contain_text("met")

    captions = tmp_path / "spoken.vtt"
    clock = "{:02d}:{:06.3f}".format
    blocks = [f"{clock(int(a // 60), a % 60)} --> {clock(int(b // 60), b % 60)}\n{word}" for a, b, word in session.said]
    captions.write_text("WEBVTT\n\n" + "\n\n".join(blocks) + "\n", encoding="utf-8")
    done = command(served, "recording", "read", str(captions), "--voice", "Wren", "--json")
    assert done.returncode == 0, done.stderr
    read = [one["label"] for one in json.loads(done.stdout)["events"] if one["kind"] == "cue"]
    for word in ("sit", "down"):
        assert read.count(word) == sum(one["label"] == word and one["kind"] == "cue" for one in state["events"]
                                       if one["band"] != "hidden")  # fmt: skip


@pytest.mark.parametrize("refusal", ["refused", "absent", "insecure"])
def test_a_microphone_that_is_not_given_is_told_and_the_other_way_offered(
    refusal: str, served: Served, page: Page
) -> None:
    page.add_init_script({
        "refused": "navigator.mediaDevices.getUserMedia = () => Promise.reject({name: 'NotAllowedError'})",
        "absent": "navigator.mediaDevices.getUserMedia = () => Promise.reject({name: 'NotFoundError'})",
        "insecure": "Object.defineProperty(window, 'isSecureContext', {value: false})",
    }[refusal])  # fmt: skip
    page.goto("/voices/")
    page.get_by_label("Who it is, or which set of words").fill(f"Pia {refusal}")
    page.get_by_role("button", name="Add", exact=True).click()
    page.get_by_label("The word, as it is said").fill("hopp")
    page.get_by_role("button", name="Add the word").click()
    page.get_by_role("button", name="Record one example").click()
    says = {"refused": "was refused", "absent": "No microphone", "insecure": "over https"}[refusal]
    expect(page.locator("#problem")).to_contain_text(says)
    expect(page.locator("#problem")).to_contain_text("under “Recordings”")
