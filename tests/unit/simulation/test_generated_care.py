"""The care log of a scenario: a pup's days, with accidents that grow rarer."""

from collections import defaultdict
from datetime import date, timedelta
from itertools import pairwise

from pupilage.core.care.events import DETAILS_OF, CareDetail, CareEvent, CareKind
from pupilage.core.clock import find_zone, local_day
from pupilage.core.simulation.scenario import Scenario
from pupilage.core.simulation.teaching import pouch_food_g
from pupilage.core.training.record.events import EventKind

ZONE = find_zone("Europe/Lisbon")


def of_kind(scenario: Scenario, kind: CareKind) -> list[CareEvent]:
    return [event for event in scenario.care_events if event.kind is kind]


def by_day(events: list[CareEvent], scenario: Scenario) -> dict[int, list[CareEvent]]:
    days: dict[int, list[CareEvent]] = defaultdict(list)
    for event in events:
        days[_number(local_day(event.at, ZONE), scenario)].append(event)
    return days


def _number(day: date, scenario: Scenario) -> int:
    return (day - scenario.arrival_on).days


def test_every_detail_is_one_that_its_kind_may_have(scenarios: list[Scenario]) -> None:
    for event in (e for s in scenarios for e in s.care_events):
        assert event.detail in DETAILS_OF[event.kind]


def test_days_are_logged_from_half_past_six_to_half_past_ten(scenario: Scenario) -> None:
    for event in scenario.care_events:
        minute = event.at.astimezone(ZONE).hour * 60 + event.at.astimezone(ZONE).minute
        night = 4 * 60 <= minute <= 5 * 60
        assert night or 6 * 60 + 30 <= minute <= 22 * 60 + 30


def test_starts_and_ends_alternate(scenarios: list[Scenario]) -> None:
    """Only the very last may still be open at `now`."""
    for scenario in scenarios:
        for kind in (CareKind.NAP, CareKind.CRATE, CareKind.PLAY, CareKind.CHEW):
            details = [event.detail for event in of_kind(scenario, kind)]
            assert details[0] is CareDetail.START
            assert all(first is not second for first, second in pairwise(details))


def test_bowl_and_pouch_together_make_the_ration(scenarios: list[Scenario]) -> None:
    """From the second day to the tenth; grams are rounded meal by meal, so 2.5 g are allowed."""
    for scenario in scenarios:
        ration_g, kcal = scenario.pup.daily_food_g, scenario.pup.food_kcal_per_100g
        assert ration_g is not None
        assert kcal is not None
        fed = _pieces_by_day(scenario)
        for number, meals in by_day(of_kind(scenario, CareKind.MEAL), scenario).items():
            if not 1 <= number <= 9:
                continue
            assert len(meals) == 4
            bowl_g = sum(meal.amount_g or 0.0 for meal in meals)
            assert abs(bowl_g + pouch_food_g(fed[number], scenario.reinforcers, kcal) - ration_g) <= 2.5


def test_food_that_is_not_of_the_ration_stays_within_a_tenth_of_the_energy(scenarios: list[Scenario]) -> None:
    """The 10 % rule of the trade: treats at most a tenth of the day's energy. Source: AAHA and WSAVA guidance."""
    for scenario in scenarios:
        ration_g, kcal = scenario.pup.daily_food_g or 0.0, scenario.pup.food_kcal_per_100g or 1.0
        treats = {r.name for r in scenario.reinforcers if not r.from_ration}
        for fed in _pieces_by_day(scenario).values():
            treat_pieces = {name: n for name, n in fed.items() if name in treats}
            assert pouch_food_g(treat_pieces, scenario.reinforcers, kcal) <= 0.1 * ration_g


def _pieces_by_day(scenario: Scenario) -> dict[int, dict[str, int]]:
    fed: dict[int, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for session in scenario.sessions:
        reinforcer = ""
        for event in session:
            if event.kind in (EventKind.SESSION_STARTED, EventKind.REINFORCER_CHANGED):
                reinforcer = event.payload["reinforcer"]
            else:
                number = _number(local_day(event.at, ZONE), scenario)
                fed[number][reinforcer] += event.payload.get("pieces", 0)
    return fed


def test_meals_are_of_a_size_that_a_pup_eats(scenarios: list[Scenario]) -> None:
    for scenario in scenarios:
        ration_g = scenario.pup.daily_food_g or 0.0
        for meal in of_kind(scenario, CareKind.MEAL):
            assert 0.08 * ration_g <= (meal.amount_g or 0.0) <= 0.45 * ration_g


def test_the_pup_goes_out_ten_times_a_day_or_more(scenarios: list[Scenario]) -> None:
    for scenario in scenarios:
        days = by_day(of_kind(scenario, CareKind.OUTING), scenario)
        assert all(10 <= len(days[number]) <= 30 for number in range(1, 10))


def test_outings_end_in_each_of_the_four_ways(scenario: Scenario) -> None:
    details = [event.detail for event in of_kind(scenario, CareKind.OUTING)]
    assert set(details) == set(DETAILS_OF[CareKind.OUTING])
    assert details.count(CareDetail.NOTHING) < len(details) / 3


def test_accidents_are_a_handful_and_fewer_in_the_second_half(scenarios: list[Scenario]) -> None:
    early = late = 0
    for scenario in scenarios:
        days = by_day(of_kind(scenario, CareKind.INDOORS), scenario)
        early += sum(len(days[number]) for number in range(5))
        late += sum(len(days[number]) for number in range(5, 10))
    assert late < early
    assert 2 <= (early + late) / len(scenarios) <= 9


def test_accidents_come_just_after_play_or_long_after_the_last_outing(scenarios: list[Scenario]) -> None:
    for scenario in scenarios:
        play_ends = [e.at for e in of_kind(scenario, CareKind.PLAY) if e.detail is CareDetail.END]
        outings = [e.at for e in of_kind(scenario, CareKind.OUTING)]
        for accident in of_kind(scenario, CareKind.INDOORS):
            after_play = any(timedelta() < accident.at - end <= timedelta(minutes=5) for end in play_ends)
            last_outing = max(at for at in outings if at < accident.at)
            assert after_play or accident.at - last_outing >= timedelta(minutes=35)


def test_somebody_goes_out_soon_after_every_accident(scenarios: list[Scenario]) -> None:
    for scenario in scenarios:
        outings = [e.at for e in of_kind(scenario, CareKind.OUTING)]
        for accident in of_kind(scenario, CareKind.INDOORS):
            due = accident.at + timedelta(minutes=10)
            assert due > scenario.care_events[-1].at or any(accident.at < at <= due for at in outings)


def test_the_pup_sleeps_as_long_as_a_young_pup_does(scenarios: list[Scenario]) -> None:
    """Naps of 8 to 12 hours a day beside the night's eight: 16 to 20 hours, common practice, no source."""
    for scenario in scenarios:
        for number, naps in by_day(of_kind(scenario, CareKind.NAP), scenario).items():
            if 1 <= number <= 9:
                slept = sum(((e.at - s.at) for s, e in zip(naps[::2], naps[1::2], strict=True)), timedelta())
                assert timedelta(hours=8) <= slept <= timedelta(hours=12)
