"""What goes on around the pup is tapped in its turn."""

from datetime import UTC, datetime, timedelta

from pupilage.core.care.events import CareDetail, CareEvent, CareKind
from pupilage.core.simulation.taps import in_turn

AT = datetime(2026, 5, 4, 9, tzinfo=UTC)


def tap(kind: CareKind, after_s: float, detail: CareDetail) -> CareEvent:
    return CareEvent(f"{kind}-{detail}-{after_s}", kind, AT + timedelta(seconds=after_s), detail)


def test_what_happens_to_the_pup_stays_and_what_is_around_it_waits_for_a_free_second() -> None:
    nap = [tap(CareKind.NAP, 0, CareDetail.START), tap(CareKind.NAP, 1, CareDetail.END)]
    watch = [tap(CareKind.UNWATCHED, 0.4, CareDetail.START), tap(CareKind.UNWATCHED, 1.9, CareDetail.END)]
    events = in_turn(nap, watch)
    assert [(event.id, (event.at - AT).total_seconds()) for event in events] == [
        (nap[0].id, 0),
        (nap[1].id, 1),
        (watch[0].id, 2),
        (watch[1].id, 3),
    ]


def test_a_stretch_pushed_back_does_not_end_before_it_begins() -> None:
    rest = [tap(CareKind.NAP, second, CareDetail.START) for second in (0, 1, 2)]
    guest = [tap(CareKind.VISITOR, 0, CareDetail.START), tap(CareKind.VISITOR, 3, CareDetail.END)]
    moved = [event for event in in_turn(rest, guest) if event.kind is CareKind.VISITOR]
    assert [(event.detail, (event.at - AT).total_seconds()) for event in moved] == [
        (CareDetail.START, 3),
        (CareDetail.END, 4),
    ]
