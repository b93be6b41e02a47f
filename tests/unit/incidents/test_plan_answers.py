"""A plan's answers: what can be compared, what else it may be, and nobody told to hold on where it hurts."""

from datetime import UTC, date, datetime, timedelta

import pytest

from pupilage.core.incidents.patterns import Early, Harm
from pupilage.core.incidents.phases import PhaseKind, PlanPhase
from pupilage.core.incidents.plan_answers import answer_plan
from pupilage.core.incidents.record import Incident
from pupilage.core.incidents.stretches import Stretch
from pupilage.core.incidents.teeth import Teeth

FIRST = date(2026, 5, 4)
MORNING = datetime(2026, 5, 4, 7, tzinfo=UTC)
HOURS = 8


def on(day):
    return FIRST + timedelta(days=day)


def awake(n_days):
    return [Stretch(MORNING + timedelta(days=d), MORNING + timedelta(days=d, hours=HOURS)) for d in range(n_days)]


def incidents_of(counts, behaviour="counter-stealing", **more):
    return [
        Incident(f"{day}-{k}", behaviour, MORNING + timedelta(days=day, minutes=20 * k + 10), **more)
        for day, n in enumerate(counts)
        for k in range(n)
    ]


def ask(counts, start, *, more=(), phases=None, behaviour="counter-stealing", free=None, **plan):
    given = phases if phases is not None else [PlanPhase(on(start), **plan)]
    hours = awake(len(counts)) if free is None else free
    incidents = [*incidents_of(counts, behaviour), *more]
    return answer_plan(incidents, given, free=hours, zone=UTC, today=on(len(counts) - 1))


def words(answers):
    return " ".join(str(said) for said in answers.says)


def test_a_clear_fall_is_said_with_its_limits_and_effect_sizes_carry_their_caveats():
    found = ask([3, 4, 3, 5, 3, 4, 3, 4, 1, 0, 1, 0, 1, 0, 0, 1], 8)
    assert "Rarer with the plan: 4.5 before, 0.6 now in ten free hours" in words(found)
    assert "what began on Tue 12 May fits" in words(found)
    assert found.start_that_fits == on(8)
    told = " ".join(map(str, found.effect))
    for word in ("NAP 1.00", "never read it alone", "One lucky day", "Days in a row are alike"):
        assert word in told


def test_pnd_says_that_it_cannot_tell_where_a_day_before_had_none():
    assert "PND cannot tell" in " ".join(map(str, ask([3, 0, 3, 2, 1, 0, 1, 0], 4).effect))


def test_no_plan_says_what_to_do_and_a_coming_one_when_it_begins():
    assert "No plan yet" in words(ask([1, 2, 1, 2], 0, phases=[]))
    coming = ask([1, 2, 1, 2], 9)
    assert words(coming) == "It begins on Wed 13 May. The days until then are “before”."
    assert (coming.newest, coming.comparison) == (None, None)


def test_start_on_the_first_day_has_nothing_to_compare_with():
    found = ask([1, 2, 1, 2], 0)
    assert words(found).startswith("No watched day lies before the start")
    assert found.comparison is None


def test_no_watched_day_since_is_said_and_no_figure_made():
    found = ask([1, 2, 1, 2, 0], 4, free=awake(4))
    assert "No watched day since the start yet" in words(found)
    assert (found.comparison, found.early) == (None, Early.NOTHING)


def test_without_any_logged_hours_there_is_no_figure():
    found = ask([1, 2, 1, 2, 0, 1], 3, free=[])
    assert words(found).startswith("No watched day lies before the start")
    assert found.phases[0].rate is None


def test_nothing_before_the_start_shows_no_fall():
    assert "no fall can be shown" in words(ask([0, 0, 0, 0, 1, 2], 4))
    assert "nothing that could fall" in words(ask([0, 0, 0, 0, 0, 0], 4))


def test_incidents_outside_the_log_are_not_passed_over_as_none():
    night = [Incident(f"night-{day}", "counter-stealing", MORNING + timedelta(days=day, hours=15)) for day in range(6)]
    found = ask([0] * 8, 4, more=night)
    assert found.n_outside == 6
    assert "No incident lies in logged hours, and 6 lie outside them" in words(found)


def test_days_on_which_it_was_left_are_no_incidents():
    left = [Incident("left", "counter-stealing", MORNING + timedelta(days=5, hours=1), left_it=True)]
    assert ask([3, 3, 2, 3, 0, 0], 4, more=left).comparison.after.n == 0


def test_fall_that_chance_explains_is_not_called_one():
    assert "Not to be told yet" in words(ask([1, 0, 1, 1, 0, 1, 0, 0], 4))


def test_plan_begun_on_bad_days_is_told_so_with_the_figure_without_them():
    found = ask([1, 0, 1, 1, 0, 1, 4, 4, 5, 1, 0, 1, 1, 0], 9)
    assert found.comparison.began_on_bad_days
    assert "bad days pass by themselves" in words(found)
    assert found.comparison.without_bad_days.value > 0.85 > found.comparison.ratio.value


def test_it_was_falling_already_before_the_start():
    found = ask([9, 8, 7, 6, 5, 4, 3, 3, 2, 2, 1, 1, 1, 0], 8)
    assert "It was getting rarer already before the start" in words(found)
    assert "Beside a steady trend through all days" in words(found)


def test_change_before_the_plan_is_not_put_down_to_it():
    found = ask([5, 6, 5, 6, 5, 1, 0, 1, 0, 1, 0, 1, 0, 1, 0], 11)
    assert found.start_that_fits is None
    assert "something else changed first" in words(found)


def test_change_long_after_the_start_asks_what_was_new():
    found = ask([5, 6, 5, 5, 6, 5, 5, 6, 5, 6, 5, 0, 1, 0, 0], 4)
    assert "what else was new then?" in words(found)


def test_change_that_fits_an_earlier_phase_is_put_to_that_one():
    phases = [PlanPhase(on(7)), PlanPhase(on(10))]
    found = ask([5, 6, 5, 6, 5, 6, 5, 1, 0, 1, 0, 0], 0, phases=phases)
    assert found.start_that_fits == on(7)


def test_days_that_differ_more_than_chance_widen_the_limits():
    found = ask([0, 9, 0, 8, 0, 9, 1, 8, 0, 5, 0, 4, 0, 5, 0, 4], 8)
    assert found.comparison.unevenness > 2.0
    assert "limits were made wider" in words(found)


BEFORE = [2, 3, 2, 2, 3, 2, 2, 3]


def test_rise_of_the_first_days_says_hold_on_with_the_published_shares_where_its_gain_stopped():
    found = ask([*BEFORE, 7, 6], 8, gain_stops=True)
    assert found.early is Early.RISE
    assert "in 24 of 100; in 36 of 100 where nothing else was done, in 12 of 100" in words(found)
    assert "(of people, not dogs)" in words(found)
    assert "Hold on" in words(found)


def test_rise_where_the_gain_still_comes_is_no_burst_but_no_reason_to_give_up_either():
    said = words(ask([*BEFORE, 7, 6], 8))
    assert "whether what you arranged was in place" in said
    assert "too few to give the plan up" in said
    assert "burst" not in said


def test_rise_then_fall_is_a_burst_that_is_over_and_the_figure_without_it_is_given():
    found = ask([*BEFORE, 7, 6, 5, 0, 1, 0, 0, 1], 8, gain_stops=True)
    assert found.early is Early.BURST
    assert "it is over" in words(found)
    assert found.comparison.without_first_days.high < 1.0 < found.comparison.ratio.high
    for word in ("have a colleague look", "steady trend", "what else was new"):
        assert word not in words(found)


def test_on_day_four_a_rise_is_not_yet_called_lasting():
    found = ask([*BEFORE, 7, 6, 7, 5], 8, gain_stops=True)
    assert found.early is Early.RISE
    assert "After day 6 this page can tell more" in words(found)


def test_rise_that_stays_is_not_waited_out():
    found = ask([*BEFORE, 7, 6, 7, 6, 7, 6], 8, gain_stops=True)
    assert found.early is Early.STILL_UP
    assert "do not wait for it to pass" in words(found)
    assert "Hold on" not in words(found)


def test_even_days_name_no_burst():
    assert ask([*BEFORE, 3, 2, 3, 2], 8).early is Early.NOTHING


def skin(teeth, *days):
    return [
        Incident(f"{teeth}-{day}", "mouthing-hands", MORNING + timedelta(days=day, hours=20), teeth=teeth)
        for day in days
    ]


@pytest.mark.parametrize("teeth", [Teeth.BITE, Teeth.DEEP_BITE, Teeth.BITES])
def test_one_bite_since_the_start_sends_to_the_veterinarian_and_never_says_hold_on(teeth):
    found = ask([*BEFORE, 7, 6], 8, behaviour="mouthing-hands", more=skin(teeth, 9), gain_stops=True)
    assert found.harm is Harm.BITE
    assert str(found.says[0]).startswith("Teeth went through skin since the start. Do not wait this out")
    assert "Hold on" not in words(found)


def test_bite_counts_although_it_lies_outside_all_logged_hours():
    assert ask([*BEFORE, 1, 0], 8, behaviour="mouthing-hands", more=skin(Teeth.BITE, 9)).harm is Harm.BITE


def test_skin_broken_more_often_is_not_waited_out_but_less_often_is_no_alarm():
    rise = ask([*BEFORE, 7, 6], 8, behaviour="mouthing-hands", more=skin(Teeth.NICK, 1, 8, 9), gain_stops=True)
    assert rise.harm is Harm.MORE_SKIN
    assert "Hold on" not in words(rise)
    fall = ask([*BEFORE, *[0] * 8], 8, behaviour="mouthing-hands", more=skin(Teeth.NICK, 0, 2, 4, 8))
    assert fall.harm is Harm.NONE


@pytest.mark.parametrize("behaviour", ["guarding", "distress-alone"])
def test_more_fear_or_guarding_is_never_waited_out(behaviour):
    said = words(ask([*BEFORE, 7, 6], 8, behaviour=behaviour, gain_stops=True))
    assert "never waited out" in said
    assert "Hold on" not in said
    assert "veterinarian" in said


def test_comeback_after_quiet_days_is_named_and_the_plan_goes_on():
    found = ask([*BEFORE, 1, 0, 1, 0, 0, 0, 0, 0, 3, 2], 8)
    assert (found.back.named, found.back.quiet_days, found.back.since) == (True, 5, on(16))
    assert "fits spontaneous recovery" in words(found)
    assert "Go on exactly as before" in words(found)


def test_one_return_after_a_gap_is_not_named_and_no_reason_to_stop():
    found = ask([*BEFORE, 1, 0, 0, 0, 1], 8)
    assert found.back.named is False
    assert "no sign that the plan failed" in words(found)


def test_a_gap_that_was_usual_before_is_no_quiet_spell():
    assert ask([1, 0, 0, 0, 1, 0, 0, 1, 0, 0, 0, 1], 6).back is None


def test_two_weeks_without_a_fall_ask_somebody_else():
    assert "have a colleague look" in words(ask([2, 2, 2, 2, *[2] * 14], 4))
    assert "have a colleague look" not in words(ask([2, 2, 2, 2, *[2] * 13], 4))


def test_changed_plan_is_compared_with_the_phase_before_it_and_with_the_days_before_any():
    phases = [PlanPhase(on(6), arrange=("gate",)), PlanPhase(on(12), arrange=("gate", "mat"))]
    found = ask([3, 4, 3, 4, 3, 4, 2, 2, 2, 2, 2, 2, 0, 1, 0, 0, 1, 0], 0, phases=phases)
    assert [len(one.days) for one in found.phases] == [6, 6, 6]
    assert (found.comparison.before.n, found.since_first.before.n) == (12, 21)


def test_ended_plan_keeps_its_days_apart_from_those_after_it():
    phases = [PlanPhase(on(4)), PlanPhase(on(8), PhaseKind.ENDED)]
    found = ask([3, 4, 3, 4, 0, 1, 0, 0, 3, 3], 0, phases=phases)
    assert found.comparison.after.n == 1
    assert [one.rate.value for one in found.phases] == pytest.approx([14 / 32, 1 / 32, 6 / 16])


def test_two_phases_of_one_day_leave_the_later_written():
    phases = [PlanPhase(on(4), arrange=("gate",)), PlanPhase(on(4), arrange=("mat",))]
    found = ask([3, 4, 3, 4, 0, 1], 0, phases=phases)
    assert [one.phase.arrange for one in found.phases if one.phase] == [("mat",)]
