import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.captions.reading import read_captions
from pupilage.core.recordings.events import Band, EventKind, EventSource, EventState
from pupilage.core.recordings.folding import folded
from pupilage.core.recordings.vocabulary import Phrase, TalkRules, find_events

WORDS = (
    Phrase("sit", EventKind.CUE, "sit"),
    Phrase("sit stay", EventKind.CUE, "stay"),
    Phrase("leave it", EventKind.CUE, "leave-it"),
    Phrase("let's go", EventKind.CUE, "loose-lead"),
    Phrase("sit down", EventKind.IGNORE),
    Phrase("yes", EventKind.MARKER),
    Phrase("free", EventKind.RELEASE),
    Phrase("good", EventKind.PRAISE),
    Phrase("Tansy", EventKind.NAME),
)


def heard(said: str, words=WORDS, rules: TalkRules | None = None) -> list[tuple[str, str]]:
    found = find_events(read_captions(f"[0:01] {said}\n".encode()), words, rules)
    return [(event.kind.value, event.label) for event in found if event.kind is not EventKind.TALK]


@pytest.mark.parametrize(
    ("said", "labels"),
    [
        ("SIT!", ["sit"]),
        ("Sit, sit... sit", ["sit", "sit", "sit"]),
        ("sitting, sits, site, sit-ups", []),
        ("sit stay", ["sit stay"]),
        ("Sit. Stay.", ["sit"]),
        ("sit down", []),
        ("Leave-it. Leave it!", ["leave it", "leave it"]),
        ("leave, it", []),
        ("Let’s go, lets go, LET'S GO", ["let's go"] * 3),
        ("Tansy, sit. Yes! Good.", ["Tansy", "sit", "yes", "good"]),
        ("Tansy's bed", []),
        ("- Sit", ["sit"]),
        ("“Sit,” she said", ["sit"]),
    ],
)
def test_words_are_found_whole_and_the_longest_phrase_wins(said: str, labels: list[str]) -> None:
    assert [label for _, label in heard(said)] == labels


@pytest.mark.parametrize(
    ("word", "said"),
    [
        ("Platz", "PLATZ!"),
        ("Fuß", "FUSS"),
        ("zurück", "zuruck"),
        ("assis", "Assis !"),
        ("aquí", "aqui, aquí, AQUI\u0301"),
        ("сидеть", "Сидеть!"),
        ("κάτσε", "ΚΑΤΣΕ"),
        ("お座り", "さあお座りよ"),
        ("नीचे", "नीचे!"),
        ("שב", "שב."),
    ],
)
def test_any_language_is_found_without_regard_to_case_and_accents(word: str, said: str) -> None:
    assert {label for _, label in heard(said, [Phrase(word, EventKind.CUE)])} == {word}


def test_words_that_differ_by_accents_alone_are_told_apart_by_them() -> None:
    words = [Phrase("sí", EventKind.MARKER), Phrase("si", EventKind.CUE, "sit")]
    assert heard("sí. si. SÌ.", words) == [("marker", "sí"), ("cue", "si")]


def test_a_vowel_sign_makes_another_word() -> None:
    assert heard("बाठ", [Phrase("बैठ", EventKind.CUE)]) == []


def test_words_inside_running_talk_are_marked_and_the_talk_is_an_event() -> None:
    found = find_events(read_captions(b"[0:01] Sit. [0:04] Now I ask for a sit and then yes [0:09] Yes!"), WORDS)
    assert [(event.kind.value, event.in_talk) for event in found] == [
        ("cue", False),
        ("talk", False),
        ("cue", True),
        ("marker", True),
        ("marker", False),
    ]
    assert found[2].band is Band.HIDDEN


def test_how_many_other_words_make_talk_can_be_set() -> None:
    text = read_captions(b"[0:01] would you please sit")
    assert find_events(text, WORDS, TalkRules(most_other_words=3))[0].in_talk is False
    assert find_events(text, WORDS)[1].in_talk is True


def test_another_speaker_and_a_new_sentence_end_the_talk() -> None:
    text = read_captions(b"WEBVTT\n\n00:01.000 --> 00:03.000\n<v Bo>I did ask her to <v Anna>sit\n")
    assert [(event.kind.value, event.speaker) for event in find_events(text, WORDS)] == [
        ("talk", "Bo"),
        ("cue", "Anna"),
    ]


def test_events_of_captions_are_suggestions_without_a_confidence() -> None:
    text = read_captions(b"WEBVTT\n\n00:01.000 --> 00:01.500\nSit\n\n00:04.000 --> 00:08.000\nSit yes\n")
    short, long, second = find_events(text, WORDS)
    assert (short.state, short.source, short.confidence) == (EventState.SUGGESTED, EventSource.CAPTIONS, None)
    assert (short.exact, long.exact, second.exact) == (True, False, False)
    assert (short.behaviour, short.start_s, short.end_s) == ("sit", 1.0, 1.5)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ([], "no words yet"),
        ([Phrase(" - ", EventKind.CUE)], "no letters"),
        ([Phrase("bark", EventKind.BARK)], "no word"),
        ([Phrase("yes", EventKind.CUE), Phrase("Yes", EventKind.MARKER)], "two meanings"),
    ],
)
def test_a_vocabulary_that_says_nothing_or_two_things_is_refused(words: list[Phrase], says: str) -> None:
    with pytest.raises(InvalidInput) as refused:
        find_events(read_captions(b"[0:01] sit"), words)
    assert says in str(refused.value)


def test_folding_takes_case_accents_apostrophes_and_hyphens_off() -> None:
    assert folded("L’Été-là!") == ("lete", "la")


def test_a_phrase_is_found_where_captions_overlap() -> None:
    text = read_captions(b"WEBVTT\n\n00:01.000 --> 00:03.000\nleave it\n\n00:01.500 --> 00:03.500\n<v Bo>so quiet\n")
    assert [event.label for event in find_events(text, WORDS)] == ["leave it"]
