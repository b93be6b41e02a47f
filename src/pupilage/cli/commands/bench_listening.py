"""Seconds and memory of listening to a long recording for words and clicks, and of reading two hours of captions."""

import shutil
import subprocess
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

from pupilage.core.errors import InvalidInput

VIDEO_MB_A_MINUTE = 70.0
"""What a phone writes at 1280 × 720: 1.4 GB in twenty minutes."""


class Took(NamedTuple):
    """What a piece of work took; peak_mb is None where the system does not tell (it is Linux's)."""

    what: str
    wall_s: float
    cpu_s: float
    peak_mb: float | None


def measure_long_recording(folder: Path, *, minutes: float = 20.0, video: bool = False, seed: int = 31) -> Took:
    """Return what listening to that many minutes took: decoding, quality, words and clicks, in a process of its own.

    The recording is one made session again and again, in pink noise at 20 dB, as AAC in mp4. video: with pictures of
    70 MB a minute, as a phone writes; without, the file holds the sound alone. Pictures are never decoded.
    """
    from pupilage.cli.commands.bench_words import learn_voice
    from pupilage.cli.made_sessions.voices import TEST_VOICES

    path = folder / "long.mp4"
    _write_long(path, minutes, seed=seed)
    if video:
        path = _with_pictures(path)
    learned = learn_voice(TEST_VOICES[0], seed=seed)
    wall_s, cpu_s, peak_mb = _in_a_process(_listen, path, learned.ears())
    size = f", video of {path.stat().st_size / 1e9:.2f} GB" if video else ""
    return Took(f"{minutes:g} minutes{size}: words and clicks", wall_s, cpu_s, peak_mb)


def measure_home(*, hours: float = 3.0) -> Took:
    """Return what reading that many hours of a home took, with the television on: quality, speech, barks, whines."""
    return Took(f"{hours:g} hours of a home", *_in_a_process(_home, hours))


def _home(hours: float) -> tuple[float, float, float | None]:
    from pupilage.cli.commands.bench_dogs import measure_long_home
    from pupilage.storage.sound.home import HEARD_S, ROUND_S, speech_meter

    took = measure_long_home(None, speech_meter(every=HEARD_S, of=ROUND_S), hours=hours)
    return took["wall_s"], took["cpu_s"], took["peak_mb"]


def _in_a_process(work: Callable[..., Any], *given: Any) -> Any:
    """Return what the work gives in a process of its own, whose memory nothing else has grown."""
    import multiprocessing
    from concurrent.futures import ProcessPoolExecutor

    with ProcessPoolExecutor(1, mp_context=multiprocessing.get_context("spawn")) as process:
        return process.submit(work, *given).result()


def _with_pictures(sound: Path) -> Path:
    """Return a video with that sound: thirty seconds of ffmpeg's moving test picture in noise, again and again."""
    program = shutil.which("ffmpeg")
    if program is None:
        raise InvalidInput.of("video", "The video is written by ffmpeg, which is not installed. On Debian: ffmpeg.")
    clip, video = sound.with_name("pictures.mp4"), sound.with_name("video.mp4")
    picture = "testsrc2=size=1280x720:rate=30,noise=alls=60:allf=t"
    rate = f"{VIDEO_MB_A_MINUTE * 8000 / 60:.0f}k"
    coded = ["-c:v", "libx264", "-preset", "ultrafast", "-b:v", rate, "-minrate", rate, "-maxrate", rate]
    made = ["-f", "lavfi", "-i", picture, "-t", "30", *coded, "-bufsize", rate, "-pix_fmt", "yuv420p", str(clip)]
    both = ["-stream_loop", "-1", "-i", str(clip), "-i", str(sound), "-map", "0:v", "-map", "1:a", "-c", "copy"]
    for arguments in (made, [*both, "-shortest", str(video)]):
        subprocess.run(  # noqa: S603  arguments of ours only
            [program, "-y", "-loglevel", "error", *arguments], check=True, capture_output=True, timeout=900
        )
    return video


def _write_long(path: Path, minutes: float, *, seed: int) -> None:
    import numpy as np

    from pupilage.cli.made_sessions.backgrounds import Background
    from pupilage.cli.made_sessions.files import write_aac
    from pupilage.cli.made_sessions.sessions import make_session
    from pupilage.cli.made_sessions.voices import RATE_HZ, TEST_VOICES

    once = make_session(TEST_VOICES[0], seed=seed).in_noise(Background.PINK, 20.0, np.random.default_rng(seed))
    write_aac(path, np.resize(once, round(minutes * 60 * RATE_HZ)))


def _listen(path: Path, ears: Any) -> tuple[float, float, float | None]:
    from pupilage.storage.sound.session import listen_to_session

    started, cpu = time.perf_counter(), time.process_time()
    listen_to_session(path, [ears])
    return time.perf_counter() - started, time.process_time() - cpu, _peak_mb()


def _peak_mb() -> float | None:
    """Return the most memory that this process has held, by Linux; getrusage would count the parent's as well."""
    status = Path("/proc/self/status")
    if not status.is_file():
        return None
    peak = next((line for line in status.read_text().splitlines() if line.startswith("VmHWM")), None)
    return None if peak is None else int(peak.split()[1]) / 1e3


def measure_captions(*, hours: float = 2.0) -> Took:
    """Return what reading captions of that length took, from bytes to trials; the quickest of three."""
    from pupilage.cli.made_sessions.texts import CUES, MARKER
    from pupilage.core.recordings.captions.reading import read_captions
    from pupilage.core.recordings.events import EventKind
    from pupilage.core.recordings.trials import fold_trials
    from pupilage.core.recordings.vocabulary import Phrase, find_events

    content = _captions(round(hours * 3600))
    vocabulary = [*(Phrase(cue, EventKind.CUE) for cue in CUES), Phrase(MARKER, EventKind.MARKER)]
    took = []
    for _ in range(3):
        started, cpu = time.perf_counter(), time.process_time()
        fold_trials(find_events(read_captions(content), vocabulary))
        took.append((time.perf_counter() - started, time.process_time() - cpu))
    return Took(f"captions of {hours:g} hours", *min(took), None)


def _captions(length_s: int) -> bytes:
    """Return WebVTT with a line every three seconds: by turns a cue, a marker and a sentence."""
    from pupilage.cli.made_sessions.texts import CUES, MARKER, TALK

    lines = ["WEBVTT", ""]
    for number, at_s in enumerate(range(0, length_s - 3, 3)):
        text = (CUES[number % len(CUES)], MARKER, TALK[number % len(TALK)])[number % 3]
        lines += [f"{_stamp(at_s)}.000 --> {_stamp(at_s + 2)}.500", text, ""]
    return "\n".join(lines).encode()


def _stamp(at_s: int) -> str:
    return f"{at_s // 3600:02}:{at_s // 60 % 60:02}:{at_s % 60:02}"
