"""Examples cut out of a recording or a short sound: words by loudness, clicks and whistles by their own detectors."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.noises.clicks import hear_click
from pupilage.core.recordings.noises.tones import find_tones
from pupilage.core.recordings.noises.transients import find_transients
from pupilage.core.recordings.noises.whistles import WhistleSound
from pupilage.core.recordings.reading import STRETCHES, WordRole
from pupilage.core.recordings.words.loudness import TICK_S, levels
from pupilage.core.recordings.words.samples import LONGEST_S, cut_word
from pupilage.storage.sound.cutting import as_pcm, sound_between, sound_of
from pupilage.storage.sound.decoding import SPEECH_RATE_HZ, Sound

NOISE_RATE_HZ = 32_000
"""Clicks are shorter than the speech rate can tell."""
BEFORE_TAP_S, AFTER_TAP_S = 12.0, 3.0
"""So much around a tap tells what the background is."""
TAP_LATE_S, TAP_EARLY_S = 1.0, 0.1
"""A tap means a blast that sounded at most so long before it, or begins right after. Our choice, not tuned."""
SHORTEST_STRETCH_S, LONGEST_STRETCH_S = 3.0, 60.0


@dataclass(frozen=True)
class Cut:
    """One example: where it stands, its sound as 16-bit samples at 16 kHz, and its numbers where none are learned."""

    start_s: float
    duration_s: float
    sound: bytes
    numbers: bytes = b""


def cut_from_recording(path: Path, role: WordRole, tap_s: float) -> Cut:
    """Return the example that a tap means. Raises InvalidInput where nothing of that kind is heard near it."""
    if role is WordRole.CLICK or role is WordRole.WHISTLE:
        before_s = 0.9 if role is WordRole.CLICK else 2.5
        first_s = max(tap_s - before_s, 0.0)
        return _noise(sound_between(path, first_s, tap_s + 0.4, rate_hz=NOISE_RATE_HZ), role, first_s, tap_s - first_s)
    first_s = max(tap_s - BEFORE_TAP_S, 0.0)
    sound = sound_between(path, first_s, tap_s + AFTER_TAP_S)
    if len(sound) < (tap_s - first_s) * SPEECH_RATE_HZ:
        raise InvalidInput.of("at_s", "The recording ends before {at_s:.1f} s; check the time.", at_s=tap_s)
    try:
        start_s, end_s = cut_word(sound, tap_s - first_s)
    except InvalidInput as error:
        raise InvalidInput.of(
            "at_s", "No word stands out of the background near {at_s:.1f} s; tap closer to it.", at_s=tap_s
        ) from error
    return _word(sound, start_s, end_s, first_s)


def cut_from_clip(content: bytes, role: WordRole) -> Cut:
    """Return the one example that a short sound holds: its loudest word, its click, its whistle, or all of it."""
    if role is WordRole.CLICK or role is WordRole.WHISTLE:
        return _noise(sound_of(content, rate_hz=NOISE_RATE_HZ), role, 0.0)
    sound = sound_of(content)
    if role in STRETCHES:
        return _stretch(sound, 0.0)
    loud = levels(sound)
    if not len(loud) or not float(np.abs(sound).max()) > 1e-3:
        raise InvalidInput.of("sound", "Nothing is heard in it; speak up, or come nearer to the microphone.")
    try:
        start_s, end_s = cut_word(sound, float(np.argmax(loud)) * TICK_S + 0.25)
    except InvalidInput:
        if len(sound) > LONGEST_S * SPEECH_RATE_HZ:
            told = "No word stands out of the background in it; record it in a quieter place."
            raise InvalidInput.of("sound", told) from None
        start_s, end_s = 0.0, len(sound) / SPEECH_RATE_HZ  # a word that was cut close already
    return _word(sound, start_s, end_s, 0.0)


def cut_stretch(path: Path, from_s: float, to_s: float) -> Cut:
    """Return a stretch between two moments of a recording."""
    return _stretch(sound_between(path, from_s, to_s), from_s)


def _word(sound: Sound, start_s: float, end_s: float, first_s: float) -> Cut:
    cut = sound[round(start_s * SPEECH_RATE_HZ) : round(end_s * SPEECH_RATE_HZ)]
    return Cut(first_s + start_s, len(cut) / SPEECH_RATE_HZ, as_pcm(cut))


def _stretch(sound: Sound, first_s: float) -> Cut:
    duration_s = len(sound) / SPEECH_RATE_HZ
    if not duration_s + 0.01 >= SHORTEST_STRETCH_S or duration_s > LONGEST_STRETCH_S + 0.01:
        raise InvalidInput.of(
            "sound", "This stretch lasts {given:.1f} s; give {least:.0f} to {most:.0f} s.",
            given=duration_s, least=SHORTEST_STRETCH_S, most=LONGEST_STRETCH_S,
        )  # fmt: skip
    return Cut(first_s, duration_s, as_pcm(sound))


def _noise(sound: Sound, role: WordRole, first_s: float, tap_s: float | None = None) -> Cut:
    found = _click(sound) if role is WordRole.CLICK else _whistle(sound, tap_s)
    if found is None:
        told = "No click is heard here; tap closer to one." if role is WordRole.CLICK else "No whistle is heard here."
        raise InvalidInput.of("at_s", told)
    start_s, end_s, numbers = found
    cut = sound[round(start_s * NOISE_RATE_HZ) : round(end_s * NOISE_RATE_HZ) : 2]
    return Cut(first_s + start_s, end_s - start_s, as_pcm(cut), numbers)


def _click(sound: Sound) -> tuple[float, float, bytes] | None:
    """Return the press nearest to the strongest sudden sound: from just before it to the box let go."""
    sudden = find_transients(sound, NOISE_RATE_HZ)
    if not sudden:
        return None
    loudest = max(one.rise_db for one in sudden)
    at_s = next(one.place for one in sudden if one.rise_db >= loudest - 10.0) / NOISE_RATE_HZ
    start_s, end_s = max(at_s - 0.1, 0.0), min(at_s + 0.3, len(sound) / NOISE_RATE_HZ)
    heard = hear_click(sound[round(start_s * NOISE_RATE_HZ) : round(end_s * NOISE_RATE_HZ)], NOISE_RATE_HZ)
    return None if heard is None else (start_s, end_s, heard.to_bytes())


def _whistle(sound: Sound, tap_s: float | None) -> tuple[float, float, bytes] | None:
    """Return the longest tone; where somebody tapped, the last one before it that is half as long as any near it."""
    tones = find_tones(sound, NOISE_RATE_HZ)
    if tap_s is not None:
        first, last = (tap_s - TAP_LATE_S) * NOISE_RATE_HZ, (tap_s + TAP_EARLY_S) * NOISE_RATE_HZ
        tones = [one for one in tones if one.place <= last and one.place + one.n >= first]
    if not tones:
        return None
    longest = max(one.n for one in tones)
    tone = [one for one in tones if one.n >= (longest if tap_s is None else 0.5 * longest)][-1]
    start_s = tone.place / NOISE_RATE_HZ
    return start_s, start_s + tone.n / NOISE_RATE_HZ, WhistleSound.of(tone).to_bytes()
