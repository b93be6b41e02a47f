"""Logs of exposures for tests: a meeting on a day of the stay, at an hour in Lisbon."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from pupilage.core.care.exposures.item import ExposureCatalogue, ExposureGroup, ExposureItem, VetTopic
from pupilage.core.care.exposures.judging import Judgement, judge_exposures
from pupilage.core.care.exposures.log import Exposure, LogEntry, Response

ZONE = ZoneInfo("Europe/Lisbon")
FIRST_DAY = date(2026, 5, 2)


def item(key: str, **changes: object) -> ExposureItem:
    """Return an item with a distance; everything else as plain as it gets."""
    plain = {
        "group": ExposureGroup.PEOPLE,
        "name": key,
        "begin": "b",
        "watch": "w",
        "target": 3,
        "weight": 3,
        "minutes": 2,
        "first_m": 8.0,
        "nearest_m": 2.0,
    }
    return ExposureItem(key=key, **{**plain, **changes})


CATALOGUE = ExposureCatalogue(
    {
        one.key: one
        for one in (
            item("man", weight=5),
            item("child", strong=True),
            item("dog", group=ExposureGroup.DOGS, strong=True, vet_topic=VetTopic.DOGS, until_then="u"),
            item("grass", group=ExposureGroup.SURFACES, first_m=None, nearest_m=None),
            item("bell", group=ExposureGroup.SOUNDS, first_m=None, nearest_m=None),
            item("thunder", group=ExposureGroup.SOUNDS, first_m=None, nearest_m=None, strong=True),
            item("paws", group=ExposureGroup.HANDLING, first_m=None, nearest_m=None, target=4),
        )
    }
)


def at(day: int, hour: float = 10.0) -> datetime:
    """Return an instant: day 0 is 2 May 2026, hours on the clock in Lisbon (UTC+1)."""
    local = datetime(2026, 5, 2, tzinfo=ZONE) + timedelta(days=day, minutes=round(60 * hour))
    return local.astimezone(UTC)


def met(key: str, day: int, response: str = "calm", **changes: object) -> Exposure:
    """Return a meeting; its id follows from item, day and hour."""
    hour = float(changes.pop("hour", 10.0))
    plain = {"id": f"{key}-{day}-{hour}", "intensity": 1, "distance_m": CATALOGUE.items[key].first_m}
    return Exposure(item=key, at=at(day, hour), response=Response(response), **{**plain, **changes})


def judged(log: list[LogEntry], *, day: int, hour: float = 20.0) -> Judgement:
    """Return where everything stands on the evening of a day."""
    return judge_exposures(log, CATALOGUE, now=at(day, hour), zone=ZONE)
