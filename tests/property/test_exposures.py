"""What holds for every log of exposures."""

import random
from dataclasses import replace
from datetime import timedelta

from hypothesis import given
from hypothesis import strategies as st

from exposure_days import CATALOGUE, FIRST_DAY, ZONE, at, met
from pupilage.core.care.exposures.item import VetTopic
from pupilage.core.care.exposures.judging import ItemState, is_setback, judge_exposures
from pupilage.core.care.exposures.log import Exposure, LogEntry, Response, VetWord, Withdrawal
from pupilage.core.care.exposures.proposal import ExposureDay, propose_exposures
from pupilage.core.care.exposures.spreading import spread_exposures
from pupilage.core.clock import local_day

N_DAYS = 14

meetings = st.builds(
    lambda key, day, quarter, response, intensity, distance_m, recovery_s: met(
        key,
        day,
        response.value,
        hour=8 + quarter / 4,
        intensity=intensity,
        distance_m=distance_m,
        recovery_s=recovery_s,
    ),
    st.sampled_from(list(CATALOGUE.items)),
    st.integers(0, N_DAYS - 1),
    st.integers(0, 48),
    st.sampled_from(list(Response)),
    st.integers(1, 5),
    st.none() | st.floats(0.5, 50.0),
    st.none() | st.floats(0.0, 400.0),
)


@st.composite
def logs(draw: st.DrawFn) -> list[LogEntry]:
    """Draw meetings with ids of their own, words of the veterinarian, and some entries taken back."""
    entries: list[LogEntry] = [
        replace(one, id=f"{n:03}") for n, one in enumerate(draw(st.lists(meetings, max_size=25)))
    ]
    entries += [
        VetWord(f"v{topic}", topic, at(draw(st.integers(0, 5)))) for topic in draw(st.sets(st.sampled_from(VetTopic)))
    ]
    gone = draw(st.lists(st.sampled_from([one.id for one in entries]), max_size=4)) if entries else []
    return [*entries, *(Withdrawal(f"w{n}", key) for n, key in enumerate(gone))]


@given(logs(), st.randoms(use_true_random=False), st.integers(0, N_DAYS + 3))
def test_any_order_and_any_repetition_of_the_log_give_the_same_standing(
    log: list[LogEntry], rng: random.Random, day: int
) -> None:
    usual = judge_exposures(log, CATALOGUE, now=at(day, 22), zone=ZONE)
    twice = [*log, *rng.sample(log, len(log) // 2)]
    rng.shuffle(twice)
    assert judge_exposures(twice, CATALOGUE, now=at(day, 22), zone=ZONE) == usual


@given(logs(), st.integers(N_DAYS, N_DAYS + 8))
def test_nothing_is_proposed_or_dated_before_its_time(log: list[LogEntry], day: int) -> None:
    judgement = judge_exposures(log, CATALOGUE, now=at(day, 12), zone=ZONE)
    barred = {
        one.item.key: one.held_until or FIRST_DAY + timedelta(days=999)
        for one in judgement.standings
        if one.held_until is not None or one.state is ItemState.REFERRED or one.waits_for_vet is not None
    }
    proposals = propose_exposures(judgement, ExposureDay(), limit=99)
    assert not {one.item.key for one in proposals} & set(barred)
    days = [judgement.today + timedelta(days=n) for n in range(10)]
    spread = spread_exposures(judgement.standings, days, 4)
    assert all(one.on >= barred.get(one.standing.item.key, one.on) for one in spread.dated)


@given(logs(), st.integers(0, N_DAYS - 1))
def test_an_item_is_never_proposed_within_two_days_of_what_was_too_much(log: list[LogEntry], day: int) -> None:
    """From the raw log, without the judgement's own words: the shortest wait is two days."""
    gone = {entry.of for entry in log if isinstance(entry, Withdrawal)}
    until_now = [one for one in log if not isinstance(one, Exposure) or one.at <= at(day, 21)]
    today = FIRST_DAY + timedelta(days=day)
    too_much = {
        one.item
        for one in until_now
        if isinstance(one, Exposure)
        and one.id not in gone
        and is_setback(one)
        and (today - local_day(one.at, ZONE)).days < 2
    }
    judgement = judge_exposures(until_now, CATALOGUE, now=at(day, 21), zone=ZONE)
    proposals = propose_exposures(judgement, ExposureDay(), limit=99)
    assert not {one.item.key for one in proposals} & too_much


@given(logs(), st.integers(N_DAYS, N_DAYS + 8))
def test_what_is_proposed_is_never_stronger_than_wanted_and_at_most_one_new_strong_thing(
    log: list[LogEntry], day: int
) -> None:
    judgement = judge_exposures(log, CATALOGUE, now=at(day, 12), zone=ZONE)
    proposals = propose_exposures(judgement, ExposureDay(), limit=99)
    assert all(1 <= one.intensity <= one.item.target for one in proposals)
    strong = [one for one in proposals if (judgement.of(one.item.key) or judgement.standings[0]).next_is_strong]
    assert len(strong) <= 1
    assert len({one.item.key for one in proposals}) == len(proposals)


@given(logs(), st.integers(N_DAYS, N_DAYS + 8))
def test_harder_only_after_ease_and_one_thing_at_a_time(log: list[LogEntry], day: int) -> None:
    judgement = judge_exposures(log, CATALOGUE, now=at(day, 12), zone=ZONE)
    for one in judgement.standings:
        if one.last is None or one.next is None:
            continue
        stronger = one.next.intensity > one.last.intensity
        nearer = (
            one.next.distance_m is not None
            and one.last.distance_m is not None
            and one.next.distance_m < one.last.distance_m
        )
        assert not (stronger and nearer)
        if stronger or nearer:
            assert one.last.response in {Response.CALM, Response.CURIOUS}
            assert not is_setback(one.last)
