"""Bouts of barking or whining found in a recording become the signs of an absence."""

from dataclasses import dataclass, replace
from math import isfinite

from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.incidents.absences import AbsenceRecord, SignAt, Watched
from pupilage.core.incidents.alone import Sign

VOICES = (Sign.WHINING, Sign.BARKING, Sign.HOWLING)
"""What can be heard."""

LEAST_S = 2.0
"""A shorter sound is no sign: the definition of distress when left in the catalogue."""


@dataclass(frozen=True)
class Bout:
    """A stretch of one voice in a recording, in seconds from the recording's beginning."""

    kind: Sign
    start_s: float
    end_s: float


@dataclass(frozen=True)
class Heard:
    """What a recording holds. length_s: of the recording; begins_s: seconds after leaving at which it began.

    begins_s is below 0 where it ran before the door shut.
    """

    bouts: tuple[Bout, ...]
    length_s: float
    begins_s: float = 0.0


def with_heard(record: AbsenceRecord, heard: Heard) -> AbsenceRecord:
    """Return the absence with the signs that a recording holds beside those that were seen.

    A bout counts when it lasts longer than 2 s and falls into the absence; of one that began before the door shut, the
    part after counts. An absence that nobody had watched is watched for as long as the recording ran; where that began
    after the door shut, its signs have no time, for there may have been earlier ones. One that was watched already
    stays so. Raises: InvalidInput for a bout that cannot be.
    Source: the 2 s of the catalogue's definition, common practice; tests/unit/incidents/test_bouts.py.
    """
    _require(heard)
    late = record.watched is Watched.NOT and heard.begins_s > 0.0
    found = [
        SignAt(bout.kind, None if late else round(start, 1))
        for bout in heard.bouts
        for start, end in [_within(bout, record, heard)]
        if end - start > LEAST_S
    ]
    signs = sorted({*record.signs, *found}, key=lambda one: (one.at_s is None, one.at_s or 0.0, one.sign))
    record = replace(record, signs=tuple(signs))
    until_s = heard.begins_s + heard.length_s
    if record.watched is not Watched.NOT or late or until_s <= 0.0:
        return record
    return replace(record, watched=Watched.RECORDING, watched_s=until_s if until_s < record.away_s else None)


def _within(bout: Bout, record: AbsenceRecord, heard: Heard) -> tuple[float, float]:
    """Return a bout's beginning and end in seconds after leaving, as far as they lie in the absence."""
    return max(0.0, heard.begins_s + bout.start_s), min(record.away_s, heard.begins_s + bout.end_s)


def _require(heard: Heard) -> None:
    problems = []
    if not (isfinite(heard.length_s) and heard.length_s > 0.0 and isfinite(heard.begins_s)):
        problems.append(Problem("length_s", "A recording of {given:g} s tells nothing.", given=heard.length_s))
    for bout in heard.bouts:
        if bout.kind not in VOICES:
            problems.append(Problem("bouts", "“{kind}” cannot be heard in a recording.", kind=bout.kind))
        elif not 0.0 <= bout.start_s < bout.end_s <= heard.length_s:
            problems.append(
                Problem(
                    "bouts",
                    "A bout from {start:g} s to {end:g} s is not within a recording of {length:g} s.",
                    start=bout.start_s,
                    end=bout.end_s,
                    length=heard.length_s,
                )
            )
    if problems:
        raise InvalidInput(problems)
