"""The page of the day: how days run, appointments, the link for a calendar; and the calendar itself."""

from datetime import datetime
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from pupilage.core.errors import InvalidInput
from pupilage.services.change_day_frame import change_day_frame
from pupilage.services.make_day_plan import follow_events
from pupilage.services.read_calendar_feed import read_calendar_feed
from pupilage.services.read_day_frame import DayFramePage, read_day_frame
from pupilage.services.save_appointment import delete_appointment, save_appointment
from pupilage.services.share_calendar import make_calendar_link, revoke_calendar_link
from pupilage.web import clock
from pupilage.web.forms.day import AppointmentForm, FrameForm
from pupilage.web.forms.problems import add_problems


@require_http_methods(["GET", "POST"])
def day(request: HttpRequest, programme_id: UUID) -> HttpResponse:
    """Show how the days of a stay run; on POST change it, and plan the rest of today anew."""
    now = clock.now()
    page = read_day_frame(request.actor, programme_id, now=now)
    if request.method == "GET":
        return _page(request, page, editing=request.GET.get("appointment", ""))
    request.actor.require_write()
    form = FrameForm(request.POST)
    if form.is_valid():
        try:
            change_day_frame(request.actor, programme_id, form.preferences(page.preferences), now=now)
        except InvalidInput as error:
            add_problems(form, error, {"quiet": "quiet_until"})
        else:
            follow_events(request.actor, page.head.dog_id, now=now)
            messages.success(request, gettext("The day is changed, and the rest of today planned anew."))
            return redirect("today")
    return _page(request, page, frame_form=form, status=400)


@require_POST
def appointment(request: HttpRequest, programme_id: UUID) -> HttpResponse:
    """Write, change or delete an appointment, and plan the rest of today anew."""
    now = clock.now()
    page = read_day_frame(request.actor, programme_id, now=now)
    request.actor.require_write()
    form = AppointmentForm(request.POST)
    if form.is_valid() or ("delete" in request.POST and form.cleaned_data.get("appointment")):
        try:
            _write(request, programme_id, form, now)
        except InvalidInput as error:
            add_problems(form, error)
        else:
            follow_events(request.actor, page.head.dog_id, now=now)
            return redirect("day", programme_id=programme_id)
    return _page(request, page, appointment_form=form, status=400)


@require_POST
def calendar_link(request: HttpRequest, programme_id: UUID) -> HttpResponse:
    """Make a link for a calendar, or stop the one there is. A new link is shown once."""
    now = clock.now()
    if "revoke" in request.POST:
        revoke_calendar_link(request.actor, programme_id, now=now)
        messages.success(request, gettext("The link has stopped working."))
        return redirect("day", programme_id=programme_id)
    token = make_calendar_link(request.actor, programme_id, now=now)
    address = request.build_absolute_uri(reverse("calendar", args=[token]))
    given = {"calendar_address": address, "subscribe_address": f"webcal:{address.partition(':')[2]}"}
    return _page(request, read_day_frame(request.actor, programme_id, now=now), **given)


@require_safe
def feed(request: HttpRequest, token: str) -> HttpResponse:
    """Give a calendar the timetables of its link's stay. Nobody signs in: the link is the key."""
    found = read_calendar_feed(token, now=clock.now())
    response = HttpResponse(found.content, content_type="text/calendar; charset=utf-8")
    response["Content-Disposition"] = f'inline; filename="{found.filename}"'
    response["Cache-Control"] = "private, no-store"
    response["Referrer-Policy"] = "no-referrer"
    return response


def _write(request: HttpRequest, programme_id: UUID, form: AppointmentForm, now: datetime) -> None:
    if "delete" in request.POST:
        delete_appointment(request.actor, programme_id, form.cleaned_data["appointment"], now=now)
        messages.success(request, gettext("The appointment is deleted."))
    else:
        save_appointment(request.actor, programme_id, form.new(), now=now)
        messages.success(request, gettext("The appointment is written down."))


def _page(
    request: HttpRequest, page: DayFramePage, *, status: int = 200, editing: str = "", **given: Any
) -> HttpResponse:
    edited = next((one for one in page.appointments if str(one.id) == editing), None)
    initial = (
        {
            "appointment": edited.id,
            "starts_at": edited.start,
            "ends_at": edited.end,
            "words": edited.words,
            "comes_along": edited.comes_along,
            "covered": edited.covered,
            "whole_day": edited.whole_day,
        }
        if edited
        else {}
    )
    context = {
        "page": page,
        "edited": edited,
        "frame_form": FrameForm(initial=FrameForm.initial_of(page.preferences)),
        "appointment_form": AppointmentForm(initial=initial),
        **given,
    }
    return render(request, "pupilage/day.html", context, status=status)
