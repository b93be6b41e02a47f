"""Event files give back what was written; no damaged caption file is more than refused; ranges hold their figure."""

import random

from hypothesis import given, settings
from hypothesis import strategies as st

from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.captions.reading import read_captions
from pupilage.core.recordings.event_files import write_csv, write_json, write_vtt
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
