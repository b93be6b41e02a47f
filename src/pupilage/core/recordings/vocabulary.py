"""The words a trainer uses with the dog, and where they stand in timed text.

A word is found whole, without regard to case, accents and apostrophes: automatic captions often lose them. Where two
words of the vocabulary differ by accents alone, these count.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.recordings.captions.timed_text import TimedText, Word
from pupilage.core.recordings.events import Event, EventKind, EventSource, in_time_order
from pupilage.core.recordings.folding import is_unspaced, key_of, parts_of

SPOKEN_KINDS = (
    EventKind.CUE,
    EventKind.MARKER,
    EventKind.RELEASE,
    EventKind.PRAISE,
    EventKind.NAME,
    EventKind.REWARD,
    EventKind.IGNORE,
)
_SENTENCE_END = re.compile(r"[.!?…。！？;:][\"”»)\]]*$")


@dataclass(frozen=True)
class Phrase:
    """A word or several, in any language, and its role. behaviour: key of the catalogue, for a cue."""

    text: str
    kind: EventKind
    behaviour: str = ""


@dataclass(frozen=True)
class TalkRules:
    """When words are running talk rather than addressed to the dog. Common practice, no source.

    pause_s: a pause as long as this ends a run, as do the end of a sentence and another speaker.
    most_other_words: a run with more words outside the vocabulary than this is talk ("ask for a sit and then").
    """

    pause_s: float = 0.7
    most_other_words: int = 2


@dataclass(frozen=True)
class _Token:
    """A word as it is compared: `key` without accents, `exact` with them; first and last of its written word."""

    key: str
    exact: str
    word: Word
    start_s: float
    end_s: float
    first: bool
    last: bool


@dataclass
class _Index:
    """Phrases by their first key, the longest first."""

    by_first: dict[str, list[tuple[tuple[str, ...], tuple[str, ...], Phrase]]] = field(default_factory=dict)

    def match(self, tokens: Sequence[_Token], at: int) -> tuple[Phrase, int] | None:
        """Return the longest phrase that begins here, and how many tokens it takes."""
        if not tokens[at].first and not is_unspaced(tokens[at].key):
            return None
        same_keys: list[tuple[tuple[str, ...], Phrase]] = []
        for keys, exact, phrase in self.by_first.get(tokens[at].key, ()):
            if same_keys and len(keys) < len(same_keys[0][0]):
                break
            taken = tokens[at : at + len(keys)]
            whole = len(taken) == len(keys) and (taken[-1].last or is_unspaced(taken[-1].key))
            if whole and tuple(token.key for token in taken) == keys and _said_together(taken):
                same_keys.append((exact, phrase))
        if not same_keys:
            return None
        spoken = tuple(token.exact for token in tokens[at : at + len(same_keys[0][0])])
        best = next((phrase for exact, phrase in same_keys if exact == spoken), None)
        if best is None and len(same_keys) > 1:
            return None  # they differ by accents alone, and these are the accents of neither
        return best or same_keys[0][1], len(spoken)


def find_events(text: TimedText, vocabulary: Sequence[Phrase], rules: TalkRules | None = None) -> list[Event]:
    """Return the words of the vocabulary as suggested events, and runs of talk as events of their own, in time order.

    The longest phrase wins ("sit stay" over "sit"); one to ignore hides the words in it and makes no event. Words
    inside running talk are marked so. Captions measure no confidence, so there is none.
    Raises: InvalidInput for a vocabulary that is empty or says two things of one word.
    """
    index = _index(vocabulary)
    rules = rules or TalkRules()
    found: list[Event] = []
    one_by_one = sorted(text.words, key=lambda word: word.caption)  # where two overlap, their words are mixed in time
    for run in _runs(one_by_one, rules):
        tokens = [token for word in run for token in _tokens(word)]
        hits, n_other = _hits(tokens, index)
        talk = n_other > rules.most_other_words
        if talk:
            end_s = max(word.end_s for word in run)
            found.append(_event(EventKind.TALK, "", run[0], run[0].start_s, end_s))
        for phrase, first, last in hits:
            if phrase.kind is not EventKind.IGNORE:
                found.append(_heard(phrase, first, last, in_talk=talk))
    return in_time_order(found)


def _index(vocabulary: Sequence[Phrase]) -> _Index:
    problems: list[Problem] = []
    index, seen = _Index(), dict[tuple[str, ...], Phrase]()
    for phrase in vocabulary:
        exact = tuple(parts_of(phrase.text))
        if not exact:
            problems.append(Problem("vocabulary", "“{given}” holds no letters; write the word.", given=phrase.text))
        elif phrase.kind not in SPOKEN_KINDS:
            problems.append(
                Problem(
                    "vocabulary", "“{word}” cannot be a {kind}: that is no word.", word=phrase.text, kind=phrase.kind
                )
            )
        elif exact in seen and seen[exact] != phrase:
            problems.append(
                Problem("vocabulary", "“{word}” stands there with two meanings; keep one.", word=phrase.text)
            )
        elif exact not in seen:
            seen[exact] = phrase
            index.by_first.setdefault(key_of(exact[0]), []).append((tuple(map(key_of, exact)), exact, phrase))
    if not vocabulary:
        problems.append(Problem("vocabulary", "There are no words yet; enter the words you use with the dog."))
    if problems:
        raise InvalidInput(problems)
    for phrases in index.by_first.values():
        phrases.sort(key=lambda entry: -len(entry[0]))
    return index


def _tokens(word: Word) -> Iterable[_Token]:
    parts = parts_of(word.text)
    each_s = (word.end_s - word.start_s) / max(1, len(parts))
    for i, part in enumerate(parts):
        start_s = word.start_s + i * each_s
        yield _Token(key_of(part), part, word, start_s, start_s + each_s, i == 0, i == len(parts) - 1)


def _runs(words: Sequence[Word], rules: TalkRules) -> Iterable[list[Word]]:
    """Part the words where speech pauses, a sentence ends, a caption starts with a capital, or the speaker changes."""
    run: list[Word] = []
    for word in words:
        if run and _parts_from(run[-1], word, rules):
            yield run
            run = []
        run.append(word)
    if run:
        yield run


def _parts_from(before: Word, word: Word, rules: TalkRules) -> bool:
    if word.start_s - before.end_s >= rules.pause_s or word.speaker != before.speaker:
        return True
    new_caption = word.caption != before.caption and word.text[0].isupper()
    return new_caption or bool(_SENTENCE_END.search(before.text))


def _said_together(tokens: Sequence[_Token]) -> bool:
    """Tell whether no comma parts the words of a phrase: "yes, sit" is not "yes sit"."""
    written = [token.word for token in tokens]
    return all(a is b or not a.text.rstrip('"”»').endswith((",", "，", "、")) for a, b in pairwise(written))


def _hits(tokens: Sequence[_Token], index: _Index) -> tuple[list[tuple[Phrase, _Token, _Token]], float]:
    """Return the phrases of a run with their first and last token, and how many other words it has."""
    hits: list[tuple[Phrase, _Token, _Token]] = []
    at, n_other = 0, 0.0
    while at < len(tokens):
        match = index.match(tokens, at)
        if match is None:
            n_other += 0.5 if is_unspaced(tokens[at].key) else tokens[at].last  # two signs make about one word
            at += 1
            continue
        phrase, n = match
        hits.append((phrase, tokens[at], tokens[at + n - 1]))
        at += n
    return hits, n_other


def _heard(phrase: Phrase, first: _Token, last: _Token, *, in_talk: bool) -> Event:
    exact = first.word.exact and first.first
    return _event(
        phrase.kind,
        phrase.text,
        first.word,
        first.start_s,
        last.end_s,
        in_talk=in_talk,
        exact=exact,
        behaviour=phrase.behaviour,
    )


def _event(kind: EventKind, label: str, word: Word, start_s: float, end_s: float, **more: object) -> Event:
    return Event(
        start_s,
        max(start_s, end_s),
        kind,
        label,
        source=EventSource.CAPTIONS,
        speaker=word.speaker,
        in_talk=bool(more.get("in_talk")),
        exact=bool(more.get("exact")),
        behaviour=str(more.get("behaviour", "")),
    )
