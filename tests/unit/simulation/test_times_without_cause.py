"""Simulated stays without a cause: no time of day, no time since something and no burst is made up too often.

60 stays of each kind; a false share of 5 % has a Monte-Carlo error of 2.8 %, and four of them are allowed.
"""

from datetime import UTC, timedelta

import numpy as np
import pytest

from pupilage.core.incidents.answers import Answers, answer
from pupilage.core.incidents.bursts import weigh_bursts
from pupilage.core.incidents.record import Before
from pupilage.core.incidents.since import Since
from pupilage.core.simulation.planted import PlantedStay, draw_stay

N = 60
MOST_FALSE = 0.05 + 4 * 0.028


@pytest.fixture(scope="module")
def stays() -> list[PlantedStay]:
    rng = np.random.default_rng(1)
    return [draw_stay(rng, None) for _ in range(N)]


@pytest.fixture(scope="module")
def answers(stays: list[PlantedStay]) -> list[Answers]:
    return [answers_of(stay) for stay in stays]


def answers_of(stay: PlantedStay) -> Answers:
    moments = {
        Since.WAKING: [stretch.start for stretch in stay.free],
        Since.MEAL: [stretch.start for stretch in stay.present[Before.ATE]],
        Since.PLAY: [stretch.start for stretch in stay.present[Before.PLAYED]],
    }
    return answer(stay.incidents, free=stay.free, present=stay.present, moments=moments, zone=UTC)


def test_time_of_day_is_seldom_made_up(answers: list[Answers]) -> None:
    assert sum(found.times.standout is not None for found in answers) / N <= MOST_FALSE


def test_time_since_something_is_seldom_made_up_over_all_that_is_looked_at(answers: list[Answers]) -> None:
    assert sum(any(curve.standout for curve in found.since.values()) for found in answers) / N <= MOST_FALSE


def test_bursts_are_seldom_made_up(answers: list[Answers]) -> None:
    weighed = [found.bursts for found in answers if found.bursts is not None]
    assert len(weighed) > N / 2
    assert sum(one.is_called for one in weighed) / len(weighed) <= MOST_FALSE


def test_bursts_are_found_where_every_second_incident_has_another_after_it(stays: list[PlantedStay]) -> None:
    rng = np.random.default_rng(2)
    called = []
    for stay in stays:
        ats = [incident.at for incident in stay.incidents]
        ats += [at + timedelta(minutes=float(rng.uniform(2, 30))) for at in ats if rng.random() < 0.5]
        bursts = weigh_bursts(ats, free=stay.free)
        called += [] if bursts is None else [bursts.is_called]
    assert np.mean(called) > 0.5
