"""What the page of a recording shows and hands to its script."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from django.utils.translation import gettext, ngettext

from pupilage.core.recordings.events import Event, EventKind, EventState
from pupilage.core.recordings.figures import Range, TrialFigures
from pupilage.services.read_recording import Beside, RecordingPage
from pupilage.web.kept_words import kept_words


def review_state(page: RecordingPage) -> dict[str, Any]:
    """Return what the script starts from: events, what is left to check, words to choose from, onsets."""
    left = page.checking
    return {
        "events": [_event(event, page) for event in page.events if event.kind is not EventKind.OUTCOME],
        "left": {
            "to_check": left.to_check,
            "sure": left.sure,
            "without_outcome": left.without_outcome,
            "marked": left.marked,
        },
        "words": [
            {
                "kind": word.kind.value,
                "label": word.label,
                "behaviour": word.behaviour,
                "says": _says(word.kind, word.label),
            }
            for word in page.words
        ],
        "onsets": page.onsets_s,
        "duration": page.line.duration_s or 0.0,
    }


def _event(event: Event, page: RecordingPage) -> dict[str, Any]:
    return {
        "id": event.id,
        "start": round(event.start_s, 3),
        "end": round(event.end_s, 3),
        "kind": event.kind.value,
        "label": event.label,
        "behaviour": event.behaviour,
        "band": "sure" if event.state is EventState.CONFIRMED else event.band.value,
        "state": event.state.value,
        "confidence": event.confidence,
        "outcome": page.answers.get(event.id, ""),
    }


def _says(kind: EventKind, label: str) -> str:
    name = kind_words()[kind.value]
    return f"{name}: {label}" if label else name


def kind_words() -> dict[str, str]:
    """Return what each kind of event is called."""
    return {
        "cue": gettext("cue"),
        "marker": gettext("marker"),
        "release": gettext("release"),
        "praise": gettext("praise"),
        "name": gettext("name"),
        "ignore": gettext("other word"),
        "click": gettext("click"),
        "whistle": gettext("whistle"),
        "bark": gettext("bark"),
        "whine": gettext("whine"),
        "talk": gettext("talk"),
        "reward": gettext("reward"),
        "break": gettext("broke off"),
        "outcome": gettext("what the pup did"),
    }


def review_words() -> dict[str, Any]:
    """Return every text that the script may have to show."""
    return kept_words() | {
        "kinds": kind_words(),
        "met": gettext("met"),
        "missed": gettext("missed"),
        "helped": gettext("helped"),
        "void": gettext("void"),
        "ask": gettext("“{label}”, {kind}, at {at}: right?"),
        "ask_outcome": gettext("“{label}” at {at}: what did the pup do?"),
        "chosen": gettext("“{label}”, {kind}, at {at}: {state}"),
        "left": gettext("{n} to check, {sure} sure ones to confirm, {open} tries without what the pup did"),
        "nothing_left": gettext("All is checked. Let the tries count below."),
        "nothing_heard": gettext("Nothing to check yet: tap while it plays, or teach words from it and read it again."),
        "no_player": gettext("The sound is not kept; what was heard can still be judged."),
        "no_play": gettext("The browser cannot play this file: {reason}"),
        "nothing_hidden": gettext("Nothing was heard here. Add it with the button under the player."),
        "said_here": gettext("Did I say something here, at {at}?"),
        "added": gettext("Added: {says} at {at}"),
        "suggested": gettext("not checked"),
        "confirmed": gettext("right"),
        "rejected": gettext("wrong"),
        "undone": gettext("Taken back"),
        "nothing_to_undo": gettext("Nothing to take back on this page"),
        "kept_here": gettext("Kept: {what}"),
        "drawing": gettext("Timeline from {from} to {to}: {n} events"),
    }


def figure_lines(figures: TrialFigures) -> list[tuple[str, str]]:
    """Return the figures in words, each with its range while events are unchecked."""
    return [
        (gettext("Tries"), _whole(figures.n_trials)),
        (gettext("Marked"), _whole(figures.n_marked)),
        (gettext("Repeated cues"), _whole(figures.n_repeats)),
        (gettext("Repeats a try"), _tenths(figures.repeats_per_trial)),
        (gettext("Markers"), _whole(figures.n_markers)),
        (gettext("Markers a minute of work"), _tenths(figures.rate_per_min)),
        (gettext("First cue to marker"), _seconds(figures.first_latency_s)),
        (gettext("Last cue to marker"), _seconds(figures.last_latency_s)),
    ]


def _whole(found: Range) -> str:
    return _shown(found, "{:.0f}")


def _tenths(found: Range) -> str:
    return _shown(found, "{:.1f}")


def _seconds(found: Range) -> str:
    return _shown(found, "{:.1f} s")


def _shown(found: Range, form: str) -> str:
    """Return a figure and, where it can still change, from where to where."""
    if found.low is None or found.high is None:
        return gettext("not enough yet")
    if found.value is None:
        told = gettext("not enough yet (could become {low} to {high})")
        return told.format(low=form.format(found.low), high=form.format(found.high))
    value, low, high = (form.format(number) for number in (found.value, found.low, found.high))
    return value if low == high else gettext("{value} ({low} to {high})").format(value=value, low=low, high=high)


def agreement_lines(beside: Sequence[Beside]) -> list[dict[str, Any]]:
    """Return, for each session that was tapped meanwhile, how far tapping and hearing agree."""
    return [
        {
            "session": one.session_id,
            "behaviour": one.behaviour,
            "says": list(_agreed(one)),
            "sentences": one.merge.sentences,
        }
        for one in beside
    ]


def _agreed(one: Beside) -> Iterator[str]:
    merge = one.merge
    if merge.offset_s is None:
        return
    yield ngettext(
        "{n} try is in both, {tapped} only tapped, {heard} only heard.",
        "{n} tries are in both, {tapped} only tapped, {heard} only heard.",
        merge.n_both,
    ).format(n=merge.n_both, tapped=merge.n_only_tapped, heard=merge.n_only_heard)
    if merge.n_not_filmed:
        yield ngettext(
            "{n} tapped try was not filmed, and is not compared.",
            "{n} tapped tries were not filmed, and are not compared.",
            merge.n_not_filmed,
        ).format(n=merge.n_not_filmed)
    yield from _shares(merge.on_trials.share if merge.on_trials else None)
    if merge.spread_s is not None:
        yield gettext("The clocks differ by {offset} s; a tap lies {spread} s from its marker in the middle.").format(
            offset=f"{merge.offset_s:+.1f}", spread=f"{merge.spread_s:.1f}"
        )


def _shares(share: float | None) -> Iterable[str]:
    if share is not None:
        yield gettext("Both say the same of marked or not in {share} of them.").format(share=f"{share:.0%}")
