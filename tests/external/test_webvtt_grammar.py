"""The caption reader against the rules of WebVTT: one case a rule, written from the specification's text.

Source: W3C, WebVTT: The Web Video Text Tracks Format (Candidate Recommendation, 4 April 2019, and its editor's draft);
the section stands before each case. Where the standard drops a caption or refuses a file and this reader, which must
read what trainers have, does not, the case says so in `TOLERATED`.
"""

import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.captions.reading import read_captions

C1 = "00:01.000 --> 00:02.000\nSit\n"
C2 = "00:03.000 --> 00:04.000\nYes\n"
ONE = [("Sit", 1.0, 2.0)]
TWO = [("Sit", 1.0, 2.0), ("Yes", 3.0, 4.0)]

FILES = [
    ("4.1 file body: the magic alone", f"WEBVTT\n\n{C1}", ONE),
    ("4.1 file body: an optional byte-order mark", f"\ufeffWEBVTT\n\n{C1}", ONE),
    ("4.1 file body: a space and text after the magic", f"WEBVTT any text Sit\n\n{C1}", ONE),
    ("4.1 file body: a tab and text after the magic", f"WEBVTT\tany text\n\n{C1}", ONE),
    ("4.1 file body: more than two line terminators", f"WEBVTT\n\n\n\n{C1}\n\n\n{C2}\n\n\n", TWO),
    ("4.1 line terminator: CRLF", f"WEBVTT\n\n{C1}\n{C2}".replace("\n", "\r\n"), TWO),
    ("4.1 line terminator: CR", f"WEBVTT\n\n{C1}\n{C2}".replace("\n", "\r"), TWO),
    ("4.1 line terminator: mixed", f"WEBVTT\r\n\n{C1}\r\r\n{C2}", TWO),
    ("4.1 region definition block", f"WEBVTT\n\nREGION\nid:fred width:40% lines:3\n\n{C1}", ONE),
    ("4.1 region definition block: trailing tab", f"WEBVTT\n\nREGION\t\nid:fred\n\n{C1}", ONE),
    ("4.1 style block", f"WEBVTT\n\nSTYLE\n::cue(b) {{ color: Sit; }}\n\n{C1}", ONE),
    ("4.1 comment block: one line", f"WEBVTT\n\nNOTE Sit\n\n{C1}", ONE),
    ("4.1 comment block: tab", f"WEBVTT\n\nNOTE\tSit\n\n{C1}", ONE),
    ("4.1 comment block: several lines", f"WEBVTT\n\nNOTE\nSit\nYes\n\n{C1}", ONE),
    ("4.1 comment block: the word alone", f"WEBVTT\n\nNOTE\n\n{C1}", ONE),
    ("4.1 comment block: between and after captions", f"WEBVTT\n\n{C1}\nNOTE Yes\n\n{C2}\nNOTE end", TWO),
    ("4.1 cue identifier", f"WEBVTT\n\nfirst - Sit\n{C1}\n2\n{C2}", TWO),
    ("4.1 cue timings: several spaces and tabs", "WEBVTT\n\n00:01.000 \t -->\t  00:02.000\nSit\n", ONE),
    ("4.1 timestamp: hours of two digits", "WEBVTT\n\n01:00:01.000 --> 01:00:02.000\nSit\n", [("Sit", 3601, 3602)]),
    (
        "4.1 timestamp: hours of more digits",
        "WEBVTT\n\n100:00:01.000 --> 100:00:02.000\nSit",
        [("Sit", 360001, 360002)],
    ),
    ("4.1 timestamp: parts to 59", "WEBVTT\n\n59:59.999 --> 01:00:00.000\nSit\n", [("Sit", 3599.999, 3600)]),
    ("4.1 cues may overlap", f"WEBVTT\n\n{C1}\n00:01.500 --> 00:04.000\nYes\n", [ONE[0], ("Yes", 1.5, 4)]),
    (
        "4.1 cue settings list",
        "WEBVTT\n\n00:01.000 --> 00:02.000 vertical:rl position:10%,line-left size:5%\nSit\n",
        ONE,
    ),
    ("4.1 region cue setting", "WEBVTT\n\nREGION\nid:a\n\n00:01.000 --> 00:02.000 region:a\nSit\n", ONE),
    ("6.1 NULL becomes U+FFFD", "WEBVTT\n\n00:01.000 --> 00:02.000\nSi\0\n", [("Si\ufffd", 1, 2)]),
    ("6.1 header: lines up to the first blank one", f"WEBVTT\nKind: captions\nLanguage: en\n\n{C1}", ONE),
    ("6.1 header: a line of times ends it", f"WEBVTT\n{C1}", ONE),
    ("6.1 header: what stands before the times in it is no identifier", f"WEBVTT\nSit\n{C2}", [TWO[1]]),
    ("6.1 block: an arrow ends the text before it", f"WEBVTT\n\n{C1}{C2}", TWO),
    ("6.1 block: times in the third line begin another block", f"WEBVTT\n\nSit\nYes\n{C2}", [TWO[1]]),
    ("6.1 block: text without times is dropped", f"WEBVTT\n\nSit\nYes\n\n{C2}", [TWO[1]]),
    ("6.1 block: NOTE and then times is a caption with that identifier", f"WEBVTT\n\nNOTE\n{C1}", ONE),
    ("6.1 block: STYLE after a caption is dropped as well", f"WEBVTT\n\n{C1}\nSTYLE\n::cue {{}}\n\n{C2}", TWO),
    ("6.1 block: a line of a space is not empty", "WEBVTT\n\n00:01.000 --> 00:02.000\n \nSit\n", ONE),
    ("6.1 block: a caption without text", f"WEBVTT\n\n00:00.000 --> 00:01.000\n\n{C1}", ONE),
    ("6.1 the file may end without a line terminator", f"WEBVTT\n\n{C1}".rstrip(), ONE),
    ("6.3 no space around the arrow", "WEBVTT\n\n00:01.000-->00:02.000\nSit\n", ONE),
    ("6.3 white space before the times", "WEBVTT\n\n \t00:01.000 --> 00:02.000\nSit\n", ONE),
    ("6.3 settings that mean nothing", "WEBVTT\n\n00:01.000 --> 00:02.000 foo bar: :baz line:x\nSit\n", ONE),
    ("6.3 an end that is no time drops the caption", f"WEBVTT\n\n00:01.000 --> x\nFree\n\n{C2}", [TWO[1]]),
    ("6.3 a start that is no time drops the caption", f"WEBVTT\n\nx --> 00:02.000\nFree\n\n{C2}", [TWO[1]]),
    ("6.3 letters in a time drop the caption", f"WEBVTT\n\n00:0a.000 --> 00:02.000\nFree\n\n{C2}", [TWO[1]]),
    ("6.3 seconds alone are no time", f"WEBVTT\n\n1.000 --> 2.000\nFree\n\n{C2}", [TWO[1]]),
]


@pytest.mark.parametrize(("text", "words"), [case[1:] for case in FILES], ids=[case[0] for case in FILES])
def test_files_and_blocks(text: str, words: list[tuple[str, float, float]]) -> None:
    assert [(word.text, word.start_s, word.end_s) for word in read_captions(text.encode()).words] == words


PAYLOADS = [
    ("4.2.2 class span", "<c.loud.red>Sit</c> now", ["Sit", "now"]),
    ("4.2.2 italics, bold, underline", "<i>Sit</i> <b>now</b> <u>please</u>", ["Sit", "now", "please"]),
    ("4.2.2 ruby: how it is read aloud is not said twice", "<ruby>坐<rt>zuò</rt>下<rt>xià</ruby>", ["坐下"]),
    ("4.2.2 language span", "<lang de-DE>Sitz</lang>", ["Sitz"]),
    ("4.2.2 spans inside a word", "S<i>i</i>t n<c.x>o</c>w", ["Sit", "now"]),
    ("4.2.2 spans inside spans", "<v Anna><i.a><b>Sit</b></i></v>", ["Sit"]),
    ("4.2.2 several lines", "Sit\nnow", ["Sit", "now"]),
    ("6.4 amp, lt, gt", "a&amp;b x&lt;y x&gt;y", ["a&b", "x<y", "x>y"]),
    ("6.4 nbsp parts words; lrm and rlm do not", "Sit&nbsp;n&lrm;o&rlm;w", ["Sit", "now"]),
    ("6.4 numeric references", "S&#105;t n&#x6F;w", ["Sit", "now"]),
    ("6.4 what is no reference stays", "R&D &no; Sit", ["R&D", "&no;", "Sit"]),
    ("6.4 unknown tags are passed over", "<what.ever>Sit</what>", ["Sit"]),
    ("6.4 an end tag that was never opened", "Sit</c> now</v>", ["Sit", "now"]),
    ("6.4 a tag that never ends swallows the rest", "Sit <c.loud now", ["Sit"]),
    ("6.4 a class and an annotation over two lines", "<v.loud\nAnna>Sit", ["Sit"]),
]


@pytest.mark.parametrize(("payload", "words"), [case[1:] for case in PAYLOADS], ids=[case[0] for case in PAYLOADS])
def test_cue_text(payload: str, words: list[str]) -> None:
    read = read_captions(f"WEBVTT\n\n00:01.000 --> 00:02.000\n{payload}\n".encode())
    assert [word.text for word in read.words] == words


VOICES = [
    ("4.2.2 voice span", "<v Anna>Sit</v>", "Anna"),
    ("4.2.2 voice span whose end may be left out", "<v Anna Bo>Sit", "Anna Bo"),
    ("6.4 classes of a voice span are no part of its name", "<v.loud.first Anna>Sit", "Anna"),
    ("6.4 references in an annotation are read, its white space made single", "<v  A&amp;B \t C >Sit", "A&B C"),
    ("6.4 no name", "<v>Sit", ""),
]


@pytest.mark.parametrize(("payload", "speaker"), [case[1:] for case in VOICES], ids=[case[0] for case in VOICES])
def test_voices(payload: str, speaker: str) -> None:
    (word,) = read_captions(f"WEBVTT\n\n00:01.000 --> 00:02.000\n{payload}\n".encode()).words
    assert (word.text, word.speaker) == ("Sit", speaker)


def test_4_2_2_cue_timestamps_hold_for_what_follows_and_grow() -> None:
    text = "WEBVTT\n\n00:01.000 --> 00:05.000\nSit<00:02.000> and<00:00:03.500><i> stay</i>\n"
    words = read_captions(text.encode()).words
    assert [(word.text, word.start_s, word.exact) for word in words] == [
        ("Sit", 1.0, True),
        ("and", 2.0, True),
        ("stay", 3.5, True),
    ]


TOLERATED = [
    ("6.1 a file without the magic is refused there", C1, ONE),
    ("6.1 the magic and a letter is no magic there", f"WEBVTTX\n\n{C1}", ONE),
    ("6.3 a comma is no full stop there", "WEBVTT\n\n00:01,000 --> 00:02,000\nSit\n", ONE),
    ("6.3 two digits of a fraction are no time there", "WEBVTT\n\n00:01.00 --> 00:02.00\nSit\n", ONE),
    ("6.3 one digit of minutes is no time there", "WEBVTT\n\n0:01.000 --> 0:02.000\nSit\n", ONE),
    ("6.3 sixty seconds are no time there", "WEBVTT\n\n00:60.000 --> 00:61.000\nSit\n", [("Sit", 60, 61)]),
    ("4.1 the end must come after the start", "WEBVTT\n\n00:01.000 --> 00:00.500\nSit\n", [("Sit", 1, 1)]),
    ("4.1 starts must be in order", f"WEBVTT\n\n{C2}\n{C1}", TWO),
]


@pytest.mark.parametrize(("text", "words"), [case[1:] for case in TOLERATED], ids=[case[0] for case in TOLERATED])
def test_what_the_standard_drops_is_read_with_a_warning(text: str, words: list[tuple[str, float, float]]) -> None:
    read = read_captions(text.encode())
    assert [(word.text, word.start_s, word.end_s) for word in read.words] == words
    assert read.warnings


@pytest.mark.parametrize("text", ["WEBVTT", "WEBVTT\n", "WEBVTT\n\n", "WEBVTT any text"])
def test_6_1_a_file_without_captions_is_sound_there_and_of_no_use_here(text: str) -> None:
    with pytest.raises(InvalidInput, match="no spoken word"):
        read_captions(text.encode())
