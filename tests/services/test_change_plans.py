"""Plans against unwanted behaviours: made, changed, ended, taken back; nothing that was written is lost."""

import io
import json
from datetime import date, timedelta
from uuid import uuid4

import pytest

from pupilage.core.errors import Conflict, Forbidden, InvalidInput, NotFound
from pupilage.core.incidents.phases import PhaseKind
from pupilage.services.add_goal import add_goal
from pupilage.services.export_workspace import export_workspace
from pupilage.services.read_change_plan import read_change_plan, read_change_plans
from pupilage.services.save_change_plan import ChangePlanEntry, save_change_plan, take_change_plan_back
from pupilage.storage.models import AuditEntry, ChangePlan, Goal

KEY = "counter-stealing"
DAY = date(2026, 5, 8)


def entry(**changes):
    return ChangePlanEntry(
        **{"behaviour": KEY, "starts_on": DAY, "arrange": ("Kitchen gate while cooking.",)} | changes
    )


def test_a_plan_is_written_once_with_one_audit_row(actor, dog, now):
    plan_id = uuid4()
    for _ in range(2):
        assert save_change_plan(actor, dog, entry(plan_id=plan_id, gain_stops=True), now=now) == plan_id
    row = ChangePlan.objects.get()
    assert (row.arrange, row.gain_stops, row.kind) == (["Kitchen gate while cooking."], True, "plan")
    assert AuditEntry.objects.filter(action="save-change-plan").count() == 1


def test_lines_are_trimmed_and_kept_once(actor, dog, now):
    save_change_plan(actor, dog, entry(arrange=(" lead on ", "lead on", "", "gate")), now=now)
    assert ChangePlan.objects.get().arrange == ["lead on", "gate"]


def test_plan_of_the_same_day_takes_the_earlier_one_back_and_both_stay_stored(actor, dog, now):
    save_change_plan(actor, dog, entry(), now=now)
    save_change_plan(actor, dog, entry(arrange=("gate",)), now=now)
    page = read_change_plan(actor, dog, KEY, now=now)
    assert [phase.arrange for phase in page.phases] == [("gate",)]
    assert ChangePlan.objects.count() == 2


def test_changed_plan_is_a_new_phase_and_an_end_is_one_too(actor, dog, now):
    save_change_plan(actor, dog, entry(), now=now)
    save_change_plan(actor, dog, entry(starts_on=DAY + timedelta(2), arrange=("gate", "lead on")), now=now)
    page = read_change_plan(actor, dog, KEY, now=now)
    assert (len(page.phases), page.own_lines) == (2, ("gate", "lead on"))
    save_change_plan(actor, dog, entry(starts_on=DAY + timedelta(4), kind=PhaseKind.ENDED, arrange=()), now=now)
    page = read_change_plan(actor, dog, KEY, now=now)
    assert [phase.kind for phase in page.phases] == ["plan", "plan", "ended"]
    assert page.standing is None


def test_all_that_is_wrong_is_said_at_once_and_nothing_written(actor, dog, now):
    wrong = entry(behaviour="flying", starts_on=date(2026, 4, 1), arrange=(" ",), replacement="yodel")
    with pytest.raises(InvalidInput) as refused:
        save_change_plan(actor, dog, wrong, now=now)
    assert [problem.where for problem in refused.value.problems] == ["behaviour", "replacement", "starts_on"]
    assert not ChangePlan.objects.exists()


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"starts_on": date(2026, 5, 1)}, "The pup came on 2026-05-02"),
        ({"starts_on": date(2026, 5, 24)}, "The pup leaves on 2026-05-23"),
        ({"arrange": ()}, "Nothing is arranged and nothing taught instead"),
        ({"arrange": ("x" * 301,)}, "shorten it"),
        ({"arrange": tuple(map(str, range(21)))}, "keep those that matter"),
        ({"kind": PhaseKind.ENDED, "arrange": ()}, "there is nothing to end"),
    ],
)
def test_what_cannot_be_is_refused(actor, dog, now, changes, words):
    with pytest.raises(InvalidInput, match=words):
        save_change_plan(actor, dog, entry(**changes), now=now)


def test_an_ended_plan_is_not_ended_twice(actor, dog, now):
    save_change_plan(actor, dog, entry(), now=now)
    save_change_plan(actor, dog, entry(starts_on=DAY + timedelta(2), kind=PhaseKind.ENDED, arrange=()), now=now)
    with pytest.raises(InvalidInput, match="nothing to end"):
        save_change_plan(actor, dog, entry(starts_on=DAY + timedelta(3), kind=PhaseKind.ENDED, arrange=()), now=now)


def test_plan_that_begins_later_in_the_stay_waits(actor, dog, now):
    save_change_plan(actor, dog, entry(starts_on=date(2026, 5, 20)), now=now)
    assert str(read_change_plans(actor, dog, now=now)[KEY].says[0]).startswith("It begins on Wed 20 May.")


def test_plan_taken_back_is_in_no_reading_and_stays_stored(actor, dog, now):
    plan_id = save_change_plan(actor, dog, entry(), now=now)
    for _ in range(2):
        assert take_change_plan_back(actor, plan_id, now=now) == (dog, KEY)
    assert read_change_plans(actor, dog, now=now) == {}
    assert ChangePlan.objects.count() == 1
    assert AuditEntry.objects.filter(action="take-change-plan-back").count() == 1


def test_id_of_another_plan_is_refused(actor, dog, now):
    plan_id = save_change_plan(actor, dog, entry(), now=now)
    with pytest.raises(Conflict):
        save_change_plan(actor, dog, entry(behaviour="jumping-up", plan_id=plan_id), now=now)


def test_only_who_may_write_writes_and_a_stranger_sees_nothing(actor, reader, stranger, dog, now):
    plan_id = save_change_plan(actor, dog, entry(), now=now)
    with pytest.raises(Forbidden):
        save_change_plan(reader, dog, entry(), now=now)
    with pytest.raises(Forbidden):
        take_change_plan_back(reader, plan_id, now=now)
    assert read_change_plan(reader, dog, KEY, now=now).standing is not None
    for ask in (
        lambda: save_change_plan(stranger, dog, entry(), now=now),
        lambda: take_change_plan_back(stranger, plan_id, now=now),
        lambda: read_change_plan(stranger, dog, KEY, now=now),
        lambda: read_change_plans(stranger, dog, now=now),
    ):
        with pytest.raises(NotFound):
            ask()


def test_unknown_behaviour_has_no_page(actor, dog, now):
    with pytest.raises(NotFound):
        read_change_plan(actor, dog, "flying", now=now)


def test_plans_come_out_with_what_was_taken_back(actor, dog, now):
    save_change_plan(actor, dog, entry(), now=now)
    save_change_plan(actor, dog, entry(arrange=("gate",)), now=now)
    out = io.StringIO()
    export_workspace(actor, out, now=now)
    rows = json.loads(out.getvalue())["tables"]["ChangePlan"]
    assert sorted((row["arrange"], row["taken_back_at"] is None) for row in rows) == [
        (["Kitchen gate while cooking."], False),
        (["gate"], True),
    ]


def test_replacement_becomes_a_goal_once_and_the_others_stay(actor, programme, dog, now):
    assert read_change_plan(actor, dog, KEY, now=now).is_goal is False
    before = set(Goal.objects.filter(dropped_at=None).values_list("behaviour", flat=True))
    for _ in range(2):
        add_goal(actor, programme, "settle-on-mat", now=now)
    assert read_change_plan(actor, dog, KEY, now=now).is_goal is True
    assert set(Goal.objects.filter(dropped_at=None).values_list("behaviour", flat=True)) == before | {"settle-on-mat"}
    assert AuditEntry.objects.filter(action="add-goal").count() == 1
    with pytest.raises(InvalidInput):
        add_goal(actor, programme, "yodel", now=now)
