"""The page of a pup's outings."""

from collections.abc import Callable
from datetime import date, datetime, timedelta
from uuid import UUID
from xml.etree import ElementTree

import pytest
from django.test import Client
from django.urls import reverse

from pupilage.core.access import Actor
from pupilage.core.care.events import CareDetail, CareKind
from pupilage.services.log_care import CareEntry, log_care
from pupilage.storage.models import Dog, Programme

pytestmark = pytest.mark.django_db


@pytest.fixture
def write(actor: Actor, dog: UUID, now: datetime) -> Callable[..., None]:
    """Write an entry so many hours ago."""

    def entry(hours: float, kind: CareKind, detail: CareDetail = CareDetail.PLAIN) -> None:
        log_care(actor, dog, CareEntry(kind, now - timedelta(hours=hours), detail), now=now)

    return entry


def text_of(client: Client, dog: UUID) -> str:
    answer = client.get(reverse("outings-read", args=[dog]))
    assert answer.status_code == 200
    return answer.content.decode()


def test_empty_log_shows_what_is_usual_and_that_nothing_is_known(keeper_client: Client, dog: UUID) -> None:
    text = text_of(keeper_client, dog)
    assert "Nothing is logged yet, so nothing is known." in text
    assert "over\N{NO-BREAK SPACE}99\N{NO-BREAK SPACE}%" in text
    assert "Nothing written down yet." in text


def test_record_shows_next_outing_weeks_and_share_outdoors(
    keeper_client: Client, dog: UUID, write: Callable[..., None]
) -> None:
    for day in range(1, 10):
        for hours in (0.0, 1.0, 2.5):
            write(24 * day + hours, CareKind.OUTING, CareDetail.WEE)
    write(0.5, CareKind.INDOORS, CareDetail.WEE)
    write(0.1, CareKind.OUTING, CareDetail.NOTHING)
    text = text_of(keeper_client, dog)
    assert "No whole day without an accident yet since the last one." in text
    assert "28 outings read." in text
    assert "95 % interval" in text
    assert "1 empty" in text


def test_chart_is_drawn_without_inline_style_and_has_a_text(keeper_client: Client, dog: UUID) -> None:
    text = text_of(keeper_client, dog)
    assert "style=" not in text
    svg = text[text.index("<svg") : text.index("</svg>") + 6]
    drawn = ElementTree.fromstring(svg)  # noqa: S314  our own page
    assert drawn.get("role") == "img"
    assert drawn.find("title").text
    assert "the chosen risk is reached after" in drawn.find("desc").text
    assert len([path for path in drawn.iter("path") if path.get("stroke-width") == "2.5"]) == 3


def test_risk_of_the_stay_changes_the_times(keeper_client: Client, dog: UUID, programme: UUID) -> None:
    careful = text_of(keeper_client, dog)
    Programme.objects.filter(id=programme).update(outing_risk=0.2)
    bold = text_of(keeper_client, dog)
    assert "you take: 5\N{NO-BREAK SPACE}%" in careful
    assert "you take: 20\N{NO-BREAK SPACE}%" in bold
    assert careful != bold


def test_dog_without_a_curve_is_told_why_and_the_veterinarian_s_list_stays(keeper_client: Client, dog: UUID) -> None:
    Dog.objects.filter(id=dog).update(born_on=date(2024, 1, 1))
    text = text_of(keeper_client, dog)
    assert "there is no curve for this dog" in text
    assert "straining, or blood" in text


def test_page_is_reached_from_today_and_from_the_log(keeper_client: Client, dog: UUID, programme: UUID) -> None:
    path = reverse("outings-read", args=[dog])
    assert path in keeper_client.get("/").content.decode()
    assert path in keeper_client.get(reverse("care", args=[dog])).content.decode()
