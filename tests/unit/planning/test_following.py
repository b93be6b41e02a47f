"""What is due, and which blocks the log is about."""

from dataclasses import replace
from datetime import timedelta

import pytest

from made_days import at, block, hand_made
from pupilage.core.care.events import CareDetail, CareEvent, CareKind
from pupilage.core.errors import InvalidInput
from pupilage.core.planning.day.blocks import BlockKind, BlockState
from pupilage.core.planning.day.following import (
    Happening,
    done_at,
    due_of,
    follow_log,
    happenings_of,
    mark,
)

BLOCKS = hand_made().blocks


def happening(kind: BlockKind, clock: str, **more: str) -> Happening:
    return Happening(kind, at(clock), **{"id": clock, **more})


@pytest.mark.parametrize(
    ("clock", "now", "then"),
    [
        ("05:00", None, "outing-1"),
        ("06:05", "outing-1", "meal-1"),
        ("06:25", "meal-1", "nap-1"),
        ("08:30", "outing-2", "session-1"),
        ("08:55", "outing-2", "outing-3"),
        ("09:40", "outing-3", "outing-4"),
        ("09:51", "nap-2", "outing-4"),
        ("13:30", "appointment-1", "outing-9"),
        ("22:50", None, None),
    ],
)
def test_outing_or_meal_that_waits_comes_before_what_goes_on(clock: str, now: str | None, then: str | None) -> None:
    due = due_of(BLOCKS, at(clock))
    assert (due.now.key if due.now else None, due.then.key if due.then else None) == (now, then)


def test_block_that_is_ticked_off_is_not_due() -> None:
    blocks = [replace(one, state=BlockState.SKIPPED) if one.key == "outing-2" else one for one in BLOCKS]
    due = due_of(blocks, at("08:30"))
    assert due.now is None or due.now.key != "outing-2"


def test_night_is_never_asked_about() -> None:
    assert due_of([block("night-1", "01:00", "05:00")], at("02:00")).now is None


def test_instant_without_a_zone_is_refused() -> None:
    with pytest.raises(InvalidInput):
        due_of(BLOCKS, at("08:30").replace(tzinfo=None))


def test_entry_belongs_to_the_nearest_block_of_its_kind() -> None:
    found = follow_log(BLOCKS, [happening(BlockKind.OUTING, "08:55")])
    assert set(found) == {"outing-3"}


def test_two_entries_never_belong_to_one_block() -> None:
    found = follow_log(BLOCKS, [happening(BlockKind.OUTING, "08:28"), happening(BlockKind.OUTING, "08:31")])
    assert {key: one.id for key, one in found.items()} == {"outing-2": "08:28", "outing-3": "08:31"}


def test_entry_far_from_every_block_belongs_to_none() -> None:
    assert not follow_log(BLOCKS, [happening(BlockKind.OUTING, "15:00"), happening(BlockKind.MEAL, "16:00")])


def test_entry_that_belongs_to_a_block_already_is_not_taken_twice() -> None:
    assert not follow_log(BLOCKS, [happening(BlockKind.MEAL, "06:30")], taken=["06:30"])


def test_session_belongs_to_its_behaviour_only() -> None:
    assert set(follow_log(BLOCKS, [happening(BlockKind.SESSION, "08:41", behaviour="sit")])) == {"session-1"}
    assert not follow_log(BLOCKS, [happening(BlockKind.SESSION, "08:41", behaviour="recall")])


def test_sessions_without_an_id_are_each_their_own() -> None:
    held = [happening(BlockKind.SESSION, "08:41", id="", behaviour="sit")] * 2
    assert set(follow_log(BLOCKS, held)) == {"session-1"}


@pytest.mark.parametrize(
    ("kind", "detail", "block_kind"),
    [
        (CareKind.OUTING, CareDetail.NOTHING, BlockKind.OUTING),
        (CareKind.MEAL, CareDetail.PLAIN, BlockKind.MEAL),
        (CareKind.NAP, CareDetail.END, BlockKind.NAP),
        (CareKind.CRATE, CareDetail.END, BlockKind.NAP),
        (CareKind.PLAY, CareDetail.PLAIN, BlockKind.PLAY),
        (CareKind.CHEW, CareDetail.END, BlockKind.CHEW),
        (CareKind.NAP, CareDetail.START, None),
        (CareKind.INDOORS, CareDetail.WEE, None),
        (CareKind.DRINK, CareDetail.PLAIN, None),
    ],
)
def test_entries_of_the_care_log_are_about_blocks(
    kind: CareKind, detail: CareDetail, block_kind: BlockKind | None
) -> None:
    found = [one.kind for one in happenings_of([CareEvent("a", kind, at("08:00"), detail)])]
    assert found == ([] if block_kind is None else [block_kind])


def test_nap_that_ended_early_is_as_long_as_it_was() -> None:
    nap = done_at(block("nap-1", "07:00", "08:25"), at("07:52"))
    assert (nap.start, nap.end, nap.state) == (at("07:00"), at("07:55"), BlockState.DONE)


def test_what_was_done_before_its_time_lies_before_the_instant() -> None:
    play = done_at(block("play-1", "08:50", "09:00"), at("08:30"))
    assert (play.start, play.end) == (at("08:20"), at("08:30"))


def test_what_was_done_late_keeps_its_planned_time() -> None:
    meal = block("meal-1", "06:20", "06:35")
    assert done_at(meal, at("07:10")) == replace(meal, state=BlockState.DONE)


def test_marking_leaves_the_other_blocks_alone() -> None:
    found = follow_log(BLOCKS, [happening(BlockKind.MEAL, "06:30")])
    marked = mark(BLOCKS, found)
    assert [one.key for one in marked if one.state is BlockState.DONE] == ["meal-1"]
    assert [one.key for one in marked] == [one.key for one in BLOCKS]
    assert all(first == second for first, second in zip(marked, BLOCKS, strict=True) if first.key != "meal-1")


def test_order_of_the_log_does_not_matter() -> None:
    log = [happening(BlockKind.OUTING, clock) for clock in ("06:04", "08:30", "09:02", "10:44")]
    assert follow_log(BLOCKS, log) == follow_log(BLOCKS, log[::-1])
    assert len(follow_log(BLOCKS, log)) == 4


def test_bound_of_belonging_is_three_quarters_of_an_hour() -> None:
    last = at("21:40")
    near, far = last + timedelta(minutes=45), last + timedelta(minutes=46)
    assert follow_log(BLOCKS, [Happening(BlockKind.OUTING, near)])
    assert not follow_log(BLOCKS, [Happening(BlockKind.OUTING, far)])
