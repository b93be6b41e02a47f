"""Whatever the seed, the moment and the zone: nothing lies outside the stay, and no two things overlap."""

from datetime import UTC, datetime
from functools import cache
from itertools import pairwise
from uuid import UUID

from hypothesis import example, given, settings
from hypothesis import strategies as st

from pupilage.core.care.events import CareDetail, CareKind
from pupilage.core.catalogue.behaviour import Catalogue
from pupilage.core.catalogue.loading import load_bundled
from pupilage.core.clock import day_bounds, find_zone
from pupilage.core.simulation.generation import generate_scenario
from pupilage.core.simulation.scenario import Scenario
from pupilage.core.training.record.fold import fold_session

ZONES = ("Europe/Lisbon", "Europe/Helsinki", "America/New_York", "Australia/Lord_Howe", "Asia/Kathmandu", "UTC")
NOWS = st.datetimes(datetime(2025, 1, 1), datetime(2028, 12, 31), timezones=st.just(UTC))  # noqa: DTZ001

# Source: IANA time zone database, EU rule: clocks go forward on 29 March 2026 and back on 25 October 2026.
FORWARD = datetime(2026, 4, 3, 13, 0, tzinfo=UTC)
BACK = datetime(2026, 10, 30, 13, 0, tzinfo=UTC)


@cache
def bundled() -> Catalogue:
    return load_bundled()


def generated(seed: int, now: datetime, timezone: str) -> Scenario:
    return generate_scenario(seed=seed, now=now, catalogue=bundled(), timezone=timezone)


def instants(scenario: Scenario) -> list[datetime]:
    sessions = [event.at for session in scenario.sessions for event in session]
    weights = [at for at, _ in scenario.pup.weights]
    return [*sessions, *weights, *(e.at for e in scenario.care_events), *(i.at for i in scenario.incidents)]


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 2**32 - 1), NOWS, st.sampled_from(ZONES))
@example(1, FORWARD, "Europe/Lisbon")
@example(1, BACK, "Europe/Lisbon")
def test_everything_lies_between_arrival_and_now(seed: int, now: datetime, timezone: str) -> None:
    scenario = generated(seed, now, timezone)
    first, _ = day_bounds(scenario.arrival_on, find_zone(timezone))
    assert all(first <= at <= now and at.utcoffset() is not None for at in instants(scenario))


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 2**32 - 1), NOWS, st.sampled_from(ZONES))
@example(1, FORWARD, "Europe/Lisbon")
@example(1, BACK, "Europe/Lisbon")
@example(1, FORWARD, "Europe/Helsinki")
@example(1, BACK, "Europe/Helsinki")
@example(1711781397, datetime(2025, 4, 10, 17, 15, 1, tzinfo=UTC), "America/New_York")
@example(3499029858, datetime(2027, 3, 25, 14, 40, 48, tzinfo=UTC), "Asia/Kathmandu")
def test_no_two_things_overlap(seed: int, now: datetime, timezone: str) -> None:
    """Sessions, naps and play each have the pup to themselves; one thumb taps one care event a second."""
    scenario = generated(seed, now, timezone)
    spans = [(session[0].at, session[-1].at) for session in scenario.sessions]
    for kind in (CareKind.NAP, CareKind.PLAY, CareKind.CHEW):
        events = [event for event in scenario.care_events if event.kind is kind]
        assert all(event.detail is (CareDetail.END if i % 2 else CareDetail.START) for i, event in enumerate(events))
        spans += [(s.at, e.at) for s, e in zip(events[::2], events[1::2], strict=False)]
    assert all(start < end for start, end in spans)
    assert all(first[1] <= second[0] for first, second in pairwise(sorted(spans)))
    seconds = [event.at.replace(microsecond=0) for event in scenario.care_events]
    assert all(first < second for first, second in pairwise(seconds))


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 2**32 - 1), NOWS, st.sampled_from(ZONES))
@example(1, FORWARD, "Europe/Lisbon")
@example(1, BACK, "Europe/Lisbon")
def test_every_event_carries_the_offset_of_its_moment(seed: int, now: datetime, timezone: str) -> None:
    zone = find_zone(timezone)
    for session in generated(seed, now, timezone).sessions:
        for event in session:
            offset = event.at.astimezone(zone).utcoffset()
            assert offset is not None
            assert event.tz_offset_min * 60 == offset.total_seconds()


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 2**32 - 1), NOWS, st.sampled_from(ZONES))
def test_every_session_folds_whatever_the_order_of_arrival(seed: int, now: datetime, timezone: str) -> None:
    for session in generated(seed, now, timezone).sessions:
        record = fold_session(session)
        assert record is not None
        assert record.ended_at is not None
        assert record.trials
        assert fold_session(list(reversed(session))) == record


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 2**32 - 1), NOWS, st.sampled_from(ZONES))
def test_ids_are_version_4_and_never_repeat(seed: int, now: datetime, timezone: str) -> None:
    scenario = generated(seed, now, timezone)
    ids = [event.id for session in scenario.sessions for event in session]
    ids += [session[0].session_id for session in scenario.sessions]
    ids += [event.id for event in scenario.care_events] + [incident.id for incident in scenario.incidents]
    assert len(set(ids)) == len(ids)
    assert all(UUID(text).version == 4 and str(UUID(text)) == text for text in ids)
