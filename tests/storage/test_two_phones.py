"""Two phones, and more, at once: real processes on a database in a file."""

import os
import subprocess
import sys
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest

from made_days import DAY, at, hand_made
from pupilage.core.planning.day.blocks import BlockState

NOW = datetime(2026, 5, 12, 8, 30, tzinfo=UTC)
N_PROCESSES = 5

BEGIN = """
import sys, django; django.setup()
from dataclasses import replace
from datetime import timedelta
from uuid import UUID
from made_days import DAY, at, hand_made
from pupilage.core.errors import Conflict
from pupilage.core.planning.day.blocks import BlockState
from pupilage.services import make_day_plan as making
from pupilage.services.make_day_plan import make_day_plan
from pupilage.services.mark_block import Mark, mark_block
from pupilage.storage.queries.access import get_actor
actor, stay, n = get_actor(UUID(sys.argv[1])), UUID(sys.argv[2]), int(sys.argv[3])
now = at("08:30")
print("ready", flush=True); sys.stdin.readline()
"""
MARK_THE_SAME = """
mark_block(actor, stay, DAY, Mark("meal-2", BlockState.DONE), now=now)
"""
MARK_OTHERWISE = """
state = BlockState.DONE if n % 2 else BlockState.SKIPPED
try:
    mark_block(actor, stay, DAY, Mark("meal-2", state), now=now)
    print("wrote", state.value)
except Conflict as error:
    print("refused", state.value)
"""
MARK_AND_PLAN = """
def solve(collected, **_):
    plan, later = hand_made(), timedelta(minutes=5 * n)
    marked = {one.key: one.state for one in collected.blocks}
    return replace(plan, blocks=tuple(
        replace(b, start=b.start + later, end=b.end + later, state=marked.get(b.key, b.state)) for b in plan.blocks))
making.solve_day = solve
own = ["meal-2", "nap-2", "play-1", "session-1", "appointment-1"][n]
for round in range(4):
    if round == 1:
        mark_block(actor, stay, DAY, Mark(own, BlockState.SKIPPED), now=now)
    try:
        make_day_plan(actor, stay, DAY, now=now)
    except Conflict:
        pass
"""


@pytest.fixture
def stay(database: Path) -> tuple[UUID, UUID]:
    """The ids of a person and of a stay with a timetable, in the file."""
    from pupilage.core.access import Actor
    from pupilage.services.keep_day_plan import FollowedPlan, keep_day_plan
    from pupilage.services.open_workspace import NewWorkspace, open_workspace
    from pupilage.services.start_programme import Intake, NewDog, start_programme
    from pupilage.storage.queries.programmes import programme_readable_by

    actor: Actor = open_workspace(NewWorkspace("yard", "wren", "Wren", "Europe/Lisbon"), now=NOW)
    intake = Intake("yard", NewDog("Tansy", date(2026, 2, 25)), date(2026, 5, 2), date(2026, 5, 23))
    programme_id = start_programme(actor, intake, now=NOW)
    programme = programme_readable_by(actor, programme_id)
    assert keep_day_plan(actor, programme, FollowedPlan(hand_made(), 0), now=at("05:00"))
    return actor.user_id, programme_id


def at_once(database: Path, stay: tuple[UUID, UUID], script: str) -> list[str]:
    """Run the script in several processes that begin together, and return what each printed."""
    tests = str(Path(__file__).resolve().parents[1])
    environment: dict[str, Any] = {
        **os.environ,
        "DJANGO_SETTINGS_MODULE": "pupilage.settings.local",
        "PUPILAGE_DATABASE": str(database),
        "PYTHONPATH": os.pathsep.join([tests, *sys.path]),
    }
    environment.pop("DATABASE_URL", None)
    phones = [
        subprocess.Popen(
            [sys.executable, "-c", BEGIN + script, str(stay[0]), str(stay[1]), str(n)],
            env=environment,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        for n in range(N_PROCESSES)
    ]
    for phone in phones:
        assert phone.stdout.readline() == "ready\n"
    for phone in phones:
        phone.stdin.write("go\n")
        phone.stdin.flush()
    said = [phone.communicate(timeout=120)[0] for phone in phones]
    assert [phone.returncode for phone in phones] == [0] * N_PROCESSES
    return said


@pytest.mark.processes
def test_meal_ticked_off_on_five_phones_at_once_is_written_down_once(database: Path, stay: tuple[UUID, UUID]) -> None:
    from pupilage.storage.models import CareEvent, PlanBlock

    at_once(database, stay, MARK_THE_SAME)
    assert CareEvent.objects.count() == 1
    block = PlanBlock.objects.get(key="meal-2")
    assert (block.state, block.care_event) == ("done", CareEvent.objects.get().event_id)


@pytest.mark.processes
def test_phones_that_say_otherwise_are_told_and_one_word_stands(database: Path, stay: tuple[UUID, UUID]) -> None:
    from pupilage.storage.models import CareEvent, PlanBlock

    said = [line.split() for line in "".join(at_once(database, stay, MARK_OTHERWISE)).splitlines()]
    state = PlanBlock.objects.get(key="meal-2").state
    assert {word for word, _ in said} == {"wrote", "refused"}
    assert {says for word, says in said if word == "wrote"} == {state}
    assert CareEvent.objects.count() == (state == "done")


@pytest.mark.processes
def test_what_one_phone_ticks_is_not_lost_while_others_plan_anew(database: Path, stay: tuple[UUID, UUID]) -> None:
    from pupilage.storage.models import DayPlan, PlanBlock

    at_once(database, stay, MARK_AND_PLAN)
    skipped = PlanBlock.objects.filter(state=BlockState.SKIPPED.value)
    assert sorted(skipped.values_list("key", flat=True)) == [
        "appointment-1", "meal-2", "nap-2", "play-1", "session-1",
    ]  # fmt: skip
    row = DayPlan.objects.get(day=DAY)
    left = PlanBlock.objects.filter(plan=row, state="planned", starts_at__gt=NOW + timedelta(minutes=30))
    moved = {move for _, move in _moves(left)}
    assert len(moved) == 1, "the blocks that are left are all of one plan, never of two"


def _moves(blocks: Any) -> list[tuple[str, timedelta]]:
    starts = {one.key: one.start for one in hand_made().blocks}
    return [(one.key, one.starts_at - starts[one.key]) for one in blocks]
