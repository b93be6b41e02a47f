"""Event files give back what was written; no damaged caption file is more than refused; ranges hold their figure."""

import random
from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.captions.reading import read_captions
from pupilage.core.recordings.event_files import vtt_times, write_csv, write_json, write_vtt
from pupilage.core.recordings.event_reading import read_csv, read_json, read_vtt
from pupilage.core.recordings.events import EventKind, EventState, in_time_order
from pupilage.core.recordings.figures import Range, figures_of
from pupilage.core.recordings.trials import fold_trials
from pupilage.core.recordings.vocabulary import Phrase, find_events
from recorded_events import any_event, session

some_events = st.lists(any_event(), max_size=6)


@given(some_events)
def test_webvtt_of_events_reads_back_every_field(events):
    content = write_vtt(events, version="1.2", settings={"count_from": 0.5, "word": "-->"}, states=list(EventState))
    read = read_vtt(content.encode())
    assert list(read.events) == in_time_order(events)
    assert (read.version, read.settings) == ("1.2", {"count_from": 0.5, "word": "-->"})
    assert read.warnings == ()


@given(some_events)
def test_csv_and_json_of_events_read_back_every_field(events):
    assert list(read_csv(write_csv(events).encode()).events) == in_time_order(events)
    assert list(read_json(write_json(events, version="1").encode()).events) == in_time_order(events)


@given(some_events)
def test_webvtt_of_events_is_read_as_captions_in_time_order(events):
    try:
        read = read_captions(write_vtt(events, version="1", states=list(EventState)).encode())
    except InvalidInput:
        return  # no label holds a word
    assert [word.start_s for word in read.words] == sorted(word.start_s for word in read.words)


@settings(max_examples=200)
@given(st.binary(max_size=300) | st.text(max_size=300).map(lambda text: f"WEBVTT\n\n{text}".encode("utf-8", "replace")))
def test_no_bytes_are_more_than_refused(content):
    refused_or_sound(content)


WORDS = [Phrase("sit", EventKind.CUE, "sit"), Phrase("yes", EventKind.MARKER), Phrase("leave it", EventKind.CUE)]
SOUND_FILES = (
    "WEBVTT - x\nKind: captions\n\nSTYLE\n::cue {}\n\n1\n00:00:01.000 --> 00:00:02.500 align:start\n<v Anna>Sit "
    "<00:00:01.800><c.y> yes</c>\n\nNOTE leave it\n\n00:00:02.500 --> 00:00:02.510\nSit yes\n \n",
    "1\r\n00:00:01,000 --> 00:00:02,000\r\n<i>Sit</i>\r\n\r\n2\r\n00:00:02,0 --> 00:00:04\r\n"
    "{\\an8}Leave it &amp; yés\r\n",
    "[0:27] Anna: Sit.\n(1:02:03) Anna: Yes!\n00:05 - 00:07 leave it\n",
)
CODECS = ("utf-8", "utf-16", "utf-16-le", "cp1252")
DAMAGE = (b"", b"\0", b"-->", b"\n\n", b"\r", b"<", b">", b"<00:99:99.999>", b"\xff\xfe", b"&", b"[", b"{\\", b"0:")


def test_ten_thousand_damaged_files_are_read_or_refused():
    chance, n_read = random.Random(20260501), 0
    for _ in range(10_000):
        content = bytearray(chance.choice(SOUND_FILES).encode(chance.choice(CODECS)))
        for _ in range(chance.randint(1, 6)):
            at = chance.randrange(len(content) + 1)
            match chance.randrange(4):
                case 0:
                    del content[at : at + chance.randint(1, 12)]
                case 1:
                    content[at:at] = chance.choice(DAMAGE)
                case 2:
                    content[at : at + 1] = bytes([chance.randrange(256)])
                case 3:
                    content[at:at] = content[: chance.randint(0, 60)]
        n_read += refused_or_sound(bytes(content))
    assert n_read > 9_000  # damage of a few bytes costs a few words, seldom the file


def refused_or_sound(content: bytes) -> bool:
    """A file is refused with a sentence, or gives words in order, each with an end at or after its start."""
    try:
        read = read_captions(content)
    except InvalidInput:
        return False
    assert read.words
    assert [word.start_s for word in read.words] == sorted(word.start_s for word in read.words)
    assert all(0.0 <= word.start_s <= word.end_s for word in read.words)
    assert all(str(warning) for warning in read.warnings)
    find_events(read, WORDS)
    return True


@given(st.integers(0, 10**6), st.integers(0, 12))
def test_a_figure_lies_in_its_range_and_checking_everything_closes_it(seed, n_unchecked):
    events = session(random.Random(seed), n_unchecked=n_unchecked)
    figures = figures_of(events)
    ranges = {name: one for name, one in vars(figures).items() if isinstance(one, Range)}
    assert all(one.value is None or one.low <= one.value <= one.high for one in ranges.values())
    if not n_unchecked:
        assert all(one.low == one.value == one.high for one in ranges.values())


@given(st.integers(0, 10**6))
def test_every_cue_stands_in_one_trial(seed):
    events = session(random.Random(seed), n_unchecked=0)
    trials = fold_trials(events)
    assert sum(len(trial.cues) for trial in trials) == sum(event.kind is EventKind.CUE for event in events)
    assert all(trial.marker is None or trial.last_latency_s <= 10.0 for trial in trials)


@given(st.integers(0, 10**6))
def test_a_session_written_as_captions_gives_the_same_trials(seed):
    """Captions of a third of a second each, as by hand; the vocabulary finds them, the rules fold them alike."""
    events = session(random.Random(seed))
    words = [Phrase(word, EventKind.CUE) for word in ("sit", "down", "come")] + [Phrase("yes", EventKind.MARKER)]
    lines = [f"{vtt_times(event.start_s, event.end_s)}\n{event.label.title()}!\n" for event in events]
    found = find_events(read_captions("\n".join(["WEBVTT\n", *lines]).encode()), words)
    read, written = fold_trials(found), fold_trials(events)
    assert [(one.label, one.n_repeats, one.marker is None) for one in read] == [
        (one.label, one.n_repeats, one.marker is None) for one in written
    ]
    for one, other in zip(read, written, strict=True):
        assert one.first_latency_s == pytest.approx(other.first_latency_s, abs=0.0011)  # a file holds milliseconds


@pytest.mark.parametrize("seed", range(12))
def test_ranges_of_counts_are_those_over_every_subset_of_the_unchecked(seed):
    events = session(random.Random(seed), n_unchecked=6)
    checked = [event for event in events if not event.is_unchecked]
    unchecked = [event for event in events if event.is_unchecked]
    every = [
        figures_of([*checked, *some])
        for n in range(len(unchecked) + 1)
        for some in combinations([replace(event, state=EventState.CONFIRMED) for event in unchecked], n)
    ]
    figures = figures_of(events)
    for name in ("n_marked", "n_repeats", "n_markers"):
        values = [getattr(one, name).value for one in every]
        assert (getattr(figures, name).low, getattr(figures, name).high) == (min(values), max(values))
