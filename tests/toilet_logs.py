"""Made-up care logs of pups, for the toilet model's tests."""

from datetime import UTC, date, datetime, timedelta
from itertools import count
from zoneinfo import ZoneInfo

from pupilage.core.care.events import CareDetail, CareEvent, CareKind
from pupilage.core.care.toilet.next_outing import next_outing
from pupilage.core.care.toilet.record import read_log

NOW = datetime(2031, 5, 4, 9, 0, tzinfo=UTC)
LISBON = ZoneInfo("Europe/Lisbon")
BORN = date(2031, 2, 23)  # ten weeks before NOW
NUMBERS = count()
WEE, POO, BOTH, NOTHING = CareDetail.WEE, CareDetail.POO, CareDetail.BOTH, CareDetail.NOTHING


def at(kind: CareKind, when: datetime, detail: CareDetail = CareDetail.PLAIN) -> CareEvent:
    return CareEvent(f"e{next(NUMBERS):06}", kind, when, detail)


def ago(kind: CareKind, minutes: float, detail: CareDetail = CareDetail.PLAIN) -> CareEvent:
    return at(kind, NOW - timedelta(minutes=minutes), detail)


def read(*events: CareEvent, now: datetime = NOW, born_on: date = BORN):
    return read_log(events, born_on=born_on, zone=LISBON, now=now)


def upcoming(*events: CareEvent, now: datetime = NOW, born_on: date = BORN, **more: float):
    return next_outing(events, born_on=born_on, zone=LISBON, now=now, **more)


def day_of_outings(day: int, *, every_min: float = 45.0, n: int = 14, detail: CareDetail = WEE) -> list[CareEvent]:
    """Return a day, so many days before NOW, of outings with a success at regular times from 7:00 UTC on."""
    start = NOW.replace(hour=7) - timedelta(days=day)
    return [at(CareKind.OUTING, start + timedelta(minutes=every_min * place), detail) for place in range(n)]
