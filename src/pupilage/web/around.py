"""What lasts around the pup, as Today shows it: what runs, since when, whether it is still so; and what can begin."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils.translation import gettext_lazy as _

from pupilage.core.care.events import CareDetail, CareKind
from pupilage.core.incidents.lasting import LASTING_KINDS, Running
from pupilage.services.read_care_panel import CarePanel
from pupilage.services.read_catalogue import read_catalogue
from pupilage.web.care_words import KIND_WORDS, Tap
from pupilage.web.outing_words import show_minutes

SHORT_WORDS = {
    CareKind.UNWATCHED: _("unwatched"),
    CareKind.IN_REACH: _("food in reach"),
    CareKind.VISITOR: _("visitor"),
    CareKind.RESIDENT: _("other dog"),
    CareKind.BUSY: _("busy"),
}
GOOD_NEWS = {
    CareKind.UNWATCHED: ("chewing-household-things", _("left things be")),
    CareKind.IN_REACH: ("counter-stealing", _("looked, left it")),
    CareKind.VISITOR: ("jumping-up", _("kept its feet down")),
    CareKind.RESIDENT: ("rough-play-with-dog", _("let the dog be")),
    CareKind.BUSY: ("barking-for-attention", _("stayed quiet")),
}
"""While this runs, the unwanted behaviour that there is occasion for, and the good news of it, in one tap."""


@dataclass(frozen=True)
class RunningRow:
    """One that runs. good: the behaviour that was left and the words for it, None where the catalogue has none.

    asked: for how long nobody has said a word, "" while it need not be asked; counts_until: None until it is asked.
    """

    words: object
    since: datetime
    end: str
    again: str
    good: tuple[str, object] | None
    asked: str
    counts_until: datetime
    is_capped: bool


def around_context(panel: CarePanel, now: datetime) -> dict[str, Any]:
    """Return what Today needs to show what lasts around the pup."""
    running = panel.around
    return {
        "running": [_row(one, now) for one in running],
        "beginnings": _beginnings(running),
        "odd_taps": [(KIND_WORDS[one.kind], one.says) for one in panel.odd],
    }


def _beginnings(running: Sequence[Running]) -> list[Tap]:
    kinds = {one.kind for one in running}
    return [Tap(f"{kind}:{CareDetail.START}", SHORT_WORDS[kind]) for kind in LASTING_KINDS if kind not in kinds]


def _row(run: Running, now: datetime) -> RunningRow:
    behaviour, words = GOOD_NEWS[run.kind]
    silent_min = (now - run.said_at).total_seconds() / 60.0
    return RunningRow(
        words=KIND_WORDS[run.kind],
        since=run.since,
        end=f"{run.kind}:{CareDetail.END}",
        again=f"{run.kind}:{CareDetail.START}",
        good=(behaviour, words) if behaviour in read_catalogue().unwanted else None,
        asked=show_minutes(silent_min) if run.is_asked(now) else "",
        counts_until=run.counts_until,
        is_capped=run.is_capped(now),
    )
