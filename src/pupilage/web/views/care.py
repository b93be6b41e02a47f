"""The care log: a day of it, an entry for any time, and one-tap entries."""

from datetime import date, timedelta
from typing import Any
from uuid import UUID, uuid4, uuid5

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext
from django.views.decorators.http import require_GET, require_POST

from pupilage.core.care.events import CareEvent
from pupilage.core.errors import InvalidInput
from pupilage.services.log_care import log_care, withdraw_care
from pupilage.services.read_care_panel import read_care_panel
from pupilage.services.read_catalogue import read_catalogue
from pupilage.services.read_dog import read_care_day
from pupilage.web import clock
from pupilage.web.care_words import tap_rows
from pupilage.web.device import tz_offset_min
from pupilage.web.forms.care import CareForm
from pupilage.web.forms.problems import add_problems


@require_GET
def care(request: HttpRequest, dog_id: UUID) -> HttpResponse:
    """Show a local day of the care log; today unless ?day= says another."""
    return _day(request, dog_id, CareForm())


@require_GET
def outing(request: HttpRequest, dog_id: UUID) -> HttpResponse:
    """Show the next outing only: a page that lies open asks again every minute."""
    now = clock.now()
    context = {"panel": read_care_panel(request.actor, dog_id, now=now), "dog_id": dog_id, "now": now}
    return render(request, "pupilage/parts/outing.html", context)


@require_POST
def add(request: HttpRequest, dog_id: UUID) -> HttpResponse:
    """Write an entry: a tap on Today, or the form of the log."""
    now = clock.now()
    request.actor.require_write()
    form = CareForm(request.POST)
    if form.is_valid():
        entry = form.entry(at=now, event_id=_event_id(form), tz_offset_min=tz_offset_min(request, now))
        try:
            event = log_care(request.actor, dog_id, entry, now=now)
        except InvalidInput as error:
            add_problems(form, error, {"detail": "tap"})
        else:
            return _written(request, dog_id, event)
    if request.htmx:
        raise InvalidInput.of("", "This was not written down: {why}", why=_first_problem(form))
    return _day(request, dog_id, form)


@require_POST
def take_back(request: HttpRequest, dog_id: UUID, event_id: UUID) -> HttpResponse:
    """Take an entry back."""
    withdraw_care(request.actor, event_id, now=clock.now())
    if request.htmx:
        return _panel(request, dog_id, taken_back=True)
    messages.success(request, gettext("Taken back."))
    return redirect("care", dog_id=dog_id)


def _event_id(form: CareForm) -> UUID:
    """Return the id of the entry: the same button tapped twice on one showing of the page is one entry."""
    nonce = form.cleaned_data["event_id"] or uuid4()
    return uuid5(nonce, form.cleaned_data["tap"])


def _first_problem(form: Any) -> str:
    return next((str(message) for messages_ in form.errors.values() for message in messages_), "")


def _written(request: HttpRequest, dog_id: UUID, event: CareEvent) -> HttpResponse:
    if request.htmx:
        return _panel(request, dog_id, written=event)
    messages.success(request, gettext("Written down."))
    return redirect("today") if request.POST.get("from") == "today" else redirect("care", dog_id=dog_id)


def _panel(request: HttpRequest, dog_id: UUID, **happened: Any) -> HttpResponse:
    now = clock.now()
    context = {
        "panel": read_care_panel(request.actor, dog_id, now=now),
        "dog_id": dog_id,
        "now": now,
        **tap_rows(),
        **happened,
    }
    return render(request, "pupilage/parts/care_written.html", context)


def _day(request: HttpRequest, dog_id: UUID, form: CareForm) -> HttpResponse:
    today = clock.now().astimezone(request.actor.zone).date()
    day = _asked_day(request, today)
    context = {
        "page": read_care_day(request.actor, dog_id, day),
        "today": today,
        "before": day - timedelta(days=1),
        "after": day + timedelta(days=1),
        "form": form,
        "catalogue": read_catalogue(),
    }
    return render(request, "pupilage/care.html", context, status=400 if form.is_bound else 200)


def _asked_day(request: HttpRequest, today: date) -> date:
    try:
        return date.fromisoformat(request.GET.get("day", ""))
    except ValueError:
        return today
