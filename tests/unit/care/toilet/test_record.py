"""What a log says of a pup's hazards."""

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pupilage.core.care.events import CareDetail, CareEvent, CareKind
from pupilage.core.care.toilet.curve import CELL_EVENTS, CELLS, Doing, Need
from pupilage.core.care.toilet.record import _read_days
from pupilage.core.errors import InvalidInput
from toilet_logs import BOTH, NOTHING, NOW, POO, WEE, ago, at, day_of_outings, read

OUT, IN = CareKind.OUTING, CareKind.INDOORS


def own(record, need: Need = Need.WEE) -> float:
    return float(record.needs[need].hazards.own)


def test_empty_log_leaves_the_curve_as_it_is():
    found = read()
    assert (own(found), found.prior_share(Need.WEE), found.n_outings, found.last_out_min) == (1.0, 1.0, 0, None)


def test_accidents_raise_the_hazard_and_dry_time_lowers_it():
    wet = [ago(OUT, 70, WEE), ago(IN, 20, WEE)]
    assert own(read(*wet)) > 1.0
    dry = [event for day in range(1, 6) for event in day_of_outings(day, every_min=75.0, n=9)]
    assert own(read(*dry)) < 1.0


def test_outings_with_success_soon_after_one_another_do_not_make_a_pup_look_leaky():
    # Taken for the moments at which it would have gone by itself, they would say that it goes every 20 minutes.
    found = read(*(event for day in range(1, 8) for event in day_of_outings(day, every_min=20.0, n=30)))
    assert own(found) < 8.0
    naive_per_min = 1.0 / 20.0
    hazard_at_20_min = own(found) * 3 * 20**2 / found.diary.curve().scale_min(Need.WEE, Doing.AWAKE) ** 3
    assert hazard_at_20_min < 0.2 * naive_per_min


def test_empty_trips_lower_the_hazard_by_what_they_tell():
    before = [ago(OUT, 200, WEE), ago(OUT, 110, WEE)]
    with_empty = [ago(OUT, 200, WEE), ago(OUT, 150, NOTHING), ago(OUT, 110, WEE)]
    assert own(read(*with_empty)) < own(read(*before))


def test_empty_trips_alone_teach_nothing_and_keep_the_clock():
    found = read(*(ago(OUT, minutes, NOTHING) for minutes in (90, 60, 30)))
    assert own(found) == 1.0
    assert found.needs[Need.WEE].since_min == pytest.approx((NOW - timedelta(minutes=90)).timestamp() / 60)


def test_wee_and_poo_are_two_records():
    found = read(ago(OUT, 100, BOTH), ago(IN, 40, POO))
    assert own(found, Need.POO) > 1.0
    assert own(found, Need.WEE) == 1.0
    assert found.n_accidents == 1


def test_time_asleep_counts_in_cells_of_its_own():
    log = [ago(OUT, 200, WEE), ago(CareKind.NAP, 190, CareDetail.START), ago(CareKind.NAP, 100, CareDetail.END)]
    worth = read(*log, ago(OUT, 95, WEE)).needs[Need.WEE].hazards.cells.worth
    resting = [n for n, (doing, _) in enumerate(CELLS) if doing is Doing.RESTING]
    night = [n for n, (doing, _) in enumerate(CELLS) if doing is Doing.NIGHT]
    assert worth[resting].sum() > 3 * CELL_EVENTS
    assert worth[night].sum() == 3 * CELL_EVENTS


def test_night_is_told_by_the_clock_on_the_wall():
    evening = datetime(2031, 5, 3, 21, 0, tzinfo=UTC)  # 22:00 in Lisbon
    log = [at(OUT, evening, WEE), at(CareKind.CRATE, evening, CareDetail.START)]
    log += [at(CareKind.CRATE, evening + timedelta(hours=8), CareDetail.END)]
    log += [at(OUT, evening + timedelta(hours=8, minutes=2), WEE)]
    worth = read(*log).needs[Need.WEE].hazards.cells.worth
    night = [n for n, (doing, _) in enumerate(CELLS) if doing is Doing.NIGHT]
    assert worth[night].sum() > 3 * CELL_EVENTS


def test_accident_found_after_a_rest_is_spread_over_the_rest():
    rest = [ago(OUT, 200, WEE), ago(CareKind.CRATE, 190, CareDetail.START), ago(CareKind.CRATE, 60, CareDetail.END)]
    shape = read(*rest, ago(IN, 59, WEE)).needs[Need.WEE].hazards.cells.shape
    gained = shape - CELL_EVENTS
    assert gained.sum() == pytest.approx(1.0)
    assert np.count_nonzero(gained > 1e-6) > 1
    seen_at_once = read(*rest, ago(IN, 40, WEE)).needs[Need.WEE].hazards.cells.shape - CELL_EVENTS
    assert np.count_nonzero(seen_at_once > 1e-6) == 1


def test_hours_that_nobody_wrote_down_teach_nothing():
    log = [ago(OUT, 900, WEE), ago(OUT, 300, WEE)]
    found = read(*log)
    assert found.needs[Need.WEE].hazards.n_seen == 0.0
    assert own(found) == pytest.approx(1.0, abs=0.05)


def test_entries_of_the_future_and_those_taken_back_are_left_out():
    later = at(OUT, NOW + timedelta(hours=3), WEE)
    wet = ago(IN, 20, WEE)
    back = CareEvent("back", CareKind.WITHDRAWN, wet.at, withdraws=wet.id)
    found = read(ago(OUT, 70, WEE), wet, back, later)
    assert (found.n_later, found.n_accidents, own(found)) == (1, 0, 1.0)


@given(st.permutations(range(12)))
def test_order_in_which_entries_come_is_no_matter(order):
    log = [*day_of_outings(2, n=5), *day_of_outings(1, n=6), ago(IN, 30, WEE)]
    ahead, mixed = read(*log), read(*(log[place] for place in order))
    assert own(ahead) == own(mixed)


@given(st.lists(st.tuples(st.integers(1, 3000), st.sampled_from([WEE, POO, BOTH, NOTHING])), max_size=30))
def test_any_log_of_outings_gives_hazards_above_0(outings):
    found = read(*(ago(OUT, minutes, detail) for minutes, detail in outings))
    for need in Need:
        hazards = found.needs[need].hazards
        assert 0.0 < hazards.own < 1e3
        assert np.all(hazards.cells.mean > 0.0)


@given(st.integers(10, 100))
def test_one_more_accident_never_lowers_the_own_factor(minutes):
    log = day_of_outings(1, n=8)
    last = log[-1].at
    dry = read(*log, at(OUT, last + timedelta(minutes=minutes), WEE))
    wet = read(*log, at(IN, last + timedelta(minutes=minutes), WEE))
    assert own(wet) > own(dry)


def test_clocks_that_change_tonight_shift_nothing():
    # Lisbon goes forward on 30 March 2031 at 01:00: five hours of sleep are five hours.
    evening = datetime(2031, 3, 29, 23, 0, tzinfo=UTC)
    winter = evening - timedelta(days=3)
    seen = []
    for start in (winter, evening):
        log = [at(OUT, start, WEE), at(CareKind.CRATE, start + timedelta(minutes=5), CareDetail.START)]
        log.append(at(OUT, start + timedelta(hours=5), WEE))
        seen.append(read(*log, born_on=start.date() - timedelta(weeks=10)).needs[Need.WEE].hazards.seen)
    assert seen[0] == pytest.approx(seen[1], rel=0.01)


@pytest.mark.parametrize(("born_on", "words"), [(date(2031, 4, 13), "At 3 weeks"), (date(2030, 3, 10), "At 60 weeks")])
def test_age_without_a_curve_is_said(born_on, words):
    with pytest.raises(InvalidInput, match=words):
        read(born_on=born_on)


def test_birth_after_today_and_naive_instants_are_refused():
    with pytest.raises(InvalidInput, match="date of birth"):
        read(born_on=date(2031, 6, 1))
    with pytest.raises(InvalidInput, match="time zone"):
        read(now=NOW.replace(tzinfo=None))


def test_record_is_the_same_read_at_once_or_as_it_grew():
    log = [event for day in (3, 2, 1) for event in day_of_outings(day, n=6)]
    log += [ago(IN, 200, WEE), ago(OUT, 9, BOTH)]
    log.sort(key=lambda event: event.at)
    for n in range(1, len(log)):
        read(*log[:n])
    grown = read(*log)
    _read_days.cache_clear()
    at_once = read(*log)
    assert own(grown) == own(at_once)
    assert own(grown, Need.POO) == own(at_once, Need.POO)
