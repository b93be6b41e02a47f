"""The hard cases of caption files, one by one: right words, right order, right starts, no duplicates."""

import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.captions.reading import read_captions
from pupilage.core.recordings.captions.timed_text import CaptionFormat

HEAD = "WEBVTT\n\n"
SIT_YES = [("Sit", 1.0), ("Yes", 2.0)]


def read(text: str, codec: str = "utf-8"):
    return read_captions(text.encode(codec))


def words(text: str, codec: str = "utf-8") -> list[tuple[str, float]]:
    return [(word.text, round(word.start_s, 3)) for word in read(text, codec).words]


def cue(start: str, end: str, text: str) -> str:
    return f"{start} --> {end}\n{text}\n\n"


PLAIN = HEAD + cue("00:01.000", "00:02.000", "Sit") + cue("00:02.000", "00:03.000", "Yes")


@pytest.mark.parametrize("codec", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
def test_every_encoding_and_line_end_reads_alike(codec: str, line_end: str) -> None:
    text = PLAIN.replace("Yes", "Größer").replace("\n", line_end)
    assert words(text, codec) == [("Sit", 1.0), ("Größer", 2.0)]


def test_one_torn_letter_does_not_turn_utf8_into_another_encoding() -> None:
    content = (HEAD + cue("00:01.000", "00:02.000", "Größe für Café")).encode() + "é".encode()[:1]
    read_text = read_captions(content)
    assert read_text.encoding == "UTF-8"
    assert [word.text for word in read_text.words][:3] == ["Größe", "für", "Café"]
    assert "Letters that could not be read: 1" in str(read_text.warnings[0])


@pytest.mark.parametrize(
    "text",
    [
        PLAIN.replace("WEBVTT", "WEBVTT - by hand\nKind: captions\nLanguage: en"),
        PLAIN.replace("WEBVTT\n\n", ""),
        PLAIN.replace("00:0", "00:00:0"),
        PLAIN.replace(" --> ", "-->"),
        PLAIN.replace(" --> ", "   -->\t"),
        PLAIN.replace("2.000\n", "2.000 align:start position:10%,line-left line:-1\n"),
        PLAIN.replace("Yes", "Yes\n\nNOTE the word Sit stands here,\nand Yes"),
        PLAIN.replace("WEBVTT\n\n", "WEBVTT\n\nSTYLE\n::cue { color: Sit }\n\nREGION\nid:Sit width:40%\n\n"),
        PLAIN.replace("Sit", "<v.loud Anna><c.cue>Sit</c></v>"),
        PLAIN.replace("Sit", "<lang en><b><i>Sit</i></b></lang>"),
        PLAIN.replace("Sit", "&lrm;Sit&nbsp;&rlm;"),
        PLAIN.replace("Sit", "[barking] Sit (music)").replace("Yes", "Yes ♪ a song ♪"),
        PLAIN.replace("00:01.000 -->", "first\n00:01.000 -->"),
        PLAIN.replace(".", ","),
        PLAIN.replace("1.000", "1.0").replace("2.000", "2"),
        PLAIN.replace("Sit\n\n", "Sit\n"),
    ],
)
def test_webvtt_as_it_occurs(text: str) -> None:
    assert words(text) == SIT_YES


SRT = "1\n00:00:01,000 --> 00:00:02,000\nSit\n\n2\n00:00:02,000 --> 00:00:03,000\nYes\n\n"


@pytest.mark.parametrize(
    "text",
    [
        SRT,
        "\n\n" + SRT,
        SRT.replace("1\n", "", 1).replace("2\n0", "0"),
        SRT.replace("2\n00", "1\n00"),
        SRT.replace("Sit\n\n2", "Sit\n2"),
        SRT.replace("Sit\n\n2", "Sit\n \t\n2"),
        SRT.replace(",000", ",0"),
        SRT.replace(",000", ""),
        SRT.replace(",", "."),
        SRT.replace("2,000\n", "2,000 X1:40 X2:600 Y1:20 Y2:50\n"),
        SRT.replace("Sit", '{\\an8}<font color="#ffff00">Sit</font>'),
        SRT.replace("00:00:0", "0:00:0"),
    ],
)
def test_srt_as_it_occurs(text: str) -> None:
    assert read(text).format is CaptionFormat.SRT
    assert words(text) == SIT_YES


def test_a_blank_line_inside_an_srt_caption_loses_nothing() -> None:
    assert [word for word, _ in words(SRT.replace("Sit", "Sit\n\nstay"))] == ["Sit", "stay", "Yes"]


def test_webvtt_named_srt_is_known_by_its_first_line() -> None:
    assert read(PLAIN).format is CaptionFormat.WEBVTT


def test_a_line_with_one_space_belongs_to_a_webvtt_caption() -> None:
    assert words(HEAD + cue("00:01.000", "00:02.000", " \nSit")) == [("Sit", 1.0)]


def test_disorder_is_sorted_and_overlap_kept() -> None:
    text = HEAD + cue("00:02.000", "00:05.000", "Yes") + cue("00:01.000", "00:03.000", "Sit")
    assert words(text) == SIT_YES
    assert "not in the order" in str(read(text).warnings[0])


def test_an_end_before_the_start_keeps_the_word_and_says_so() -> None:
    read_text = read(HEAD + cue("00:05.000", "00:04.000", "Sit"))
    assert [(word.start_s, word.end_s) for word in read_text.words] == [(5.0, 5.0)]
    assert "end before they start: 1" in str(read_text.warnings[0])


def test_a_piece_of_a_stream_says_that_its_times_need_the_streams_offset() -> None:
    text = PLAIN.replace("WEBVTT", "WEBVTT\nX-TIMESTAMP-MAP=MPEGTS:900000,LOCAL:00:00:00.000")
    assert words(text) == SIT_YES
    assert "X-TIMESTAMP-MAP" in str(read(text).warnings[0])


def test_word_times_hold_for_the_word_that_follows() -> None:
    text = HEAD + cue("00:01.000", "00:05.000", "Sit <00:00:02.500><c>yes good</c> <00:04.000>free")
    found = read(text).words
    assert [(word.text, round(word.start_s, 3), word.exact) for word in found] == [
        ("Sit", 1.0, True),
        ("yes", 2.5, True),
        ("good", pytest.approx(3.167, abs=0.01), False),
        ("free", 4.0, True),
    ]


def test_word_times_outside_the_caption_or_backwards_are_not_used() -> None:
    read_text = read(HEAD + cue("00:01.000", "00:02.000", "Sit <00:09.000>yes <00:00.500>good"))
    assert all(1.0 <= word.start_s <= 2.0 for word in read_text.words)
    assert "not used: 2" in str(read_text.warnings[0])


def test_words_of_a_long_caption_are_spread_and_not_exact() -> None:
    found = read(HEAD + cue("00:00.000", "00:04.000", "sit yes")).words
    assert [(word.start_s, word.exact) for word in found] == [(0.0, False), (2.0, False)]


ROLLING = HEAD + "".join(
    [
        cue("00:01.000", "00:03.000", " \nsit<00:00:01.500><c> yes</c>"),
        cue("00:03.000", "00:03.010", "sit yes\n "),
        cue("00:03.010", "00:05.000", "sit yes\ngood<00:00:04.000><c> boy</c>"),
        cue("00:05.000", "00:05.010", "good boy\n "),
        cue("00:05.010", "00:06.000", "good boy\nsit"),
        cue("00:06.000", "00:06.010", "sit\n "),
        cue("00:06.010", "00:07.000", "sit\nsit"),
        cue("00:07.000", "00:08.000", "sit\n "),
    ]
)


def test_rolling_captions_count_each_line_once_and_spoken_repeats_twice() -> None:
    assert words(ROLLING) == [("sit", 1.0), ("yes", 1.5), ("good", 3.01), ("boy", 4.0), ("sit", 5.01), ("sit", 6.01)]


def test_rolling_captions_made_into_srt_count_once() -> None:
    lines = ["sit", "yes good", "free", "sit"]
    shown = [lines[:1], *(lines[i - 1 : i + 1] for i in range(1, 4))]
    text = "".join(f"{i}\n00:00:0{i},000 --> 00:00:0{i + 1},000\n" + "\n".join(s) + "\n\n" for i, s in enumerate(shown))
    assert [word for word, _ in words(text)] == ["sit", "yes", "good", "free", "sit"]


def test_a_cue_said_ten_times_is_ten_cues() -> None:
    text = HEAD + "".join(cue(f"00:{i:02}.000", f"00:{i + 1:02}.000", "Sit") for i in range(10))
    assert words(text) == [("Sit", float(i)) for i in range(10)]


def test_a_moving_underline_gives_each_word_its_own_time() -> None:
    sentence = ["sit", "and", "sit"]
    text = HEAD
    for i in range(3):
        line = " ".join(f"<u>{word}</u>" if i == j else word for j, word in enumerate(sentence))
        text += cue(f"00:0{i}.000", f"00:0{i}.600", line) + cue(f"00:0{i}.600", f"00:0{i + 1}.000", " ".join(sentence))
    assert words(text) == [("sit", 0.0), ("and", 1.0), ("sit", 2.0)]
    assert all(word.exact for word in read(text).words)


def test_a_word_underlined_for_stress_is_no_moving_underline() -> None:
    text = HEAD + cue("00:01.000", "00:02.000", "now <u>sit</u>") + cue("00:05.000", "00:06.000", "<u>sit</u> now")
    assert [word for word, _ in words(text)] == ["now", "sit", "sit", "now"]


def test_who_speaks_comes_from_the_voice_span() -> None:
    found = read(HEAD + cue("00:01.000", "00:02.000", "<v Anna &amp; Bo>Sit</v> stay <v.quiet Bo>yes")).words
    assert [(word.text, word.speaker) for word in found] == [("Sit", "Anna & Bo"), ("stay", ""), ("yes", "Bo")]


@pytest.mark.parametrize(
    "text",
    [
        "[0:01] Sit\n[0:02] Yes\n",
        "0:01 Sit\n00:02 Yes\n",
        "(0:00:01) Sit (0:00:02) Yes",
        "00:01\nSit\n00:02\nYes\n",
        "0:01 - 0:02 Sit\n0:02 – 0:03 Yes\n",
        "[00:01.000 --> 00:02.000]  Sit\n[00:02.000 --> 00:03.000]  Yes\n",
        "0:00:01.000,0:00:02.000\nSit\n\n0:00:02.000,0:00:03.000\nYes\n",
        "[0:02] Yes\n[0:01] Sit\n",
        "Recorded in the garden\n\n[0:01]: Sit\n[0:02]: Yes\n",
    ],
)
def test_transcripts_with_times(text: str) -> None:
    read_text = read(text)
    assert read_text.format is CaptionFormat.TRANSCRIPT
    assert words(text) == SIT_YES
    assert not any(word.exact for word in read_text.words)


def test_hours_in_a_transcript_are_hours() -> None:
    assert words("(1:02:03) Sit") == [("Sit", 3723.0)]


def test_a_stretch_of_a_transcript_lasts_no_longer_than_its_letters() -> None:
    assert read("[0:27] Sit\n[1:40] Yes\n").words[0].end_s == pytest.approx(27.3)


def test_a_name_before_a_colon_is_the_speaker_when_it_comes_twice() -> None:
    read_text = read("[0:01] Anna: Sit\n[0:02] Anna: Yes\n[0:03] Free: go\n")
    assert [(word.text, word.speaker) for word in read_text.words] == [
        ("Sit", "Anna"),
        ("Yes", "Anna"),
        ("Free:", ""),
        ("go", ""),
    ]
    assert "Anna" in str(read_text.warnings[-1])


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "empty"),
        (b"\xef\xbb\xbf \r\n", "empty"),
        (bytes(range(256)) * 40, "no text"),
        (b"\0\0\0 ftypisom\0\0\2\0isomiso2avc1mp41\0\0\0\x08free" * 30, "no text"),
        (b"Sit. Yes. Good.", "no times"),
        (b"WEBVTT\n", "no spoken word"),
        ((HEAD + cue("00:01.000", "00:02.000", "[barking]")).encode(), "no spoken word"),
        ((HEAD + cue("00:01.000", "00:02.000", "")).encode(), "no spoken word"),
        ((HEAD + "00:xx --> 00:yy\nSit\n").encode(), "line 3"),
        (b"a" * (20 * 2**20 + 1), "too large"),
    ],
)
def test_a_file_without_timed_words_is_refused_with_the_reason(content: bytes, says: str) -> None:
    with pytest.raises(InvalidInput) as refused:
        read_captions(content)
    assert says in str(refused.value)


def test_unreadable_times_name_the_line_and_lose_only_their_own_caption() -> None:
    read_text = read(PLAIN + "00:0x.000 --> 00:04.000\nFree\n")
    assert [word.text for word in read_text.words] == ["Sit", "Yes"]
    assert "1 (the first in line 9)" in str(read_text.warnings[0])
