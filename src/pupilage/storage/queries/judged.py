"""What people said of the events that a voice's words were heard by: it teaches the voice, and its confidence."""

from collections.abc import Container
from dataclasses import dataclass

import numpy as np
from django.db.models import Q
from numpy.typing import NDArray

from pupilage.core.recordings.events import EventSource, EventState
from pupilage.core.recordings.words.frames import N_NUMBERS, N_STACKED
from pupilage.core.recordings.words.heard_so_far import Word
from pupilage.storage.models import RecordingEvent, RecordingJudgement, Voice, VoiceWord


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


def heard_and_said(voice: Voice) -> list[tuple[Word | None, Word | None]]:
    """Return what was suggested, and what was said, of each moment of a voice that a person looked at. Four queries.

    A word added by hand was missed by the voice where anything of it was heard in that recording, and nobody else in it
    has that word. Clicks and whistles have no numbers to be known by; they are the voice's by its name.
    """
    mine = Q(voice=voice) | Q(voice=None, source=EventSource.SOUND, speaker=voice.name)
    of_voice = (
        RecordingEvent.objects.filter(workspace_id=voice.workspace_id).filter(mine).exclude(source=EventSource.HAND)
    )
    heard_in = set(of_voice.values_list("recording_id", flat=True))
    added = RecordingEvent.objects.filter(recording_id__in=heard_in, source=EventSource.HAND)
    judged = RecordingJudgement.objects.filter(recording_id__in=heard_in, taken_back_at=None).order_by("seq")
    newest = {one.event_id: one for one in judged}
    others = VoiceWord.objects.filter(voice__recordings__in=heard_in, retired_at=None).exclude(voice=voice)
    shared = {
        (recording_id, role, text.casefold())
        for recording_id, role, text in others.values_list("voice__recordings", "role", "text")
    }
    moments: list[tuple[Word | None, Word | None]] = []
    for row in of_voice.filter(id__in=newest).defer("embedding"):
        moments.append(((row.kind, row.label.casefold()), _said(row, newest[row.id])))
    for row in added.filter(id__in=newest):
        said = _said(row, newest[row.id])
        if said is not None and (row.recording_id, *said) not in shared:
            moments.append((None, said))
    return moments


def _said(row: RecordingEvent, judged: RecordingJudgement) -> Word | None:
    if judged.state != EventState.CONFIRMED:
        return None
    return judged.kind or row.kind, (judged.label or row.label).casefold()


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
