"""What an event's payload may hold."""

import math

import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.training.criterion.judging import require_payload
from pupilage.core.training.record.events import EventKind

SOME_ID = "6a1c6c7e-6f5e-4a9e-8a51-0d2f5d0f9c02"

GOOD = [
    (EventKind.SESSION_STARTED, {"programme": SOME_ID, "behaviour": "sit", "step": "lured"}),
    (
        EventKind.SESSION_STARTED,
        {"programme": SOME_ID, "behaviour": "sit", "step": "a", "kind": "probe", "pieces": None, "cold": True},
    ),
    (EventKind.TRIAL, {"outcome": "met", "latency_s": 1.2, "pieces": 2}),
    (EventKind.TRIAL, {"outcome": "void", "latency_s": None}),
    (EventKind.HOLD_STARTED, {"target_s": 0.1}),
    (EventKind.HOLD_BROKE, {"hold": SOME_ID, "held_s": 3}),
    (EventKind.HOLD_RELEASED, {"hold": SOME_ID, "held_s": 0, "pieces": 1}),
    (EventKind.STEP_CHANGED, {"step": "x"}),
    (EventKind.REINFORCER_CHANGED, {"reinforcer": "", "pieces": 0}),
    (EventKind.PAID, {"hold": SOME_ID, "pieces": 1, "interval_s": 4.5}),
    (EventKind.HOLD_BROKE, {"hold": SOME_ID, "held_s": 3.0, "cause": "release-word"}),
    (EventKind.SEEN, {"signs": ["yawn", "lip-lick"]}),
    (EventKind.SEEN, {"mouth": 0}),
    (EventKind.WITHDRAWN, {"event": SOME_ID}),
    (EventKind.CORRECTED, {"event": SOME_ID, "outcome": "helped"}),
    (EventKind.NOTE, {"text": "ears back twice"}),
    (EventKind.SESSION_ENDED, {}),
]

BAD = [
    (EventKind.SESSION_STARTED, {"behaviour": "sit", "step": "lured"}, ["programme"]),
    (EventKind.SESSION_STARTED, {"programme": "7", "behaviour": "", "step": 3}, ["programme", "behaviour", "step"]),
    (EventKind.TRIAL, {}, ["outcome"]),
    (EventKind.TRIAL, {"outcome": "good"}, ["outcome"]),
    (EventKind.TRIAL, {"outcome": "met", "latency_s": math.nan}, ["latency_s"]),
    (EventKind.TRIAL, {"outcome": "met", "latency_s": math.inf}, ["latency_s"]),
    (EventKind.TRIAL, {"outcome": "met", "latency_s": -1}, ["latency_s"]),
    (EventKind.TRIAL, {"outcome": "met", "pieces": 1.5}, ["pieces"]),
    (EventKind.TRIAL, {"outcome": "met", "pieces": True}, ["pieces"]),
    (EventKind.TRIAL, {"outcome": "met", "mood": "fine"}, ["mood"]),
    (EventKind.HOLD_STARTED, {"target_s": "5"}, ["target_s"]),
    (EventKind.HOLD_BROKE, {"hold": SOME_ID, "held_s": 1e9}, ["held_s"]),
    (EventKind.NOTE, {"text": "x" * 5001}, ["text"]),
    (EventKind.HOLD_BROKE, {"hold": SOME_ID, "held_s": 3.0, "cause": "the moon"}, ["cause"]),
    (EventKind.SEEN, {}, ["signs"]),
    (EventKind.SEEN, {"signs": [], "mouth": None}, ["signs"]),
    (EventKind.SEEN, {"signs": ["smiles"], "mouth": 5}, ["signs", "mouth"]),
]


@pytest.mark.parametrize(("kind", "payload"), GOOD)
def test_payload_of_the_documented_shape_passes(kind: EventKind, payload: dict[str, object]) -> None:
    assert require_payload(kind, payload) is None


@pytest.mark.parametrize(("kind", "payload", "where"), BAD)
def test_every_fault_of_a_payload_is_named_at_once(
    kind: EventKind, payload: dict[str, object], where: list[str]
) -> None:
    with pytest.raises(InvalidInput) as refused:
        require_payload(kind, payload)
    assert [problem.where for problem in refused.value.problems] == where


def test_every_kind_of_event_has_a_good_example_here() -> None:
    assert {kind for kind, _ in GOOD} == set(EventKind)
