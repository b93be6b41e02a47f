"""A session of two to three minutes: sixteen trials over eight cues, talk, distractions, and the truth of all of it."""

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from pupilage.cli.made_sessions.backgrounds import Background, background
from pupilage.cli.made_sessions.distractions import DISTRACTIONS, click
from pupilage.cli.made_sessions.rooms import heard_in_room
from pupilage.cli.made_sessions.texts import CUES, MARKER, NAME, PRAISE, RELEASE, TALK
from pupilage.cli.made_sessions.voices import RATE_HZ, Voice, speak

N_TRIALS, N_SENTENCES, N_DISTRACTIONS = 16, 7, 8
P_NAME, P_REPEAT, P_MARKED, P_CLICK, P_PRAISE, P_RELEASE = 0.35, 0.25, 0.85, 0.4, 0.3, 0.5
CLICK = "click"

Array = NDArray[np.float32]


@dataclass(frozen=True)
class Said:
    """One true event: when it starts and ends, and its word, or `click`."""

    start_s: float
    end_s: float
    label: str


@dataclass(frozen=True)
class TrueTrial:
    """One true trial: its cue's first start, how often it was repeated, and when it was marked, or None."""

    cue: str
    start_s: float
    n_repeats: int
    marker_s: float | None


@dataclass(frozen=True)
class MadeSession:
    """The sound at 32 kHz without background, and its truth; talk is (start, end) of each sentence."""

    sound: Array
    said: tuple[Said, ...]
    trials: tuple[TrueTrial, ...]
    talk: tuple[tuple[float, float], ...]

    def in_noise(self, kind: Background | None, snr_db: float, rng: Generator) -> Array:
        """Return the sound in a background; without one, in pink noise at 40 dB."""
        behind = background(kind or Background.PINK, len(self.sound), snr_db if kind else 40.0, rng)
        return np.clip(self.sound + behind, -1.0, 1.0)


@dataclass
class _Tape:
    voice: Voice
    rng: Generator
    echo_s: float
    at_s: float = 1.0
    laid: list[tuple[float, Array]] = field(default_factory=list)
    said: list[Said] = field(default_factory=list)

    def say(self, text: str, *, excited: bool = False) -> Said:
        """Lay an utterance down and move on to its end."""
        spoken = speak(self.voice, text, self.rng, excited=excited)
        told = Said(self.at_s, self.at_s + len(spoken) / RATE_HZ, text)
        self.lay(heard_in_room(spoken, self.rng, echo_s=self.echo_s))
        self.at_s = told.end_s
        return told

    def lay(self, sound: Array) -> None:
        self.laid.append((self.at_s, sound))

    def word(self, text: str) -> Said:
        told = self.say(text, excited=self.rng.random() < 0.25)
        self.said.append(told)
        return told

    def pause(self, least_s: float, most_s: float) -> None:
        self.at_s += self.rng.uniform(least_s, most_s)

    def mixed(self) -> Array:
        sound = np.zeros(round((self.at_s + 2.5) * RATE_HZ), np.float32)
        for at_s, piece in self.laid:
            first = round(at_s * RATE_HZ)
            piece = piece[: len(sound) - first]
            sound[first : first + len(piece)] += piece
        return sound


def make_session(voice: Voice, *, seed: int) -> MadeSession:
    """Return a session of that voice."""
    rng = np.random.default_rng(seed)
    tape = _Tape(voice, rng, echo_s=rng.uniform(0.12, 0.35))
    cues = rng.permutation(np.tile(CUES, N_TRIALS // len(CUES)))
    sentences = list(rng.permutation(TALK)[:N_SENTENCES])
    distractions = [DISTRACTIONS[i] for i in rng.permutation(len(DISTRACTIONS))][:N_DISTRACTIONS]
    between: list[Callable[[], tuple[float, float] | None]] = []
    between += [lambda text=text: _sentence(tape, str(text)) for text in sentences]
    between += [lambda make=make: _distraction(tape, make) for make in distractions]
    order = rng.permutation(len(between))
    trials, talk = [], []
    for number, cue in enumerate(cues):
        trials.append(_trial(tape, str(cue)))
        tape.pause(2.0, 3.2)
        for place in order[number::N_TRIALS]:
            run = between[place]()
            if run is not None:
                talk.append(run)
            tape.pause(1.0, 2.0)
    return MadeSession(tape.mixed(), tuple(tape.said), tuple(trials), tuple(talk))


def _trial(tape: _Tape, cue: str) -> TrueTrial:
    rng = tape.rng
    if rng.random() < P_NAME:
        tape.word(NAME)
        tape.pause(0.1, 0.35)
    first = tape.word(cue)
    n_repeats = 0
    while n_repeats < 2 and rng.random() < P_REPEAT:
        tape.pause(0.7, 1.8)
        tape.word(cue)
        n_repeats += 1
    marker_s = None
    if rng.random() < P_MARKED:
        tape.pause(0.6, 2.0)
        marker_s = _click(tape) if rng.random() < P_CLICK else tape.word(MARKER).start_s
        if rng.random() < P_PRAISE:
            tape.pause(0.4, 1.0)
            tape.word(PRAISE)
        if rng.random() < P_RELEASE:
            tape.pause(0.8, 2.0)
            tape.word(RELEASE)
    return TrueTrial(cue, first.start_s, n_repeats, marker_s)


def _click(tape: _Tape) -> float:
    sound = click(tape.rng)
    tape.lay(sound)
    tape.said.append(Said(tape.at_s, tape.at_s + 0.02, CLICK))
    start_s = tape.at_s
    tape.at_s += len(sound) / RATE_HZ
    return start_s


def _sentence(tape: _Tape, text: str) -> tuple[float, float]:
    told = tape.say(text)
    return told.start_s, told.end_s


def _distraction(tape: _Tape, make: Callable[[Generator], Array]) -> None:
    sound = make(tape.rng)
    tape.lay(sound)
    tape.at_s += len(sound) / RATE_HZ
