"""The stays before the one that runs: the same for the same seed, over when they say so, and no draw of the other's."""

import hashlib
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest

from pupilage.core.catalogue.behaviour import Catalogue
from pupilage.core.clock import local_day
from pupilage.core.handover.family_log import EntryKind
from pupilage.core.simulation.earlier_stays import EarlierStay, generate_earlier_stays
from pupilage.core.simulation.generation import generate_scenario
from pupilage.core.simulation.scenario import Scenario

EVENING = datetime(2026, 5, 12, 18, 0, tzinfo=UTC)

RUNNING = {
    9: "d42bc4bcec2f52539293820619cf5d517ef0cf833b25535d5170dd02dbc27b19",
    7: "05062495a5f9ea108daed380af1bbb54f83d1b86ebbb53f53d43ca4fe6dec607",
}
"""SHA-256 of the running stay's repr by seed, made by the code as it was before there were earlier stays (70b185a)."""


def made(catalogue: Catalogue, seed: int = 9) -> tuple[Scenario, tuple[EarlierStay, ...]]:
    scenario = generate_scenario(seed=seed, now=EVENING, catalogue=catalogue, timezone="Europe/Lisbon")
    return scenario, generate_earlier_stays(scenario, seed=seed, now=EVENING, catalogue=catalogue)


@pytest.mark.parametrize("seed", RUNNING)
def test_the_running_stay_is_what_it_was_before_there_were_earlier_ones(catalogue: Catalogue, seed: int) -> None:
    scenario, _ = made(catalogue, seed)
    assert hashlib.sha256(repr(scenario).encode()).hexdigest() == RUNNING[seed]


def test_same_arguments_give_equal_stays_and_another_seed_gives_others(catalogue: Catalogue) -> None:
    assert made(catalogue)[1] == made(catalogue)[1]
    assert made(catalogue, 3)[1][0].scenario.sessions != made(catalogue)[1][0].scenario.sessions


def test_one_pup_at_a_time_and_each_name_once(catalogue: Catalogue) -> None:
    scenario, earlier = made(catalogue)
    stays = [*(one.scenario for one in earlier), scenario]
    assert all(one.handover_on < after.arrival_on for one, after in pairwise(stays))
    assert len({one.pup.name for one in stays}) == len({one.family for one in stays}) == 6


@pytest.mark.parametrize("seed", range(6))
def test_what_was_written_down_lies_within_the_stay_and_after_it(catalogue: Catalogue, seed: int) -> None:
    for one in made(catalogue, seed)[1]:
        stay, zone = one.scenario, one.handed_over_at.tzinfo
        told = [event for session in stay.sessions for event in session]
        for entry in (*told, *stay.care_events, *stay.incidents, *stay.absences):
            assert stay.arrival_on <= local_day(entry.at, zone) <= stay.handover_on
            assert entry.at <= one.handed_over_at
        ids = [event.id for event in told]
        assert len(set(ids)) == len(ids)
        if one.aftercare is not None:
            entries = [*one.aftercare.told, *one.aftercare.answers, *one.aftercare.calls]
            assert all(one.handed_over_at < entry.at <= EVENING for entry in entries)
            assert all(0 <= entry.n_met <= entry.n for entry in one.aftercare.told if entry.kind is EntryKind.CUE)


def test_the_newest_went_three_to_five_weeks_ago_and_its_family_tried_in_the_lesson(catalogue: Catalogue) -> None:
    newest = made(catalogue)[1][-1]
    ago = EVENING.date() - newest.scenario.handover_on
    assert timedelta(weeks=3) <= ago <= timedelta(weeks=5)
    handlers = [session[0].payload.get("handler") for session in newest.scenario.sessions]
    assert handlers.count(newest.first_name) == 3
    assert {entry.kind for entry in newest.aftercare.told} == {EntryKind.OUTING, EntryKind.INCIDENT, EntryKind.CUE}
