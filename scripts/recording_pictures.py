"""Takes the pictures of a recording's whole way: brought in, taught by taps, learned, checked, and counted."""

import re
import sys
from pathlib import Path

from playwright.sync_api import Page, expect

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))
from spoken import Spoken, spoken, write_video

PICTURES = Path(__file__).resolve().parent.parent / "docs" / "pictures"
YARD = (
    "color=c=0xb8c7cf:size=320x180:rate=5,drawbox=y=70:h=110:w=320:c=0x7d9463:t=fill,"
    "drawbox=x=110:y=110:w=100:h=34:c=0x8a5a44:t=fill"
)
"""A sky, grass and a mat."""
WORDS = (("sit", "cue", "sit"), ("down", "cue", "down"), ("yes", "marker", ""))
TRIES = ["sit", "yes", "down", "yes", "sit", "sit", "yes", "down", "yes", "sit", "yes"]


def shoot(page: Page, name: str, *, at: str = "h1") -> None:
    """Take the picture of a phone's screen with that element at its top."""
    page.locator(at).first.evaluate("one => one.scrollIntoView()")
    page.wait_for_timeout(400)
    page.screenshot(path=PICTURES / f"recording-{name}.png")


def bring(page: Page, home: str, dog: str, video: Path) -> str:
    """Bring the video in and return the address of its page."""
    page.goto(f"{home}/dogs/{dog}/recordings/")
    page.set_input_files("#file", video)
    shoot(page, "bring")
    with page.expect_navigation(timeout=60_000):
        page.get_by_role("button", name="Bring it in").click()
    link = page.get_by_role("link", name=video.name)
    expect(link).to_be_visible(timeout=90_000)
    return f"{home}{link.get_attribute('href')}"


def tap_at(page: Page, at_s: float, says: str) -> None:
    """Move the player to the moment, tap, and wait for what was cut."""
    page.evaluate(
        """at => new Promise(done => { const one = document.getElementById('player');
      one.addEventListener('seeked', done, {once: true}); one.currentTime = at; })""",
        at_s,
    )
    page.get_by_role("button", name="Now!").click()
    expect(page.locator("#said")).to_contain_text(says, timeout=20_000)


def teach(page: Page, home: str, video: Path, session: Spoken) -> None:
    """Add a voice, teach its words by taps, and let them be learned."""
    page.goto(f"{home}/voices/")
    page.get_by_label("Who it is, or which set of words").fill("Wren")
    page.get_by_role("button", name="Add", exact=True).click()
    page.get_by_role("link", name="Teach from it").first.click()
    for text, role, behaviour in WORDS:
        adding = page.locator("details", has_text="Add a word")
        if adding.get_attribute("open") is None:
            adding.locator("summary").click()
        adding.get_by_label("The word, as it is said").fill(text)
        adding.get_by_label("What it is for").select_option(role)
        adding.get_by_label("What a cue asks for").select_option(behaviour)
        adding.get_by_role("button", name="Add the word").click()
        expect(page.locator("#word option:checked")).to_contain_text(text)
        for n, start_s in enumerate(session.times(text)[:3], start=1):
            tap_at(page, start_s + 0.3, f"Example {n} of")
            if (text, n) == ("down", 2):
                shoot(page, "teach")
    page.get_by_role("link", name="Done").click()
    page.get_by_role("button", name="Learn these words now").click()
    expect(page.locator("#learning")).to_contain_text("Last learned", timeout=90_000)
    page.get_by_role("link", name="Show what sounds alike").click()
    shoot(page, "learned")


def check(page: Page, home: str, recording: str) -> None:
    """Have it read with the learned words, check everything by keys, and let the tries count."""
    page.goto(recording)
    page.get_by_label("Wren").check(force=True)
    page.get_by_role("button", name="Read it again with these").click()
    line = page.locator(f"#recording-{recording.split('/')[-2]}")
    expect(line).to_contain_text("sounds checked", timeout=90_000)
    page.goto(recording)
    page.wait_for_timeout(2500)
    shoot(page, "check")
    for key in ("a", "m"):
        page.keyboard.press(key)
        page.wait_for_timeout(4000)
    for _ in range(60):
        to_check, _, without = (int(n) for n in re.findall(r"\d+", page.locator("#left").inner_text()))
        if not (to_check or without):
            break
        page.keyboard.press("y" if to_check else "2")
        page.wait_for_timeout(300)
    page.wait_for_timeout(3000)
    shoot(page, "amounts", at="#amounts")
    page.get_by_role("button", name="Let them count").click()
    expect(page.locator(".notices")).to_contain_text("count", timeout=30_000)


def take_recording(page: Page, home: str, folder: Path) -> None:
    """Take all pictures of a made session's video, from its upload to the pup's progress."""
    known = page.content()
    dog = re.findall(r"/dogs/([0-9a-f-]{36})/", known)[0]
    stay = re.findall(r"/stays/([0-9a-f-]{36})/", known)[0]
    session = spoken([*["sit", "down", "yes"] * 3, *TRIES], seed=8, pause_s=1.6)
    video = folder / "garden.webm"
    write_video(video, session.wav, picture=YARD)
    recording = bring(page, home, dog, video)
    teach(page, home, video, session)
    check(page, home, recording)
    page.goto(f"{home}/stays/{stay}/progress/sit/")
    shoot(page, "progress")
