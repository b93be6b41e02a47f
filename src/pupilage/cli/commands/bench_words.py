"""How well words and trials are found in made sessions of voices that nothing was tuned on."""

from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any, NamedTuple

from pupilage.cli.commands.bench_noises import Measured, as_measured

Condition = tuple[str, str | None, float]
CONDITIONS: tuple[Condition, ...] = (
    ("clean", None, 40.0),
    ("pink 20 dB", "pink", 20.0),
    ("pink 10 dB", "pink", 10.0),
    ("babble 20 dB", "babble", 20.0),
    ("babble 10 dB", "babble", 10.0),
)
"""Name, background, dB under speech at the usual distance. Babble is made of real prompts that must be installed."""
WITHIN_S = 0.5
COUNTED_FROM = 0.5


class TrialsMeasured(NamedTuple):
    """One row of trials: right in cue, repeats and marked or not; extra ones, with talk left out and with it."""

    condition: str
    n_true: int
    n_right: int
    n_extra: int
    n_extra_with_talk: int


class Learned(NamedTuple):
    """What one voice taught: its model, its clicker, the seconds that learning took, and what it was learned from."""

    voice: Any
    model: Any
    click: Any
    took_s: float
    lesson: Any = None
    pool: Any = None

    def ears(self) -> Any:
        """Return what its sounds are heard by."""
        from pupilage.storage.sound.session import Ears

        return Ears(self.model, {"click": self.click})


class Reached(NamedTuple):
    """What was reached with all voices."""

    words: list[Measured]
    corrected: list[Measured]
    trials: list[TrialsMeasured]
    learning_s: float


def usable_conditions() -> tuple[Condition, ...]:
    """Return the conditions whose sounds are installed."""
    from pupilage.cli.made_sessions.backgrounds import PROMPTS

    there = all((PROMPTS / folder).is_dir() for folder in ("en_US_f_Allison", "fr_CA_f_June"))
    return tuple(one for one in CONDITIONS if there or one[1] != "babble")


def measure_words(
    folder: Path, *, n_voices: int = 2, conditions: Sequence[Condition] = CONDITIONS, seed: int = 21
) -> Reached:
    """Return, for each condition, F1 and timing of words and how many trials were right; files go to `folder`."""
    from pupilage.cli.commands.bench_corrections import measure_corrected
    from pupilage.cli.made_sessions.sessions import make_session
    from pupilage.cli.made_sessions.voices import TEST_VOICES

    words: dict[tuple[str, str], Any] = {}
    corrected: dict[tuple[str, str], Any] = {}
    trials: dict[str, list[TrialsMeasured]] = {}
    learning_s = []
    for number, voice in enumerate(TEST_VOICES[:n_voices]):
        learned = learn_voice(voice, seed=seed + number)
        learning_s.append(learned.took_s)
        session = make_session(voice, seed=seed + 100 + number)
        for condition in conditions:
            heard = hear(folder / "session.m4a", session, learned, condition, seed=seed + number)
            events = [one.event for one in heard]
            for what, matched in words_matched(session, events):
                _add(words, (what, condition[0]), matched)
            trials.setdefault(condition[0], []).append(_trials_matched(condition[0], session, events))
        for key, matched in measure_corrected(folder, learned, conditions[-1], seed=seed + 200 + 10 * number):
            _add(corrected, key, matched)
    return Reached(
        _as_rows(sorted(words.items(), key=lambda row: row[0][0])),
        _as_rows(corrected.items()),
        [
            TrialsMeasured(name, *map(sum, zip(*(row[1:] for row in rows), strict=True)))
            for name, rows in trials.items()
        ],
        max(learning_s),
    )


def _add(rows: dict[tuple[str, str], Any], key: tuple[str, str], matched: Any) -> None:
    rows[key] = rows[key] + matched if key in rows else matched


def _as_rows(rows: Iterable[tuple[tuple[str, str], Any]]) -> list[Measured]:
    return [as_measured(what, name, matched) for (what, name), matched in rows]


def learn_voice(voice: Any, *, seed: int) -> Learned:
    """Return what a voice teaches by three samples a word, talk of twenty seconds, and three clicks."""
    import time

    import numpy as np

    from pupilage.cli.made_sessions.distractions import click
    from pupilage.cli.made_sessions.enrolments import make_enrolment
    from pupilage.cli.made_sessions.voices import RATE_HZ
    from pupilage.core.recordings.noises.clicks import learn_click
    from pupilage.core.recordings.words.model import learn
    from pupilage.core.simulation.sounds.scenes import samples_of
    from pupilage.storage.sound.embedding import speech_embedding
    from pupilage.storage.sound.word_pool import word_pool

    enrolment, pool = make_enrolment(voice, seed=seed), word_pool(without=str(voice))
    started = time.process_time()
    lesson = enrolment.lesson(speech_embedding().one_phase, seed=seed)
    model = learn(lesson, pool)
    took_s = time.process_time() - started
    cuts = samples_of(click, 3, np.random.default_rng(seed), rate_hz=RATE_HZ)
    return Learned(voice, model, learn_click(cuts, RATE_HZ), took_s, lesson, pool)


def hear(path: Path, session: Any, learned: Learned, condition: Condition, *, seed: int) -> list[Any]:
    """Return what is heard in a session in that background, written as AAC and read again as a recording is."""
    import numpy as np

    from pupilage.cli.made_sessions.backgrounds import Background
    from pupilage.cli.made_sessions.files import write_aac
    from pupilage.storage.sound.session import listen_to_session

    _, kind, under_db = condition
    write_aac(path, session.in_noise(Background(kind) if kind else None, under_db, np.random.default_rng(seed)))
    return list(listen_to_session(path, [learned.ears()]).heard[0])


def words_matched(session: Any, events: Sequence[Any]) -> Iterator[tuple[str, Any]]:
    """Yield what was matched of all words, of cues and of the marker; words that talk happens to hold are false."""
    from pupilage.cli.made_sessions.texts import CUES, MARKER, TARGETS

    sure = [event for event in events if (event.confidence or 0.0) >= COUNTED_FROM]
    outside = [event for event in sure if not event.in_talk]
    yield "words, talk included", _matched(session, sure, TARGETS)
    yield "words", _matched(session, outside, TARGETS)
    yield "words: cues", _matched(session, outside, CUES)
    yield "words: marker", _matched(session, outside, (MARKER,))


def _matched(session: Any, events: Sequence[Any], labels: Sequence[str]) -> Any:
    from pupilage.core.simulation.sounds.scoring import Matched, match

    total = Matched(0, 0, 0)
    for label in labels:
        found = [event.start_s for event in events if event.label == label]
        total += match(found, [said.start_s for said in session.said if said.label == label], WITHIN_S)
    return total


def _trials_matched(condition: str, session: Any, events: Sequence[Any]) -> TrialsMeasured:
    from dataclasses import replace

    from pupilage.core.recordings.trials import fold_trials

    found = fold_trials(events)
    with_talk = fold_trials([replace(event, in_talk=False) for event in events])
    return TrialsMeasured(
        condition,
        len(session.trials),
        sum(any(_is(true, one) and _is_right(true, one) for one in found) for true in session.trials),
        sum(not any(_is(true, one) for true in session.trials) for one in found),
        sum(not any(_is(true, one) for true in session.trials) for one in with_talk),
    )


def _is(true: Any, found: Any) -> bool:
    return bool(true.cue == found.label and abs(true.start_s - found.start_s) <= WITHIN_S)


def _is_right(true: Any, found: Any) -> bool:
    return bool(true.n_repeats == found.n_repeats and (true.marker_s is None) == (found.marker is None))
