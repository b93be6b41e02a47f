"""What people said of the events that a voice's words were heard by: it teaches the voice, and its confidence."""

from collections.abc import Container
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pupilage.core.recordings.events import EventState
from pupilage.core.recordings.words.frames import N_NUMBERS, N_STACKED
from pupilage.storage.models import RecordingEvent, RecordingJudgement, Voice


@dataclass(frozen=True)
class JudgedEvent:
    """One event that was looked at. is_right: something was said there, kind and label tell what.

    as_suggested: it was just what the model said. confidence: as the model gave it.
    """

    stack: NDArray[np.float16]
    kind: str
    label: str
    is_right: bool
    as_suggested: bool
    confidence: float | None

    def teaches(self, known: Container[tuple[str, str]]) -> bool:
        """Whether it can teach: a wrong one does, and a right one whose word is still among the words."""
        return not self.is_right or (self.kind, self.label.casefold()) in known


def judged_events(voice: Voice) -> list[JudgedEvent]:
    """Return what was said of the events heard by a voice's words, each as its newest judgement says. Two queries."""
    rows = RecordingEvent.objects.filter(voice=voice).exclude(embedding=None)
    judged = RecordingJudgement.objects.filter(event__in=rows, taken_back_at=None).order_by("seq")
    newest = {one.event_id: one for one in judged}
    return [
        _judged(row, newest[row.id]) for row in rows.filter(id__in=newest).order_by("recording_id", "start_s", "id")
    ]


def _judged(row: RecordingEvent, said: RecordingJudgement) -> JudgedEvent:
    kind, label = said.kind or row.kind, said.label or row.label
    is_right = said.state == EventState.CONFIRMED
    return JudgedEvent(
        np.frombuffer(bytes(row.embedding or b""), np.float16).reshape(-1, N_STACKED * N_NUMBERS),
        kind,
        label,
        is_right,
        is_right and (kind, label) == (row.kind, row.label),
        row.confidence,
    )
