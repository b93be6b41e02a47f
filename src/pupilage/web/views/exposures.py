"""Exposures: today's few, the whole list, one item, and one-tap entries."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext
from django.views.decorators.http import require_GET, require_POST
from django_htmx.http import retarget

from pupilage.core.care.exposures.judging import is_setback
from pupilage.core.care.exposures.log import Exposure, VetWord
from pupilage.core.errors import InvalidInput
from pupilage.services.log_exposure import log_exposure
from pupilage.services.note_vet_word import note_vet_word
from pupilage.services.read_exposures import read_exposure, read_exposures
from pupilage.services.read_programme import read_head
from pupilage.services.withdraw_exposure import withdraw_exposure
from pupilage.web import clock
from pupilage.web.device import tz_offset_min
from pupilage.web.exposure_words import (
    form_of,
    list_cards,
    list_days,
    list_groups,
    list_topics,
    met_lines,
    row_of,
    scales,
)
from pupilage.web.forms.exposure import ExposureForm, VetWordForm
from pupilage.web.words import said

N_NEWEST = 20


@require_GET
def exposures(request: HttpRequest, programme_id: UUID) -> HttpResponse:
    """Show today's few, then everything by group."""
    now = clock.now()
    page = read_exposures(request.actor, programme_id, now=now)
    context = {
        "page": page,
        "head": page.head,
        "cards": list_cards(page),
        "groups": list_groups(page),
        "topics": list_topics(page),
        "days": list_days(page),
        "problems": [f"{one.where}: {said(one.sentence)}" for one in page.problems],
        "newest": list(met_lines(page, limit=N_NEWEST)),
        **scales(),
    }
    return render(request, "pupilage/exposures.html", context)


@require_GET
def exposure(request: HttpRequest, programme_id: UUID, item: str) -> HttpResponse:
    """Show one item."""
    return render(request, "pupilage/exposure.html", _item(request, programme_id, item))


@require_POST
def met(request: HttpRequest, programme_id: UUID, item: str) -> HttpResponse:
    """Write a meeting down."""
    now = clock.now()
    head = read_head(request.actor, programme_id, now=now)
    request.actor.require_write()
    form = ExposureForm(request.POST)
    if not form.is_valid():
        why = next((message for _name, message in form.problems()), "")
        raise InvalidInput.of("", "This was not written down: {why}", why=why)
    entry = form.entry(item, now=now, tz_offset_min=tz_offset_min(request, now))
    written = log_exposure(request.actor, head.dog_id, entry, now=now)
    return _answer(request, programme_id, written)


@require_POST
def take_back(request: HttpRequest, programme_id: UUID, event_id: UUID) -> HttpResponse:
    """Take a meeting, or the veterinarian's word, back."""
    now = clock.now()
    head = read_head(request.actor, programme_id, now=now)
    entry = withdraw_exposure(request.actor, head.dog_id, event_id, now=now)
    return _answer(request, programme_id, entry, taken_back=True)


@require_POST
def vet_word(request: HttpRequest, programme_id: UUID) -> HttpResponse:
    """Write down that the veterinarian said yes."""
    now = clock.now()
    head = read_head(request.actor, programme_id, now=now)
    request.actor.require_write()
    form = VetWordForm(request.POST)
    if not form.is_valid():
        raise InvalidInput.of("topic", "Say what the veterinarian said yes to; choose one of the list.")
    topic, event_id = form.topic_and_id
    note_vet_word(request.actor, head.dog_id, topic, event_id=event_id, now=now)
    messages.success(request, gettext("Written down."))
    return redirect("exposures", programme_id=programme_id)


def _answer(
    request: HttpRequest, programme_id: UUID, entry: Exposure | VetWord, *, taken_back: bool = False
) -> HttpResponse:
    """Answer an entry: the part of the page it came from, or that page anew."""
    if isinstance(entry, Exposure):
        from_item = request.POST.get("from") == "item"
        if request.htmx:
            part = _item_part if from_item else _today_part
            return part(request, programme_id, entry, taken_back=taken_back)
        if from_item:
            _say(request, taken_back=taken_back)
            return redirect("exposure", programme_id=programme_id, item=entry.item)
    _say(request, taken_back=taken_back)
    return redirect("exposures", programme_id=programme_id)


def _say(request: HttpRequest, *, taken_back: bool) -> None:
    messages.success(request, gettext("Taken back.") if taken_back else gettext("Written down."))


def _item_part(request: HttpRequest, programme_id: UUID, entry: Exposure, *, taken_back: bool) -> HttpResponse:
    happened = {"written": None if taken_back else entry, "taken_back": taken_back}
    context = _item(request, programme_id, entry.item) | happened
    return render(request, "pupilage/parts/exposure_now.html", context)


def _today_part(request: HttpRequest, programme_id: UUID, entry: Exposure, *, taken_back: bool) -> HttpResponse:
    """Answer in the place of the buttons that were tapped, so that no others come under the thumb.

    What was too much changes the whole of today's list: written down, it gives way; taken back, it returns.
    """
    page = read_exposures(request.actor, programme_id, now=clock.now())
    standing = page.judgement.of(entry.item)
    proposed = next((one for one in page.today if one.item.key == entry.item), None)
    context = {
        "page": page,
        "head": page.head,
        "item": standing.item if standing else None,
        "row": row_of(standing) if standing else None,
        "form": form_of(standing, proposed, place="today") if standing else None,
        "written": None if taken_back else entry,
        "cards": list_cards(page),
        **scales(),
    }
    if is_setback(entry):
        return retarget(render(request, "pupilage/parts/exposures_today.html", context), "#exposures-today")
    return render(request, "pupilage/parts/exposure_answer.html", context)


def _item(request: HttpRequest, programme_id: UUID, item: str) -> dict[str, Any]:
    page = read_exposure(request.actor, programme_id, item, now=clock.now())
    return {
        "page": page,
        "head": page.head,
        "row": row_of(page.standing),
        "item": page.standing.item,
        "form": form_of(page.standing, page.proposed, place="item"),
        **scales(),
    }
