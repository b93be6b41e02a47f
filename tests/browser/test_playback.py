"""Recordings in the containers of phones play, and can be moved in, on the page that checks them."""

import shutil
import subprocess
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect
from tests.browser.conftest import Served, wait_until

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(not shutil.which("ffmpeg"), reason="ffmpeg is not installed; scripts/install_sounds"),
]
CODECS = {
    "mp4": ["-c:v", "libx264", "-c:a", "aac"],
    "webm": ["-c:v", "libvpx", "-c:a", "libopus"],
    "m4a": ["-vn", "-c:a", "aac"],
}
LENGTH_S = 20
SOURCES = ["testsrc=size=160x90:rate=5", "sine=frequency=500:beep_factor=4"]


def made_file(folder: Path, ending: str) -> Path:
    """Write a recording of twenty seconds with a beep each second."""
    file = folder / f"yard.{ending}"
    inputs = [part for source in SOURCES for part in ("-f", "lavfi", "-i", source)]
    command = ["ffmpeg", "-v", "error", "-y", *inputs, *CODECS[ending], "-pix_fmt", "yuv420p", "-t", str(LENGTH_S)]
    subprocess.run([*command, str(file)], check=True, timeout=60)
    return file


@pytest.mark.parametrize("ending", CODECS)
def test_a_recording_plays_and_can_be_moved_in(ending: str, served: Served, page: Page, tmp_path: Path) -> None:
    page.goto(f"/dogs/{served.known['dog']}/recordings/")
    page.set_input_files("#file", made_file(tmp_path, ending))
    with page.expect_navigation(timeout=60_000):
        page.get_by_role("button", name="Bring it in").click()
    link = page.get_by_role("link", name=f"yard.{ending}")
    expect(link).to_be_visible(timeout=60_000)
    link.click()
    wait_until(page, "document.getElementById('player').readyState >= 2")
    name, duration_s = page.evaluate("(one => [one.localName, one.duration])(document.getElementById('player'))")
    assert name == ("audio" if ending == "m4a" else "video")
    assert duration_s == pytest.approx(LENGTH_S, abs=0.3)
    page.evaluate("document.getElementById('player').currentTime = 15")
    wait_until(page, "!document.getElementById('player').seeking")
    page.evaluate("document.getElementById('player').play()")
    wait_until(page, "document.getElementById('player').currentTime > 15.4")
    assert page.evaluate("document.getElementById('player').error") is None
    expect(page.locator("#problem")).to_be_hidden()
