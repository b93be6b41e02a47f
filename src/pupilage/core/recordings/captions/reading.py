"""Reads a caption file or a transcript, whatever its format, encoding and damage, and says what was odd about it."""

from collections.abc import Iterable, Sequence

from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.captions.blocks import Captions, split_captions
from pupilage.core.recordings.captions.decoding import Decoded, decode
from pupilage.core.recordings.captions.repeats import with_underlined_words_only, without_rolled_lines
from pupilage.core.recordings.captions.spreading import Spread, spread_words
from pupilage.core.recordings.captions.timed_text import CaptionFormat, TimedText, Word
from pupilage.core.recordings.captions.transcripts import Transcript, split_transcript
from pupilage.core.words import Sentence, sentence


def read_captions(content: bytes) -> TimedText:
    """Return the timed words of a WebVTT, SRT or transcript file; the bytes say which it is, not its name.

    Words are in time order; repeats that rolling captions or a moving underline make are taken out, repeats that were
    spoken stay. Nothing is guessed at: what could not be read is counted in `warnings`.
    Raises: InvalidInput for a file that is empty, no text, without any time, or without a spoken word.
    Source: W3C, WebVTT: The Web Video Text Tracks Format, sections 4 and 6; SRT and transcripts have no standard.
    Checked in tests/external/test_webvtt_grammar.py, test_srt_habits.py and test_caption_readers.py.
    """
    decoded = decode(content)
    lines = decoded.text.lstrip("\N{ZERO WIDTH NO-BREAK SPACE}").split("\n")
    captions = split_captions(lines)
    if captions is not None:
        return _from_captions(captions, decoded)
    transcript = split_transcript(decoded.text)
    if transcript is None:
        raise InvalidInput.of(
            "file",
            "The file holds no times, so its words cannot be placed in the recording; choose captions (WebVTT or SRT) "
            "or a transcript with lines such as “[0:27] …”.",
        )
    return _from_transcript(transcript, decoded)


def _from_captions(found: Captions, decoded: Decoded) -> TimedText:
    in_order = sorted(found.captions, key=lambda caption: caption.start_s)
    plain, underlined = with_underlined_words_only(in_order)
    plain, rolled = (plain, False) if underlined else without_rolled_lines(plain)
    spread = spread_words(plain)
    warnings = [*_on_decoding(decoded), *_on_captions(found, spread)]
    if in_order != found.captions:
        warnings.append(sentence("The captions are not in the order of their times; they were sorted."))
    if rolled:
        warnings.append(sentence("These are rolling captions; lines that were shown twice count once."))
    if underlined:
        warnings.append(sentence("An underline moves from word to word; each word counts once, at its own time."))
    _require_words(spread.words, len(found.captions), found.unreadable_times)
    return TimedText(found.format, decoded.encoding, tuple(spread.words), tuple(warnings))


def _from_transcript(found: Transcript, decoded: Decoded) -> TimedText:
    spread = spread_words(found.captions, speakers=found.speakers)
    words = tuple(Word(word.text, word.start_s, word.end_s, False, word.caption, word.speaker) for word in spread.words)
    warnings = [*_on_decoding(decoded)]
    if found.untimed_words:
        warnings.append(
            sentence("Words before the first time, left out since they cannot be placed: {n}.", n=found.untimed_words)
        )
    if found.backwards:
        warnings.append(sentence("Places where the times go backwards: {n}; the lines were sorted.", n=found.backwards))
    names = sorted({name for name in found.speakers if name})
    if names:
        warnings.append(sentence("Taken as who is speaking: {names}.", names=", ".join(names)))
    _require_words(words, len(found.captions), [])
    return TimedText(CaptionFormat.TRANSCRIPT, decoded.encoding, words, tuple(warnings))


def _on_decoding(decoded: Decoded) -> Iterable[Sentence]:
    if decoded.n_unreadable:
        yield sentence("Letters that could not be read: {n}; the file is damaged there.", n=decoded.n_unreadable)


def _on_captions(found: Captions, spread: Spread) -> Iterable[Sentence]:
    if found.without_header:
        yield sentence("The first line, WEBVTT, is missing; the file was read as WebVTT all the same.")
    if any(line.startswith("X-TIMESTAMP-MAP") for line in found.header):
        yield sentence(
            "This is a piece of a stream (X-TIMESTAMP-MAP): its times are counted from the stream's own start. "
            "Check them against the recording."
        )
    if found.odd_times:
        yield sentence("Captions whose times are not written as usual, but were read: {n}.", n=found.odd_times)
    if found.unreadable_times:
        yield sentence(
            "Captions left out, since their times cannot be read: {n} (the first in line {line}).",
            n=len(found.unreadable_times),
            line=found.unreadable_times[0],
        )
    if found.backwards:
        yield sentence("Captions that end before they start: {n}; only their start was used.", n=found.backwards)
    if found.left_out:
        yield sentence("Blocks of text without times, left out: {n}.", n=found.left_out)
    if spread.bad_word_times:
        yield sentence("Word times outside their caption, not used: {n}.", n=spread.bad_word_times)


def _require_words(words: Sequence[Word], n_captions: int, unreadable: Sequence[int]) -> None:
    if words:
        return
    if unreadable and not n_captions:
        raise InvalidInput.of(
            "file",
            "No time in the file can be read (the first stands in line {line}); export the captions again.",
            line=unreadable[0],
        )
    raise InvalidInput.of(
        "file",
        "There is no spoken word in this file, only times or descriptions of sounds (captions: {n}); choose another.",
        n=n_captions,
    )
