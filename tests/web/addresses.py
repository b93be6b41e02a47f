"""Every page of the resolver, with what it needs in its address and which methods it knows."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.urls import URLPattern, URLResolver, get_resolver, reverse

READS = {
    "today", "start", "train", "log", "goals-now", "pup", "programmes", "programme", "goals", "stay-dates",
    "session-card", "session", "live", "dog", "dog-change", "care", "outing", "incident", "behaviours",
    "behaviour", "settings", "cautions", "thresholds", "sync-token", "sync-session", "sync-ahead", "incidents",
    "exposures", "exposure", "ration", "eaten", "outings-read", "plan", "plan-what-if", "day", "timetable",
    "day-sheet", "recordings", "recording-bytes", "recording-state", "recording-sound", "two-dogs", "code-session",
    "agreement", "intervals", "interval-run", "change-plan", "incident-sheet", "alone", "alone-now", "leave",
    "absence", "recording", "recording-amounts", "recording-events", "voices", "voice",
    "voice-learning", "teach", "sample", "pack", "programme-progress",
    "behaviour-progress", "celeration", "family-page", "family-media-show", "family-preview", "lesson", "after",
    "families", "sync-day", "logger", "service-worker", "manifest", "hands", "vet-report", "own-review",
    "phones", "trial-sheet",
}  # fmt: skip
WRITES = {
    "start", "goals", "stay-dates", "session-card", "session-correct", "dog-change", "weight", "care-log",
    "session-note",
    "care-withdraw", "incident", "incident-take-back", "settings", "reinforcer", "sync-push", "exposure-log",
    "exposure-withdraw", "vet-word", "ration-choose", "ration-move", "likes", "plan", "plan-what-if", "day",
    "day-plan", "day-mark", "day-happened", "appointment", "calendar-link", "recording-begin", "recording-bytes",
    "recording-captions", "recording-cancel", "recording-again", "recording-forget", "incident-left", "code-entries",
    "intervals", "interval-events", "change-plan", "change-plan-end", "change-plan-goal", "change-plan-take-back",
    "incident-sheet", "absence", "absence-push", "absence-take-back", "alone-advice",
    "recording-judge", "recording-count", "recording-absence", "recording-correct", "voices",
    "recording-voices", "recording-learn", "teach-tap", "voice-change", "voice-forget", "voice-learn", "voice-words",
    "word", "word-sound", "sample-forget", "pack", "pack-words",
    "family-link", "family-link-stop", "family-choices", "family-media-add", "family-media-delete", "lesson",
    "after-told", "after-call", "vet-report",
}  # fmt: skip
NO_ROLE = {"sign-in", "sign-in-link", "sign-out", "calendar", "family", "family-log", "family-media"} | {
    "pair", "pair-link", "phone-code", "phone-revoke",
}  # fmt: skip
"""Signing in and out, and one's own phones, are for everybody."""


@dataclass(frozen=True)
class Address:
    """A named page: its name and the names of what stands in its path."""

    name: str
    needs: tuple[str, ...]
    view: Any

    def path(self, places: dict[str, str]) -> str:
        return reverse(self.name, kwargs={need: places[need] for need in self.needs})


def walk(patterns: list[URLPattern | URLResolver] | None = None) -> Iterator[Address]:
    """Return every page that the resolver knows."""
    for pattern in get_resolver().url_patterns if patterns is None else patterns:
        if isinstance(pattern, URLResolver):
            yield from walk(pattern.url_patterns)
        else:
            yield Address(pattern.name, tuple(pattern.pattern.converters), pattern.callback)


ALL = sorted(walk(), key=lambda address: address.name)
PLACED = [address for address in ALL if any(need.endswith("_id") for need in address.needs)]
