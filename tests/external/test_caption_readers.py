"""Caption files against two independent libraries: what is written is read by them, and they read the same in others.

webvtt-py 0.6.0 reads and writes WebVTT; srt 3.5.3 reads and writes SRT. Compared where the two formats say one thing;
where the libraries stop short (raise, keep mark-up) the unit tests of the reader have the case.
"""

import random
from datetime import timedelta

import pytest
import srt
import webvtt

from pupilage.core.recordings.captions.reading import read_captions
from pupilage.core.recordings.captions.timed_text import CaptionFormat
from pupilage.core.recordings.event_files import write_vtt
from pupilage.core.recordings.event_reading import read_vtt
from pupilage.core.recordings.events import Event, EventKind, EventState, in_time_order
from recorded_events import session

SAID = ("Sit", "Yes!", "leave it", "größer", "so, now we wait", "Tansy, come", "free", "坐下", "Sit", "it's 3.5 m")


def events() -> list[Event]:
    odd = Event(400.0004, 400.0004, EventKind.TALK, "a <b> & c --> d", None, EventState.CONFIRMED, speaker="Anna & Bo")
    unicode = Event(
        3700.25, 3701.5, EventKind.CUE, "zurück 坐下", 0.4, EventState.CONFIRMED, behaviour="recall", id="x-1"
    )
    return in_time_order([*session(random.Random(4), 20), odd, unicode])


def captions(seed: int) -> list[tuple[float, float, str]]:
    chance, at_s, made = random.Random(seed), 0.0, []
    for _ in range(60):
        at_s = round(at_s + chance.uniform(0.0, 90.0), 3)
        made.append((at_s, round(at_s + chance.uniform(0.2, 6.0), 3), chance.choice(SAID)))
    return made


def test_webvtt_of_events_is_read_by_webvtt_py_with_times_labels_kinds_and_speakers() -> None:
    written = events()
    read = list(webvtt.from_string(write_vtt(written, version="1"), strict=True))
    assert len(read) == len(written)
    for caption, event in zip(read, written, strict=True):
        start, end = caption.start_time, caption.end_time
        start_s = start.hours * 3600 + start.minutes * 60 + start.seconds + start.milliseconds / 1000
        end_s = end.hours * 3600 + end.minutes * 60 + end.seconds + end.milliseconds / 1000
        assert start_s == pytest.approx(event.start_s, abs=0.0006)  # a file holds milliseconds
        assert end_s == pytest.approx(max(event.end_s, event.start_s + 0.001), abs=0.0011)
        assert f"<c.{event.kind.value}>" in caption.raw_text
    assert read[-1].identifier == "x-1"
    assert read[-1].text == "zurück 坐下"


def test_what_webvtt_py_writes_again_keeps_every_caption_in_our_reader() -> None:
    again = webvtt.from_string(write_vtt(events(), version="1")).content
    read = read_vtt(again.encode()).events
    assert [(event.kind, event.label) for event in read] == [(event.kind, event.label) for event in events()]


@pytest.mark.parametrize("seed", range(5))
def test_webvtt_is_read_as_webvtt_py_reads_it(seed: int) -> None:
    document = webvtt.WebVTT()
    for start_s, end_s, said in captions(seed):
        document.captions.append(webvtt.Caption(clock(start_s), clock(end_s), said))
    theirs = [caption.text.split() for caption in webvtt.from_string(document.content)]
    ours = read_captions(document.content.encode())
    by_caption = [[word for word in ours.words if word.caption == i] for i in range(len(theirs))]
    assert [[word.text for word in words] for words in by_caption] == theirs
    assert [words[0].start_s for words in by_caption] == pytest.approx([start_s for start_s, *_ in captions(seed)])
    assert ours.warnings == ()


@pytest.mark.parametrize("seed", range(5))
def test_srt_is_read_as_srt_reads_it(seed: int) -> None:
    composed = srt.compose(
        srt.Subtitle(i, timedelta(seconds=start_s), timedelta(seconds=end_s), said)
        for i, (start_s, end_s, said) in enumerate(captions(seed), 1)
    )
    theirs = [(sub.start.total_seconds(), word) for sub in srt.parse(composed) for word in sub.content.split()[:1]]
    ours = read_captions(composed.encode())
    assert ours.format is CaptionFormat.SRT
    assert ours.warnings == ()
    first = {word.caption: word for word in reversed(ours.words)}
    assert [(first[i].start_s, first[i].text) for i in sorted(first)] == [
        (pytest.approx(start_s, abs=0.0011), word) for start_s, word in theirs
    ]


@pytest.mark.parametrize(
    "text",
    [
        "1\n00:00:01,000 --> 00:00:02,000\nSit\n\n\n2\n00:00:03,000 --> 00:00:04,000\nYes\n",
        "1\r\n00:00:01,000 --> 00:00:02,000\r\nSit\r\n\r\n2\r\n00:00:03,000 --> 00:00:04,000\r\nYes\r\n",
        "7\n00:00:01,000 --> 00:00:02,000\nSit\n\n3\n00:00:03,000 --> 00:00:04,000\nYes\n",
        "\ufeff1\n00:00:01,000 --> 00:00:02,000\nSit\n\n2\n00:00:03,000 --> 00:00:04,000\nYes",
        "1\n00:00:01.000 --> 00:00:02.000\nSit\n\n2\n00:00:03.000 --> 00:00:04.000\nYes\n",
    ],
)
def test_habits_of_srt_that_the_library_reads_are_read_alike(text: str) -> None:
    theirs = [(sub.start.total_seconds(), sub.end.total_seconds(), sub.content.strip()) for sub in srt.parse(text)]
    ours = [(word.start_s, word.end_s, word.text) for word in read_captions(text.encode()).words]
    assert ours == theirs == [(1.0, 2.0, "Sit"), (3.0, 4.0, "Yes")]


def clock(at_s: float) -> str:
    whole, ms = divmod(round(1000 * at_s), 1000)
    return f"{whole // 3600:02}:{whole // 60 % 60:02}:{whole % 60:02}.{ms:03}"
